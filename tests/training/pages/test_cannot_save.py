"""What a person reads when the database fails under a page: whether it was signed, and where to go on."""

from __future__ import annotations

import logging
import uuid

import pytest
from django.db import DatabaseError, InterfaceError, OperationalError
from django.test import RequestFactory
from django.urls import resolve, reverse

from tests.cast import TODAY, demonstration, show
from training.pages import cannot_save
from training.pages.setup.deed import DeedView
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.records.models import Record
from training.standing.models import Draft

FULL = OperationalError("database or disk is full\nDETAIL: a value")


@pytest.fixture
def draft(cast):
    body = demonstration(cast.north.mother, "suction", TODAY, cast.north.educator)
    one = uuid.uuid4()
    return Draft.objects.create(
        public_id=one, intent=one, author=cast.north.educator, caregiver=cast.north.mother, data=body,
        started_at="2026-05-14T08:00Z", changed_at="2026-05-14T08:00Z",
    )  # fmt: skip


def answer(path, sent=None, error=FULL):
    """The page for a request whose view ended with this error."""
    request = RequestFactory().post(path, sent) if sent is not None else RequestFactory().get(path)
    request.resolver_match = resolve(path)
    return cannot_save.cannot_save(request, error)


def words(*args, **kwargs):
    return answer(*args, **kwargs).content.decode()


@pytest.mark.parametrize("said", ["Nothing was signed.", "Your draft is kept, as it was last saved."])
def test_a_draft_is_said_to_be_kept_and_unsigned(draft, said):
    assert said in words(reverse("draft-sign", args=[draft.public_id]), {})


def test_it_leads_back_to_the_draft(draft):
    assert f'href="/drafts/{draft.public_id}/"' in words(reverse("draft-sign", args=[draft.public_id]), {})


def test_it_is_the_server_s_fault_and_not_kept_by_any_browser(draft):
    page = answer(reverse("draft-sign", args=[draft.public_id]), {})

    assert (page.status_code, page["Cache-Control"]) == (503, "no-store")


def test_a_form_s_words_are_where_they_were(cast):
    page = words(reverse("hold-new", args=[cast.north.family.public_id]), {"intent": str(uuid.uuid4())})

    assert "Go back one page: what you typed should still stand there." in page


def test_what_is_in_the_file_is_not_said_to_be_unsigned(cast):
    made = show(cast.north, cast.north.mother, "suction", TODAY)

    assert "The record is in the file, once." in words(reverse("draft-sign", args=[made.intent]), {})


def test_a_form_that_became_a_record_is_not_said_to_be_unsigned(cast):
    intent = Record.objects.filter(chain=cast.north.family.public_id).first().intent
    page = words(reverse("hold-new", args=[cast.north.family.public_id]), {"intent": str(intent)})

    assert "The record is in the file, once." in page


def test_a_database_that_does_not_answer_is_not_guessed_for(draft, monkeypatch):
    def no(*args, **kwargs):
        raise InterfaceError("the connection is closed")

    monkeypatch.setattr(Record.objects, "filter", no)

    assert "cannot tell just now whether it was kept" in words(reverse("draft-sign", args=[draft.public_id]), {})


def test_a_post_without_any_id_is_not_guessed_for(db):
    assert "cannot tell just now whether it was kept" in words(reverse("sign-in"), {"username": "x"})


def test_who_only_read_is_told_that_nothing_changed(cast):
    page = words(reverse("family", args=[cast.north.family.public_id]))

    assert "Nothing was changed." in page
    assert f'href="/families/{cast.north.family.public_id}/"' in page


def test_the_log_names_the_failure_and_no_value(draft, caplog):
    with caplog.at_level(logging.ERROR, logger="training.pages"):
        answer(reverse("draft-sign", args=[draft.public_id]), {})

    assert caplog.messages == ["The database failed during POST of draft-sign: database or disk is full"]


# Where it comes from


@pytest.mark.parametrize("error", [OperationalError("x"), InterfaceError("x")])
def test_a_view_that_the_database_fails_is_answered_in_words(cast, signed_in, monkeypatch, error):
    def fail(**kwargs):
        raise error

    monkeypatch.setattr(DeedView, "check_allowed", lambda self: fail())
    page = signed_in(cast.north.educator).get(reverse("hold-new", args=[cast.north.family.public_id]))

    assert (page.status_code, "cannot be read just now" in page.content.decode()) == (503, True)


def test_another_error_of_the_database_is_no_full_disk(cast, signed_in, monkeypatch):
    def fail(self):
        raise DatabaseError("no such column")

    monkeypatch.setattr(DeedView, "check_allowed", fail)

    with pytest.raises(DatabaseError):
        signed_in(cast.north.educator).get(reverse("hold-new", args=[cast.north.family.public_id]))


@pytest.mark.parametrize(("error", "status"), [(FULL, 503), (ValueError("x"), 500)])
def test_what_fails_outside_a_view_is_told_apart_too(client, db, monkeypatch, error, status):
    """A session that cannot be saved fails after the view."""
    client.raise_request_exception = False

    def fail(self, request, response):
        raise error

    monkeypatch.setattr("django.contrib.sessions.middleware.SessionMiddleware.process_response", fail)

    assert client.get(reverse("sign-in")).status_code == status


@pytest.mark.parametrize(
    "error", [ChainMovedError("chain"), AlreadyRecordedError(Record(number=7, intent=uuid.uuid4()))]
)
def test_a_deed_that_came_second_is_answered_by_every_page(cast, signed_in, monkeypatch, error):
    def came_second(self, *_args, **_kwargs):
        raise error

    monkeypatch.setattr(DeedView, "post", came_second)  # a page with no answer of its own
    address = reverse("hold-new", args=[cast.north.family.public_id])
    page = signed_in(cast.north.supervisor).post(address, headers={"referer": f"http://testserver{address}"})

    assert (page.status_code, page["Cache-Control"]) == (409, "private, no-store")
    assert "Nothing was signed now" in page.content.decode()
    assert f'href="{address}"' in page.content.decode()
