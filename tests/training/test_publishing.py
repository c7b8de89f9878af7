"""Publishing an edition: nothing that was seen is judged again, and everybody stands where the preview said."""

from __future__ import annotations

import uuid
from dataclasses import replace
from datetime import date, timedelta

import pytest

from competency.fields import RefusedError
from tests.cast import ALL_ALONE, NOW, TODAY, at, demonstration, show, sign_off_suction, write
from training.curriculum import drafting
from training.curriculum.models import Edition, Programme, ProgrammeDraft
from training.records.models import Record
from training.standing import publishing
from training.standing.affected import affected
from training.standing.deeds import DraftMovedError
from training.standing.file import open_file
from training.standing.projecting import family_differences, programme_differences
from training.standing.proposing import Choice
from training.standing.rebuilding import rebuild_family, rebuild_programme

FIRST = TODAY + timedelta(days=7)
POLICIES = ["stand", "recheck", {"recheck_by": (FIRST + timedelta(days=30)).isoformat()}]
NEW_STEP = {"code": "s07", "text": "Checks the spare tube", "critical": True}


def draft_with_step(home, skill="suction", step=NEW_STEP):
    draft = drafting.begin_edition(home.programme, skill, by=home.educator, at=NOW)
    body = {**draft.body, "edition": drafting.with_step(draft.body["edition"], step)}
    drafting.save(draft, body, version=draft.version, by=home.educator, at=NOW)
    draft.refresh_from_db()
    return draft


def choice_of(*drafts, older="stand", first_day=FIRST, note="A spare tube is checked first."):
    return Choice(
        drafts={d.skill: d.version for d in drafts},
        first_day=first_day,
        note=note,
        older={d.skill: older for d in drafts},
    )


def put_in_force(home, choice, when=NOW, intent=None):
    return publishing.publish(
        programme=home.programme, choice=choice, by=home.educator, intent=intent or uuid.uuid4(), at=when
    )


def outcomes(home):
    """Every judged attempt of every family, and every record's bytes."""
    found = []
    for family in home.families:
        family.refresh_from_db()
        history = open_file(fresh(family)).history()
        for who, sweep in history.sweeps.items():
            found += [
                (who, j.attempt.id, j.outcome, j.counts, j.full, j.kept_out, j.gate, j.overridden)
                for j in sweep.judged.values()
            ]
        found += [(r.digest, bytes(r.body)) for r in Record.objects.of_chain(family.public_id)]
    return found


def fresh(family):
    return type(family).objects.select_related("organisation", "enrolment__programme").get(pk=family.pk)


def standings(home, days):
    """Every caregiver's standing in every skill, and every verdict, on these days."""
    found = {}
    for family in home.families:
        history = open_file(fresh(family)).history()
        for day in days:
            found[family.pk, "verdict", day] = history.readiness.line.on(day)
            for who in history.caregivers:
                for code in history.known.programme.skills:
                    found[family.pk, who, code, day] = history.line(who, code).on(day)
    return found


@pytest.fixture
def busy(cast):
    """One caregiver signed off in most things, another half way, one family untouched."""
    north = cast.north
    mother, father = north.mother, north.father
    show(north, mother, "hands", TODAY - timedelta(days=20))
    sign_off_suction(north, mother)
    show(north, mother, "tube_change", TODAY - timedelta(days=2))
    show(north, father, "suction", TODAY - timedelta(days=4))
    show(
        north,
        father,
        "suction",
        TODAY - timedelta(days=3),
        results={**ALL_ALONE["suction"], "s01": "prompted"},
    )
    return north


# What was seen, and what was previewed --------------------------------------------------------------------


@pytest.mark.parametrize("older", POLICIES, ids=["stand", "recheck", "recheck_by"])
def test_a_new_critical_step_rescores_nothing(busy, older):
    before = outcomes(busy)

    put_in_force(busy, choice_of(draft_with_step(busy), older=older))

    assert outcomes(busy) == before


@pytest.mark.parametrize("older", POLICIES, ids=["stand", "recheck", "recheck_by"])
@pytest.mark.parametrize("skill", ["hands", "suction", "tube_change"])
def test_everybody_stands_where_the_preview_said(busy, older, skill):
    draft = draft_with_step(busy, skill)
    choice = choice_of(draft, older=older)
    shown = affected(publishing.proposal_of(busy.programme, choice, NOW), busy.educator)
    days = [TODAY, *(FIRST + timedelta(days=n) for n in range(0, 91, 5)), shown.later]
    expected = standings(busy, days)
    for family in shown.families:
        for day, pair in ((shown.first, family.verdict_first), (shown.later, family.verdict_later)):
            expected[family.family.pk, "verdict", day] = pair.with_
        for m in family.moved:
            for day, pair in ((shown.first, m.first), (shown.later, m.later)):
                assert expected[family.family.pk, m.caregiver.case_id, m.skill.code, day] == pair.without
                expected[family.family.pk, m.caregiver.case_id, m.skill.code, day] = pair.with_

    put_in_force(busy, choice)

    found = standings(busy, [TODAY, shown.first, shown.later])
    assert found == {key: value for key, value in expected.items() if key in found}


@pytest.mark.parametrize(
    ("older", "first", "later"),
    [
        ("stand", "signed_off", "signed_off"),
        ("recheck", "held", "held"),
        (POLICIES[2], "signed_off", "held"),
    ],
    ids=["stand", "recheck", "recheck_by"],
)
def test_what_each_policy_does_to_a_signed_off_mother(busy, older, first, later):
    put_in_force(busy, choice_of(draft_with_step(busy), older=older))

    line = open_file(fresh(busy.family)).history().line(busy.mother.case_id, "suction")

    assert [line.on(TODAY), line.on(FIRST), line.on(FIRST + timedelta(days=90))] == ["signed_off", first, later]


def test_the_preview_names_only_whom_it_touches(busy):
    choice = choice_of(draft_with_step(busy), older="recheck")

    shown = affected(publishing.proposal_of(busy.programme, choice, NOW), busy.educator)

    assert {(m.caregiver.called, m.skill.code) for f in shown.families for m in f.moved} == {
        ("Marit", "suction"),
        ("Marit", "tube_change"),  # it waits for suctioning
    }
    assert (shown.unchanged, shown.unseen) == (1, 0)


def test_the_day_a_later_recheck_begins_is_named(busy):
    choice = choice_of(draft_with_step(busy), older=POLICIES[2])

    shown = affected(publishing.proposal_of(busy.programme, choice, NOW), busy.educator)

    assert {m.since for m in shown.families[0].moved} == {FIRST + timedelta(days=31)}


def test_families_that_may_not_be_seen_are_counted(busy, cast):
    choice = choice_of(draft_with_step(busy), older="recheck")

    shown = affected(publishing.proposal_of(busy.programme, choice, NOW), cast.south.educator)

    assert (shown.families, shown.unseen) == ((), 2)


# The record -----------------------------------------------------------------------------------------------


def test_the_rows_are_what_the_chain_says(busy):
    put_in_force(busy, choice_of(draft_with_step(busy), older="recheck"))

    assert list(programme_differences(busy.programme.public_id)) == []
    assert rebuild_programme(busy.programme.public_id, keep=False) == []
    assert rebuild_family(busy.family.public_id, keep=False) == []


def test_the_change_note_and_the_signature_are_in_the_record(busy):
    record, *others = put_in_force(busy, choice_of(draft_with_step(busy)))

    assert others == []
    assert record.data["change_note"] == "A spare tube is checked first."
    assert record.data["signed"]["name"] == busy.educator.signed_name
    assert busy.programme.editions.get(skill="suction", number=2).body["change_note"] == record.data["change_note"]
    assert "signed" not in busy.programme.editions.get(skill="suction", number=2).body


def test_the_first_edition_is_untouched(busy):
    before = Edition.objects.get(programme=busy.programme, skill="suction", number=1).body

    put_in_force(busy, choice_of(draft_with_step(busy)))

    assert Edition.objects.get(programme=busy.programme, skill="suction", number=1).body == before


def test_the_same_post_twice_is_one_edition(busy):
    choice, intent = choice_of(draft_with_step(busy)), uuid.uuid4()

    first = put_in_force(busy, choice, intent=intent)
    again = put_in_force(busy, choice, intent=intent)

    assert [r.pk for r in first] == [r.pk for r in again]
    assert busy.programme.editions.filter(skill="suction").count() == 2


def test_a_draft_is_gone_once_published(busy):
    put_in_force(busy, choice_of(draft_with_step(busy)))

    assert not busy.programme.drafts.exists()


def test_words_that_change_are_published_with_the_edition(busy):
    draft = drafting.begin_edition(busy.programme, "suction", by=busy.educator, at=NOW)
    body = {**draft.body, "words": {**draft.body["words"], "title": "Suction"}}
    drafting.save(draft, body, version=1, by=busy.educator, at=NOW)
    draft.refresh_from_db()

    records = put_in_force(busy, choice_of(draft))

    assert [r.kind for r in records] == ["programme", "edition"]
    assert open_file(fresh(busy.family)).words.skill("suction").title == "Suction"
    assert list(programme_differences(busy.programme.public_id)) == []


def test_a_deed_of_a_page_read_before_the_publication_leaves_the_spans_true(busy):
    stale = fresh(busy.family)
    _read = stale.enrolment.programme.version
    put_in_force(busy, choice_of(draft_with_step(busy), older="recheck"))

    body = demonstration(busy.father, "hands", TODAY, busy.educator)
    write(busy.educator, stale, "demonstration", at(TODAY), **body)

    assert list(family_differences(busy.family.public_id)) == []


# Refusals -------------------------------------------------------------------------------------------------


def refused(home, choice, when=NOW):
    with pytest.raises(RefusedError) as refusal:
        put_in_force(home, choice, when)
    return [str(p) for p in refusal.value.problems]


@pytest.mark.parametrize("day", [date(2026, 5, 13), TODAY])
def test_a_day_that_has_begun_is_refused(busy, day):
    assert refused(busy, choice_of(draft_with_step(busy), first_day=day))[0] == (
        "first day: has begun for somebody; 2026-05-15 is the earliest"
    )


def test_tomorrow_is_early_enough(busy):
    assert put_in_force(busy, choice_of(draft_with_step(busy), first_day=date(2026, 5, 15)))


def test_tomorrow_is_the_day_after_the_latest_family_today(busy):
    busy.families[1].time_zone = "Pacific/Kiritimati"  # fourteen hours before Greenwich: it is 15 May there from 10:00
    busy.families[1].save(update_fields=["time_zone"])

    said = refused(busy, choice_of(draft_with_step(busy), first_day=date(2026, 5, 15)), at(TODAY, 11))

    assert said[0] == "first day: has begun for somebody; 2026-05-16 is the earliest"


def test_an_edition_before_a_published_one_is_refused(busy):
    put_in_force(busy, choice_of(draft_with_step(busy)))

    said = refused(busy, choice_of(draft_with_step(busy), first_day=FIRST - timedelta(days=1)))

    assert said == ["Suctioning, edition 3, first day: is not after that of edition 2"]


def test_a_recheck_before_the_first_day_is_refused(busy):
    older = {"recheck_by": (FIRST - timedelta(days=1)).isoformat()}

    assert refused(busy, choice_of(draft_with_step(busy), older=older)) == [
        "Suctioning, edition 2, older sign-offs, recheck_by: is before the edition's first day"
    ]


def test_a_change_without_a_note_is_refused(busy):
    assert refused(busy, choice_of(draft_with_step(busy), note=" ")) == ["change note: is empty"]


def draft_with(home, skill, **edition):
    draft = drafting.begin_edition(home.programme, skill, by=home.educator, at=NOW)
    body = {**draft.body, "edition": {**draft.body["edition"], **edition}}
    drafting.save(draft, body, version=draft.version, by=home.educator, at=NOW)
    draft.refresh_from_db()
    return draft


def test_a_circle_is_named_in_full(busy):
    draft = draft_with(busy, "hands", requires=[{"skill": "tube_change"}])

    assert refused(busy, choice_of(draft)) == [
        "Hand hygiene: the prerequisites in force on 2026-05-21 go in a circle: "
        "Hand hygiene needs Tube change needs Hand hygiene"
    ]


def test_two_sound_drafts_cannot_make_a_circle_one_after_the_other(busy):
    """The second was begun before the first was published, and is judged again."""
    first = draft_with(busy, "hands", requires=[{"skill": "emergency"}])
    second = draft_with(busy, "emergency", requires=[{"skill": "hands"}])
    put_in_force(busy, choice_of(first))

    said = refused(busy, choice_of(second, first_day=FIRST + timedelta(days=1)))

    assert said == [
        "Hand hygiene: the prerequisites in force on 2026-05-22 go in a circle: "
        "Hand hygiene needs Emergency response needs Hand hygiene"
    ]


@pytest.mark.parametrize(
    ("edition", "said"),
    [
        ({"applies_when": {"moon": [True]}}, "Suctioning, condition, moon: is no fact of this programme"),
        ({"applies_when": {"cuff": ["square"]}}, "Suctioning, condition, Cuff: “square” is no value this fact can have"),
        ({"applies_when": {"tube_id_mm": [40]}},
         "Suctioning, condition, Tube, inner diameter: “40” is no value this fact can have"),
        ({"on_change": {"moon": "recheck"}}, "Suctioning, when it changes, moon: is no fact of this programme"),
        ({"requires": [{"skill": "juggling"}]},
         "Suctioning, edition 2, what comes first, line 1, skill: \"juggling\" is no skill here"),
        ({"steps": []}, "Suctioning, steps: is empty: nothing could be shown, and nobody signed off"),
        ({"steps": [{"code": "a", "text": " "}]}, "Suctioning, step 1, text: is empty"),
        ({"steps": [{"code": "a", "text": "x" * 301}]}, "Suctioning, step 1, text: has 301 letters; 300 is the most"),
        ({"steps": [{"code": "a", "text": "x"}, {"code": "a", "text": "y"}]},
         "Suctioning, edition 2, step 2, code: \"a\" is there already"),
        ({"steps": [{"code": "a", "text": "x", "measure": {"unit": "s", "low": 9, "high": 3}}]},
         "Suctioning, edition 2, step 1, measured, low: is above high"),
        ({"steps": [{"code": "a", "text": "x", "critical": True, "may_skip": True}]},
         "Suctioning, edition 2, step 1, may be skipped: a critical step may not be skipped"),
        ({"standard": {"needs": [{"passes": -1}]}},
         "Suctioning, edition 2, standard, need 1, passes: is -1, not a whole number from 1 to 1000"),
        ({"standard": {"needs": [{"passes": 1, "within": "P0D"}]}},
         "Suctioning, edition 2, standard, need 1, within: is \"P0D\", not a period above zero such as P30D, P3M or P1Y"),
        ({"standard": {"needs": [{"days": 9, "within": "P7D"}]}},
         "Suctioning, standard, need 1, days: 9 different days do not fit into 8"),
        ({"standard": {"needs": [{"places": 2, "place": ["home"]}]}},
         "Suctioning, standard, need 1, places: asks for 2 different places and looks only at 1"),
    ],
)  # fmt: skip
def test_a_draft_that_cannot_be_is_refused_with_its_place(busy, edition, said):
    assert said in refused(busy, choice_of(draft_with(busy, "suction", **edition)))


def rules_draft(home, **changes):
    draft = drafting.begin_rules(home.programme, by=home.educator, at=NOW)
    drafting.save(draft, {**draft.body, **changes}, version=draft.version, by=home.educator, at=NOW)
    draft.refresh_from_db()
    return draft


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"team": []}, "team: is empty: no family could ever be ready"),
        ({"team": [{"name": "x", "people": [{"set": "night", "count": 1}]}]},
         "team, way 1, people, line 1, set: asks for people who hold “night”, and there is no such set"),
        ({"team": [{"name": "x", "people": [{"set": "full", "count": -2}]}]},
         "team, way 1, people, line 1, count: is -2, not a whole number from 1 to 100"),
        ({"sets": {"full": {"title": "Full", "skills": []}}, "team": [{"name": "x", "people": [{"set": "full", "count": 1}]}]},
         "team, way 1, people, line 1, set: the set “Full” has no skill, so nobody can hold it"),
        ({"items": [{"code": "kit", "title": "Kit"}, {"code": "kit", "title": "Kit"}]},
         'item 2, code: "kit" is there already'),
        ({"items": [{"code": "kit", "title": "Kit", "valid_for": "P0D"}]},
         'item 1, holds: is "P0D", not a period above zero such as P30D, P3M or P1Y'),
    ],
)  # fmt: skip
def test_sets_and_teams_that_cannot_be_are_refused_with_their_place(busy, changes, said):
    assert said in refused(busy, choice_of(rules_draft(busy, **changes)))


def test_new_sets_are_published(busy):
    put_in_force(busy, choice_of(rules_draft(busy, items=[])))

    history = open_file(fresh(busy.family)).history()
    assert history.readiness.rules(FIRST).items == ()
    assert list(programme_differences(busy.programme.public_id)) == []


def test_nothing_is_half_published(busy):
    sound, unsound = draft_with_step(busy), draft_with(busy, "hands", steps=[])

    refused(busy, choice_of(sound, unsound))

    assert busy.programme.editions.filter(number=2).count() == 0
    assert busy.programme.drafts.count() == 2


def test_a_draft_changed_meanwhile_is_not_published(busy):
    draft = draft_with_step(busy)
    choice = choice_of(draft)
    drafting.save(draft, draft.body, version=draft.version, by=busy.supervisor, at=NOW)

    with pytest.raises(DraftMovedError):
        put_in_force(busy, choice)


def overtaken(home, part):
    """A draft of a part of which something was published, by other means, after it was begun."""
    draft = drafting.begin_edition(home.programme, part, by=home.educator, at=NOW) if part else rules_draft(home)
    choice = choice_of(draft)
    ProgrammeDraft.objects.filter(pk=draft.pk).update(skill="elsewhere" if part else "other")
    put_in_force(home, choice_of(draft_with_step(home, part) if part else rules_draft(home)))
    ProgrammeDraft.objects.filter(pk=draft.pk).update(skill=part)
    return choice


@pytest.mark.parametrize(
    ("part", "said"),
    [
        ("suction", "Suctioning: the draft was begun from edition 1, and edition 2 is published since"),
        ("", "sets, team and items: were published again since this draft was begun"),
    ],
)
def test_a_draft_that_was_overtaken_is_not_published_unseen(busy, part, said):
    choice = replace(overtaken(busy, part), first_day=FIRST + timedelta(days=1))
    assert refused(busy, choice) == [said]

    draft = busy.programme.drafts.get()
    drafting.follow_newest(draft, version=draft.version, by=busy.educator, at=NOW)

    assert put_in_force(busy, replace(choice, drafts={part: draft.version + 1}))


# Drafts and own programmes --------------------------------------------------------------------------------


def test_two_editors_do_not_overwrite_each_other(busy):
    draft = drafting.begin_edition(busy.programme, "suction", by=busy.educator, at=NOW)
    mine = {**draft.body, "words": {**draft.body["words"], "title": "Mine"}}
    drafting.save(draft, mine, version=1, by=busy.educator, at=NOW)

    with pytest.raises(drafting.ChangedByAnotherError):
        drafting.save(draft, draft.body, version=1, by=busy.supervisor, at=NOW)
    draft.refresh_from_db()
    assert (draft.body["words"]["title"], draft.version) == ("Mine", 2)


def test_the_last_step_a_need_asks_for_stays(busy):
    edition = {
        "standard": {"needs": [{"passes": 1, "role": ["lead"]}]},
        "steps": [{"code": "a", "text": "x", "roles": ["lead"]}, {"code": "b", "text": "y", "roles": ["assist"]}],
    }
    with pytest.raises(RefusedError) as refusal:
        drafting.without_step(edition, "a")

    assert [str(p) for p in refusal.value.problems] == [
        "standard.needs[0]: asks for a pass, and no step is left to be shown leading"
    ]
    assert [s["code"] for s in drafting.without_step(edition, "b")["steps"]] == ["a"]


def copied(home, **changes):
    asked = {"code": "ours", "title": "Ours", "first_day": FIRST, "intent": uuid.uuid4(), **changes}
    return publishing.copy_programme(programme=home.programme, by=home.educator, at=NOW, **asked)


def test_a_copy_is_an_own_programme_from_its_first_day(busy):
    put_in_force(busy, choice_of(draft_with_step(busy)))

    made = copied(busy)

    assert (made.code, made.title, made.about["sample"]) == ("ours", "Ours", True)
    assert {(e.number, e.in_force_from) for e in made.editions.all()} == {(1, FIRST)}
    steps = made.editions.get(skill="suction").body["steps"]
    assert [s["code"] for s in steps][-1] == "s07"
    assert made.rule_sets.get().in_force_from == FIRST
    assert list(programme_differences(made.public_id)) == []


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"code": "small"}, "code: “small” is the code of another programme"),
        ({"first_day": TODAY}, "first_day: has begun; tomorrow is the earliest"),
    ],
)
def test_a_copy_that_cannot_be_is_refused(busy, changes, said):
    with pytest.raises(RefusedError) as refusal:
        copied(busy, **changes)

    assert [str(p) for p in refusal.value.problems] == [said]
    assert Programme.objects.filter(organisation=busy.organisation).count() == 1


def test_an_empty_programme_can_be_filled(busy):
    made = publishing.begin_programme(
        like=busy.programme, code="own", title="Own", notice="Ours.", by=busy.educator, intent=uuid.uuid4(), at=NOW
    )
    words = {"title": "Mouth care", "plain": "Cleaning the mouth", "group": "routine", "why": "Clean is safe."}
    skill = drafting.begin_skill(made, words, by=busy.educator, at=NOW)
    body = {**skill.body, "edition": drafting.with_step(skill.body["edition"], {"code": "s01", "text": "Brushes"})}
    drafting.save(skill, body, version=1, by=busy.educator, at=NOW)
    rules = drafting.begin_rules(made, by=busy.educator, at=NOW)
    team = [{"name": "one", "people": [{"set": "all", "count": 1}]}]
    sets = {"all": {"title": "All", "skills": [skill.skill]}}
    drafting.save(rules, {"sets": sets, "team": team, "items": []}, version=1, by=busy.educator, at=NOW)
    skill.refresh_from_db()
    rules.refresh_from_db()

    publishing.publish(programme=made, choice=choice_of(skill, rules), by=busy.educator, intent=uuid.uuid4(), at=NOW)

    assert made.editions.get().skill == "mouth_care"
    assert list(programme_differences(made.public_id)) == []


def test_a_new_skill_a_set_asks_for_is_not_thrown_away(busy):
    words = {"title": "Mouth care", "plain": "x", "group": "routine", "why": "y"}
    skill = drafting.begin_skill(busy.programme, words, by=busy.educator, at=NOW)
    draft = drafting.begin_rules(busy.programme, by=busy.educator, at=NOW)
    sets = {"full": {"title": "Full care", "skills": ["hands", skill.skill]}}
    drafting.save(draft, {**draft.body, "sets": sets}, version=1, by=busy.educator, at=NOW)

    with pytest.raises(RefusedError) as refusal:
        drafting.throw_away(skill, version=1)

    assert [str(p) for p in refusal.value.problems] == ["sets.full: the set “Full care” asks for this skill"]
