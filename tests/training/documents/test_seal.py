"""The number at every foot, and the code at the end that another reader than its drawer reads."""

from __future__ import annotations

from dataclasses import replace

import page
import pytest

from tests.training.documents.codes import decode, squares
from training.documents.packet import A4, LETTER, render_packet
from training.documents.pdf.seal import Seal

SEAL = Seal(number="7K3M-PQ9X-2DFA", address="https://register.example.org/check/7K3M-PQ9X-2DFA/")
LONG = replace(SEAL, address=f"https://{'register-of-skills.' * 4}example.org/check/7K3M-PQ9X-2DFA/")


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("seal", [SEAL, LONG])
def test_the_code_leads_to_the_page(read, packet, size, seal):
    assert decode(squares(read(render_packet(packet, size, seal)).reader, -1)) == seal.address


def test_its_number_is_on_every_page_and_in_the_properties(read, packet, signed):
    printed = read(render_packet(replace(packet, signatures=tuple(signed(n) for n in range(90))), A4, SEAL))

    assert len(printed.pages) > 3
    assert [text for text in printed.pages if "Document 7K3M-PQ9X-2DFA, page" not in text] == []
    assert printed.reader.metadata.subject.endswith(". Document 7K3M-PQ9X-2DFA")


@pytest.mark.parametrize("many", range(0, 60, 7))
def test_the_code_is_whole_on_its_page_with_its_heading(read, packet, signed, many):
    last = read(render_packet(replace(packet, signatures=tuple(signed(n) for n in range(many))), A4, SEAL)).pages[-1]

    assert "Is this document genuine" in last
    assert SEAL.address in last


@pytest.mark.parametrize("many", range(40))
def test_the_code_is_never_alone_on_its_page(read, packet, signed, many):
    """The last part of a packet is short, so it goes along."""
    last = read(render_packet(replace(packet, signatures=tuple(signed(n) for n in range(many))), A4, SEAL)).pages[-1]

    assert "The file this was printed from" in last


@pytest.mark.parametrize("size", [A4, LETTER])
def test_it_is_accessible(packet, size):
    data = render_packet(packet, size, SEAL)

    assert page.validate_pdf_bytes(data, profile="ua1").failures == []
    assert f"(Code that opens the page which checks this document: {SEAL.address})".encode() in data


def test_the_bytes_are_the_same_again(packet):
    assert render_packet(packet, A4, SEAL) == render_packet(packet, A4, SEAL)
