"""The blank checklist for when the register cannot be reached: a finished value in, the bytes of a PDF out.

It is filled in by hand and typed in later; the code on it opens the form for that. The same value gives the same
bytes. Nothing here judges, asks the database or reads the clock.
"""

from __future__ import annotations

from reportlab.platypus import Flowable

from training.documents.checklist_drawing import Blank, Fill
from training.documents.checklist_values import BadChecklist, Checklist, Choice, StepLine
from training.documents.laying import brief, flat, letters, readable, recorded_through
from training.documents.packet_values import day
from training.documents.pdf.code import Beside, draw_code, modules_of
from training.documents.pdf.flowables import CELL, SMALL, TITLE, Figure, Heading, Part, Style, Text
from training.documents.pdf.opening import Dateline
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER, Furniture, build, keep_with_next, text_width
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import Run, mark, pale, strong

__all__ = ["A4", "LETTER", "BadChecklist", "Checklist", "Choice", "StepLine", "render_checklist"]

CODE = 96.0  # points: a module of the code is then half a millimetre wide or more
LINE = 24.0  # points: room for a line of handwriting
BOX = Style(13, 15)
ASKED = Style(9.5, 17, after=1)
ADDRESS = Style(6.5, 8, after=3)

WHEN = (
    "For when the register cannot be reached. Each observer fills in a sheet of their own, without looking at the "
    "other’s. Cross one box for each step; leave nothing that was watched without a cross."
)
LATER = "Afterwards, sign in and type it in. The code beside this opens the form; so does this address:"
MANNER = (
    "A critical step has to be done alone. A measured step outside its limits is not independent, whatever is crossed. "
    "After a stop, the step under way and later ones are “not seen”."
)


def render_checklist(checklist: Checklist, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return the checklist as a tagged PDF (PDF/UA-1); letters no face can draw are printed by their number."""
    undrawn: dict[str, None] = {}
    document = seal.number if seal else checklist.document
    modules = modules_of(checklist.address)
    code = Figure(lambda on: draw_code(on, modules, CODE), CODE, CODE, alt=_code_alt(checklist))
    sheet: Checklist = readable(checklist, undrawn)
    head = f"{sheet.skill}, edition {sheet.edition}"
    return build(
        _story(sheet, code, document, tuple(undrawn), text_width(pagesize)),
        title=flat(f"Blank checklist: {head}"),
        author=flat(sheet.organisation),
        subject=flat(f"Care plan of {day(sheet.on)}"),
        language=sheet.language,
        made_at=sheet.known_at,
        pagesize=pagesize,
        seal=seal,
        furniture=Furniture(
            head=", ".join(filter(str.strip, (brief(head), brief(sheet.caregiver), brief(sheet.family)))),
            head_right=f"document {document}",
            foot=f"{brief(sheet.organisation)}. {brief(head)}",
            foot_second=f"Document {document}. Care plan {recorded_through(sheet.known_at, sheet.zone)}",
        ),
    )


def _code_alt(checklist: Checklist) -> str:
    return f"Code that opens the form this sheet is typed into: {checklist.address}"


def _story(sheet: Checklist, code: Figure, document: str, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    story = _opening(sheet, code, document)
    if undrawn:
        story.append(Text("Some letters could not be drawn and stand as numbers: see the end.", style=SMALL))
    for title, body in (
        ("Before the first step", _before(sheet)),
        ("Cautions", [*(Text(line) for line in sheet.cautions), Text(strong(sheet.notice))]),
        ("Steps", _steps(sheet)),
        ("How it ended", _ending(sheet)),
        ("Signed on paper", _signatures()),
        *letters(undrawn),
    ):
        story += keep_with_next(Heading(2, title), body, width)
    return story


def _opening(sheet: Checklist, code: Figure, document: str) -> list[Flowable]:
    about = [
        Text(WHEN),
        Text(LATER),
        Text(sheet.address, style=ADDRESS),
        Text("Document ", strong(document), ", to be typed in with it."),
    ]
    who = [Column("Family", 3), Column("Caregiver", 3), Column("Checklist", 4)]
    names: list[Cell] = [
        _name(sheet.family),
        _name(sheet.caregiver),
        [strong(f"{sheet.skill}, edition {sheet.edition}")],
    ]
    return [
        Text(sheet.organisation),
        Heading(1, f"{sheet.skill}: checklist on paper", style=TITLE, ruled=False),
        Dateline(
            f"Edition {sheet.edition}, in force on {day(sheet.on)}",
            f"care plan {recorded_through(sheet.known_at, sheet.zone)}",
        ),
        Beside(about, code),
        Ledger(who, [names], row_heads=0),
        *_plan(sheet),
    ]


def _name(text: str) -> Cell:
    return [strong(text)] if text.strip() else [Blank(LINE)]


def _plan(sheet: Checklist) -> list[Flowable]:
    """What the care plan says that this edition asks about: the steps below are those of it."""
    if not sheet.care_plan:
        return []
    facts = "; ".join(f"{line.title}: {line.value}" for line in sheet.care_plan)
    changed = "Where the plan has changed since, say so on the sheet: other steps may apply."
    return [Text(strong("Steps for this care plan. "), f"{facts}. ", pale(changed), style=SMALL)]


def _before(sheet: Checklist) -> list[Flowable]:
    when = [Column("Day seen", 3), Column("Time", 2), Column("First day, of a stay over several days", 3)]
    return [
        Fill(when, [[[Blank(LINE)], [Blank(LINE)], [Blank(LINE)]]], row_heads=0),
        *(_asked(*sheet.choices[at : at + 2]) for at in range(0, len(sheet.choices), 2)),
    ]


def _asked(*choices: Choice) -> Text:
    """Questions with their boxes, one after the other; each answer keeps its box at its first word."""
    parts: list[Part] = []
    for choice in choices:
        parts.append(strong(f"{choice.title}:  "))
        for answer in choice.answers:
            parts += [mark("box"), f"\u00a0{answer}     "]
    return Text(*parts, style=ASKED)


def _steps(sheet: Checklist) -> list[Flowable]:
    columns = [Column("No.", 0.45), Column("Step", 5.6), *(Column(_broken(word), 1.08) for word in sheet.results)]
    rows = [_step(step, len(sheet.results)) for step in sheet.steps]
    return [Text(MANNER, style=SMALL), Ledger(columns, rows)]


def _broken(word: str) -> str:
    """A long word may be broken in the head of a narrow column."""
    return " ".join(f"{part[:5]}\u00ad{part[5:]}" if len(part) > 9 else part for part in word.split(" "))


def _step(step: StepLine, results: int) -> list[Cell]:
    box: Cell = [Text(mark("box"), style=BOX)]
    skip: Cell = box if step.may_skip else [Text(pale("–"), style=CELL)]
    return [[strong(str(step.number))], _watched(step), *([box] * (results - 1)), skip]


def _watched(step: StepLine) -> list[Text]:
    texts = [Text(step.text, style=CELL)]
    if step.critical:
        texts.insert(0, Text(mark("critical"), strong("Critical step"), style=CELL))
    if step.only:
        texts.append(Text(Run(step.only, italic=True), style=CELL))
    if step.unit:
        texts.append(Text(strong(f"Measured in {step.unit}"), f": {step.limits}. The number:", style=CELL))
        texts.append(Blank(LINE, across=84))
    return texts


def _ending(sheet: Checklist) -> list[Flowable]:
    stop = [Column("Step under way at the stop", 2), Column("Who stopped it, and why", 6)]
    words = [Column("Agreed for next time", 7), Column("To be shown again on", 3)]
    told = [Column("Teach-back: told back in own words", 6), Column("Language, with an interpreter", 2)]
    return [
        _asked(sheet.stops),
        Fill(stop, [[[Blank(LINE)], [Blank(LINE)]]], row_heads=0),
        _asked(sheet.feels),
        _asked(sheet.interpreters),
        Fill(told, [[[Blank(LINE)], [Blank(LINE)]]], row_heads=0),
        Fill(words, [[[Blank(2 * LINE)], [Blank(2 * LINE)]]], row_heads=0),
        Fill([Column("Note", 1)], [[[Blank(2 * LINE)]]], row_heads=0),
    ]


def _signatures() -> list[Flowable]:
    columns = [
        Column("I watched this and recorded what I saw", 2.6),
        Column("Name, licence", 3),
        Column("Signature", 3),
        Column("Day and time", 2),
    ]
    rows: list[list[Cell]] = [
        [[mark("box"), f"\u00a0{who}"], [Blank(LINE)], [Blank(LINE)], [Blank(LINE)]]
        for who in ("as lead observer", "as second observer")
    ]
    typed = [Column("Typed into the register by", 4), Column("On", 3), Column("As record no.", 2)]
    return [
        Fill(columns, rows),
        Text(
            "The sheet is kept as the organisation’s policy says; the record names who watched and who typed.",
            style=SMALL,
        ),
        Fill(typed, [[[Blank(LINE)], [Blank(LINE)], [Blank(LINE)]]], row_heads=0),
    ]
