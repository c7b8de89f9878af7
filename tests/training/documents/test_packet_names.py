"""What a person typed is what the paper says, in every field, or the paper says which letters it could not draw."""

from dataclasses import replace

import page
import pytest

from tests.training.documents.awkward import text_of
from training.documents.packet import A4, LETTER, CaregiverBlock, MissingLine, SkillLine, render_packet

LITERAL = [
    "Nguyễn Thị Mai",
    "Łukasz",
    "Ольга",
    "Ελένη",
    "O'Neil",
    "O’Neil “Bo”",
    "N" * 300,
    "<Mai> Nguyen",
    "<b>pass</b>",
    '<img src="/etc/hostname">',
    "</para>",
    "<!-- -->",
    "<br/>",
    "S&P",
    "A & B",
    "&nbsp; &#65; &lt;",
    "SpO2 <90 for 5 min; 0.1 <A <0.9",
    "%s {0} \\n (a\\) [b]",
]


def everywhere(packet, text, signed):
    """The packet with ``text`` in a name, a reason, a heading, a note and a table's head."""
    skill = SkillLine(title="Suction", standing="held", word="held", reasons=(text,))
    return replace(
        packet,
        organisation=text,
        patient=text,
        called=text,
        caregivers=(CaregiverBlock(name=text, relation=text, sets=(text,), skills=(skill,)),),
        missing=(MissingLine(title=text, lines=(text,)),),
        signatures=(signed(1, what=text, name=text, role=text, note=text),),
        cautions=(text,),
    )


@pytest.mark.parametrize("text", LITERAL)
def test_text_out_equals_text_in(read, packet, signed, text):
    printed = read(render_packet(everywhere(packet, text, signed)))

    assert printed.letters.count("".join(text.split())) >= 13


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("soft\u00adhyphen", "softhyphen"),
        ("a\u202eb\x00c\u200bd\ufeff", "abcd"),
        ("e\u0301", "é"),
        ("non\u2011breaking", "non-breaking"),
        ("one\ttwo\r\nthree\u2028four", "one two three four"),
        ("thin\u2009space", "thin space"),
        ("李小龍", "[U+674E][U+5C0F][U+9F8D]"),
        ("well 😀 done", "well [U+1F600] done"),
        ("👩\u200d👧\ufe0f", "[U+1F469][U+1F467]"),
        ("किरण", "[U+0915][U+093F][U+0930][U+0923]"),
        ("\ue000", "[U+E000]"),
        ("\ud800", "[U+D800]"),
    ],
)
def test_what_cannot_stay_as_it_is(read, packet, signed, typed, printed):
    assert read(render_packet(everywhere(packet, typed, signed))).letters.count("".join(printed.split())) >= 10


def test_letters_that_could_not_be_drawn_are_told_first_and_listed_last(read, packet):
    printed = read(render_packet(replace(packet, patient="李 and 😀")))

    assert "Some letters could not be drawn and stand as numbers: see the end." in " ".join(printed.pages[0].split())
    assert "U+674E CJK UNIFIED IDEOGRAPH-674E" in printed.pages[-1]
    assert "U+1F600 GRINNING FACE" in printed.pages[-1]
    assert printed.bookmarks[-1][1] == "Letters that could not be drawn"


def test_nothing_is_told_when_every_letter_was_drawn(read, packet):
    assert "could not be drawn" not in read(render_packet(packet)).words


@pytest.mark.parametrize("name", ["محمد علي", "فاطمة الزهراء", "گلچهره پژمان", "ٹیپو سلطان", "مُحَمَّد"])
def test_arabic_letters_are_joined_and_read_in_the_order_they_were_typed(read, packet, name):
    printed = read(render_packet(replace(packet, patient=name)))

    assert name in printed.spoken
    assert all(word in printed.text for word in name.split())
    assert "U+" not in printed.text


def test_a_mixed_line_is_read_in_order(read, packet):
    line = "محمد علي (father), room 12"
    assert line in read(render_packet(replace(packet, team=(line,)))).spoken


def test_a_long_arabic_note_is_broken_in_reading_order(read, packet):
    note = " ".join(f"كلمة{n}" for n in range(120))
    spoken = read(render_packet(replace(packet, team=(note,)))).spoken

    assert "".join(spoken).strip() == note


def test_two_thousand_words_are_all_printed(read, packet, signed):
    reason = " ".join(f"word{n}" for n in range(2000))
    long = replace(packet, signatures=(signed(1, note=reason), signed(2)), verdict_lines=(reason,), cautions=(reason,))
    words = read(render_packet(long)).words.split()

    assert [n for n in range(2000) if words.count(f"word{n}") != 3] == []


def test_a_word_without_end_is_broken_and_kept_whole(read, packet, signed):
    printed = read(render_packet(replace(packet, signatures=(signed(1, note="x" * 4000),))))

    assert printed.letters.count("x") >= 4000


@pytest.mark.parametrize("size", [A4, LETTER])
def test_a_name_taller_than_a_page_is_printed_whole(read, packet, size):
    name = " ".join(f"name{n}" for n in range(2500))
    data = render_packet(replace(packet, caregivers=(replace(packet.caregivers[0], name=name),)), size)
    printed = text_of(data)

    assert "".join(name.split()) in printed
    assert [level for level, title, _ in read(data).bookmarks if title == name] == [3]
    assert page.validate_pdf_bytes(data, profile="ua1").failures == []


def test_a_soft_hyphen_at_the_end_of_a_line_reads_back_as_one(read, packet):
    word = "\u00ad".join(["under", "stand"] * 60)
    printed = read(render_packet(replace(packet, team=(word,))))

    assert "understand" * 60 in printed.letters.replace("\u00ad", "")
