"""One intent, one record: the same post two hundred times at once, on connections of their own."""

from __future__ import annotations

import threading
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse

from tests.cast import find_cast, make_cast
from tests.factories import PASSWORD
from tests.training.pages.recording.conftest import Bedside
from training.records.models import Record
from training.standing.models import Draft

POSTS = 200
AT_ONCE = 40  # PostgreSQL lets in a hundred in all, as it comes
HANDS = {
    "setting": "patient",
    "role": "lead",
    "mode": "in_person",
    "place": "hospital",
    "on": "2026-05-14",
    "began": "",
}


@pytest.fixture
def standing(guards_lifted, now):
    """The cast in the database itself, not in a transaction that is rolled back; the educator signed in."""
    cast = find_cast() or make_cast()
    user = cast.north.educator.user
    user.set_password(PASSWORD)
    user.save()
    client = Client()
    client.force_login(user)
    return Bedside(client, cast.north, cast.north.mother)


def post_at_once(bedside, url, sent):
    """Where each of the posts leads, or its status. Every tab has the same session."""
    session = bedside.client.cookies["sessionid"].value
    gate = threading.Barrier(AT_ONCE)
    first = threading.local()

    def post(_n):
        try:
            if not hasattr(first, "passed"):
                first.passed = True
                gate.wait(timeout=60)  # all of the first lot start together
            tab = Client()
            tab.cookies["sessionid"] = session
            answer = tab.post(url, sent)
            return answer.url if answer.status_code == 302 else answer.status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(AT_ONCE) as threads:
        return list(threads.map(post, range(POSTS)))


def demonstrations(bedside):
    return list(Record.objects.of_chain(bedside.home.family.public_id).filter(kind="demonstration"))


def test_two_hundred_signatures_at_once_are_one_record(standing):
    standing.all_alone()
    url, sent = standing.url("draft-sign"), {"password": PASSWORD, "shown": standing.shown()}
    answers = post_at_once(standing, url, sent)
    made = demonstrations(standing)

    assert len(made) == 1
    assert set(answers) == {
        reverse("record", kwargs={"family": standing.home.family.public_id, "number": made[0].number})
    }


def test_two_hundred_signatures_of_a_sitting_are_one_record_each(standing):
    for time in ("09:00", "09:10"):
        standing.start("hands", time=time, intent=str(uuid.uuid4()))
        draft = Draft.objects.latest("pk")
        for name, more, answer in (
            ("draft-step", {"place": 1}, {"result": "independent"}),
            ("draft-rest", {}, {"all": "alone"}),
        ):
            standing.client.post(reverse(name, kwargs={"draft": draft.public_id, **more}), answer)
    url = reverse("drafts-sign", kwargs={"family": standing.home.family.public_id})
    ones = standing.client.get(url).context["ones"]
    sent = {f"shown-{one['draft'].public_id}": one["digest"] for one in ones}
    answers = post_at_once(
        standing, url, {**sent, "draft": [one["draft"].public_id for one in ones], "password": PASSWORD}
    )

    assert len(demonstrations(standing)) == 2
    assert set(answers) == {reverse("family", kwargs={"family": standing.home.family.public_id})}


def test_two_hundred_starts_at_once_are_one_draft(standing):
    intent = str(uuid.uuid4())
    answers = post_at_once(
        standing, standing.start_url("hands"), {**HANDS, "purpose": "assessment", "time": "09:30", "intent": intent}
    )

    assert Draft.objects.count() == 1
    assert set(answers) == {standing.url("draft-step", place=1)}
