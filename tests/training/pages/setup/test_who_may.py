"""Who is let in where: each role of the house, and each of the other house."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY, demonstration, show, write
from tests.training.kept import appointment_body, event_body, keep, start_body
from tests.training.pages.setup.acts import count, errors, last, of, send
from training.people.models import Member

ROLES = ("educator", "supervisor", "administrator", "auditor")
SET_UP = (200, 200, 200, 403)
RECORD = (200, 200, 403, 403)
DECIDE = (403, 200, 403, 403)
PAGES = {
    "family-edit": SET_UP,
    "caregiver-new": SET_UP,
    "caregiver-edit": SET_UP,
    "care-plan-new": SET_UP,
    "authorisation-new": SET_UP,
    "item-new": RECORD,
    "certificate-new": RECORD,
    "signature-new": RECORD,
    "exception-new": DECIDE,
    "hold-new": SET_UP,
    "recheck-new": DECIDE,
    "withdrawal-new": DECIDE,
    "accepted-new": DECIDE,
    "event-new": RECORD,
    "debrief-new": RECORD,
    "stay-new": RECORD,
    "stay-duty": RECORD,
    "stay-help": RECORD,
    "stay-end": RECORD,
    "appointment-new": RECORD,
    "appointment-move": RECORD,
    "appointment-cancel": RECORD,
    "void-new": (200, 200, 403, 403),  # the educator's own record
    "resolution-new": DECIDE,
    "override-new": DECIDE,
}


NUMBERED = ("debrief-new", "stay-duty", "stay-help", "stay-end", "appointment-move", "appointment-cancel",
            "void-new", "resolution-new", "override-new")  # fmt: skip


def make_record(home, page):
    """The record a page is about, signed by the educator."""
    day = TODAY - timedelta(days=3)
    if page == "debrief-new":
        return keep(home.educator, home.family, "event", **event_body(home.mother))
    if page.startswith("stay-"):
        return keep(home.educator, home.family, "stay", **start_body())
    if page.startswith("appointment-"):
        return keep(home.educator, home.family, "appointment", **appointment_body(home.mother))
    if page == "resolution-new":
        second = {"observer": home.supervisor.observer_id, "results": {"s01": "independent", "s02": "omitted"}}
        return show(home, home.mother, "hands", day, second=second)
    if page == "override-new":
        return show(home, home.mother, "tube_change", day)
    return show(home, home.mother, "hands", day)


def address(home, page):
    more = {}
    if page == "caregiver-edit":
        more = {"caregiver": home.mother.public_id}
    elif page in NUMBERED:
        more = {"number": make_record(home, page).number}
    return of(home.family, page, **more)


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("role", ROLES)
def test_a_colleague_is_let_in_by_role(cast, signed_in, page, role):
    answer = signed_in(getattr(cast.north, role)).get(address(cast.north, page))

    assert answer.status_code == PAGES[page][ROLES.index(role)]


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("role", ROLES)
def test_the_other_house_finds_nothing(cast, signed_in, page, role):
    answer = signed_in(getattr(cast.south, role)).get(address(cast.north, page))

    assert answer.status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_the_other_house_posts_nothing(cast, signed_in, page):
    where = address(cast.north, page)
    before = count(cast.north.family)
    answer = send(signed_in(cast.south.supervisor), where, reason="x", skill="suction")

    assert (answer.status_code, count(cast.north.family)) == (404, before)


@pytest.mark.parametrize("page", PAGES)
def test_a_visitor_signs_in_first(cast, client, page):
    answer = client.get(address(cast.north, page))

    assert (answer.status_code, answer.url.split("?")[0]) == (302, reverse("sign-in"))


@pytest.mark.parametrize(
    ("page", "statuses"),
    [
        ("family-new", (200, 200, 200, 403)),
        ("members", (200, 200, 200, 200)),
        ("member-new", (403, 403, 200, 403)),
        ("member-edit", (403, 403, 200, 403)),
        ("qualify", (403, 200, 200, 403)),
    ],
)
@pytest.mark.parametrize("role", ROLES)
def test_the_house_s_own_pages(cast, signed_in, page, statuses, role):
    args = [cast.north.educator.public_id] if page in ("member-edit", "qualify") else []
    answer = signed_in(getattr(cast.north, role)).get(reverse(page, args=args))

    assert answer.status_code == statuses[ROLES.index(role)]


@pytest.mark.parametrize("page", ["member-edit", "qualify"])
def test_a_member_of_another_house_is_not_found(cast, signed_in, page):
    answer = signed_in(cast.south.administrator).get(reverse(page, args=[cast.north.educator.public_id]))

    assert answer.status_code == 404


def test_a_superuser_s_account_without_a_place_finds_nothing(cast, signed_in):
    assert signed_in(cast.stranger).get(of(cast.north.family, "care-plan-new")).status_code == 404


def test_a_caregiver_of_another_family_is_not_found_under_this_one(cast, signed_in):
    other = cast.north.families[1].caregivers.first()
    answer = signed_in(cast.north.educator).get(of(cast.north.family, "caregiver-edit", caregiver=other.public_id))

    assert answer.status_code == 404


def test_a_caregiver_of_another_family_is_no_choice(cast, signed_in):
    other = cast.north.families[1].caregivers.first()
    where = of(cast.north.family, "hold-new")
    answer = send(
        signed_in(cast.north.supervisor), where, caregiver=other.case_id, skill="*", on="2026-05-14", reason="x"
    )

    assert list(errors(answer)) == ["caregiver"]


def test_an_educator_does_not_void_what_a_colleague_signed(cast, signed_in):
    body = demonstration(cast.north.mother, "hands", TODAY - timedelta(days=1), cast.north.supervisor)
    made = write(cast.north.supervisor, cast.north.family, "demonstration", NOW, **body)
    answer = signed_in(cast.north.educator).get(of(cast.north.family, "void-new", number=made.number))

    assert answer.status_code == 403


def test_who_has_left_signs_nothing_more(cast, signed_in):
    Member.objects.filter(pk=cast.north.educator.pk).update(through=TODAY - timedelta(days=1))

    assert signed_in(cast.north.educator).get(of(cast.north.family, "item-new")).status_code == 404


def test_a_page_of_an_unknown_family_is_not_found(cast, signed_in):
    address = reverse("hold-new", args=["00000000-0000-4000-8000-000000000000"])

    assert signed_in(cast.north.educator).get(address).status_code == 404


def test_a_form_left_open_while_the_role_changed_is_refused(cast, signed_in):
    client = signed_in(cast.north.supervisor)
    client.get(of(cast.north.family, "withdrawal-new"))
    Member.objects.filter(pk=cast.north.supervisor.pk).update(role="auditor")
    number = last(cast.north.family).number
    answer = send(client, of(cast.north.family, "withdrawal-new"), reason="x", cover="y")

    assert (answer.status_code, last(cast.north.family).number) == (403, number)
