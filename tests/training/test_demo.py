"""Every family of the demo stands as its file says, whatever day the demo is loaded on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import transaction

from competency.programme import fact_key
from competency.scoring import Outcome
from competency.standing import Standing
from training.curriculum.checks import shown
from training.exchange.demo.attempts import results
from training.exchange.demo.days import BadDayError, day_of
from training.exchange.demo.loading import load, sheets
from training.exchange.demo.people import intent
from training.people.models import Caregiver, Family, Member
from training.standing.appointments import coming
from training.standing.file import OTHER_KINDS, open_file
from training.standing.models import CachedStanding, CachedVerdict
from training.standing.previews import preview
from training.standing.questions import Cell, FamilyOn
from training.standing.stays import stays_of

pytestmark = pytest.mark.django_db
SHEETS = {sheet.name: sheet for sheet in sheets()}
CALENDAR = ("04-kowalczyk", "22-brackenridge", "23-halloran")  # what counts in months, or lapses soon
LOADS = {
    "leap day": (datetime(2028, 2, 29, 12, tzinfo=UTC), tuple(SHEETS)),
    "New Year in Oslo, the old year in New York": (datetime(2027, 1, 1, 3, tzinfo=UTC), CALENDAR),
    "six months before 31 August are clipped": (datetime(2027, 8, 31, 21, tzinfo=UTC), CALENDAR),
}


@dataclass
class Loaded:
    now: datetime
    families: dict[str, Family]
    pictures: dict[str, FamilyOn]

    def picture(self, name: str) -> FamilyOn:
        if name not in self.pictures:
            family = self.families[name]
            self.pictures[name] = FamilyOn(open_file(family), family.today(self.now))
        return self.pictures[name]


@pytest.fixture(scope="module", params=list(LOADS))
def demo(request: Any, django_db_setup: None, django_db_blocker: Any) -> Iterator[Loaded]:
    """The demo as of one day, beside the cast; taken back at the end."""
    now, names = LOADS[request.param]
    with django_db_blocker.unblock(), transaction.atomic():
        yield Loaded(now, load(now, [SHEETS[n] for n in names], lambda _: None), {})
        transaction.set_rollback(True)


on_one_day = pytest.mark.parametrize("demo", ["leap day"], indirect=True)


def named(picture: FamilyOn, called: str) -> Caregiver:
    return next(c for c in picture.caregivers if c.called == called)


def other_than_expected(demo: Loaded, key: str, answer: Callable[[FamilyOn], Any]) -> dict[str, Any]:
    """Families whose files expect something under a key and get another answer, with that answer."""
    wanted = {name: SHEETS[name].about["expect"] for name in demo.families}
    found = {name: answer(demo.picture(name)) for name in demo.families if key in wanted[name]}
    return {name: got for name, got in found.items() if got != wanted[name][key]}


def per_skill(demo: Loaded, key: str, answer: Callable[[Cell, Any], Any]) -> dict[str, Any]:
    """The same for what files expect by caregiver and skill."""
    odd = {}
    for name in demo.families:
        picture = demo.picture(name)
        for called, skills in SHEETS[name].about["expect"].get(key, {}).items():
            for skill, wanted in skills.items():
                got = answer(picture.cell(named(picture, called), skill), wanted)
                if got != wanted:
                    odd[f"{name}, {called}, {skill}"] = got
    return odd


def test_each_verdict_is_the_one_its_file_expects(demo):
    assert other_than_expected(demo, "verdict", lambda picture: picture.verdict) == {}


def test_what_is_missing_is_what_its_file_expects(demo):
    assert other_than_expected(demo, "missing", lambda picture: [m.code for m in picture.missing]) == {}


def test_the_team_rule_is_met_as_its_file_expects(demo):
    assert other_than_expected(demo, "team", lambda picture: picture.team_met_by) == {}


def test_the_sets_held_are_those_its_file_expects(demo):
    def held(picture: FamilyOn) -> dict[str, list[str]]:
        wanted = SHEETS[name_of[picture.family]].about["expect"]["sets"]
        return {who: [s for s, has in picture.held_sets(named(picture, who)).items() if has] for who in wanted}

    name_of = {family: name for name, family in demo.families.items()}

    assert other_than_expected(demo, "sets", held) == {}


def test_what_lapses_soon_is_what_its_file_expects(demo):
    def lapses(picture: FamilyOn) -> dict[str, str]:
        return {c.caregiver.called: c.skill.code for c in picture.coming(13) if c.standing is Standing.LAPSED}

    assert other_than_expected(demo, "lapses", lapses) == {}


def test_each_standing_is_the_one_its_file_expects(demo):
    assert per_skill(demo, "standings", lambda cell, _: cell.standing) == {}


def test_each_gate_waits_for_what_its_file_expects(demo):
    assert per_skill(demo, "gates", lambda cell, _: list(cell.gate)) == {}


def test_each_standing_has_the_reasons_its_file_expects(demo):
    def unmet(cell: Cell, wanted: list[str]) -> list[str]:
        codes = {r.code for r in cell.reasons if not r.met}
        return [code for code in wanted if code in codes]

    assert per_skill(demo, "reasons", unmet) == {}


def test_the_lapse_next_week_takes_the_family_below_its_team_rule(demo):
    family = demo.families["04-kowalczyk"]
    today = family.today(demo.now)
    ends = CachedVerdict.objects.get(family=family, verdict="ready", through__gte=today).through

    assert 1 <= (ends - today).days <= 9


@on_one_day
def test_the_stored_spans_say_what_the_rules_say(demo):
    for name in demo.families:
        picture = demo.picture(name)
        for span in CachedStanding.objects.filter(family=demo.families[name]).select_related("caregiver"):
            spans = [(s.value, s.start, s.through) for s in picture.line(span.caregiver, span.skill)]
            assert (span.standing, span.start, span.through) in spans


@on_one_day
def test_no_plain_pass_fails_or_is_kept_out_of_what_it_was_made_for(demo):
    """What does not count is told by a line of the file, never an accident of the spreading."""
    odd = {
        name: sorted(
            {why for j in judged for why in (j.kept_out if not j.counts else ()) or j.outcome.split()} - {"passed"}
        )
        for name in demo.families
        if (judged := [j for s in demo.picture(name).sweeps.values() for j in s.judged.values()])
    }

    assert {name: why for name, why in odd.items() if why} == {
        "01-okonjo-lind": ["practice"],
        "03-thornbury": [Outcome.CRITICAL.value],
        "09-castellane": ["observer"],
        "10-sokolenko": ["authorisation"],
        "11-thistlewood": [Outcome.DISPUTED.value, Outcome.INCOMPLETE.value],
    }


@on_one_day
def test_one_more_suctioning_today_signs_joram_off_and_opens_the_tube_change(demo):
    picture = demo.picture("01-okonjo-lind")
    joram = named(picture, "Joram")
    edition = picture.file.rules.skills["suction"].in_force(picture.day)
    facts = picture.care_plan.data["facts"]
    educator = Member.objects.get(user__username="educator")
    body = {
        "caregiver": joram.case_id,
        "purpose": "assessment",
        "on": picture.day.isoformat(),
        "time": "12:30",
        "skill": "suction",
        "edition": edition.number,
        "setting": "patient",
        "role": "lead",
        "mode": "in_person",
        "place": "hospital",
        "observers": [educator.observer_id],
        "results": results(edition, "lead", facts, {}, None),
        "second": None,
        "stopped": None,
        "began": None,
    }

    seen = preview(picture.file, joram, body, intent("a test"), demo.now)

    assert [(b.skill.code, b.after.standing, b.opens) for b in seen.brought] == [
        ("suction", Standing.SIGNED_OFF, False),
        ("tube_change", Standing.IN_TRAINING, True),
        ("emergency_response", Standing.NOT_STARTED, True),
    ]


@on_one_day
def test_the_walk_through_starts_with_the_last_trouble(demo):
    picture = demo.picture("01-okonjo-lind")

    assert (
        picture.last_trouble(named(picture, "Joram"), "suction").data["reteach"]["line"].startswith("Hold the catheter")
    )


@on_one_day
def test_the_late_entry_was_not_known_on_its_own_day(demo):
    family = demo.families["11-thistlewood"]
    picture = demo.picture("11-thistlewood")
    day = day_of(-13, picture.day)
    evening = datetime(day.year, day.month, day.day, 22, tzinfo=UTC)
    rosamund = named(picture, "Rosamund")
    then = FamilyOn(open_file(family), day, evening).cell(rosamund, "suction").standing
    now = FamilyOn(open_file(family), day).cell(rosamund, "suction").standing

    assert (then, now) == (Standing.IN_TRAINING, Standing.SIGNED_OFF)


@on_one_day
def test_records_stand_in_the_order_they_were_recorded(demo):
    for name in demo.families:
        instants = [r.recorded_at for r in demo.picture(name).file.records]
        assert instants == sorted(instants)
        assert instants[-1] <= demo.now


@on_one_day
def test_the_two_organisations_are_invented_and_live_in_two_time_zones(demo):
    homes = {family.organisation for family in demo.families.values()}

    assert {(h.is_invented, h.time_zone) for h in homes} == {(True, "Europe/Oslo"), (True, "America/New_York")}


@pytest.mark.parametrize(
    ("distance", "today", "day"),
    [
        (-1, date(2028, 3, 1), date(2028, 2, 29)),
        (0, date(2027, 1, 1), date(2027, 1, 1)),
        ("-6M", date(2027, 8, 31), date(2027, 2, 28)),
        ("-6M", date(2028, 8, 31), date(2028, 2, 29)),
        ("-6M+5", date(2027, 8, 31), date(2027, 3, 5)),
        ("-12M-1", date(2028, 2, 29), date(2027, 2, 27)),
        ("-1M", date(2027, 1, 15), date(2026, 12, 15)),
    ],
)
def test_a_distance_is_a_day(distance, today, day):
    assert day_of(distance, today) == day


def test_a_distance_that_is_neither_days_nor_months_is_refused():
    with pytest.raises(BadDayError, match="write days such as -40"):
        day_of("yesterday", date(2027, 1, 1))


@on_one_day
def test_it_has_an_event_a_comment_a_stay_appointments_and_an_offer(demo):
    kinds = Counter(r.kind for n in demo.families for r in demo.picture(n).file.records if r.kind in OTHER_KINDS)

    assert kinds == {"event": 1, "comment": 1, "stay": 6, "appointment": 3, "offer": 1}


@on_one_day
def test_the_stay_has_one_gap_in_which_staff_stepped_in(demo):
    picture = demo.picture("01-okonjo-lind")
    (stay,) = stays_of(picture.file.records, picture.family.zone)
    ((begins, ends),) = stay.gaps(demo.now)

    assert ends - begins == timedelta(minutes=30)
    assert [begins < at < ends for at, _ in stay.interventions] == [True]


@on_one_day
def test_the_next_tube_change_is_planned_with_whose_turn_it_is(demo):
    picture = demo.picture("01-okonjo-lind")
    turns = [
        a.body["caregiver"] for a in coming(picture.file.records, picture.day) if "tube_change" in a.body["skills"]
    ]

    assert turns == [named(picture, "Marit").case_id]


@on_one_day
@pytest.mark.parametrize(
    ("name", "agreeing"),
    [
        ("01-okonjo-lind", {"Suction catheter for this tube": True, "Suction pressure": True, "Seconds in one suction pass": True}),
        ("08-najjar", {"Suction catheter for this tube": True, "Suction pressure": False, "Seconds in one suction pass": True}),
        ("09-castellane", {"Suction catheter for this tube": True, "Suction pressure": True, "Cuff pressure": True}),
        ("21-desmarais", {"Suction catheter for this tube": True, "Suction pressure": True, "Seconds in one suction pass": True}),
        ("24-whitlock", {"Suction catheter for this tube": True, "Suction pressure": False, "Seconds in one suction pass": True}),
    ],
)  # fmt: skip
def test_a_check_stands_beside_the_order(demo: Loaded, name: str, agreeing: dict[str, bool]) -> None:
    picture = demo.picture(name)
    settings = demo.families[name].enrolment.programme.about["checks"]
    assert picture.care_plan is not None
    found = shown(settings, picture.words, picture.care_plan.data["facts"])

    assert {c.title: c.agrees for c in found if c.ordered} == agreeing


@on_one_day
def test_a_measured_step_takes_its_limit_from_the_order(demo: Loaded) -> None:
    """Four seconds are ordered where the programme's own limit is five."""
    picture = demo.picture("01-okonjo-lind")
    assert picture.care_plan is not None
    facts = {name: fact_key(value) for name, value in picture.care_plan.data["facts"].items()}
    edition = picture.history.known.programme.skills["suction"].in_force(picture.day)
    assert edition is not None
    limits = [step.measure for step in edition.steps_for("lead", facts) if step.measure]

    assert [(limit.high, limit.is_ordered) for limit in limits] == [(4, True)]
