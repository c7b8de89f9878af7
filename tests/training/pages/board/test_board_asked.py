"""The board's filters, its pages and files, saved filters; and how many questions it asks."""

from __future__ import annotations

import csv
import io
import uuid
from datetime import date

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from openpyxl import load_workbook

from tests.cast import NOW, TODAY, make_family, sign_off_suction, write
from tests.training.pages.board.test_board import make_ready
from tests.training.pages.family.test_family_page import squeezed
from training.log.models import Entry
from training.pages.board import looking
from training.pages.board.asked import Asked
from training.pages.board.first_rows import first_rows
from training.people.access import assign
from training.people.models import Family
from training.standing.models import SavedFilter


@pytest.fixture
def get(cast, signed_in):
    def ask(address="/board/", role="supervisor", **query):
        return signed_in(getattr(cast.north, role)).get(address, query)

    return ask


def names(answer):
    return [line.family.name for key in ("attention", "falling", "calm") for line in answer.context[key]]


# Filters


def test_a_lapse_within_so_many_days(cast, get):
    sign_off_suction(cast.north, cast.north.mother)  # P6M: 4 November is the last day

    assert names(get(on="2026-10-06", within="30")) == ["Okonjo-Lind"]
    assert names(get(on="2026-10-05", within="30")) == []


def test_who_works_with_them(cast, get):
    assign(member=cast.north.supervisor, family=cast.north.families[1], at=NOW)

    assert names(get(educator=str(cast.north.supervisor.public_id))) == ["Quist"]


def test_another_organisation_s_member_is_nobody(cast, get):
    assert len(names(get(educator=str(cast.south.educator.public_id)))) == 2  # cannot be read, so it is left out


def test_a_programme(cast, get):
    assert len(names(get(programme=str(cast.north.programme.public_id)))) == 2


def test_a_language(cast, signed_in):
    plan_with_interpreter(cast.north)
    answer = signed_in(cast.north.supervisor).post("/board/", {"language": "TIGRINYA"}, follow=True)

    assert names(answer) == ["Okonjo-Lind"]
    assert "igrinya" not in answer.redirect_chain[-1][0].lower()


def plan_with_interpreter(home):
    body = {
        "part": "planned", "caregiver": home.mother.case_id, "day": str(TODAY), "at": "15:00", "minutes": 30, "skills": [],
        "what": "Talk", "who": [], "checks": None, "interpreter": {"kind": "phone", "language": "Tigrinya"},
    }  # fmt: skip
    write(home.educator, home.family, "appointment", NOW, **body)


@pytest.mark.parametrize("name", ["Phạm", "pham", "ÖSTBY", "ostby", "Łukasz", "lukasz"])
def test_a_name_is_found_in_any_spelling(cast, signed_in, name):
    make_family(cast.north, "Phạm Östby", "Łukasz")
    answer = signed_in(cast.north.supervisor).post("/board/", {"q": name}, follow=True)

    assert names(answer) == ["Phạm Östby"]


@pytest.mark.parametrize("name", ["%", "_", "\\"])
def test_a_sign_stands_for_itself(cast, signed_in, name):
    assert names(signed_in(cast.north.supervisor).post("/board/", {"q": name}, follow=True)) == []


def test_one_person_alone_for_the_nights(cast, get):
    make_ready(cast.north, cast.north.families[1])

    assert names(get(show="single")) == ["Quist"]
    assert "One person alone can do the nights." in squeezed(get(show="single").content.decode())


def test_a_change_not_shown_again_yet(cast, get):
    sign_off_suction(cast.north, cast.north.mother)
    facts = {"suction": True, "cuff": "none", "tube_id_mm": 4}
    write(cast.north.educator, cast.north.family, "care_plan", NOW, on=str(TODAY), time=None, facts=facts)

    assert names(get(show="changed")) == ["Okonjo-Lind"]


def test_assigned_only_sees_their_own(cast, get):
    cast.north.organisation.assigned_only = True
    cast.north.organisation.save()

    assert names(get(role="educator")) == ["Okonjo-Lind", "Quist"]  # who opened them works with them
    cast.north.family.assignments.update(until=NOW)
    assert names(get(role="educator")) == ["Quist"]


# Pages


def test_a_page_at_a_time(cast, get, monkeypatch):
    monkeypatch.setattr(looking, "PAGE", 1)
    monkeypatch.setattr("training.pages.board.views.PAGE", 1)
    pages = [get(page=n) for n in ("1", "2", "3", "x")]

    assert [names(answer) for answer in pages] == [["Okonjo-Lind"], ["Quist"], ["Quist"], ["Okonjo-Lind"]]
    assert "2 of 2 families need attention" in squeezed(pages[1].content.decode())
    assert "Needs attention on this date 2 families" in squeezed(pages[1].content.decode())
    assert "Page 2 of 2" in squeezed(pages[1].content.decode())


# Files


def test_a_csv_holds_what_is_asked_for(cast, get):
    make_ready(cast.north, cast.north.families[1])
    text = get("/board/families.csv", show="falls").content.decode("utf-8-sig")
    head, row = csv.reader(io.StringIO(text))
    found = dict(zip(head, row, strict=True))

    assert (found["Family"], found["Readiness"], found["Not ready from"]) == ("Quist", "Ready", "2026-06-01")
    assert found["Ready by set"] == "Full care: 1; Daytime care: 1"


def test_a_workbook_holds_the_same(cast, get):
    book = load_workbook(io.BytesIO(b"".join(get("/board/families.xlsx").streaming_content)))
    text = get("/board/families.csv").content.decode("utf-8-sig")
    rows = [["" if v is None else str(v) for v in row] for row in book.active.iter_rows(values_only=True)]

    assert rows == list(csv.reader(io.StringIO(text)))


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@x", "\t=1"])
def test_no_cell_is_a_formula(cast, get, name):
    make_family(cast.north, name, "Ilse")
    text = get("/board/families.csv").content.decode("utf-8-sig")
    book = load_workbook(io.BytesIO(b"".join(get("/board/families.xlsx").streaming_content)))

    assert any(row[0] == f"'{name}" for row in csv.reader(io.StringIO(text)))
    assert {cell.data_type for row in book.active.iter_rows() for cell in row} <= {"s", "n", "d", "inlineStr"}


def test_taking_it_is_a_deed(cast, get):
    get("/board/families.csv")
    entry = Entry.objects.order_by("-pk")[0]

    assert (entry.kind, entry.what) == ("deed", "board-exported")


def test_an_educator_takes_no_file(cast, get):
    assert get("/board/families.csv", role="educator").status_code == 403
    assert "families.csv" not in get(role="educator").content.decode()


# Saved filters


def test_a_filter_is_saved_and_asked_again(cast, signed_in, get):
    make_ready(cast.north, cast.north.families[1])
    answer = signed_in(cast.north.supervisor).post("/board/save/?show=falls", {"title": " Soon "}, follow=True)

    assert names(answer) == ["Quist"]
    assert ">Soon</a>" in get().content.decode()


def test_a_name_may_be_saved_and_stands_in_no_address(cast, signed_in):
    client = signed_in(cast.north.supervisor)
    here = client.post("/board/", {"q": "quist"}).url
    answer = client.post(here.replace("/board/", "/board/save/"), {"title": "Mine"}, follow=True)

    assert names(answer) == ["Quist"]
    assert "quist" not in answer.redirect_chain[-1][0]


def test_it_is_theirs_alone(cast, signed_in, get):
    made = SavedFilter.objects.create(member=cast.north.educator, title="Hidden", asked={"show": "falls"})

    assert "Hidden" not in get().content.decode()
    assert len(names(get(saved=str(made.public_id)))) == 2
    signed_in(cast.north.supervisor).post("/board/forget/", {"saved": str(made.public_id)})
    assert SavedFilter.objects.filter(pk=made.pk).exists()


def test_it_is_taken_off_the_list(cast, signed_in):
    made = SavedFilter.objects.create(member=cast.north.supervisor, title="Old", asked={"show": "falls"})
    signed_in(cast.north.supervisor).post("/board/forget/", {"saved": str(made.public_id)})

    assert not SavedFilter.objects.exists()


@pytest.mark.parametrize(
    "query", ["?saved=x", "?page=-1", "?page=99999999999", "?within=x", "?programme=x", "?educator=x"]
)
def test_what_cannot_be_read_is_left_out(get, query):
    assert len(names(get("/board/" + query))) == 2


# Cost


def copies(home, number):
    """So many more families, a third of them ready; in each somebody has a sign-off, so that every page has a next lapse."""
    for n in range(number):
        family = Family.objects.get(pk=make_family(home, f"Copy {n:05}", "Ilse").pk)
        if n % 3 == 0:
            make_ready(home, family)
        else:
            sign_off_suction(home, family.caregivers.get(called="Marit"))


def queries(client, address="/board/"):
    client.get(address)
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    return len(asked)


@pytest.mark.parametrize(("few", "many"), [(10, 30), pytest.param(10, 200, marks=pytest.mark.long)])
def test_the_same_number_of_questions_at_every_size(cast, signed_in, few, many):
    client = signed_in(cast.north.supervisor)
    copies(cast.north, few)
    counts = [[queries(client, "/board/" + q) for q in ("", "?within=30", "?on=2026-05-02", "?on=2027-01-01")]]
    copies(cast.north, many - few)
    counts.append([queries(client, "/board/" + q) for q in ("", "?within=30", "?on=2026-05-02", "?on=2027-01-01")])

    assert counts[0] == counts[1]


# A page's rows


def keys(rows):
    return [(span.family_id, span.first_day) for span in rows]


@pytest.fixture
def many(cast):
    make_ready(cast.north, cast.north.families[1])
    for n in range(7):
        make_family(cast.north, f"Family {n % 3}", "Ilse")
    return cast.north


@pytest.mark.parametrize("show", ["", "attention", "closed", "ready"])
@pytest.mark.parametrize("day", [date.min, TODAY, date(2026, 6, 20), date.fromordinal(2**21), date.max])
def test_the_rows_of_pages_are_all_rows_in_order(many, day, show):
    asked = Asked(many.supervisor, day, NOW, {"show": show})
    paged = [key for start in range(0, 12, 3) for key in keys(first_rows(asked, start, start + 3))]

    assert paged == keys(asked.found())


def test_nobody_s_families_have_no_page(many):
    assert first_rows(Asked(many.supervisor, TODAY, NOW, {"educator": str(uuid.uuid4())}), 0, 50) == []
