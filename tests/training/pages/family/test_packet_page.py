"""The packet as it comes from its address."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from pypdf import PdfReader

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


def test_its_file_is_named_by_date_and_number_and_names_nobody(packet):
    name = r'attachment; filename="packet 2026-05-14 [0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4}\.pdf"'
    assert re.fullmatch(name, packet()["Content-Disposition"])


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
