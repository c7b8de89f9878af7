"""Good and tampered documents, put into the page as files: none is answered wrongly, and nobody is named."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date, timedelta
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader, PdfWriter

from tests.cast import TODAY, Cast, sign_off_suction
from tests.training.issuing.conftest import checklist_of, number_in, packet_of
from training.people.models import Caregiver, Family, Member, User
from training.standing.file import open_file
from training.standing.questions import FamilyOn

HEADINGS = {
    "current": "Genuine, unaltered and current",
    "superseded": "Superseded on",
    "altered": "Altered</h1>",
    "not_ours": "Altered, or not from here",
}


def flipped(data: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(data))
    return data[:at] + bytes([data[at] ^ 1 << dice.randrange(8)]) + data[at + 1 :]


def saved_anew(data: bytes, dice: random.Random) -> bytes:
    out = BytesIO()
    PdfWriter(clone_from=PdfReader(BytesIO(data))).write(out)
    return out.getvalue()


def without_a_page(data: bytes, dice: random.Random) -> bytes:
    reader, out = PdfReader(BytesIO(data)), BytesIO()
    writer = PdfWriter()
    for page in reader.pages[:-1] or reader.pages:
        writer.add_page(page)
    writer.write(out)
    return out.getvalue()


def swapped(data: bytes, dice: random.Random) -> bytes:
    """Two unlike neighbours change places: the length and the sum of all bytes stay."""
    at = next(n for n in iter(lambda: dice.randrange(len(data) - 1), None) if data[n] != data[n + 1])
    return data[:at] + data[at + 1 : at + 2] + data[at : at + 1] + data[at + 2 :]


WAYS = (
    flipped,
    flipped,
    swapped,
    saved_anew,
    without_a_page,
    lambda data, dice: data + b"\n",
    lambda data, dice: data[: -1 - dice.randrange(40)],
    lambda data, dice: b" " + data,
    lambda data, dice: data.replace(b"2026", b"2027", 1) if b"2026" in data else data[1:],
    lambda data, dice: data + data,
)


def documents(cast: Cast, fetch, many: int) -> Iterator[tuple[bytes, Family, date, bool]]:
    """So many different ones of several families, kinds, days and papers; whether each states standings."""
    families = [(home.educator, family) for home in (cast.north, cast.south) for family in home.families]
    for n in range(many):
        member, family = families[n % 4]
        day = TODAY + timedelta(days=n // 16 - 40)
        query = f"?on={day.isoformat()}{'&size=letter' if n // 4 % 2 else ''}"
        states = n // 8 % 2 == 0
        address = packet_of(family, query) if states else checklist_of(family.caregivers.all()[0], query)
        yield fetch(member, address), family, day, states


def has_run_out(family: Family, day: date) -> bool:
    """From the rules themselves: whether anything the day's picture states ends before today."""
    picture = FamilyOn(open_file(family), day)
    spans = [picture.line(c, skill).span(day) for c in picture.caregivers for skill in picture.file.rules.skills]
    return any(span and span.through and span.through < TODAY for span in (*spans, picture.verdict_span))


def ask(n: int, data: bytes, number: str = "") -> str:
    client = Client(REMOTE_ADDR=f"10.{n >> 16}.{n >> 8 & 255}.{n & 255}")  # each from a place of its own
    file = SimpleUploadedFile("a.pdf", data, "application/pdf")
    answer = client.post(reverse("check"), {"number": number, "file": file})
    assert (answer.status_code, answer["Cache-Control"]) == (200, "private, no-store")
    return answer.content.decode()


def names() -> list[str]:
    """Every name there is: of families, patients, caregivers, members and accounts."""
    found = {
        *Family.objects.values_list("name", flat=True),
        *Family.objects.values_list("patient_name", flat=True),
        *Family.objects.values_list("patient_called", flat=True),
        *Caregiver.objects.values_list("full_name", flat=True),
        *Caregiver.objects.values_list("called", flat=True),
        *User.objects.values_list("full_name", flat=True),
        *User.objects.values_list("username", flat=True),
        *(member.organisation.title for member in Member.objects.select_related("organisation")),
    }
    return sorted(found)


def none_wrong(cast: Cast, fetch, many: int) -> None:
    """Each document as it is, and once tampered with; with its number typed and without."""
    dice = random.Random(20260514)
    for home in (cast.north, cast.south):
        sign_off_suction(home, home.mother)
    people = names()
    seen = set()
    for n, (data, family, day, states) in enumerate(documents(cast, fetch, many)):
        number = number_in(data)
        good = "superseded" if states and has_run_out(family, day) else "current"
        tampered = WAYS[n % len(WAYS)](data, dice)
        assert tampered != data
        pages = {
            good: ask(2 * n, data, number if n % 3 else ""),
            "altered" if n % 2 else "not_ours": ask(2 * n + 1, tampered, number if n % 2 else ""),
        }
        for state, page in pages.items():
            assert HEADINGS[state] in page, f"document {n} of {day}: {state}"
            assert [name for name in people if name in page] == []
        assert number in seen or seen.add(number) is None
    assert len(seen) == many


@pytest.mark.django_db
def test_none_of_twenty_is_wrong(cast, fetch):
    none_wrong(cast, fetch, 20)


@pytest.mark.long
def test_none_of_two_thousand_is_wrong(cast, fetch):
    none_wrong(cast, fetch, 2000)
