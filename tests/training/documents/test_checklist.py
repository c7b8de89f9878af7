"""The blank checklist as paper: what stands on it, the code on it, its tags, and the same bytes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

import page
import pytest
from pypdf.generic import ContentStream

from tests.training.documents.codes import decode, squares
from tests.training.documents.conftest import DUBLIN
from training.documents.checklist import A4, LETTER, BadChecklist, Checklist, Choice, StepLine, render_checklist
from training.documents.packet_values import FactLine

ADDRESS = (
    "https://register.example.org/families/19c30042-7fe7-473d-a5d1-6a0e75cf8a35/people/79646e08-8c3e-47d3-a53a-"
    "b4a649c665a2/skills/suction/editions/3/paper/"
)
RESULTS = ("Independent", "Prompted", "Assisted", "Omitted", "Not seen", "Not applicable")


@pytest.fixture
def checklist():
    return Checklist(
        organisation="Tallowmere Children’s Hospital, homecoming programme",
        skill="Suctioning",
        edition=3,
        family="Lind",
        caregiver="Marit",
        on=date(2026, 6, 12),
        known_at=datetime(2026, 6, 12, 15, 20, tzinfo=DUBLIN),
        zone="Europe/Dublin",
        care_plan=(FactLine(title="Cuff", value="No cuff"),),
        steps=(
            StepLine(number=1, text="Washes hands", critical=True),
            StepLine(number=2, text="Checks the pressure"),
            StepLine(number=4, text="Is quick", critical=True, limits="at most 10 s", unit="s"),
            StepLine(number=5, text="Takes the guide out", only="Only where the caregiver leads."),
            StepLine(number=6, text="Writes it down", may_skip=True),
        ),
        results=RESULTS,
        choices=(
            Choice(title="Chosen before the first step", answers=("assessment", "practice")),
            Choice(title="The caregiver is", answers=("leading", "assisting")),
            Choice(title="Seen", answers=("on a model", "on the patient")),
        ),
        stops=Choice(title="Stopped", answers=("no", "for the patient’s condition", "for safety")),
        interpreters=Choice(title="Interpreter", answers=("none needed", "in person")),
        feels=Choice(title="The caregiver says", answers=("“I feel ready”", "“not yet”")),
        cautions=("Depth and pressure are the prescriber’s order.",),
        notice="A sample to adapt. The prescriber comes first.",
        address=ADDRESS,
    )


def failures(data):
    return [(failure.rule_id, failure.message) for failure in page.validate_pdf_bytes(data, profile="ua1").failures]


def boxes(reader):
    """How many boxes are drawn to be crossed: closed squares of a mark, 14 of its units wide."""
    count = 0
    for sheet in reader.pages:
        operations = ContentStream(sheet.get_contents(), reader).operations
        count += sum(operator == b"m" and [float(n) for n in operands] == [3, 3] for operands, operator in operations)
    return count


# What stands on it


@pytest.mark.parametrize(
    "words",
    ["Suctioning: checklist on paper", "Edition 3, in force on 12 June 2026",
     "care plan from records through 12 June 2026, 15:20 (Europe/Dublin)", "Tallowmere Children’s Hospital", "Lind", "Marit",
     "Suctioning, edition 3", "Steps for this care plan. Cuff: No cuff.", "Critical step Washes hands",
     "Is quick Measured in s: at most 10 s. The number:", "Takes the guide out Only where the caregiver leads.",
     "assessment", "practice", "leading", "assisting", "on a model", "Day seen", "Time", "for the patient’s condition",
     "Step under way at the stop", "Who stopped it, and why", "Teach-back", "Interpreter: none needed in person",
     "“I feel ready” “not yet”", "Agreed for next time", "To be shown again on", "I watched this and recorded what I saw",
     "as lead observer", "as second observer", "Signature", "Depth and pressure are the prescriber’s order.",
     "A sample to adapt. The prescriber comes first.", "page 1 of 2", "page 2 of 2", *RESULTS[1:5]],
)  # fmt: skip
def test_it_says(read, checklist, words):
    assert read(render_checklist(checklist)).holds(words)


@pytest.mark.parametrize("words", ["1 Critical step Washes hands", "2 Checks the pressure", "4 Critical step Is quick"])
def test_a_step_keeps_its_number_where_one_before_it_does_not_apply(read, checklist, words):
    assert read(render_checklist(checklist)).holds(words)


def test_the_address_is_printed_too(read, checklist):
    assert read(render_checklist(checklist)).holds(ADDRESS)


def test_every_page_has_the_document_number(read, checklist):
    pages = read(render_checklist(checklist)).pages

    assert [page for page in pages if f"Document {checklist.document}" not in page] == []


def test_a_later_page_says_whose_it_is(read, checklist):
    assert "Suctioning, edition 3, Marit, Lind" in read(render_checklist(checklist)).pages[1]


def test_a_box_for_each_result_and_answer(read, checklist):
    """Five steps with five results and one of them with a sixth; twelve answers; two kinds of observer."""
    sheet = checklist
    answers = sum(len(c.answers) for c in (*sheet.choices, sheet.stops, sheet.interpreters, sheet.feels))

    assert boxes(read(render_checklist(sheet)).reader) == 5 * 5 + 1 + answers + 2


def test_a_step_more_that_may_be_skipped_is_a_box_more(read, checklist):
    every = replace(checklist, steps=tuple(replace(step, may_skip=True) for step in checklist.steps))
    before, after = (boxes(read(render_checklist(sheet)).reader) for sheet in (checklist, every))

    assert after - before == 4


def test_without_names_there_is_a_place_to_write_them(read, checklist):
    printed = read(render_checklist(replace(checklist, family="", caregiver="")))

    assert not printed.holds("Marit")
    assert not printed.holds("Lind")


# The code


@pytest.mark.parametrize("size", [A4, LETTER])
def test_the_code_is_the_address(read, checklist, size):
    assert decode(squares(read(render_checklist(checklist, size)).reader)) == ADDRESS


@pytest.mark.parametrize("length", [8, 20, 40, 60, 80, 100, 120, 150, 179, 181, 213, 250])
def test_any_address_is_read_back(read, checklist, length):
    address = ("https://r.example/" + "0123456789abcdef/" * 20)[:length]

    assert decode(squares(read(render_checklist(replace(checklist, address=address))).reader)) == address


def test_a_wrong_square_is_noticed(read, checklist):
    dark = squares(read(render_checklist(checklist)).reader)
    dark[20][30] = not dark[20][30]

    with pytest.raises(AssertionError, match="do not fit"):
        decode(dark)


def test_the_code_has_words(checklist):
    assert f"(Code that opens the form this sheet is typed into: {ADDRESS})".encode() in render_checklist(checklist)


# Paper, tags, bytes


@pytest.mark.parametrize(("size", "points"), [(A4, (595, 842)), (LETTER, (612, 792))])
def test_paper_is_a4_or_letter(read, checklist, size, points):
    corner = read(render_checklist(checklist, size)).reader.pages[0].mediabox.upper_right

    assert tuple(round(n) for n in corner) == points


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize(
    "change",
    [
        {},
        {"family": "", "caregiver": ""},
        {"family": "محمد علي 李小龍 <b> & \u00ad", "caregiver": "Nguyễn Thị Mai"},
        {"care_plan": (), "cautions": (), "notice": ""},
    ],
)
def test_it_passes_the_check_for_tags(checklist, size, change):
    assert failures(render_checklist(replace(checklist, **change), size)) == []


def test_the_same_checklist_is_the_same_bytes(checklist):
    assert render_checklist(checklist) == render_checklist(replace(checklist))


@pytest.mark.parametrize("change", [{"caregiver": "Joram"}, {"edition": 4}, {"on": date(2026, 6, 13)}])
def test_another_checklist_has_another_number(checklist, change):
    assert replace(checklist, **change).document != checklist.document


def test_every_font_is_embedded(read, checklist):
    fonts = read(render_checklist(checklist)).fonts

    assert [name for name, font in fonts.items() if "/FontFile2" not in font["/FontDescriptor"]] == []


def test_letters_nobody_can_draw_stand_as_numbers(read, checklist):
    printed = read(render_checklist(replace(checklist, family="李")))

    assert printed.holds("[U+674E]")
    assert printed.holds("U+674E CJK UNIFIED IDEOGRAPH-674E")


@pytest.mark.parametrize("words", [40, 400])
def test_a_long_step_is_printed_whole(read, checklist, words):
    text = " ".join(f"word{n}" for n in range(words))
    steps = (*checklist.steps, StepLine(number=7, text=text, critical=True, limits="5 to 9 mm", unit="mm"))
    printed = read(render_checklist(replace(checklist, steps=steps)))

    assert [f"word{n}" for n in range(words) if not printed.holds(f"word{n}")] == []


def test_nothing_is_drawn_outside_the_margins(read, checklist):
    long = StepLine(number=7, text="Un" + "believably" * 60)
    reader = read(render_checklist(replace(checklist, steps=(*checklist.steps, long), skill="S" * 120))).reader
    right = []
    for sheet in reader.pages:
        sheet.extract_text(
            visitor_text=lambda text, cm, tm, *_: right.append(tm[4] * cm[0] + cm[4]) if text.strip() else None
        )

    assert max(right) < 595 - 40


@pytest.mark.parametrize(
    ("change", "problem"),
    [
        ({"steps": ()}, "no step to watch"),
        ({"known_at": datetime(2026, 6, 12)}, "known_at has no time zone"),
        ({"address": "https://r.example/Ilse-Lindæ"}, "the address is not plain ASCII"),
    ],
)
def test_a_checklist_nobody_could_use_is_refused(checklist, change, problem):
    with pytest.raises(BadChecklist, match=problem):
        replace(checklist, **change)
