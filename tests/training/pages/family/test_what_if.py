"""What if this person is out: a switch on the family page, answered by the rules, recorded nowhere."""

from __future__ import annotations

import re
import uuid

import pytest

from tests.cast import ALL_ALONE, TODAY, at, show, sign_off_suction, write
from tests.training.pages.family.conftest import of
from training.log.models import Entry
from training.people.models import Family
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def squeezed(text):
    return " ".join(re.sub(r"<[^>]+>", " ", text).split())


@pytest.fixture
def home(story):
    return story.north


@pytest.fixture
def ask(home, read):
    def get(*out, role="supervisor", on="", whole=False):
        query = "&".join([f"out={c if isinstance(c, str) else c.public_id}" for c in out] + ([on] if on else []))
        text = read(getattr(home, role), f"{of(home.family, 'family')}?{query}")
        found = re.search(r'<section class="f-what-if".*?</section>', text, re.DOTALL)
        return (found[0] if whole else squeezed(found[0])) if found else ""

    return get


def test_everybody_here_has_a_switch(ask):
    assert "Without Marit" in ask()
    assert "Without Joram" in ask()


def test_until_one_is_turned_nothing_is_answered(ask):
    assert "A question only" not in ask()


def test_the_answer_says_that_it_is_a_question(ask, home):
    assert "A question only. Nothing is recorded, and nobody’s standing changes." in ask(home.mother)


def test_the_answer_names_who_is_out_and_the_verdict(ask, home):
    assert f"From 14 May 2026 without {home.mother.full_name} : Not ready stays Not ready" in ask(home.mother)


def test_the_answer_names_what_would_be_missing(ask, home):
    said = ask(home.mother)

    assert "Joram, for Full care" in said
    assert "Marit, for Full care" not in said


def test_a_turned_switch_turns_back(ask, home):
    address = of(home.family, "family")
    found = re.findall(r'href="\?([^"]*)#what-if"', ask(home.mother, whole=True))

    assert address  # the links are of this page
    assert found[0] == ""
    assert found[1].count("out=") == 2
    assert "Marit is out: put back" in ask(home.mother)


def test_a_date_asked_for_is_kept(ask, home):
    assert "on=2026-05-20" in ask(home.mother, on="on=2026-05-20", whole=True)


def test_two_may_be_out_at_once(ask, home):
    said = ask(home.mother, home.father)

    assert home.mother.full_name in said
    assert home.father.full_name in said


@pytest.mark.parametrize("out", ["", "nobody", str(uuid.uuid4()), "<b>"])
def test_an_id_of_nobody_here_is_passed_over(ask, out):
    assert "A question only" not in ask(out)


def test_somebody_of_another_family_is_nobody_here(ask, story):
    assert "A question only" not in ask(story.cast.south.mother)


def test_nothing_is_recorded(ask, home):
    before = Record.objects.count()
    ask(home.mother)

    assert Record.objects.count() == before
    assert not Entry.objects.filter(kind=Entry.Kind.DEED, view="family").exists()


def test_without_a_care_plan_there_is_nothing_to_ask(home, read):
    family = deeds.open_family(
        programme=home.programme, name="Bare", patient_name="B Bare", patient_called="B", patient_born=None,
        time_zone="Europe/Oslo", by=home.educator, intent=uuid.uuid4(), at=at(TODAY),
    )  # fmt: skip

    assert "f-what-if" not in read(home.educator, of(family, "family")).replace("family.css", "")


# The question itself --------------------------------------------------------------------------------------


def all_signed_off(home, caregiver):
    for skill in ALL_ALONE:
        if skill == "suction":
            sign_off_suction(home, caregiver)
        else:
            show(home, caregiver, skill, TODAY)
    write(home.educator, home.family, "certificate", at(TODAY), caregiver=caregiver.case_id, skill="cpr",
          on=TODAY.isoformat(), through="2027-05-14", time=None)  # fmt: skip


def picture(home):
    return FamilyOn(open_file(Family.objects.get(pk=home.family.pk)), TODAY)


def test_it_is_answered_without_the_person_from_that_day(home):
    now = picture(home)
    then = now.if_out([home.mother])

    assert [p.id for p in now.history.readiness.people(TODAY)] == [home.mother.case_id, home.father.case_id]
    assert [p.id for p in then.history.readiness.people(TODAY)] == [home.father.case_id]


def test_the_page_s_own_verdict_is_not_touched(home):
    now = picture(home)
    before = now.verdict_span
    now.if_out([home.mother, home.father])

    assert now.verdict_span == before


def test_as_known_earlier_it_is_answered_as_known_then(home):
    known = FamilyOn(open_file(home.family), TODAY, at(TODAY, 1))

    assert known.if_out([home.mother]).known_at == at(TODAY, 1)
    assert known.if_out([home.mother]).verdict == known.verdict
