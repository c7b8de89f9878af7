"""Rechecks in bulk: who is touched first, then the password; each family its own record; refused if the list moved."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from competency.standing import Standing
from tests.cast import NOW, PROGRAMME, TODAY, at, demonstration, plan, show, sign_off_suction, write
from tests.factories import PASSWORD
from tests.training.pages.setup.acts import errors, last, said
from training.curriculum.models import Programme
from training.curriculum.programme_file import read_file
from training.log.models import Entry
from training.records.models import Record
from training.standing import deeds, rechecking
from training.standing.file import open_file
from training.standing.models import AssessedBy, CacheState
from training.standing.questions import FamilyOn

REASON = "The observer’s own sign-off was out."


@pytest.fixture
def north(cast):
    """Two families; in the first the educator signed for the mother, in the second for the father."""
    home = cast.north
    sign_off_suction(home, home.mother)
    other = home.families[1]
    show(home, other.caregivers.get(relation="father"), "hands", TODAY - timedelta(days=4))
    return home


@pytest.fixture
def supervisor(north, signed_in):
    north.supervisor.user.set_password(PASSWORD)
    north.supervisor.user.save()
    return signed_in(north.supervisor)


def by_observer(north, **changes):
    days = {"from_day": (TODAY - timedelta(days=30)).isoformat(), "through": TODAY.isoformat()}
    return {"observer": str(north.educator.public_id), "reason": REASON, **days, **changes}


def post(client, name, fields, **more):
    return client.post(reverse(name), {"intent": str(uuid.uuid4()), **fields, **more})


def look_and_sign(client, name, fields, between=lambda: None):
    looked = post(client, name, fields)
    between()
    form = looked.context["form"]
    signed = {"intent": form["intent"].value(), "shown": form["shown"].value(), "password": PASSWORD, "sign": "yes"}
    return post(client, name, {**fields, **signed}), signed


def standing(home, caregiver, skill):
    return FamilyOn(open_file(caregiver.family), TODAY).cell(caregiver, skill).standing


def rechecks(home):
    return list(Record.objects.filter(organisation=home.organisation, kind="recheck").order_by("pk"))


# Looking --------------------------------------------------------------------------------------------------


def test_looking_shows_everyone_and_signs_nothing(north, supervisor):
    page = post(supervisor, "recheck-observer", by_observer(north)).content.decode()

    assert "2 caregivers in 2 families." in " ".join(page.split())
    assert north.mother.full_name in page
    assert north.families[1].name in page
    assert rechecks(north) == []


def test_looking_is_logged_by_number_alone(north, supervisor):
    post(supervisor, "recheck-observer", by_observer(north))
    entry = Entry.objects.filter(kind=Entry.Kind.READ).last()

    assert entry.words == {"families": 2}
    assert entry.about_name == ""


@pytest.mark.parametrize(
    ("first", "last_day", "people"),
    [(12, 12, 1), (11, 11, 0), (10, 10, 1), (9, 5, 0), (4, 4, 1), (12, 4, 2)],
)
def test_both_days_are_meant_too(north, supervisor, first, last_day, people):
    days = {
        "from_day": (TODAY - timedelta(days=first)).isoformat(),
        "through": (TODAY - timedelta(days=last_day)).isoformat(),
    }
    found = post(supervisor, "recheck-observer", by_observer(north, **days)).context["found"]

    assert found.people == people


def test_it_is_the_day_it_was_seen_that_counts(north, supervisor):
    early = (TODAY - timedelta(days=12)).isoformat()
    found = post(supervisor, "recheck-observer", by_observer(north, from_day=early, through=early)).context["found"]

    assert [t.skill for t in found.touched] == ["suction"]


def test_what_was_voided_is_passed_over(north, supervisor):
    wrong = last(north.families[1])
    write(north.supervisor, north.families[1], "void", NOW, record=str(wrong.intent), reason="Wrong person")

    assert post(supervisor, "recheck-observer", by_observer(north)).context["found"].families == 1


def test_a_second_observer_is_meant_too(north, supervisor):
    second = {"observer": north.supervisor.observer_id, "results": {"s01": "independent", "s02": "independent"}}
    show(north, north.mother, "hands", TODAY - timedelta(days=1), second=second)
    fields = by_observer(north, observer=str(north.supervisor.public_id))

    assert [t.skill for t in post(supervisor, "recheck-observer", fields).context["found"].touched] == ["hands"]


def test_whoever_typed_it_from_paper_is_meant_too(north, supervisor):
    """The watcher was somebody else; the stored rows name who signed as well."""
    body = demonstration(north.father, "hands", TODAY - timedelta(days=3), north.educator)
    write(north.administrator, north.family, "demonstration", NOW, **body)
    found = post(supervisor, "recheck-observer", by_observer(north, observer=str(north.supervisor.public_id)))
    assert found.context["found"].people == 0

    rows = AssessedBy.objects.filter(family=north.family)
    assert set(rows.values_list("observer", flat=True)) == {north.educator.observer_id, north.administrator.observer_id}
    member = north.supervisor
    touched = rechecking.signed_by_observer(member, north.administrator, TODAY - timedelta(days=9), TODAY, NOW).touched
    assert [(t.caregiver, t.skill) for t in touched] == [(north.father, "hands")]


@pytest.mark.parametrize("lost", ["state", "form"])
def test_families_whose_stored_rows_are_old_are_looked_at_whole(north, supervisor, lost):
    AssessedBy.objects.filter(family=north.family).delete()
    states = CacheState.objects.filter(family=north.family)
    if lost == "state":
        states.delete()
    else:
        states.update(form=1)

    assert post(supervisor, "recheck-observer", by_observer(north)).context["found"].people == 2


def test_nobody_touched_asks_for_no_password(north, supervisor):
    answer = post(supervisor, "recheck-observer", by_observer(north, observer=str(north.auditor.public_id)))

    assert "password" not in answer.context["form"].fields
    assert "Nobody. Nothing would be signed." in answer.content.decode()


def test_another_organisation_s_observer_is_no_choice(cast, north, supervisor):
    answer = post(supervisor, "recheck-observer", by_observer(north, observer=str(cast.south.educator.public_id)))

    assert list(errors(answer)) == ["observer"]


# Signing --------------------------------------------------------------------------------------------------


def test_each_family_gets_its_own_record(north, supervisor):
    answer, _signed = look_and_sign(supervisor, "recheck-observer", by_observer(north))

    assert said(answer) == "2 rechecks entered in 2 families, each in its own file."
    assert {r.chain for r in rechecks(north)} == {f.public_id for f in north.families}
    assert standing(north, north.mother, "suction") is Standing.HELD


def test_a_file_knows_the_others_by_number_alone(north, supervisor):
    look_and_sign(supervisor, "recheck-observer", by_observer(north))
    found = rechecks(north)
    body = found[0].data

    assert {r.data["reason"] for r in found} == {REASON}
    assert (body["one_of"]["families"], body["one_of"]["records"]) == (2, 2)
    assert "together" not in body["signed"]
    page = supervisor.get(reverse("record", args=[north.family.public_id, last(north.family).number]))
    assert "one of 2 rechecks in 2 families, by one signature" in page.content.decode()


def test_the_deed_is_logged_by_number(north, supervisor):
    look_and_sign(supervisor, "recheck-observer", by_observer(north))
    entry = Entry.objects.get(what="rechecked-many")

    assert entry.words == {"families": "2", "records": "2"}
    assert entry.about_name == ""


def test_the_same_post_twice_is_one_deed(north, supervisor):
    fields = by_observer(north)
    _answer, signed = look_and_sign(supervisor, "recheck-observer", fields)
    again = post(supervisor, "recheck-observer", {**fields, **signed})

    assert again.status_code == 302
    assert len(rechecks(north)) == 2
    assert Entry.objects.filter(what="rechecked-many").count() == 1


def test_a_list_that_moved_is_shown_again_and_not_signed(north, supervisor):
    def meanwhile():
        show(north, north.father, "hands", TODAY - timedelta(days=1))

    answer, _signed = look_and_sign(supervisor, "recheck-observer", by_observer(north), meanwhile)

    assert "Who is touched is not what you saw a moment ago." in answer.content.decode()
    assert rechecks(north) == []
    assert answer.context["found"].people == 3


def test_another_reason_than_the_one_looked_at_is_not_signed(north, supervisor):
    looked = post(supervisor, "recheck-observer", by_observer(north)).context["form"]
    signed = {"shown": looked["shown"].value(), "password": PASSWORD, "sign": "yes"}
    post(supervisor, "recheck-observer", by_observer(north, reason="Another"), **signed)

    assert rechecks(north) == []


def test_a_wrong_password_keeps_the_list_on_the_screen(north, supervisor):
    answer = post(supervisor, "recheck-observer", by_observer(north), password="wrong", sign="yes", shown="x")

    assert list(errors(answer)) == ["password"]
    assert answer.context["found"].people == 2
    assert rechecks(north) == []


def test_one_refusal_refuses_all(north, supervisor, monkeypatch):
    """The second file refuses: the first is as it was."""
    from competency.fields import Problem, RefusedError
    from training.standing import deeds

    check = deeds.check

    def refuse(file, *args):
        if file.family == north.families[1]:
            raise RefusedError([Problem("reason", "is refused here")])
        return check(file, *args)

    monkeypatch.setattr(deeds, "check", refuse)
    answer, _signed = look_and_sign(supervisor, "recheck-observer", by_observer(north))

    assert list(errors(answer)) == ["reason"]
    assert rechecks(north) == []


# By device ------------------------------------------------------------------------------------------------


def by_device(**changes):
    return {"device": "tube_id_mm=5", "skills": ["suction"], "reason": REASON, **changes}


def test_everyone_on_a_device(north, supervisor):
    found = post(supervisor, "recheck-device", by_device()).context["found"]

    assert (found.families, found.people, len(found.touched)) == (2, 4, 4)


def test_only_the_care_plan_in_force_counts(north, supervisor):
    plan(north, north.family, TODAY - timedelta(days=1), {"suction": True, "cuff": "none", "tube_id_mm": 6})
    found = post(supervisor, "recheck-device", by_device()).context["found"]

    assert {t.family for t in found.touched} == {north.families[1]}


def test_the_choices_are_what_care_plans_state_in_words(north, supervisor):
    page = supervisor.get(reverse("recheck-device")).content.decode()

    assert 'value="tube_id_mm=5"' in page
    assert 'value="cuff=none"' in page


def say_no_device(programme, *codes):
    about = programme.about
    facts = [{**f, "device": False} if f["code"] in codes else f for f in about["facts"]]
    Programme.objects.filter(pk=programme.pk).update(about={**about, "facts": facts}, version="said anew")


def choices(client):
    found = client.get(reverse("recheck-device")).context["form"].fields["device"].choices
    return {value for _title, shown in found[1:] for value, _words in shown}


def test_a_fact_that_is_said_to_be_no_equipment_is_no_choice(north, supervisor):
    say_no_device(north.programme, "suction")

    assert choices(supervisor) == {"tube_id_mm=5", "cuff=none"}
    assert list(errors(post(supervisor, "recheck-device", by_device(device="suction=True")))) == ["device"]


def test_one_that_another_programme_says_nothing_about_stays_a_choice(north, supervisor):
    """After a recall a choice too many does less harm than one that is missing."""
    other = read_file(PROGRAMME.replace("code: small", "code: other"))
    deeds.publish_programme(organisation=north.organisation, file=other, at=at(date(2024, 12, 1)))
    say_no_device(north.programme, "suction")

    assert "suction=True" in choices(supervisor)


def test_every_skill_is_one_record_for_each_caregiver(north, supervisor):
    look_and_sign(supervisor, "recheck-device", by_device(skills=["*", "suction"]))
    found = rechecks(north)

    assert [r.data["skill"] for r in found] == [None] * 4
    assert len(found[0].data["signed"]["together"]) == 2  # those of the own family alone
    assert standing(north, north.mother, "suction") is Standing.HELD


def test_a_value_nobody_has_is_no_choice(north, supervisor):
    assert list(errors(post(supervisor, "recheck-device", by_device(device="tube_id_mm=9")))) == ["device"]


def test_sizes_run_from_the_smallest(north, supervisor):
    for day, size in ((3, 10), (2, Decimal("4.5")), (1, 5)):
        plan(north, north.family, TODAY - timedelta(days=day), {"tube_id_mm": size})
    choices = dict(supervisor.get(reverse("recheck-device")).context["form"].fields["device"].choices)
    titles = [title for title in choices if title != ""]
    sizes = next(shown for shown in choices.values() if shown[0][0].startswith("tube_id_mm"))

    assert titles == sorted(titles, key=str.casefold)
    assert [key for key, _title in sizes] == [f"tube_id_mm={size}" for size in ("4.5", "5", "10")]
