"""The page where anybody checks a document."""

from __future__ import annotations

import io
import tempfile
from datetime import timedelta

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from tests.cast import NOW
from tests.factories import UserFactory
from training.invitations import tries
from training.issuing.models import Document
from training.pages.checking import uploads, views


@pytest.fixture
def data(cast, signed_in):
    address = reverse("packet", kwargs={"family": cast.north.family.public_id})
    return b"".join(signed_in(cast.north.educator).get(address).streaming_content)


def post(**fields):
    return Client().post(reverse("check"), fields)


def file(data, name="a.pdf"):
    return SimpleUploadedFile(name, data, "application/pdf")


def text(answer):
    return " ".join(answer.content.decode().split())


def foot(answer):
    return text(answer).partition("<footer")[2]


def test_a_stranger_reads_what_it_is_and_of_when(data):
    number = Document.objects.get().number
    page = text(Client().get(reverse("check-number", kwargs={"number": number})))

    assert "<h1>Genuine and current</h1>" in page
    assert f"<dd>{number}</dd> <dt>What it is</dt><dd>Discharge-readiness packet</dd>" in page
    assert "<dd>14 May 2026</dd>" in page


def test_signed_in_one_is_led_there_by_the_foot(cast, signed_in):
    leads = f'href="{reverse("check")}"'
    mother = cast.north.mother
    mother.user = UserFactory()
    mother.save(update_fields=["user"])
    own = reverse("mine-family", args=[mother.public_id])

    assert leads in foot(signed_in(cast.north.auditor).get(reverse("families")))
    assert leads in foot(signed_in(mother.user).get(own))
    assert leads not in foot(Client().get(reverse("sign-in")))


def test_a_number_typed_carelessly(data):
    typed = Document.objects.get().number.lower().replace("-", " ")

    assert "<h1>Genuine and current</h1>" in text(post(number=typed))


def test_a_file_alone(data):
    assert "<h1>Genuine, unaltered and current</h1>" in text(post(file=file(data)))


def test_an_empty_file_is_compared_too(data):
    assert "Altered, or not from here" in text(post(file=file(b"")))


def test_nothing_at_all_is_asked_for_again(db):
    assert "Type the number, or choose the file." in text(post())


def test_a_file_of_another_number_says_so(data):
    page = text(post(number="7K3M-PQ9X-2DFA", file=file(data)))

    assert "The number you typed is not the number of this file." in page


def test_an_unknown_number(db):
    assert "No document has this number" in text(Client().get("/check/anything<b>/"))


def test_no_byte_is_kept(data, monkeypatch):
    for name in ("TemporaryFile", "NamedTemporaryFile", "mkstemp", "SpooledTemporaryFile"):
        monkeypatch.setattr(tempfile, name, lambda *args, **kwargs: pytest.fail("written to the disk"))

    assert "not from here" in text(post(file=file(b"%PDF-1.7\n" + b"x" * 5_000_000)))


@pytest.mark.parametrize(("more", "words"), [(0, "not from here"), (1, "larger than 20 MB")])
def test_the_largest_file(db, monkeypatch, more, words):
    monkeypatch.setattr(uploads, "LARGEST", 200_000)

    answer = text(post(file=file(b"x" * (200_000 + more))))

    assert words in answer
    assert "things to put right" not in answer


def test_a_zip_of_a_document_is_not_called_altered(data):
    answer = text(post(file=file(b"PK\x03\x04" + data, "a.zip")))

    assert "One thing to put right" in answer
    assert "A zip is not compared. Take the PDF out of it and choose that." in answer
    assert "Altered" not in answer


def test_guessing_is_slowed_down(data, monkeypatch):
    monkeypatch.setattr(views, "AT_MOST", 3)
    number = Document.objects.get().number
    for _try in range(3):
        assert post(number="7K3M-PQ9X-2DFA").status_code == 200

    assert post(number=number).status_code == 429
    with time_machine.travel(NOW + timedelta(minutes=16), tick=False):
        assert post(number=number).status_code == 200


def test_nobody_is_kept_out_because_of_what_others_send(data, monkeypatch):
    """59 bits are not guessed by many addresses together either."""
    monkeypatch.setattr(tries, "IN_ALL", 3)
    for n in range(4):
        Client(REMOTE_ADDR=f"198.51.100.{n}").post(reverse("check"), {"number": "7K3M-PQ9X-2DFA"})

    assert post(number=Document.objects.get().number).status_code == 200


def test_what_is_found_is_not_counted(data, monkeypatch):
    monkeypatch.setattr(views, "AT_MOST", 3)

    assert {post(file=file(data)).status_code for _time in range(6)} == {200}


def test_joining_is_not_slowed_down_by_it(data, monkeypatch):
    for _try in range(12):
        post(number="7K3M-PQ9X-2DFA")

    assert Client().post(reverse("join"), {"code": "wrong"}).status_code == 200


def test_a_post_from_elsewhere_is_refused(data):
    client = Client(enforce_csrf_checks=True)

    assert client.post(reverse("check"), {"number": "x", "file": io.BytesIO(data)}).status_code == 403
