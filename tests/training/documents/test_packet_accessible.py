"""The packet is a tagged PDF (PDF/UA-1): a checker passes it, and the same checker fails what is not tagged."""

from dataclasses import replace
from io import BytesIO
from xml.etree import ElementTree

import page
import pytest
from reportlab.pdfgen.canvas import Canvas

from training.documents.packet import LETTER, render_packet


def failures(data):
    return [(failure.rule_id, failure.message) for failure in page.validate_pdf_bytes(data, profile="ua1").failures]


def test_a_plain_file_fails_the_check():
    buffer = BytesIO()
    canvas = Canvas(buffer)
    canvas.drawString(72, 720, "Not tagged")
    canvas.save()

    assert len(failures(buffer.getvalue())) > 3


def test_losing_one_tag_fails_the_check(packet):
    """The structure is really looked at: content that no longer says what it is, is found."""
    uncompressed = render_packet(packet).replace(b"/Type /StructTreeRoot", b"/Type /StructTreeRoat")
    assert failures(uncompressed.replace(b"/StructTreeRoot", b"/StructTreeRoat")) != []


@pytest.mark.parametrize("size", [None, LETTER])
def test_the_packet_passes(packet, size):
    assert failures(render_packet(packet, size) if size else render_packet(packet)) == []


@pytest.mark.parametrize(
    "change",
    [
        {"patient": "محمد علي 李小龍 <b> & \u00ad"},
        {"caregivers": (), "signatures": (), "missing": (), "care_plan": ()},
        {"verdict": None, "verdict_word": ""},
        {"organisation": "A & B <C>", "title": 'Title "of" <all> & sundry'},
    ],
)
def test_awkward_packets_pass(packet, change):
    assert failures(render_packet(replace(packet, **change))) == []


def test_a_long_packet_passes(packet, signed):
    lines = tuple(signed(n, note="word " * (900 if n == 40 else 3)) for n in range(220))
    assert failures(render_packet(replace(packet, signatures=lines))) == []


def test_title_language_and_view(read, packet):
    reader = read(render_packet(replace(packet, language="en-IE"))).reader
    catalogue = reader.trailer["/Root"]

    assert reader.metadata.title == "Discharge-readiness packet: Ilse Lind, as of 12 June 2026"
    assert catalogue["/Lang"] == "en-IE"
    assert catalogue["/ViewerPreferences"]["/DisplayDocTitle"]
    assert b"<pdfuaid:part>1</pdfuaid:part>" in catalogue["/Metadata"].get_data()


def test_the_metadata_is_whole_whatever_the_name(read, packet):
    data = render_packet(replace(packet, patient="A\x00 \u202e<B> &\r\n\ud800 محمد"))
    metadata = read(data).reader.trailer["/Root"]["/Metadata"].get_data().decode()
    title = ElementTree.fromstring(metadata).find(".//{http://purl.org/dc/elements/1.1/}title")

    assert "".join(title.itertext()).strip() == "Discharge-readiness packet: A <B> & [U+D800] محمد, as of 12 June 2026"
    assert failures(data) == []


def test_a_name_that_would_end_the_metadata_does_not(read, packet):
    data = render_packet(replace(packet, patient="endstream endobj"))
    metadata = read(data).reader.trailer["/Root"]["/Metadata"].get_data().decode()

    assert failures(data) == []
    assert "packet: endstream endobj," in ElementTree.fromstring(metadata).find(".//{*}title")[0][0].text


def test_bookmarks_lead_to_their_headings(read, packet):
    printed = read(render_packet(packet))

    assert [(level, title) for level, title, _ in printed.bookmarks] == [
        (1, "Discharge-readiness packet"),
        (2, "Ready by exception"),
        (2, "What is missing, and why"),
        (2, "Care plan"),
        (2, "Team rule and sets"),
        (2, "Caregivers and skills"),
        (3, "Marit Lind"),
        (3, "Joram Okonjo"),
        (2, "Through time"),
        (3, "Marit Lind: through time"),
        (2, "Items: kit, equipment trial, home, papers"),
        (2, "Authorisations"),
        (2, "Who recorded"),
        (2, "Corrected, decided later, typed from paper or late"),
        (2, "Who signed"),
        (2, "Cautions"),
        (2, "The file this was printed from"),
    ]
    assert [title for _, title, number in printed.bookmarks if title not in printed.pages[number]] == []


def test_every_font_is_embedded_and_ours(read, packet):
    fonts = read(render_packet(replace(packet, patient="محمد علي"))).fonts

    assert set(fonts) == {"FiraSans-Regular", "FiraSans-SemiBold", "FiraSans-Italic", "IBMPlexSansArabic-SemiBold"} | (
        set(fonts) & {"IBMPlexSansArabic-Regular"}
    )
    assert [name for name, font in fonts.items() if "/FontFile2" not in font["/FontDescriptor"]] == []


def test_every_band_has_words(read, packet):
    data = render_packet(packet)

    for n in range(3):
        assert b"(Skill %d, Marit Lind: Everything, %d times.)" % (n, n) in data
        assert f"Everything, {n} times." in read(data).words


def test_a_hundred_bands_run_over_pages_under_one_head(read, packet):
    block = packet.bands[0]
    long = replace(packet, bands=(replace(block, lines=block.lines * 40),))
    data = render_packet(long)

    assert failures(data) == []
    assert read(data).words.count("Everything, 1 times.") == 40
    assert sum("Skill of Marit Lind" in text and "M12" in text for text in read(data).pages) >= 3


def test_the_verdict_mark_has_words(read, packet):
    assert b"(Mark of the verdict: two posts, one of them propped up)" in render_packet(packet)
