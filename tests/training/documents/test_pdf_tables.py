"""A table keeps every row, repeats its head, and cuts only what is taller than a page."""

from datetime import UTC, datetime

import page
import pytest

from training.documents.pdf.flowables import CELL, Figure, Heading, Text
from training.documents.pdf.marks import draw_mark
from training.documents.pdf.sheet import A4, Furniture, build, keep_with_next, text_width
from training.documents.pdf.table import Column, Ledger

COLUMNS = [Column("No.", 1), Column("What was seen", 6)]


def sheet(*story):
    return build(
        story,
        title="Sheet",
        author="Tallowmere",
        subject="Trial",
        language="en",
        made_at=datetime(2026, 6, 12, tzinfo=UTC),
        furniture=Furniture("head", "right", "foot", "second"),
    )


def elements(printed, kind):
    """Every element of that kind in the structure tree."""
    found, waiting = [], [printed.reader.trailer["/Root"]["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop(0).get_object()
        if not hasattr(node, "get"):
            continue
        found += [node] if node.get("/S") == kind else []
        kids = node.get("/K", [])
        waiting += kids if isinstance(kids, list) else [kids]
    return found


@pytest.fixture
def long_table(read):
    return read(sheet(Ledger(COLUMNS, [[f"row-{n}", f"seen {n}"] for n in range(250)])))


def test_every_row_is_printed_once_and_in_order(long_table):
    found = [word for word in long_table.words.split() if word.startswith("row-")]

    assert found == [f"row-{n}" for n in range(250)]


def test_the_head_stands_on_every_page(long_table):
    assert len(long_table.pages) > 5
    assert [text for text in long_table.pages if "What was seen" not in text] == []


def test_the_head_is_read_once_and_the_table_is_one(long_table):
    heads = [cell for cell in elements(long_table, "/TH") if cell["/A"]["/Scope"] == "/Column"]

    assert len(heads) == 2
    assert len(elements(long_table, "/Table")) == 1
    assert len(elements(long_table, "/TR")) == 251


def test_a_row_taller_than_a_page_runs_on_as_one_row(read):
    seen = " ".join(f"word{n}" for n in range(3000))
    printed = read(sheet(Ledger(COLUMNS, [["first", "a"], ["tall", seen], ["last", "z"]])))
    words = printed.words.split()

    assert [n for n in range(3000) if words.count(f"word{n}") != 1] == []
    assert words.count("tall") == words.count("last") == 1
    assert len(elements(printed, "/TR")) == 4
    assert page.is_pdf_compliant_bytes(printed.data, profile="ua1")


def test_several_texts_of_a_tall_cell_are_cut_between_and_inside(read):
    texts = [Text(" ".join(f"t{n}w{m}" for m in range(150)), style=CELL) for n in range(12)]
    printed = read(sheet(Ledger(COLUMNS, [["tall", texts]])))
    words = printed.words.split()

    assert [f"t{n}w{m}" for n in range(12) for m in range(150) if words.count(f"t{n}w{m}") != 1] == []


@pytest.mark.parametrize("lines", range(1, 120, 7))
def test_a_tall_row_fits_wherever_it_begins(read, lines):
    """Whatever room is left on the page, nothing is lost and the end is reached."""
    above = [Text("above") for _ in range(lines)]
    printed = read(sheet(*above, Ledger(COLUMNS, [["tall", "\n".join(f"line{n}" for n in range(90))]])))

    assert printed.words.split().count("line0") == printed.words.split().count("line89") == 1


def test_a_short_row_is_never_cut(read):
    rows = [[f"row-{n}", f"a{n}\nb{n}\nc{n}"] for n in range(60)]
    printed = read(sheet(Ledger(COLUMNS, rows)))

    for text in printed.pages:
        words = text.split()
        assert {word[1:] for word in words if word[0] == "a"} == {word[1:] for word in words if word[0] == "c"}


@pytest.mark.parametrize("lines", range(30, 48))
def test_a_heading_never_ends_a_page(read, lines):
    above = [Text(f"above {n}") for n in range(lines)]
    body = [Ledger(COLUMNS, [[f"row-{n}", "seen"] for n in range(9)])]
    printed = read(sheet(*above, *keep_with_next(Heading(1, "Signed records"), body, text_width(A4))))
    with_heading = next(text for text in printed.pages if "Signed records" in text)

    assert "row-0" in with_heading


@pytest.mark.parametrize("lines", range(30, 48))
def test_a_heading_goes_along_with_the_one_under_it(read, lines):
    above, width = [Text(f"above {n}") for n in range(lines)], text_width(A4)
    table = keep_with_next(Heading(2, "Of one person"), [Ledger(COLUMNS, [["row-0", "seen"]])], width)
    printed = read(sheet(*above, *keep_with_next(Heading(1, "Through time"), [Text("a legend"), *table], width)))
    with_heading = next(text for text in printed.pages if "Through time" in text)

    assert "row-0" in with_heading


@pytest.mark.parametrize("lines", range(38, 48))
def test_a_paragraph_leaves_no_single_line_behind(read, lines):
    above = [Text("above") for _ in range(lines)]
    printed = read(sheet(*above, Text("\n".join(f"line{n}" for n in range(6)))))
    shares = [sum(word.startswith("line") for word in text.split()) for text in printed.pages]

    assert sum(shares) == 6
    assert 1 not in shares


def test_a_figure_carries_its_words_and_its_place(read):
    drawing = Figure(lambda canvas: draw_mark(canvas, "held", 0, 0, 40), 40, 40, alt="A post with a bar across")
    printed = read(sheet(Text("above"), drawing))
    (figure,) = elements(printed, "/Figure")

    assert figure["/Alt"] == "A post with a bar across"
    assert [round(side) for side in figure["/A"]["/BBox"]][2:] == [round(figure["/A"]["/BBox"][0]) + 40, 769]
    assert page.is_pdf_compliant_bytes(printed.data, profile="ua1")


def test_headings_are_tagged_by_level(read):
    printed = read(sheet(Heading(1, "One"), Heading(2, "Two"), Heading(3, "Three"), Text("end")))

    assert [len(elements(printed, kind)) for kind in ("/H1", "/H2", "/H3", "/P")] == [1, 1, 1, 1]
