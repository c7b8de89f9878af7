"""Awkward names and notes through every document: text out is text in, nothing is obeyed, nothing is opened."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, datetime
from itertools import chain, islice, repeat
from typing import Any

import page
import pytest

from tests.training.documents.awkward import awkward, filled, letters, text_of
from tests.training.documents.conftest import DUBLIN, HEAD
from training.documents.emergency_sheet import EmergencySheet, Place, render_emergency_sheet
from training.documents.family_copy import Allowed, FamilyCopy, OpenItem, render_family_copy
from training.documents.handover_packet import HandedEvent, HandedSkill, HandoverPacket, render_handover
from training.documents.packet import LETTER, FactLine, render_packet
from training.documents.pdf.fonts import ARABIC, ARABIC_STRONG, ITALIC, REGULAR, STRONG, font
from training.documents.person_record import AttemptLine, CardLine, PersonRecord, render_person_record
from training.documents.remaining import Remaining, Shown, Turn, render_remaining
from training.documents.survey import Known, Survey, SurveyLine, render_survey

KNOWN = datetime(2026, 6, 12, 15, 20, tzinfo=DUBLIN)
DAY = date(2026, 6, 12)
OPENED: list[str] = []
_watching = [False]


def _watch(event: str, arguments: Any) -> None:
    if _watching[0] and (event == "open" or event.startswith(("socket.", "urllib.", "subprocess.", "os.system"))):
        OPENED.append(f"{event} {arguments}")


sys.addaudithook(_watch)


def copies(packet: Any) -> Iterator[tuple[str, Any, Callable[..., bytes]]]:
    """Every document, with something in each of its parts."""
    shown = replace(packet, care_plan=(FactLine(title="Tube", value="5"),), items=packet.items[:1])
    yield "packet", shown, render_packet
    head = {"organisation": "O", "patient": "P", "as_of": DAY, "known_at": KNOWN, "zone": "Z", "notice": "N"}
    yield (
        "family's copy",
        FamilyCopy(
            **head,
            verdict="ready_by_exception",
            team_met=True,
            chain_head=HEAD,
            since="S",
            allowed=(Allowed(covers="c", by="b", last_day=DAY),),
            skills=("s",) * 12,
            items=(OpenItem(title="t", state="s", is_done=True),) * 5,
            cautions=("c",) * 12,
        ),
        render_family_copy,
    )
    place = Place(title="t", value="v")
    yield (
        "emergency sheet",
        EmergencySheet(**head, care_plan_since=DAY, rows=((place,) * 3, (place,) * 4)),
        render_emergency_sheet,
    )
    attempt = AttemptLine(
        number=4, on=DAY, at="a", skill="s", edition=1, setting="h", outcome="o", watched=("w", "x"), followed=("f",),
        voided_on=DAY, voided_why="v",
    )  # fmt: skip
    yield (
        "one caregiver's record",
        PersonRecord(
            **head,
            block=packet.caregivers[0],
            programme="p",
            newest=9,
            chain_head=HEAD,
            attempts=(attempt,) * 6,
            cards=(CardLine(number=5, on=DAY, skill="s", what="w", last_day=None, by="b"),) * 3,
            others=packet.signatures,
            bands=packet.bands,
            origins=packet.origins,
        ),
        render_person_record,
    )
    shown_once = (Shown(title="t", standing="held", word="w", lines=("a", "b")),) * 2
    yield (
        "remaining-skills sheet",
        Remaining(
            **head,
            caregiver="c",
            summary="s",
            ready=shown_once,
            next=shown_once,
            not_alone=shown_once,
            later=shown_once,
            planned=(Turn(when="w", what="t", lines=("a",)),) * 2,
        ),
        render_remaining,
    )
    skill = HandedSkill(
        caregiver="c", skill="s", standing="held", word="w", last_day=DAY, seen="s", reteach="r", with_you="w", why="y"
    )
    yield (
        "hand-over packet",
        HandoverPacket(
            packet=_handed(shown),
            to="t",
            reason="r",
            note="n",
            fits="f",
            skills=(skill,) * 3,
            events=(HandedEvent(on=DAY, kind="k", lines=("a", "b")),) * 3,
        ),
        render_handover,
    )
    line = SurveyLine(
        caregiver="c",
        relation="r",
        skill="s",
        asked=True,
        then=Known(standing="held", word="w"),
        now=Known(standing="signed_off", word="w"),
    )
    yield (
        "survey",
        Survey(
            **head,
            known_then=KNOWN,
            verdict_then="t",
            verdict_now="n",
            programme="p",
            chain_head=HEAD,
            chain_length=3,
            lines=(line,) * 6,
            corrections=packet.origins * 4,
        ),
        render_survey,
    )


def _handed(packet: Any) -> Any:
    """Without what a hand-over packet does not show: the history, and the reasons of each standing."""
    blocks = tuple(replace(b, skills=tuple(replace(s, reasons=()) for s in b.skills)) for b in packet.caregivers)
    return replace(packet, caregivers=blocks, team=(), bands=(), recorders=(), origins=(), signatures=())


def documents(packet: Any, texts: list[str]) -> Iterator[tuple[str, Any, Callable[..., bytes], list[str]]]:
    """Each kind as often as it takes to print every text, with the texts that are in it."""
    for kind, empty, render in copies(packet):
        waiting = iter(texts)
        while used := list(islice(waiting, 1)):
            taken: list[str] = []

            def following(first=used, waiting=waiting, taken=taken):
                for text in chain(first, waiting):
                    taken.append(text)
                    yield text
                yield from repeat("end")

            yield kind, filled(empty, following()), render, taken


def check(value: Any, render: Callable[..., bytes], texts: list[str], size: Any) -> bytes:
    OPENED.clear()
    _watching[0] = True
    data = render(value, size) if size else render(value)
    _watching[0] = False
    printed = text_of(data)
    assert OPENED == []
    assert [text[:60] for text in texts if letters(text) not in printed] == []
    assert [word for word in (b"/URI", b"/Launch", b"/JavaScript", b"/EmbeddedFile") if word in data] == []
    return data


def all_of(packet: Any, count: int, every: int) -> int:
    """Checks them all; every so many are made twice and put before the checker of PDF/UA-1."""
    done = 0
    for name in (REGULAR, STRONG, ITALIC, ARABIC, ARABIC_STRONG):
        font(name)  # the faces are opened once
    for number, (_kind, value, render, texts) in enumerate(documents(packet, awkward(count))):
        size = LETTER if number % 2 else None
        data = check(value, render, texts, size)
        if number % every == 0:
            assert data == (render(value, size) if size else render(value))
            assert page.validate_pdf_bytes(data, profile="ua1").failures == []
        done += len(texts)
    return done


def test_200_awkward_texts_through_every_document(packet):
    assert all_of(packet, 200, 1) >= 200 * 7


@pytest.mark.long
def test_5000_awkward_texts_through_every_document(packet):
    assert all_of(packet, 5000, 20) >= 5000 * 7


def test_a_reader_of_another_make_finds_them_too(packet, tmp_path):
    """pdftotext, for what is read from the left."""
    texts = ["<b>pass</b>", "Nguyễn Thị Mai", "Łukasz Żółć", "&nbsp;&#65;&lt;", ") Tj ET", "Ольга Ёлкина"]
    for kind, value, render, taken in documents(packet, texts):
        file = tmp_path / f"{kind}.pdf"
        file.write_bytes(render(value))
        said = subprocess.run(["pdftotext", "-raw", str(file), "-"], capture_output=True, check=True).stdout.decode()
        assert [text for text in taken if letters(text) not in letters(said)] == []


def test_a_code_without_a_letter_would_be_noticed(packet):
    data = render_packet(packet)

    assert letters("Ilse Lind") in text_of(data)
    assert letters("Ilse Lundt") not in text_of(data)
