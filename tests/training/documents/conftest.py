"""A packet of an invented family, and ways to read a PDF back. No Django: values in, bytes out."""

import re
from datetime import date, datetime
from io import BytesIO
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from training.documents.history_values import BandLine, BandPiece, BandsBlock, OriginLine, RecorderLine
from training.documents.packet import (
    AuthorisationLine,
    CaregiverBlock,
    ExceptionLine,
    FactLine,
    ItemLine,
    MissingLine,
    Packet,
    SignedLine,
    SkillLine,
)

DUBLIN = ZoneInfo("Europe/Dublin")
HEAD = "7c1e0b4491d25aa0" + "0123456789abcdef" * 3


class Printed:
    """A PDF, read back."""

    def __init__(self, data):
        self.data = data
        self.reader = PdfReader(BytesIO(data))
        self.pages = [page.extract_text() for page in self.reader.pages]
        self.text = "\n".join(self.pages)
        self.words = " ".join(self.text.split())
        self.letters = "".join(self.text.split())

    def holds(self, text):
        """Say whether the letters of ``text`` stand on the paper one after the other, wherever lines end."""
        return "".join(text.split()) in self.letters

    @property
    def spoken(self):
        """What the pages say of how their reordered lines are to be read."""
        found = []
        for page in self.reader.pages:
            for operands, operator in ContentStream(page.get_contents(), self.reader).operations:
                if operator == b"BDC" and "/ActualText" in operands[1]:
                    found.append(str(operands[1]["/ActualText"]))
        return found

    @property
    def fonts(self):
        return {
            re.sub(r"^/[A-Z]{6}\+", "", str(font.get_object()["/BaseFont"])): font.get_object()
            for page in self.reader.pages
            for font in page["/Resources"]["/Font"].values()
        }

    @property
    def bookmarks(self):
        return list(self._flat(self.reader.outline, 1))

    def _flat(self, entries, level):
        for entry in entries:
            if isinstance(entry, list):
                yield from self._flat(entry, level + 1)
            else:
                yield level, entry.title, self.reader.get_destination_page_number(entry)


@pytest.fixture
def read():
    return Printed


def skill(title, standing, word, **more):
    return SkillLine(title=title, standing=standing, word=word, **more)


@pytest.fixture
def signed():
    """Make a signed record by its number."""

    def make(number, **more):
        fields = {
            "number": number,
            "kind": "demonstration",
            "on": date(2026, 5, 14),
            "what": f"Suction, attempt {number}",
            "name": "Ruta Emberley",
            "role": "discharge educator",
            "signed_at": datetime(2026, 5, 14, 16, 5, tzinfo=DUBLIN),
        }
        return SignedLine(**{**fields, **more})

    return make


STANDINGS = ("not_required", "not_started", "in_training", "awaiting", "signed_off", "held", "lapsed", "withdrawn")


def every_band():
    """A block in which every standing is drawn, on both sides of the day."""
    pieces = tuple(
        BandPiece(standing=standing, start=n / 16, end=(n + 1) / 16, ahead=n >= 8)
        for n, standing in enumerate(STANDINGS * 2)
    )
    lines = tuple(BandLine(title=f"Skill {n}", said=f"Everything, {n} times.", pieces=pieces) for n in range(3))
    return BandsBlock(
        name="Marit Lind",
        first=date(2026, 1, 1),
        last=date(2026, 12, 31),
        ticks=tuple((n / 12, f"M{n + 1}") for n in range(12)),
        now=0.5,
        lines=lines,
    )


@pytest.fixture
def packet(signed):
    return Packet(
        organisation="Tallowmere Children’s Hospital, homecoming programme",
        patient="Ilse Lind",
        called="Ilse",
        born=date(2023, 3, 2),
        as_of=date(2026, 6, 12),
        known_at=datetime(2026, 6, 12, 15, 20, tzinfo=DUBLIN),
        zone="Europe/Dublin",
        verdict="ready_by_exception",
        verdict_word="Ready by exception",
        verdict_lines=("Holds through 18 June 2026.",),
        exceptions=(
            ExceptionLine(
                covers="Item: home equipment trial, not done",
                by="Ruta Emberley, supervisor",
                reason="Delivery on 15 June.",
                last_day=date(2026, 6, 19),
            ),
        ),
        missing=(MissingLine(title="Item: home equipment trial", lines=("Not done.", "Covered by an exception.")),),
        care_plan_since=date(2026, 5, 8),
        care_plan=(
            FactLine(title="Tube size", value="5.0"),
            FactLine(title="Humidity", value="", stated=False),
        ),
        caregivers=(
            CaregiverBlock(
                name="Marit Lind",
                relation="mother",
                sets=("full: held",),
                from_day=date(2026, 1, 5),
                skills=(
                    skill("Suction", "signed_off", "signed off", last_day=date(2026, 11, 14), reasons=("3 of 3.",)),
                    skill("Whole tube change", "held", "held", reasons=("Tube size changed 8 May 2026.",)),
                    skill("24-hour stay", None, "no care plan", asked=False),
                ),
            ),
            CaregiverBlock(
                name="Joram Okonjo",
                relation="father",
                skills=(skill("Suction", "lapsed", "lapsed", reasons=("Last day was 30 April 2026.",)),),
            ),
        ),
        team=("Two people holding full, 18 or over.",),
        items=(
            ItemLine(
                title="Go-bag check",
                done_on=date(2026, 6, 10),
                by="Pell Sandoval",
                through=date(2026, 7, 10),
                state="done",
            ),
            ItemLine(title="Home equipment trial", done_on=None, by="", through=None, state="not done"),
        ),
        authorisations=(AuthorisationLine(skill="Suction", prescriber="Dr Anneke Vail", from_day=date(2026, 5, 1)),),
        signatures=(
            signed(180),
            signed(181, voided_on=date(2026, 5, 15), note="entered for the wrong person"),
            signed(182, signed_at=None, note="late entry"),
        ),
        cautions=("In an emergency call for help and do what you were taught.",),
        notice=(
            "Checklists are samples to adapt; the packet defers to the prescriber, the organisation’s policy, "
            "and local law and licensed practice."
        ),
        chain_head=HEAD,
        chain_length=231,
        bands=(every_band(),),
        recorders=(
            RecorderLine(
                name="Ruta Emberley", role="supervisor", records=3, first=date(2026, 5, 14), last=date(2026, 5, 15)
            ),
        ),
        origins=(
            OriginLine(
                number=181,
                what="demonstration: Suction",
                how="Voided",
                by="Ruta Emberley",
                on=date(2026, 5, 15),
                why="entered for the wrong person",
            ),
        ),
        programme="Homecoming",
        programme_head="ab" * 32,
    )
