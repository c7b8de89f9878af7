"""An emergency handled at home, from the form to the record's page; nothing follows by itself."""

from __future__ import annotations

import pytest

from tests.cast import NOW, write
from tests.training.kept import event_body, keep
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.people.models import Member

FILLED = {
    "on": "2026-05-12",
    "time": "03:10",
    "happened": "The tube was blocked.",
    "done": "It was changed at once.",
    "thanked": "on",
}


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def post(north, signed_in):
    def send_it(role="educator", page="event-new", more=None, **changes):
        fields = {**FILLED, "who": [north.mother.case_id, north.father.case_id], **changes}
        return send(signed_in(getattr(north, role)), of(north.family, page, **(more or {})), **fields)

    return send_it


@pytest.fixture
def page(north, signed_in):
    def get(made, role="educator"):
        answer = signed_in(getattr(north, role)).get(of(north.family, "record", number=made.number))
        return " ".join(answer.content.decode().split())

    return get


def test_it_becomes_a_record(north, post):
    post()
    body = last(north.family).data

    assert (body["part"], body["on"], body["time"], body["thanked"]) == ("event", "2026-05-12", "03:10", True)
    assert body["who"] == [north.mother.case_id, north.father.case_id]


def test_it_says_that_it_counts_for_nothing_and_leads_to_its_page(north, post):
    answer = post()

    assert answer.url == of(north.family, "record", number=last(north.family).number)
    assert "It counts for nothing" in said(answer)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"who": None}, "who"),
        ({"happened": ""}, "happened"),
        ({"on": "2026-05-15"}, "on"),
        ({"password": "wrong"}, "password"),
        ({"debrief_said": "Calm."}, "debrief_by"),
    ],
)
def test_what_is_wrong_stands_at_its_field(north, post, changes, field):
    before = count(north.family)
    answer = post(**changes)

    assert field in errors(answer)
    assert count(north.family) == before


def test_the_same_post_twice_is_one_record(north, post):
    before = count(north.family)
    for _ in range(2):
        post(intent="7f0c3a52-7f0e-4a53-9b8c-0e6f8c0f7a11")

    assert count(north.family) == before + 1


def test_its_page_says_everything_and_that_it_counts_for_nothing(north, page):
    made = keep(north.educator, north.family, "event", **event_body(north.mother))
    text = page(made)

    assert "It counts for nothing" in text
    assert "The tube was blocked; SECRET A." in text
    assert f"Handled by {north.mother.full_name}; it counts for nothing" in text


@pytest.mark.parametrize(
    ("role", "offered"),
    [
        ("educator", {"hold-new", "debrief-new"}),
        ("supervisor", {"hold-new", "recheck-new", "debrief-new"}),
        ("administrator", {"hold-new"}),
        ("auditor", set()),
    ],
)
def test_a_recheck_and_a_hold_are_offered_by_right(north, page, role, offered):
    text = page(keep(north.educator, north.family, "event", **event_body(north.mother)), role)

    assert {name for name in ("hold-new", "recheck-new", "debrief-new") if f"/{name}/" in text} == offered


def test_the_offer_names_who_handled_it(north, page):
    made = keep(north.educator, north.family, "event", **event_body(north.mother))

    assert f"recheck-new/?caregiver={north.mother.case_id}" in page(made, "supervisor")
    assert north.father.case_id not in page(made, "supervisor")


def test_a_voided_one_offers_nothing_and_is_marked(north, page):
    made = keep(north.educator, north.family, "event", **event_body(north.mother))
    write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="Another family")

    assert "VOIDED" in page(made, "supervisor")
    assert "recheck-new" not in page(made, "supervisor")


def test_it_is_voided_from_its_page(north, page, post):
    made = keep(north.educator, north.family, "event", **event_body(north.mother))
    assert "/void-new/" in page(made)
    post(page="void-new", more={"number": made.number}, reason="Another family")

    assert (last(north.family).kind, last(north.family).data["record"]) == ("void", str(made.intent))


def test_it_is_talked_through_on_another_day(north, page, post):
    made = keep(north.educator, north.family, "event", **event_body(north.mother))
    post(
        page="debrief-new",
        more={"number": made.number},
        on="2026-05-14",
        debrief_by="R. Emberley",
        debrief_said="Calm.",
    )
    debrief = last(north.family)

    assert (debrief.data["part"], debrief.data["record"], debrief.data["debrief_said"]) == (
        "debrief",
        str(made.intent),
        "Calm.",
    )
    assert f"records/{debrief.number}/" in page(made)


def test_a_debrief_asks_who_talks_it_through(north, signed_in):
    made = keep(north.educator, north.family, "event", **event_body(north.mother))
    answer = signed_in(north.educator).get(of(north.family, "debrief-new", number=made.number))

    assert answer.context["form"]["debrief_by"].value() == north.educator.signed_name


@pytest.mark.parametrize("number", [1, 999])
def test_only_an_event_is_talked_through(north, post, number):
    assert post(page="debrief-new", more={"number": number}).status_code == 404


@pytest.mark.parametrize("role", [Member.Role.ADMINISTRATOR, Member.Role.AUDITOR])
def test_who_may_not_record_enters_none(north, post, role):
    before = count(north.family)

    assert post(role).status_code == 403
    assert count(north.family) == before
