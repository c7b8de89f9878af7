"""The packet as it comes from its address."""

from __future__ import annotations

from io import BytesIO
from urllib.parse import unquote

import pytest
from pypdf import PdfReader

from tests.cast import make_family
from tests.training.pages.family.conftest import of


@pytest.fixture
def packet(story, signed_in):
    def get(family=None, query=""):
        return signed_in(story.north.educator).get(of(family or story.north.family, "packet") + query)

    return get


def words(answer):
    pages = PdfReader(BytesIO(b"".join(answer.streaming_content))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_it_is_a_pdf_that_nobody_keeps(packet):
    answer = packet()

    assert (answer["Content-Type"], answer["Cache-Control"]) == ("application/pdf", "private, no-store")


def test_its_file_is_named_by_family_and_date(packet):
    assert packet()["Content-Disposition"] == 'attachment; filename="Packet Okonjo-Lind 2026-05-14.pdf"'


@pytest.mark.parametrize(
    ("name", "file"),
    [
        ("Zoë Nguyễn", "Packet Zoë Nguyễn 2026-05-14.pdf"),
        ('O\'Brien "Bo"', "Packet O'Brien Bo 2026-05-14.pdf"),
        ("a\nb/..\\c", "Packet a b .. c 2026-05-14.pdf"),
        ("N" * 190, f"Packet {'N' * 80} 2026-05-14.pdf"),
    ],
)
def test_any_name_makes_a_file_name(story, packet, name, file):
    header = packet(make_family(story.north, name, "Noor"))["Content-Disposition"]

    assert file in unquote(header)


def test_it_answers_for_the_date_asked(packet):
    assert "As of 3 May 2026" in words(packet(query="?on=2026-05-03"))


def test_paper_is_a4_or_letter(packet):
    sizes = [
        PdfReader(BytesIO(b"".join(packet(query=q).streaming_content))).pages[0].mediabox.upper_right
        for q in ("", "?size=letter", "?size=napkin")
    ]

    assert [(round(x), round(y)) for x, y in sizes] == [(595, 842), (612, 792), (595, 842)]


def test_it_says_the_same_as_the_page(packet):
    text = words(packet())

    assert "Not ready since 2 March 2026." in text
    assert "3 things are missing, 1 covered by an exception." in text
    assert "The clinical team decides discharge." in text
