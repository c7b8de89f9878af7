"""Who may record: a table, and a draft is its author's alone."""

from __future__ import annotations

import pytest
from django.urls import reverse

from training.pages.recording.urls import urlpatterns
from training.people.models import Member
from training.standing.models import Draft

PEOPLE = ("visitor", "stranger", "elsewhere", "auditor", "administrator", "supervisor", "educator")
PAGES = {
    "start": (302, 404, 404, 403, 403, 200, 200),
    "draft": (302, 404, 404, 403, 403, 404, 200),
    "draft-step": (302, 404, 404, 403, 403, 404, 200),
    "draft-rest": (302, 404, 404, 403, 403, 404, 200),
    "draft-second": (302, 404, 404, 403, 403, 404, 200),
    "draft-second-step": (302, 404, 404, 403, 403, 404, 302),
    "draft-second-rest": (302, 404, 404, 403, 403, 404, 302),
    "draft-stop": (302, 404, 404, 403, 403, 404, 200),
    "draft-sign": (302, 404, 404, 403, 403, 404, 302),
    "draft-discard": (302, 404, 404, 403, 403, 404, 200),
    "drafts-sign": (302, 404, 404, 403, 403, 200, 200),
}


def test_every_page_of_a_draft_has_a_row():
    named = {pattern.name for pattern in urlpatterns}

    assert {name for name in named if name and name.startswith(("start", "draft"))} == PAGES.keys()


def person(name, cast):
    if name == "stranger":
        return cast.stranger
    return cast.south.educator.user if name == "elsewhere" else getattr(cast.north, name).user


def address(page, bedside):
    if page == "start":
        return bedside.start_url()
    if page == "drafts-sign":
        return reverse(page, kwargs={"family": bedside.home.family.public_id})
    return bedside.url(page, **({"place": 1} if page.endswith("-step") else {}))


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("name", PEOPLE)
def test_a_page_lets_in_the_right_people(bedside, cast, page, name):
    bedside.start()
    bedside.client.logout()
    if name != "visitor":
        bedside.client.force_login(person(name, cast))

    assert bedside.client.get(address(page, bedside)).status_code == PAGES[page][PEOPLE.index(name)]


@pytest.mark.parametrize("page", [page for page in PAGES if page not in ("start", "drafts-sign")])
def test_nobody_else_posts_to_a_draft(bedside, cast, page):
    bedside.start()
    kept = Draft.objects.get().data
    url = address(page, bedside)
    bedside.client.force_login(cast.north.supervisor.user)
    answer = bedside.client.post(
        url, {"result": "omitted", "all": "alone", "whose": "patient", "observer": "nobody", "sign": "yes"}
    )

    assert (answer.status_code, Draft.objects.get().data) == (404, kept)


def test_a_member_who_lost_the_right_cannot_sign(bedside, cast):
    bedside.all_alone()
    shown = bedside.shown()
    Member.objects.filter(pk=cast.north.educator.pk).update(role="auditor")

    assert bedside.sign(shown=shown).status_code == 403


@pytest.mark.parametrize("skill", ["nothing", "суп", "suction "])
def test_an_unknown_skill_is_not_there(bedside, skill):
    assert bedside.client.get(bedside.start_url(skill)).status_code == 404


def test_a_caregiver_of_another_family_is_not_there(bedside, cast):
    other = cast.north.families[1].caregivers.first()
    url = reverse(
        "start", kwargs={"family": cast.north.family.public_id, "caregiver": other.public_id, "skill": "suction"}
    )

    assert bedside.client.get(url).status_code == 404


def test_a_card_is_not_demonstrated(bedside):
    answer = bedside.start("cpr_card")

    assert "/certificate-new/?caregiver=" in answer.url
    assert not Draft.objects.exists()


@pytest.mark.parametrize("place", [0, 3, 99])
def test_a_step_that_is_not_there(bedside, place):
    bedside.start()

    assert bedside.client.get(bedside.url("draft-step", place=place)).status_code == 404


@pytest.mark.parametrize("step", ["s01", "s05", "nothing"])
def test_only_a_step_of_the_list_is_asked_there(bedside, step):
    bedside.start()

    assert bedside.client.get(bedside.url("draft-rest") + f"?step={step}").status_code == 404
