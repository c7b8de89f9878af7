"""Publishing on its page: the preview, the password, the record; comparing; programmes of one's own."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY, show, sign_off_suction
from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import code_at, enrol
from training.curriculum import drafting
from training.curriculum.models import Programme

FIRST = TODAY + timedelta(days=1)


@pytest.fixture
def changed(north, draft):
    """The draft with a new critical step; a mother signed off on the first edition."""
    sign_off_suction(north, north.mother)
    step = {"code": "s07", "text": "Checks the spare tube", "critical": True}
    body = {**draft.body, "edition": drafting.with_step(draft.body["edition"], step)}
    drafting.save(draft, body, version=1, by=north.educator, at=NOW)
    return draft


def asked(**changes):
    return {
        "intent": "0b6f2f4e-9c2c-4a77-9d6a-2a6d0e1d7c11",
        "drafts": ["suction"],
        "version_suction": 2,
        "first_day": FIRST.isoformat(),
        "note": "A spare tube is checked first.",
        "older_suction": "recheck",
        **changes,
    }


def look(client, page, **changes):
    return client.post(page("publish"), asked(**changes))


def sign(client, page, answer, **changes):
    shown = answer.context["form"]["shown"].value()
    return client.post(page("publish"), asked(shown=shown, password=PASSWORD, sign="yes", **changes), follow=True)


def number_of_editions(north):
    return north.programme.editions.filter(skill="suction").count()


def test_looking_names_whom_it_touches_and_writes_nothing(north, educator, changed, page):
    answer = look(educator, page)
    said = " ".join(answer.content.decode().split())

    assert "Marit Okonjo-Lind" in said
    assert "1 more family follows this programme and nothing changes there." in said
    assert answer.context["affected"].families[0].moved[0].first.with_ == "held"
    assert number_of_editions(north) == 1


def test_where_nobody_is_touched_nobody_is_more(educator, changed, page):
    said = " ".join(look(educator, page, older_suction="stand").content.decode().split())

    assert "2 families follow this programme." in said
    assert " more famil" not in said


def test_signing_publishes_it(north, educator, changed, page):
    said = sign(educator, page, look(educator, page)).content.decode()

    assert "Published, in force from 15 May 2026." in said
    edition = north.programme.editions.get(skill="suction", number=2)
    assert edition.in_force_from == FIRST
    checklist = educator.get(reverse("checklist", args=[north.programme.public_id, "suction", 2])).content.decode()
    assert "A spare tube is checked first." in checklist
    assert "Checks the spare tube" in checklist


def test_the_same_post_twice_publishes_once(north, educator, changed, page):
    answer = look(educator, page)
    sign(educator, page, answer)
    sign(educator, page, answer)

    assert number_of_editions(north) == 2


def test_with_a_second_factor_looking_asks_for_no_code_and_publishing_does(north, educator, changed, page):
    enrol(north.educator.user)
    answer = look(educator, page)
    assert not answer.context["form"].errors

    wrong = sign(educator, page, answer, second_factor="000000").content.decode()
    assert "That is not the code of now" in wrong
    assert "Marit Okonjo-Lind" in wrong
    assert number_of_editions(north) == 1

    sign(educator, page, answer, second_factor=code_at())
    assert number_of_editions(north) == 2


def test_a_wrong_password_publishes_nothing_and_keeps_the_preview(north, educator, changed, page):
    shown = look(educator, page).context["form"]["shown"].value()

    answer = educator.post(page("publish"), asked(shown=shown, password="wrong", sign="yes"))

    assert "That is not your password" in answer.content.decode()
    assert "Marit Okonjo-Lind" in answer.content.decode()
    assert number_of_editions(north) == 1


def test_what_moved_between_looking_and_signing_is_shown_again(north, educator, changed, page):
    answer = look(educator, page)
    sign_off_suction(north, north.father, last=TODAY - timedelta(days=1))

    said = sign(educator, page, answer).content.decode()

    assert "is another by now" in said
    assert "Joram Okonjo-Lind" in said
    assert number_of_editions(north) == 1


def test_a_draft_changed_between_looking_and_signing_is_not_published(north, educator, changed, page):
    answer = look(educator, page)
    changed.refresh_from_db()
    drafting.save(changed, changed.body, version=2, by=north.supervisor, at=NOW)

    said = sign(educator, page, answer).content.decode()

    assert "A draft was changed after you opened this page" in said
    assert number_of_editions(north) == 1


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"first_day": TODAY.isoformat()}, "first_day", "This day has begun for somebody. 15 May 2026 is the earliest."),
        ({"first_day": "2026-13-01"}, "first_day", "Write the day as year-month-day, such as 2026-05-14."),
        ({"note": "  "}, "note", "This field is required."),
        ({"drafts": []}, "drafts", "This field is required."),
        ({"older_suction": "recheck_by"}, "by_suction", "Say by which day it is shown again."),
        ({"older_suction": "recheck_by", "by_suction": TODAY.isoformat()}, "by_suction", "This is before the first day."),
        ({"older_suction": "forget"}, "older_suction",
         "Select a valid choice. forget is not one of the available choices."),
    ],
)  # fmt: skip
def test_a_choice_that_cannot_be_is_refused_at_its_field(educator, changed, page, changes, field, said):
    assert look(educator, page, **changes).context["form"].errors[field] == [said]


def test_a_draft_that_cannot_be_is_refused_with_its_place(north, educator, changed, page):
    changed.refresh_from_db()
    edition = {**changed.body["edition"], "steps": []}
    drafting.save(changed, {**changed.body, "edition": edition}, version=2, by=north.educator, at=NOW)

    said = look(educator, page, version_suction=3).content.decode()

    assert "Suctioning, steps: is empty: nothing could be shown, and nobody signed off." in said


def test_a_family_that_is_touched_sees_its_rechecks_from_the_first_day(north, educator, changed, page):
    sign(educator, page, look(educator, page))
    skill = reverse("skill", args=[north.family.public_id, north.mother.public_id, "suction"])

    def standing(**on):
        return re.search(r'class="f-standing" data-standing="(\w+)"', educator.get(skill, on).content.decode())[1]

    assert (standing(), standing(on=FIRST.isoformat())) == ("signed_off", "held")


# Comparing ------------------------------------------------------------------------------------------------


def test_two_editions_side_by_side(north, educator, changed, page):
    answer = educator.get(page("compare", "suction"), {"old": "1", "new": "draft"})

    lines = [(line.what, line.new) for line in answer.context["found"].steps if line.what != "same"]
    assert lines == [("added", "Checks the spare tube")]
    assert "1 difference." in answer.content.decode()


@pytest.mark.parametrize("sides", [{"old": "1", "new": "9"}, {"old": "x", "new": "1"}, {}])
def test_an_edition_that_is_not_there_cannot_be_compared(educator, page, sides):
    assert educator.get(page("compare", "suction"), sides).status_code == 404


def test_a_draft_is_not_shown_to_who_may_only_read(north, signed_in, changed, page):
    answer = signed_in(north.auditor).get(page("compare", "suction"), {"old": "1", "new": "draft"})

    assert answer.status_code == 404


def test_the_list_of_editions_says_what_changed_and_who_published(north, educator, changed, page):
    sign(educator, page, look(educator, page))

    said = " ".join(educator.get(page("editions", "suction")).content.decode().split())

    assert f"Published by {north.educator.signed_name}" in said
    assert "A spare tube is checked first." in said
    assert "Published from a file." in said


# Programmes of one's own ----------------------------------------------------------------------------------

OWN = {"intent": "0b6f2f4e-9c2c-4a77-9d6a-2a6d0e1d7c12", "title": "Ours", "code": "ours", "password": PASSWORD}


def test_a_copy_is_made_and_can_be_changed(north, educator, page):
    answer = educator.post(page("programme-copy"), {**OWN, "first_day": FIRST.isoformat()}, follow=True)

    made = Programme.objects.get(organisation=north.organisation, code="ours")
    assert answer.request["PATH_INFO"] == page("writing", programme=made)
    assert {e.number for e in made.editions.all()} == {1}


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"code": "small"}, "code"),
        ({"code": "Ours!"}, "code"),
        ({"first_day": TODAY.isoformat()}, "first_day"),
        ({"title": ""}, "title"),
        ({"password": "wrong"}, "password"),
    ],
)
def test_a_copy_that_cannot_be_is_refused_at_its_field(north, educator, page, changes, field):
    answer = educator.post(page("programme-copy"), {**OWN, "first_day": FIRST.isoformat(), **changes})

    assert field in answer.context["form"].errors
    assert Programme.objects.filter(organisation=north.organisation).count() == 1


def test_an_empty_programme_takes_over_the_facts(north, educator):
    post = {**OWN, "notice": "Ours to answer for.", "like": str(north.programme.public_id)}

    educator.post(reverse("programme-new"), post)

    made = Programme.objects.get(organisation=north.organisation, code="ours")
    assert [f["code"] for f in made.about["facts"]] == ["cuff", "tube_id_mm", "suction"]
    assert (made.about["skills"], made.about["notice"], "sample" in made.about) == ([], "Ours to answer for.", False)


def test_another_houses_programme_is_no_model(cast, north, educator):
    post = {**OWN, "notice": "x", "like": str(cast.south.programme.public_id)}

    assert "like" in educator.post(reverse("programme-new"), post).context["form"].errors


def test_an_attempt_begun_on_the_old_edition_still_counts_as_it_did(north, educator, changed, page):
    sign(educator, page, look(educator, page, older_suction="stand"))

    record = show(north, north.father, "suction", TODAY)

    assert record.data["edition"] == 1
