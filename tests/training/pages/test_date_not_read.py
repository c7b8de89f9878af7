"""A date in the address that cannot be read: a page says that it is today's, a file is not made."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.cast import TODAY, sign_off_suction
from training.issuing.models import Document
from training.log.models import Entry

SAID = "The date in the address could not be read. This is today."
UNREAD = ["2026-02-30", "14.05.2026", "10000-01-01"]

PAGES = ["board", "family", "skill", "caregiver-map"]
FILES = [
    "board-csv",
    "board-xlsx",
    "packet",
    "family-copy",
    "emergency-sheet",
    "remaining-skills",
    "caregiver-record",
    "survey",
    "survey-zip",
    "blank-checklist",
]


@pytest.fixture
def ask(cast, signed_in):
    """The administrator, who may take every file, asks for a page or file on a date."""
    home = cast.north
    sign_off_suction(home, home.mother)
    client = signed_in(home.administrator)
    family, person = {"family": home.family.public_id}, {"caregiver": home.mother.public_id}
    skill = {**family, **person, "skill": "suction"}
    takes = {
        "board": {}, "board-csv": {}, "board-xlsx": {}, "remaining-skills": {**family, **person},
        "caregiver-record": {**family, **person}, "caregiver-map": {**family, **person},
        "skill": skill, "blank-checklist": skill,
    }  # fmt: skip

    def of(name, on):
        return client.get(reverse(name, kwargs=takes.get(name, family)), {} if on is None else {"on": on})

    return of


@pytest.mark.parametrize("on", UNREAD)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_says_that_it_is_todays(ask, name, on):
    answer = ask(name, on)
    _head, _status, rest = answer.content.decode().partition('<div class="r-messages" role="status">')

    assert SAID in rest.partition("</div>")[0]
    assert answer.context["the_date"] == TODAY


@pytest.mark.parametrize("on", [None, "", "2026-05-13", "0001-01-01"])
@pytest.mark.parametrize("name", PAGES)
def test_a_page_on_a_date_that_was_read_says_nothing_of_the_kind(ask, name, on):
    assert SAID not in ask(name, on).content.decode()


def test_it_is_not_said_again_on_the_next_page(ask):
    ask("family", "tomorrow")

    assert SAID not in ask("family", None).content.decode()


@pytest.mark.parametrize("on", UNREAD)
@pytest.mark.parametrize("name", FILES)
def test_a_file_is_refused_in_a_plain_sentence(ask, name, on):
    answer = ask(name, on)

    assert answer.status_code == 400
    assert "The date in the address could not be read" in answer.content.decode()
    assert answer["Content-Type"].startswith("text/html")


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_was_refused_is_given_out_nowhere(ask, name):
    before = Entry.objects.count()
    ask(name, "tomorrow")

    assert Document.objects.count() == 0
    assert Entry.objects.count() == before


@pytest.mark.parametrize("on", [None, "", "2026-05-13"])
@pytest.mark.parametrize("name", FILES)
def test_a_file_on_a_date_that_was_read_is_given(ask, name, on):
    answer = ask(name, on)

    assert answer.status_code == 200
    answer.close()


def test_who_may_not_take_the_file_is_told_nothing_of_the_date(cast, signed_in):
    client = signed_in(cast.south.educator)

    assert client.get(reverse("packet", args=[cast.north.family.public_id]), {"on": "tomorrow"}).status_code == 404
