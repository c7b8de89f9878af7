"""Every reason the rules can give, in words: to staff on the skill's page, to the caregiver on their own.

One programme, one family and some sixty records are written by the deeds, once. A row is one kind of reason: who is
looked at in which skill on which day, what staff read under "Why", and what the caregiver reads on that day.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from html import unescape
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.db import transaction
from django.test import Client, override_settings

from competency.reasons import reasons
from competency.words import TEMPLATES, Register, variant
from tests.cast import NOW, Home, at, authorise, plan
from tests.conftest import QUICK
from tests.factories import MemberFactory, OrganisationFactory, UserFactory
from tests.training.pages.caregiver.acts import address
from tests.training.pages.family.conftest import of, put
from training.curriculum.programme_file import read_file
from training.people.models import Caregiver, Member
from training.standing import deeds
from training.standing.file import FamilyFile, open_file
from training.standing.questions import FamilyOn

pytestmark = pytest.mark.django_db
PROGRAMME = Path(__file__).with_name("every_reason.yaml").read_text()
PEOPLE = {"Marit": "mother", "Joram": "father", "Aud": "aunt", "Eskil": "uncle", "Runa": "grandmother"}
FACTS = {"suction": True, "cuff": "none", "tube_id_mm": 5}
ALONE = {"s01": "independent", "s02": "independent", "s03": "independent"}
UNSEEN = {"s02": "not_seen", "s03": "not_seen"}
MET = "what is done already is not said again beside what is left"

# Where the caregiver's page has plainer words than the reason's own, or none at all (MET, and practice).
PLAINER = {
    "no_care_plan": "the whole page says it once",
    "signed_off.always": "the skill stands under Ready alone, with “does not run out”",
    "signed_off.through": "the skill stands under Ready alone, with its last day",
    "gate.closed": "a skill not begun stands under Later, with all that comes first in one sentence",
    "gate.too_long_ago": "as above",
}
LEFT_OUT = {
    "signature.caregiver.given": MET,
    "signature.educator.given": MET,
    "needs.met": MET,
    "renewal.met": MET,
    "gate.open": MET,
    "gate_waived": MET,
    "authorisation.met": MET,
    "prerequisite.met": MET,
    "passed": MET,
    "did_not_count.practice": "practice is never marked, so it is no attempt that did not count",
}


@dataclass(frozen=True)
class Row:
    """own: what the caregiver reads; None where their page leaves it out (LEFT_OUT says why)."""

    kind: str
    skill: str
    called: str
    day: str
    staff: str
    own: str | None


ROWS = [Row(*row) for row in (
    ("no_care_plan", "hands", "Marit", "2026-03-01", "There is no care plan on this day yet.", "There is no care plan yet. Your nurse enters it first."),
    ("no_edition", "stay", "Marit", "2026-03-10", "No edition of this skill is in force.", "This skill is not in use yet."),
    ("care_plan_does_not_call", "suction", "Marit", "2026-05-02", "Not required: the care plan says so (Suction prescribed).", "With this care plan it is not needed."),
    ("signed_off.always", "hands", "Marit", "2026-03-10", "Signed off since 4 March 2026; it does not lapse.", "Wash your hands does not run out"),
    ("signed_off.through", "ties", "Marit", "2026-03-12", "Signed off since 10 March 2026, through 10 April 2026.", "Change the ties through 10 April 2026"),
    ("lapsed.renewal", "ties", "Marit", "2026-04-15", "10 April 2026 was the last day. A renewal by 20 April 2026 brings it back.", "This was good through 10 April 2026. Show it again by 20 April 2026 and you are ready once more."),
    ("lapsed.full", "ties", "Marit", "2026-04-25", "10 April 2026 was the last day. Only a full sign-off brings it back.", "This was good through 10 April 2026. We start it again with you."),
    ("lapsed.card", "cpr_card", "Marit", "2026-04-10", "5 April 2026 was the last day of the card. Only a new card brings it back.", "Your card was good through 5 April 2026. A new card makes you ready once more."),
    ("withdrawn", "ties", "Joram", "2026-03-21", "Withdrawn on 20 March 2026. Only a full sign-off leads back.", "We would like to see this again from the start."),
    ("withdrawn.card", "cpr_card", "Aud", "2026-03-21", "Withdrawn on 20 March 2026. Only a new card leads back.", "We would like to see a new card from you."),
    ("signature.caregiver.given", "emergency", "Marit", "2026-03-12", "The caregiver has signed.", None),
    ("signature.caregiver.missing", "emergency", "Marit", "2026-03-10", "Awaiting the caregiver’s own signature; shown 10 March 2026.", "You have shown all of it. Only your own yes is missing: do you feel you could do this alone?"),
    ("signature.educator.given", "emergency", "Joram", "2026-03-12", "The educator has signed.", None),
    ("signature.educator.missing", "emergency", "Marit", "2026-03-12", "Awaiting the educator’s signature; shown 10 March 2026.", "You have shown all of it. Your nurse still has to say yes."),
    ("certificate", "cpr_card", "Joram", "2026-03-10", "No current card has been seen.", "Bring your course card, so we can note it down."),
    ("needs.met", "tube_change", "Marit", "2026-03-07", "1 of 1 pass on a model.", None),
    ("needs.none", "suction", "Marit", "2026-03-03", "0 of 2 passes on the patient, on 2 different days.", "Show it twice on the patient, on 2 different days."),
    ("needs.more", "suction", "Marit", "2026-03-05", "1 of 2 passes on the patient. 1 more, on another day.", "You have shown it 1 of 2 times on the patient. 1 more, on another day."),
    ("needs.spread", "suction", "Joram", "2026-03-05", "2 of 2 passes on the patient. 1 more, on another day.", "You have shown it often enough on the patient. 1 more, on another day."),
    ("needs.apart", "inner", "Joram", "2026-04-06", "2 of 2 passes, but not close enough together.", "You have shown it often enough, but the days lie too far apart. Show it again soon."),
    ("renewal.met", "inner", "Marit", "2026-03-22", "Shown again: 1 of 1 on a model.", None),
    ("renewal.none", "ties", "Marit", "2026-04-15", "To show again: 0 of 1 so far.", "Show it again once."),
    ("renewal.none", "inner", "Marit", "2026-03-20", "To show again at home: 0 of 2 so far, on 2 different days, close together.", "Show it again twice at home, on 2 different days, close together."),
    ("renewal.more", "inner", "Eskil", "2026-03-21", "To show again at home: 1 of 2 so far. 1 more, on another day.", "You have shown it again 1 of 2 times at home. 1 more, on another day."),
    ("renewal.spread", "inner", "Marit", "2026-03-21", "To show again at home: 2 of 2 so far. 1 more, on another day.", "You have shown it again often enough at home. 1 more, on another day."),
    ("renewal.apart", "inner", "Eskil", "2026-04-10", "To show again at home: 2 of 2 so far, but not close enough together.", "You have shown it again often enough at home, but the days lie too far apart. Show it again soon."),
    ("gate.open", "tube_change", "Marit", "2026-03-07", "Gate open: Hand hygiene.", None),
    ("gate.closed", "tube_change", "Marit", "2026-03-07", "Gate closed: Changing the ties is not signed off.", "Opens when this is done: Change the ties."),
    ("gate.closed", "tube_change", "Marit", "2026-04-25", "Gate closed: Changing the ties is not signed off.", "First finish: Change the ties."),
    ("gate.too_long_ago", "tube_change", "Marit", "2026-04-06", "Gate closed: Changing the ties was shown too long ago.", "First show this again: Change the ties."),
    ("gate.too_long_ago", "tube_change", "Runa", "2026-04-02", "Gate closed: Changing the ties was shown too long ago.", "Opens when this is done: Suctioning the tube. Opens when this is shown again: Change the ties."),
    ("gate_waived", "tube_change", "Runa", "2026-05-02", "Suctioning is not required, so it gates nothing.", None),
    ("authorisation.met", "suction", "Marit", "2026-03-06", "The prescriber has authorised it.", None),
    ("authorisation.unmet", "suction", "Marit", "2026-05-06", "No authorisation of the prescriber is in force.", "We wait for the prescriber’s yes."),
    ("hold.open", "hands", "Eskil", "2026-03-12", "On hold since 10 March 2026.", "You are on pause. Nothing you have shown is lost."),
    ("hold.through", "ties", "Eskil", "2026-03-12", "On hold from 10 March 2026 through 20 March 2026.", "You are on pause through 20 March 2026. Nothing you have shown is lost."),
    ("recheck.record", "inner", "Marit", "2026-03-20", "To be shown again since 20 March 2026: a recheck was asked for.", "Cleaning the inner tube please show us again Please show us this again."),
    ("recheck.critical", "inner", "Runa", "2026-03-13", "To be shown again since 12 March 2026: the demonstration that day was critical.", "Cleaning the inner tube please show us again Please show us this again."),
    ("recheck.fact", "humidifying", "Marit", "2026-04-21", "To be shown again since 20 April 2026: Tube, inner diameter changed.", "Something changed: how wide the tube is. Please show us this again."),
    ("recheck.fact", "humidifying", "Joram", "2026-05-02", "To be shown again since 30 April 2026: Cuff changed.", "Something changed: the soft balloon on the tube. Please show us this again."),
    ("recheck.edition", "stoma", "Marit", "2026-04-02", "To be shown again since 1 April 2026: a new edition of the checklist.", "The checklist changed. Please show us this again."),
    ("recheck.required_again", "suction", "Marit", "2026-05-06", "To be shown again since 5 May 2026: the care plan calls for it again.", "This is needed again. Please show us once more."),
    ("recheck_due.fact", "humidifying", "Joram", "2026-04-23", "To be shown again before 30 April 2026: Cuff changed.", "Something changed: the soft balloon on the tube. Show us this before 30 April 2026."),
    ("recheck_due.edition", "bag", "Marit", "2026-04-02", "To be shown again before 21 April 2026: a new edition of the checklist.", "The checklist changed. Show us this before 21 April 2026."),
    ("prerequisite.met", "tube_change", "Marit", "2026-03-13", "Hand hygiene is signed off, as this needs.", None),
    ("prerequisite.unmet", "tube_change", "Marit", "2026-04-02", "Held: Hand hygiene is not signed off.", "This waits for: Wash your hands."),
    ("passed", "hands", "Marit", "2026-03-04", "4 March 2026: passed, counts.", None),
    ("critical", "hands", "Aud", "2026-03-13", "5 March 2026: critical, step 1, “Says what comes first”.", "5 March 2026: needs one more. We look at this together: step 1, “Say what comes first”."),
    ("critical.stopped", "hands", "Aud", "2026-03-13", "6 March 2026: critical, stopped for safety.", "6 March 2026: needs one more. We stopped to keep everyone safe."),
    ("critical.stopped_also", "hands", "Aud", "2026-03-13", "7 March 2026: critical, stopped for safety; not alone: step 2, “Has everything at hand”.", "7 March 2026: needs one more. We stopped to keep everyone safe. We look at this together: step 2, “Have it all at hand”."),
    ("not_passed", "hands", "Aud", "2026-03-13", "8 March 2026: not passed, step 2, “Has everything at hand”; step 3, “Writes it down”.", "8 March 2026: needs one more. We look at this together: step 2, “Have it all at hand”; step 3, “Write it down”."),
    ("incomplete", "hands", "Aud", "2026-03-13", "9 March 2026: incomplete, counts for nothing.", "9 March 2026: we could not see all of it. It does not count against you."),
    ("disputed", "hands", "Aud", "2026-03-13", "10 March 2026: two observers differ; a supervisor resolves it.", "10 March 2026: this was our paperwork, not you. We sort it out."),
    ("did_not_count.practice", "hands", "Aud", "2026-03-13", "11 March 2026: practice, counts for nothing.", None),
    ("did_not_count.observer", "hands", "Aud", "2026-03-13", "12 March 2026: practice, since the observer was not qualified for this skill that day.", "12 March 2026: this was our paperwork, not you: the person watching could not sign for it that day."),
    ("did_not_count.edition", "stoma", "Aud", "2026-04-02", "2 April 2026: passed, does not count: on an edition no longer accepted.", "2 April 2026: you did it. This was our paperwork, not you: we used an old checklist."),
    ("did_not_count.authorisation", "suction", "Aud", "2026-05-06", "6 May 2026: passed, does not count: no authorisation that day.", "6 May 2026: you did it. This was our paperwork, not you: the prescriber’s yes was missing."),
    ("did_not_count.no_edition", "stay", "Marit", "2026-03-17", "16 March 2026: passed, does not count toward a full sign-off: no edition was in force when it began.", "16 March 2026: you did it. This was our paperwork, not you: the checklist was not in use yet."),
    ("did_not_count.gate", "tube_change", "Aud", "2026-03-13", "13 March 2026: passed, does not count toward a full sign-off: the gate was closed (Hand hygiene, Changing the ties, Suctioning).", "13 March 2026: you did it, but something else comes first: Wash your hands, Change the ties, Suctioning the tube. This was our planning, not you."),
)]  # fmt: skip


# The world ------------------------------------------------------------------------------------------------


@dataclass
class World:
    """The family of this table. Pages and answers are kept: many rows ask the same ones."""

    home: Home
    people: dict[str, Caregiver]
    kept: dict[Any, str] = field(default_factory=dict)

    @cached_property
    def file(self) -> FamilyFile:
        return open_file(self.home.family)

    def case_id(self, called: str) -> str:
        return self.people[called].case_id

    # Writing

    def put(self, called: str, kind: str, day: str, by: Member | Caregiver | None = None, **body: Any) -> None:
        who = {"caregiver": self.case_id(called)}
        put(by or self.home.supervisor, self.home.family, kind, date.fromisoformat(day), **who, on=day, **body)

    def shows(self, called: str, skill: str, *days: str, **changes: Any) -> None:
        """Demonstrations, every step alone unless changed."""
        body = {
            "purpose": "assessment",
            "time": "09:00",
            "skill": skill,
            "edition": 1,
            "setting": "patient",
            "role": "lead",
            "mode": "in_person",
            "place": "hospital",
            "observers": [self.home.educator.observer_id],
            "results": ALONE,
            "second": None,
            "stopped": None,
            "began": None,
        }
        for day in days:
            self.put(called, "demonstration", day, self.home.educator, **{**body, **changes})

    def signs(self, called: str, day: str, by: str) -> None:
        who = self.people[called] if by == "caregiver" else self.home.educator
        self.put(called, "signature", day, who, skill="emergency", by_=by)

    # Asking

    def picture(self, day: str) -> FamilyOn:
        return FamilyOn(self.file, date.fromisoformat(day))

    def said(self, row: Row, register: Register) -> list[str]:
        """What the rules say of this kind, in words."""
        picture = self.picture(row.day)
        sweep = picture.sweeps[self.case_id(row.called)]
        found = reasons(picture.history, picture.day, sweep, row.skill)
        return [picture.said(r, register).text for r in found if variant(r) == row.kind]

    def why(self, row: Row) -> list[str]:
        """What stands under "Why" on the skill's page."""
        listed = self.skill(row).split('<ul class="f-why">')[1].split("</ul>")[0]
        return [squeezed(item) for item in re.findall(r"<span>(.*?)</span>", listed, re.DOTALL)]

    def page(self, row: Row) -> str:
        """The skill's page as it is read."""
        return squeezed(self.skill(row).split("<main", 1)[1])

    def skill(self, row: Row) -> str:
        """The skill's page on that day, as the educator gets it."""
        who = self.people[row.called].public_id
        where = of(self.home.family, "skill", caregiver=who, skill=row.skill) + f"?on={row.day}"
        return self.read(self.home.educator.user, where, NOW)

    def own(self, row: Row) -> str:
        """The caregiver's own page, on that day, as it is read."""
        person = self.people[row.called]
        return squeezed(self.read(person.user, address(person), at(date.fromisoformat(row.day))).split("<main", 1)[1])

    def read(self, user: Any, where: str, now: Any) -> str:
        if (where, now) not in self.kept:
            with time_machine.travel(now, tick=False):
                client = Client()
                client.force_login(user)
                answer = client.get(where)
            assert answer.status_code == 200
            self.kept[where, now] = answer.content.decode()
        return self.kept[where, now]


def squeezed(text: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", text))).strip()


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """Written once, beside the cast; taken back at the end."""
    with django_db_blocker.unblock(), override_settings(PASSWORD_HASHERS=QUICK), transaction.atomic():
        made = begin()
        tell(made)
        yield made
        transaction.set_rollback(True)


def begin() -> World:
    organisation = OrganisationFactory(title="Everyreason Hospital", kind="hospital")
    people = {role: MemberFactory(organisation=organisation, role=role) for role in Member.Role.values}
    early = at(date(2024, 12, 1))
    programme = deeds.publish_programme(organisation=organisation, file=read_file(PROGRAMME), at=early)
    home = Home(organisation, programme, **people)
    for role in ("educator", "supervisor"):
        deeds.qualify(
            observer=people[role],
            skill=None,
            from_day=date(2025, 1, 1),
            through=None,
            by=home.administrator,
            intent=uuid.uuid4(),
            at=early,
        )
    begun = {"by": home.educator, "at": at(date(2026, 2, 20))}
    family = deeds.open_family(
        programme=programme,
        name="Tveit",
        patient_name="Solveig Tveit",
        patient_called="Solveig",
        patient_born=date(2023, 2, 1),
        time_zone="Europe/Oslo",
        intent=uuid.uuid4(),
        **begun,
    )
    home.families.append(family)
    return World(home, {called: add(home, called, **begun) for called in PEOPLE})


def add(home: Home, called: str, **begun: Any) -> Caregiver:
    """A caregiver with an account, asked for everything."""
    made = deeds.write_caregiver(
        family=home.family,
        full_name=f"{called} Tveit",
        called=called,
        relation=PEOPLE[called],
        born=date(1970, 5, 1),
        is_patient=False,
        from_day=None,
        through=None,
        sets=["full"],
        intent=uuid.uuid4(),
        **begun,
    )
    made.user = UserFactory(full_name=made.full_name)
    made.save(update_fields=["user"])
    return made


def tell(world: World) -> None:
    """What happens to this family from March to May."""
    home = world.home
    for day, facts in (
        ("2026-03-02", {}),
        ("2026-04-20", {"tube_id_mm": 6}),
        ("2026-04-22", {"tube_id_mm": 6, "cuff": "air"}),
        ("2026-05-01", {"tube_id_mm": 6, "cuff": "air", "suction": False}),
        ("2026-05-05", {"tube_id_mm": 6, "cuff": "air"}),
    ):
        plan(home, home.family, date.fromisoformat(day), FACTS | facts)
    authorise(home, home.family, "suction", date(2026, 3, 2), date(2026, 4, 30))
    for part in (
        the_first_skills,
        the_tube,
        the_inner_cannula,
        what_changes,
        what_is_signed,
        everything_that_goes_wrong,
    ):
        part(world)


def the_first_skills(world: World) -> None:
    for called in ("Marit", "Runa"):
        world.shows(called, "hands", "2026-03-04")
        world.shows(called, "ties", "2026-03-10")
    world.shows("Joram", "ties", "2026-03-10")
    world.put("Joram", "withdrawal", "2026-03-20", skill="ties", reason="Not said here", cover="A nurse")
    world.put("Eskil", "hold", "2026-03-10", skill="hands", through=None, reason="Not said here")
    world.put("Eskil", "hold", "2026-03-10", skill="ties", through="2026-03-20", reason="Not said here")
    world.shows("Marit", "suction", "2026-03-05", "2026-03-06")
    world.shows("Joram", "suction", "2026-03-05")
    world.shows("Joram", "suction", "2026-03-05", time="11:00")


def the_tube(world: World) -> None:
    world.shows("Marit", "tube_change", "2026-03-07", setting="model")
    world.shows("Marit", "tube_change", "2026-03-12")
    world.put("Marit", "hold", "2026-04-01", skill="hands", through="2026-04-03", reason="Not said here")
    world.put("Marit", "withdrawal", "2026-04-05", skill="tube_change", reason="Not said here", cover="A nurse")


def the_inner_cannula(world: World) -> None:
    for called in ("Marit", "Eskil", "Runa"):
        world.shows(called, "inner", "2026-03-05", "2026-03-08")
    world.shows("Joram", "inner", "2026-03-05", "2026-04-05")
    for called in ("Marit", "Eskil"):
        world.put(called, "recheck", "2026-03-20", skill="inner", reason="Not said here")
        world.shows(called, "inner", "2026-03-21", place="home")
    world.shows("Marit", "inner", "2026-03-21", place="home", time="11:00")
    world.shows("Marit", "inner", "2026-03-22", setting="model")
    world.shows("Eskil", "inner", "2026-04-10", place="home")
    world.shows("Runa", "inner", "2026-03-12", results={**ALONE, "s01": "omitted"})


def what_changes(world: World) -> None:
    world.shows("Marit", "humidifying", "2026-03-05")
    world.shows("Joram", "humidifying", "2026-04-21")
    world.shows("Marit", "stoma", "2026-03-05")
    world.shows("Aud", "stoma", "2026-04-02")
    world.shows("Marit", "bag", "2026-03-05")
    world.shows("Marit", "stay", "2026-03-16", began="2026-03-15")


def what_is_signed(world: World) -> None:
    for called in ("Marit", "Joram"):
        world.shows(called, "emergency", "2026-03-10", setting="simulation")
    world.signs("Marit", "2026-03-12", "caregiver")
    world.signs("Joram", "2026-03-12", "educator")
    for called in ("Marit", "Aud"):
        world.put(called, "certificate", "2026-03-05", skill="cpr_card", through="2026-04-05")
    world.put("Aud", "withdrawal", "2026-03-20", skill="cpr_card", reason="Not said here", cover="A nurse")


def everything_that_goes_wrong(world: World) -> None:
    def hands(day: int, **changes: Any) -> None:
        world.shows("Aud", "hands", f"2026-03-{day:02}", **changes)

    hands(5, results={**ALONE, "s01": "prompted"})
    hands(6, results={**ALONE, **UNSEEN}, stopped="caregiver")
    hands(7, results={**ALONE, "s02": "assisted", "s03": "not_seen"}, stopped="caregiver")
    hands(8, results={**ALONE, "s02": "prompted", "s03": "omitted"})
    hands(9, results={**ALONE, "s01": "not_seen"})
    second = {"observer": world.home.supervisor.observer_id, "results": {**ALONE, "s01": "assisted"}}
    hands(10, second=second)
    hands(11, purpose="practice")
    hands(12, observers=[world.home.auditor.observer_id])
    world.shows("Aud", "tube_change", "2026-03-13")
    world.shows("Aud", "suction", "2026-05-06")


# The table ------------------------------------------------------------------------------------------------


def each(rows: Iterable[Row]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize(
        "row", [pytest.param(r, id=f"{r.kind}: {r.called}, {r.skill}, {r.day}") for r in rows]
    )


def test_every_kind_of_reason_has_a_row():
    assert {row.kind for row in ROWS} == set(TEMPLATES)


def test_what_the_caregiver_does_not_read_is_listed_with_why():
    assert {row.kind for row in ROWS if row.own is None} == set(LEFT_OUT)


@each(ROWS)
def test_the_reason_is_of_its_kind(world, row):
    assert row.staff in world.said(row, Register.CLINICIAN)


@each(ROWS)
def test_staff_read_it_under_why(world, row):
    assert row.staff in world.why(row)


@each(row for row in ROWS if row.own is not None)
def test_the_caregiver_reads_it_on_their_own_page(world, row):
    assert row.own in world.own(row)


@each(row for row in ROWS if row.own is not None and row.kind not in PLAINER)
def test_in_the_words_of_the_reason(world, row):
    assert any(text in row.own for text in world.said(row, Register.CAREGIVER))


@each(row for row in ROWS if row.kind in LEFT_OUT)
def test_what_is_left_out_is_not_there(world, row):
    assert not any(text in world.own(row) for text in world.said(row, Register.CAREGIVER))


RAW = re.compile(r"\(\)|\bNone\b|\d{4}-\d\d-\d\d|\b[a-z]+_[a-z_]+\b|[{}]")


@each(ROWS)
def test_nothing_is_printed_raw(world, row):
    """No code, no ISO date, no empty bracket and no gap of a template on either page."""
    read = f"{world.page(row)} {world.own(row)}"

    assert RAW.findall(read) == []
