"""`manage.py verify_records` and `manage.py rebuild_projections`: what they name, and what is put right."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import date
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from tests.cast import Cast, sign_off_suction
from training.curriculum.models import Edition, Enrolment, Programme, RuleSet
from training.people.models import Assignment, Caregiver, Family
from training.records import guards
from training.records.appending import append, head_of
from training.records.models import Record
from training.standing.cache import KEPT
from training.standing.models import CachedStanding, CachedVerdict, CacheState


class Terminal(StringIO):
    def isatty(self) -> bool:
        return True


def run(command: str, *words: str, stderr: StringIO | None = None) -> tuple[bool, str]:
    """Whether it ended well, and what it said."""
    out = StringIO()
    try:
        call_command(command, *words, stdout=out, stderr=stderr or StringIO())
    except CommandError as error:
        return False, out.getvalue() + str(error)
    return True, out.getvalue()


def verify(*words: str) -> tuple[bool, str]:
    return run("verify_records", *words)


def remove(rows: Any) -> None:
    rows._raw_delete(rows.db)  # no cascade, as somebody with the file would


def shift(model: Any, field: str, value: Any) -> Callable[[Cast], None]:
    return lambda cast: model.objects.filter(pk=model.objects.first().pk).update(**{field: value})


# What is done to the rows, and the words it is named with. No row's value is among them.
CHANGES: dict[str, tuple[Callable[[Cast], Any], str]] = {
    "a family's name": (shift(Family, "name", "Other"), ": name is not what its record says"),
    "a patient's birth date": (shift(Family, "patient_born", None), ": patient_born is not what its record says"),
    "a family's time zone": (shift(Family, "time_zone", "UTC"), ": time_zone is not what its record says"),
    "a family's site": (shift(Family, "site", "Ward 3"), ": site is not what its record says"),
    "a caregiver's sets": (shift(Caregiver, "sets", []), ": sets is not what its record says"),
    "a caregiver's last day": (shift(Caregiver, "through", date(2030, 1, 1)), ": through is not what its record says"),
    "a caregiver gone": (lambda cast: _remove_caregiver(cast), ": the row is missing"),
    "a caregiver more": (
        lambda cast: Caregiver.objects.create(family=cast.north.family, full_name="Other", called="O", relation="aunt"),
        ": no record speaks of this row",
    ),
    "the programme followed": (
        lambda cast: Enrolment.objects.filter(family=cast.north.family).update(programme=cast.south.programme),
        "the programme it follows is not the one its record names",
    ),
    "an edition's body": (shift(Edition, "body", {}), ": body is not what its record says"),
    "an edition's first day": (shift(Edition, "in_force_from", date(2001, 1, 1)), ": in_force_from is not what"),
    "an edition gone": (lambda cast: Edition.objects.first().delete(), "edition cpr_card 1: the row is missing"),
    "an edition's number": (shift(Edition, "number", 7), "edition cpr_card 7: no record speaks of this row"),
    "rules": (shift(RuleSet, "body", {}), ": body is not what its record says"),
    "a programme's title": (shift(Programme, "title", "Other"), ": title is not what its record says"),
    "a programme's words": (shift(Programme, "about", {}), ": about is not what its record says"),
    "a programme's version": (shift(Programme, "version", "0" * 64), ": version is not the head of its chain"),
    "the head of the spans": (shift(CacheState, "head", "0" * 64), "the stored spans come from another head"),
    "the rules of the spans": (
        shift(CacheState, "programme_version", "0" * 64),
        "the stored spans come from another programme version",
    ),
    "the staff of the spans": (
        shift(CacheState, "qualifications_head", "1" * 64),
        "the stored spans come from another qualifications head",
    ),
    "no spans": (lambda cast: CacheState.objects.first().delete(), "no spans are stored"),
}


def _remove_caregiver(cast: Cast) -> None:
    CachedStanding.objects.all().delete()
    remove(Caregiver.objects.filter(pk=cast.north.mother.pk))


def test_what_nobody_touched_fits(cast):
    ended_well, said = verify()

    assert ended_well
    assert f"{Record.objects.count()} records in 8 chains fit, and the rows that follow from them agree." in said


def test_without_a_head_it_says_what_it_cannot_see(cast):
    assert "cannot be noticed without one" in verify()[1]


@pytest.mark.parametrize("what", CHANGES)
def test_a_row_that_is_not_what_the_records_say_is_named(cast, what):
    change, words = CHANGES[what]
    change(cast)
    ended_well, said = verify()

    assert (ended_well, words in said) == (False, True), said


@pytest.mark.parametrize("what", CHANGES)
def test_a_comparison_names_it_too_and_changes_nothing(cast, what):
    change, words = CHANGES[what]
    change(cast)
    ended_well, said = run("rebuild_projections", "--check")

    assert (ended_well, words in said, verify()[0]) == (False, True, False), said


@pytest.mark.parametrize("what", CHANGES)
def test_rebuilding_puts_it_right(cast, what):
    change, words = CHANGES[what]
    change(cast)
    ended_well, said = run("rebuild_projections")

    assert (ended_well, words in said, verify()[0]) == (True, True, True), said
    assert run("rebuild_projections", "--check")[0]


def test_no_value_of_a_row_is_told(cast):
    Family.objects.filter(pk=cast.north.family.pk).update(patient_name="Secret Name")
    said = verify()[1]

    assert [w for w in ("Secret", cast.north.family.patient_name) if w in said] == []


def test_a_span_that_the_rules_do_not_give_is_named_and_put_right(cast):
    sign_off_suction(cast.north, cast.north.mother)
    spans = set(CachedStanding.objects.values_list("caregiver", "skill", "standing", "start"))
    CachedStanding.objects.filter(standing="in_training").update(standing="signed_off")
    named = run("rebuild_projections", "--check")[1]
    run("rebuild_projections")

    assert "the stored spans are not what the rules work out" in named
    assert set(CachedStanding.objects.values_list("caregiver", "skill", "standing", "start")) == spans


def test_a_verdict_that_the_rules_do_not_give_is_named(cast):
    CachedVerdict.objects.update(verdict="ready")

    assert "the stored spans are not what the rules work out" in run("rebuild_projections", "--check")[1]


def test_an_account_is_left_as_it_is(cast):
    mother = cast.north.mother
    Caregiver.objects.filter(pk=mother.pk).update(user=cast.stranger, called="Other")
    run("rebuild_projections")
    mother.refresh_from_db()

    assert (mother.user, mother.called) == (cast.stranger, "Marit")


def test_a_family_that_is_gone_is_made_again_from_its_records(cast):
    family = cast.north.families[1]
    for model in (*KEPT, CacheState, Assignment, Caregiver, Enrolment):
        remove(model.objects.filter(family=family))
    remove(Family.objects.filter(pk=family.pk))
    named = verify()[1]
    ended_well, _ = run("rebuild_projections")

    assert f"chain {family.public_id}: no family, programme or organisation has this id" in named
    assert (ended_well, verify()[0], Family.objects.get(public_id=family.public_id).name) == (True, True, "Quist")


# The records themselves -----------------------------------------------------------------------------------


@pytest.fixture
def unguarded(cast: Cast) -> Cast:
    guards.lift(connection)
    return cast


def test_a_missing_guard_is_named(unguarded):
    assert "the trigger records_record_no_" in verify()[1]


def test_a_changed_record_is_named_with_its_chain(unguarded):
    family = unguarded.north.family
    Record.objects.of_chain(family.public_id).filter(number=4).update(body=b"{}")
    ended_well, said = verify()

    assert not ended_well
    assert f"chain {family.public_id}: record 4 (care_plan, recorded 2026-03-02T12:00:00.000000Z): its digest" in said


def test_each_chain_that_does_not_fit_is_named(unguarded):
    Record.objects.filter(number=2).update(kind="x")

    assert verify()[1].count("its digest is not that of what it says") == 8


def test_a_family_without_any_record_is_named(unguarded):
    family = unguarded.north.family
    remove(Record.objects.filter(chain=family.public_id))

    assert f"family {family.public_id}: its records are gone" in verify()[1]


def test_rows_whose_records_are_gone_are_left(unguarded):
    family = unguarded.north.family
    remove(Record.objects.filter(chain=family.public_id))
    ended_well, said = run("rebuild_projections")

    assert (ended_well, f"family {family.public_id}: its records are gone; the row is left" in said) == (False, True)


def test_a_chain_that_does_not_fit_is_not_rebuilt_from(unguarded):
    family = unguarded.north.family
    Record.objects.of_chain(family.public_id).filter(number=1).update(body=b'{"name":"Forged"}')
    ended_well, said = run("rebuild_projections")

    assert (ended_well, f"chain {family.public_id}: left alone, its records do not fit" in said) == (False, True)
    assert Family.objects.get(pk=family.pk).name == family.name


def test_a_record_no_deed_wrote_is_named_where_its_digest_fits(cast):
    family = cast.north.family
    append(
        organisation=family.organisation, chain=family.public_id, kind="caregiver", body={"id": 5}, intent=uuid.uuid4(),
        at=family.enrolment.programme.editions.first().recorded_at,
    )  # fmt: skip

    assert "is no caregiver that a deed wrote" in verify()[1]
    assert "is no caregiver that a deed wrote" in run("rebuild_projections")[1]


def cut_last(cast: Cast) -> str:
    """Cut the last record off and make the stored spans forget it; its digest."""
    family = cast.north.family
    last = Record.objects.of_chain(family.public_id).last()
    remove(Record.objects.filter(pk=last.pk))
    CacheState.objects.filter(family=family).update(head=head_of(family.public_id)[1])
    guards.install(connection)
    return last.digest


def test_a_tail_cut_with_care_is_noticed_by_a_head_from_outside_alone(unguarded):
    digest = cut_last(unguarded)

    assert (verify()[0], verify("--head", digest)[0]) == (True, False)
    assert f"head {digest[:8]}" in verify("--head", digest)[1]


def test_a_tail_cut_without_care_is_remembered_by_the_stored_spans(unguarded):
    remove(Record.objects.filter(pk=Record.objects.of_chain(unguarded.north.family.public_id).last().pk))

    assert "the stored spans come from another head" in verify()[1]


def test_heads_of_several_packets_may_be_given(cast):
    heads = [head_of(family.public_id)[1][:16] for family in cast.north.families]

    assert verify("--head", heads[0], "--head", heads[1])[0]


# Progress -------------------------------------------------------------------------------------------------


def test_a_terminal_is_shown_a_bar(cast):
    terminal = Terminal()
    run("verify_records", stderr=terminal)
    count = Record.objects.count()

    assert terminal.getvalue().endswith(f"[{'#' * 30}] {count} of {count} records\n")


def test_elsewhere_there_are_ten_lines(cast):
    log = StringIO()
    run("verify_records", stderr=log)

    assert len(log.getvalue().splitlines()) == 10
