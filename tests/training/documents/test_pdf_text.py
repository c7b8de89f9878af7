"""Letters: which can be drawn, how they break into lines, in which order they stand."""

import unicodedata

import pytest
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.pdfdoc import PDFDocument
from reportlab.pdfbase.ttfonts import TTFont

from training.documents.pdf.flowables import Text
from training.documents.pdf.fonts import ARABIC, ITALIC, REGULAR, STRONG, CannotDraw, font, font_for
from training.documents.pdf.lines import Plain, break_lines, glyphs_of, joined, one_line, reads_from_right, set_line
from training.documents.pdf.marks import MARKS
from training.documents.pdf.text import Run, clean, mark, name, spell_out, undrawable


def broken(text, room):
    return ["".join(g.char for g in line) for line in break_lines(glyphs_of([Run(text)]), room)]


def drawn(text):
    return "".join(piece.text for piece in set_line(glyphs_of([Run(text)])).pieces)


def plain(text):
    return unicodedata.normalize("NFKC", text)


@pytest.mark.parametrize("face", [REGULAR, STRONG, ITALIC])
@pytest.mark.parametrize("letters", ["ễịơăđ", "Łżąß", "Ольга", "Ελένη", "’“”–—…×≤≥°µ½"])
def test_fira_draws(face, letters):
    assert {font_for(char, face) for char in letters} == {face}


def test_arabic_letters_come_from_their_own_face():
    assert {font_for(char, REGULAR) for char in "محمدعليگچپژیکٹے٣،؟"} == {ARABIC}


def test_a_face_is_registered_once():
    assert font(REGULAR) is font(REGULAR) is pdfmetrics.getFont(REGULAR)


def test_letters_nobody_can_draw_are_named_each_once():
    with pytest.raises(CannotDraw) as refused:
        Text("李 😀 李")

    assert refused.value.letters == ("U+674E CJK UNIFIED IDEOGRAPH-674E", "U+1F600 GRINNING FACE")


def test_undrawable_and_spelled_out():
    assert undrawable("Li 李") == ("李",)
    assert spell_out("Li 李") == "Li [U+674E]"
    assert spell_out("Li\u00ad") == "Li\u00ad"
    assert name("\ue000") == "U+E000 without a name"


@pytest.mark.parametrize("text", ["<b>&nbsp;</b>", "plain", "Nguyễn", "a\u00adb", "a\nb", "a\u00a0b"])
def test_cleaning_leaves_alone(text):
    assert clean(text) == text


def test_cleaning_twice_changes_nothing():
    text = "e\u0301\r\n\u202ex\u2011\t\ufe0f\u3000"
    assert clean(clean(text)) == clean(text) == "é\nx-  "


@pytest.mark.parametrize(
    ("text", "room", "lines"),
    [
        ("aa bb cc", 100, ["aa bb cc"]),
        ("aa bb cc", 3, ["aa bb ", "cc"]),
        ("aa\nbb", 100, ["aa\n", "bb"]),
        ("aa\n\nbb", 100, ["aa\n", "\n", "bb"]),
        ("aaaaaa", 1.8, ["aaa", "aaa"]),
        ("mother-in-law", 5.2, ["mother-in-", "law"]),
        ("2026-06-12", 3.4, ["2026-0", "6-12"]),
        ("soft\u00adhyphen", 4.2, ["soft\u00ad", "hyphen"]),
        ("aa\u00a0bb cc", 2.6, ["aa\u00a0bb ", "cc"]),
        ("", 5, []),
    ],
)
def test_lines_break(text, room, lines):
    assert broken(text, room) == lines


@pytest.mark.parametrize("room", [0.1, 0.7, 2, 9, 40])
def test_breaking_loses_no_letter(room):
    text = "Whole tube change, 2 of 3: ễễ\u0323\u0301 <b>x</b>\n\nmother-in-law\u00ad and so on  "
    assert "".join(broken(text, room)) == clean(text)


def test_an_accent_stays_with_its_letter():
    assert [line[0] for line in broken("x\u0323\u0301" * 6, 1.2)] == ["x"] * len(broken("x\u0323\u0301" * 6, 1.2))


@pytest.mark.parametrize("room", [3, 6, 14, 30])
def test_lines_are_no_wider_than_the_room(room):
    text = "Return demonstration of the whole tube change with a second person, seen by a nurse on the ward"
    for line in break_lines(glyphs_of([Run(text)]), room):
        assert sum(g.width for g in line) - (line[-1].width if line[-1].char == " " else 0) <= room


def test_a_soft_hyphen_shows_only_where_the_line_ends():
    assert drawn("soft\u00ad") == "soft\u00ad"
    assert drawn("soft\u00adhyphen") == "softhyphen"


def test_arabic_is_joined_and_stands_from_the_right():
    assert drawn("علي") == "\ufef2\ufee0\ufecb"
    assert plain(drawn("لا")) == "لا"


@pytest.mark.parametrize(
    ("typed", "stands"),
    [
        ("abc (اب) 12", "abc (با) 12"),
        ("(اب)", "(با)"),
        ("اب 12 ج", "ج 12 با"),
        ("اب (x) ج", "ج (x) با"),
        ("Ali, اب: ok", "Ali, با: ok"),
    ],
)
def test_mixed_lines_stand_in_the_right_order(typed, stands):
    assert plain(drawn(typed)) == plain(stands)


def test_stretches_in_two_manners_are_ordered_together():
    line = set_line(glyphs_of([Run("اب ", strong=True), Run("جد")]))
    assert [piece.run.strong for piece in line.pieces if piece.text.strip()] == [False, True]


@pytest.mark.parametrize(
    ("text", "right"),
    [("محمد", True), ("محمد علي 12", True), ("Ali محمد", False), ("محمد (father of two)", False), ("12", False)],
)
def test_reading_direction(text, right):
    assert reads_from_right(text) is right


def test_one_line_is_cut_with_dots():
    assert "".join(piece.text for piece in one_line(Run("a" * 50), 5).pieces).endswith("a…")
    assert one_line(Run("a" * 50), 5).width <= 5
    assert one_line(Run("two\nlines")).pieces[0].text == "two lines"


@pytest.mark.parametrize("known", sorted(MARKS))
def test_a_mark_is_no_letter(known):
    line = set_line(glyphs_of([mark(known), Run("word")]))

    assert [piece.text for piece in line.pieces] == ["", "word"]


def test_a_mark_stays_with_its_word():
    lines = [
        "".join(g.char for g in line)
        for line in break_lines(glyphs_of([Run("and then "), mark("held"), Run("held")]), 5.5)
    ]
    assert lines[-1] == "\ufffcheld"


def test_every_standing_and_verdict_of_the_register_has_a_mark():
    assert set(MARKS) >= {
        "not_required", "not_started", "in_training", "awaiting", "signed_off", "held", "lapsed", "withdrawn",
        "ready", "ready_by_exception", "not_ready",
    }  # fmt: skip


PLAIN = [
    "",
    "plain",
    "a (b) \\ c",
    "two words, and mother-in-law/father 2026-06-12 [U+674E] on",
    "Nguyễn – “q” 37 °C",
    "a\u00a0b",
]


@pytest.mark.parametrize("text", PLAIN)
@pytest.mark.parametrize("room", [0.4, 3, 8, 100])
def test_what_is_kept_without_a_glyph_each_is_set_the_same(text, room):
    kept = glyphs_of([Run(text, strong=True)])
    apart = list(kept)

    assert isinstance(kept, Plain)
    assert [list(line) for line in break_lines(kept, room)] == list(break_lines(apart, room))
    assert list(joined(list(break_lines(kept, room)))) == apart
    assert [set_line(line) for line in break_lines(kept, room)] == [set_line(line) for line in break_lines(apart, room)]


@pytest.mark.parametrize("text", ["a\nb", "soft\u00adhyphen", "علي", "a\u200cb"])
def test_what_needs_a_glyph_each_has_them(text):
    assert isinstance(glyphs_of([Run(text)]), list)


def test_runs_in_two_manners_and_marks_have_a_glyph_each():
    assert isinstance(glyphs_of([Run("a"), Run("b", strong=True)]), list)
    assert isinstance(glyphs_of([mark("held")]), list)


@pytest.mark.parametrize("text", ["plain", "(a) \\ b", "~ !"])
def test_codes_of_ascii_are_what_reportlab_finds(text):
    """reportlab 4's subsets keep ASCII at its own codes; a release that does not is found here."""
    face, document = font(REGULAR), PDFDocument()
    first = face.splitString(text, document)

    assert face.splitString(text, document) == first == TTFont.splitString(face, text, document)
