"""The database's own fence: with the Python filter out of the way, no row of another organisation."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.apps import apps
from django.db import ProgrammingError, connection, transaction

from tests.cast import NOW, show
from tests.training.tenancy.conftest import make_draft, seen
from tests.training.tenancy.site_role import as_site_role, on_postgres, role_name
from training.people.models import Caregiver, Family, Member
from training.records import guards
from training.records.models import Record
from training.standing.models import AssessedBy
from training.tenancy import policies, roles
from training.tenancy.policies import POLICIES, table_of
from training.tenancy.scope import scoped

pytestmark = on_postgres
LABELS = sorted(POLICIES)


@contextmanager
def refused(words: str = "row-level security") -> Iterator[None]:
    """The database refuses what is done in here, and says so in these words."""
    with pytest.raises(ProgrammingError, match=words), transaction.atomic():
        yield


# Reading --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("label", LABELS)
def test_staff_see_all_rows_of_their_organisation_and_none_of_another(rows, cast, label):
    home = cast.north
    assert seen(label, account=home.educator.user_id, organisation=home.organisation.pk) == set(
        rows[label][home.organisation.pk]
    )


@pytest.mark.parametrize("label", LABELS)
def test_without_a_scope_there_is_nothing(rows, label):
    with as_site_role():
        assert not apps.get_model(label).objects.exists()


@pytest.mark.parametrize("label", LABELS)
def test_a_visitor_sees_nothing(rows, label):
    assert seen(label) == set()


@pytest.mark.parametrize("label", LABELS)
def test_a_stranger_sees_nothing(rows, cast, label):
    assert seen(label, account=cast.stranger.pk) == set()


@pytest.mark.parametrize("label", LABELS)
def test_plain_sql_sees_no_more(rows, cast, label):
    mine = set(rows[label][cast.north.organisation.pk])
    with as_site_role(), scoped(organisation=cast.north.organisation.pk), connection.cursor() as cursor:
        cursor.execute(f"SELECT id FROM {table_of(label)}")
        assert {pk for (pk,) in cursor.fetchall()} == mine


@pytest.mark.parametrize("label", LABELS)
def test_staff_without_a_place_chosen_see_their_places_alone(rows, cast, label):
    there = seen(label, account=cast.north.educator.user_id)
    own = {"people.Organisation": {cast.north.organisation.pk}, "people.Member": {cast.north.educator.pk}}
    assert there == own.get(label, set())


# A caregiver ----------------------------------------------------------------------------------------------


@pytest.fixture
def mother(rows, cast):
    mother = cast.north.mother
    mother.user = cast.stranger
    mother.save()
    return mother


OF_THE_FAMILY = {
    "people.Organisation": lambda m: {m.family.organisation_id},
    "people.Member": lambda m: set(
        Member.objects.filter(organisation=m.family.organisation_id).values_list("pk", flat=True)
    ),
    "people.Family": lambda m: {m.family_id},
    "people.Caregiver": lambda m: set(m.family.caregivers.values_list("pk", flat=True)),
    "people.Assignment": lambda m: set(m.family.assignments.values_list("pk", flat=True)),
    "curriculum.Programme": lambda m: {m.family.enrolment.programme_id},
    "curriculum.Edition": lambda m: set(m.family.enrolment.programme.editions.values_list("pk", flat=True)),
    "curriculum.RuleSet": lambda m: set(m.family.enrolment.programme.rule_sets.values_list("pk", flat=True)),
    "curriculum.Enrolment": lambda m: {m.family.enrolment.pk},
    "records.Record": lambda m: set(
        Record.objects.filter(chain__in=[m.family.public_id, m.family.organisation.public_id]).values_list(
            "pk", flat=True
        )
    ),
    "standing.CachedStanding": lambda m: set(m.family.cached_standings.values_list("pk", flat=True)),
    "standing.CachedVerdict": lambda m: set(m.family.cached_verdicts.values_list("pk", flat=True)),
    "standing.CacheState": lambda m: {m.family.cache_state.pk},
    "standing.BoardFamily": lambda m: {m.family.on_board.pk},
    "standing.BoardSpan": lambda m: set(m.family.board_spans.values_list("pk", flat=True)),
    "standing.LapseDay": lambda m: set(m.family.lapse_days.values_list("pk", flat=True)),
    "standing.AssessedBy": lambda m: set(AssessedBy.objects.filter(family=m.family).values_list("pk", flat=True)),
    "standing.Draft": lambda m: set(),
    "standing.SavedFilter": lambda m: set(),
    "curriculum.ProgrammeDraft": lambda m: set(),
    "people.AccountEntry": lambda m: set(),
    "invitations.Invitation": lambda m: set(),
    "invitations.RemovedAccount": lambda m: set(),
    "log.Entry": lambda m: set(),
    "handover.HandoverCode": lambda m: set(),
    "handover.Offer": lambda m: set(),
    "issuing.Document": lambda m: set(),
}


@pytest.mark.parametrize("label", LABELS)
def test_a_caregiver_sees_their_own_family_alone_and_no_draft(mother, label):
    assert seen(label, account=mother.user_id) == OF_THE_FAMILY[label](mother)


@pytest.mark.parametrize("label", LABELS)
def test_at_work_elsewhere_their_family_is_closed(mother, cast, label, rows):
    """A caregiver who is staff of another organisation: at work they see that one's rows, and their own place."""
    south = cast.south.organisation.pk
    own = {"people.Organisation": {mother.family.organisation_id}, "people.Caregiver": {mother.pk}}
    assert seen(label, account=mother.user_id, organisation=south) == set(rows[label][south]) | own.get(label, set())


def test_a_caregiver_cannot_write_into_another_chain(mother, cast):
    other = cast.north.families[1]
    with as_site_role(), scoped(account=mother.user_id), refused():
        add_record(other.organisation, other.public_id)


def test_a_caregiver_cannot_write_into_the_organisation_s_own_chain(mother):
    """They read it, since it says who may assess what."""
    organisation = mother.family.organisation
    with as_site_role(), scoped(account=mother.user_id), refused():
        add_record(organisation, organisation.public_id)


def test_a_caregiver_writes_into_their_own_family_s(mother):
    with as_site_role(), scoped(account=mother.user_id):
        assert add_record(mother.family.organisation, mother.family.public_id).pk


# Writing --------------------------------------------------------------------------------------------------


def add_record(organisation, chain) -> Record:
    digests = {"previous": "0" * 64, "digest": "0" * 64}
    made = {"kind": "comment", "intent": uuid.uuid4(), "recorded_at": NOW, "body": b"{}"}
    return Record.objects.create(organisation=organisation, chain=chain, number=900, **made, **digests)


INSERTS = {
    "family": lambda c: Family.objects.create(
        organisation=c.south.organisation, name="X", patient_name="X", patient_called="X", time_zone="Europe/Oslo"
    ),
    "member": lambda c: Member.objects.create(
        organisation=c.south.organisation, user=c.stranger, role="educator", from_day=NOW.date()
    ),
    "caregiver": lambda c: Caregiver.objects.create(family_id=c.south.family.pk, full_name="X", called="X", relation="X"),
    "draft": lambda c: make_draft(c.north.educator, c.south_mother),
    "draft in another's name": lambda c: make_draft(c.south.educator, c.north_mother),
    "record of theirs": lambda c: add_record(c.south.organisation, c.south.family.public_id),
    "record of ours in their chain": lambda c: add_record(c.north.organisation, c.south.family.public_id),
    "record of ours in their programme's": lambda c: add_record(c.north.organisation, c.south.programme.public_id),
    "assignment of theirs": lambda c: c.south.family.assignments.create(member=c.north.educator, since=NOW, until=NOW),
    "assignment of their member": lambda c: c.north.family.assignments.create(
        member=c.south.educator, since=NOW, until=NOW
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", INSERTS)
def test_nothing_is_written_into_another_organisation(rows, cast, what):
    cast.south_mother, cast.north_mother = cast.south.mother, cast.north.mother
    north = cast.north
    with as_site_role(), scoped(account=north.educator.user_id, organisation=north.organisation.pk), refused():
        INSERTS[what](cast)


def test_a_row_cannot_be_moved_to_another_organisation(rows, cast):
    north, south = cast.north, cast.south
    with as_site_role(), scoped(organisation=north.organisation.pk), refused():
        Family.objects.filter(pk=north.family.pk).update(organisation=south.organisation.pk)


def test_another_organisation_s_row_is_not_there_to_change(rows, cast):
    with as_site_role(), scoped(organisation=cast.north.organisation.pk):
        assert Family.objects.filter(pk=cast.south.family.pk).update(name="X") == 0


def test_the_own_organisation_s_rows_are_made_and_changed(rows, cast):
    north = cast.north
    mother = north.mother
    with as_site_role(), scoped(account=north.educator.user_id, organisation=north.organisation.pk):
        assert show(north, mother, "suction", NOW.date()).pk
        assert make_draft(north.educator, mother).pk


# Records --------------------------------------------------------------------------------------------------

CHANGES = [
    "UPDATE records_record SET kind = 'x'",
    "DELETE FROM records_record",
    "TRUNCATE records_record",
    "ALTER TABLE records_record DISABLE TRIGGER ALL",
    "ALTER TABLE records_record DISABLE ROW LEVEL SECURITY",
    "DROP POLICY records_record_of_scope ON records_record",
    "DELETE FROM people_member",
    "UPDATE django_migrations SET name = 'x'",
]


@pytest.mark.parametrize("statement", CHANGES)
def test_the_site_s_role_may_not(rows, cast, statement):
    guards.lift(connection)
    organisation = cast.north.organisation.pk
    words = r"permission denied|must be owner"
    with as_site_role(), scoped(organisation=organisation), refused(words), connection.cursor() as cursor:
        cursor.execute(statement)


def test_it_cannot_put_a_table_of_its_own_before_the_policies(rows, cast):
    """The functions that policies ask read no temporary table."""
    with as_site_role(), scoped(account=cast.stranger.pk), connection.cursor() as cursor:
        cursor.execute("CREATE TEMPORARY TABLE people_caregiver (user_id bigint, family_id bigint)")
        cursor.execute("INSERT INTO people_caregiver SELECT %s, n FROM generate_series(1, 1000) n", [cast.stranger.pk])
        cursor.execute("SELECT register_own_families()")
        assert cursor.fetchone()[0] == []


# The setting ends -----------------------------------------------------------------------------------------


def test_nothing_is_left_for_the_next_statement(transactional_db, rows_committed, guards_lifted):
    """Outside a transaction each statement is one; the next, on the same connection, finds nothing set."""
    with as_site_role():
        with scoped(organisation=rows_committed):
            assert Family.objects.exists()
        assert not Family.objects.exists()


def test_nothing_is_left_after_a_transaction(transactional_db, rows_committed, guards_lifted):
    with as_site_role():
        with scoped(organisation=rows_committed), transaction.atomic():
            assert Family.objects.exists()
        assert not Family.objects.exists()


def test_a_savepoint_rolled_back_takes_nothing_away(rows, cast):
    with as_site_role(), scoped(organisation=cast.north.organisation.pk), transaction.atomic():
        point = transaction.savepoint()
        assert Family.objects.exists()
        transaction.savepoint_rollback(point)
        assert Family.objects.exists()


@pytest.fixture
def rows_committed(transactional_db, cast) -> int:
    return cast.north.organisation.pk


# Putting them in place ------------------------------------------------------------------------------------


def test_everything_is_in_place(db):
    assert policies.missing(connection) == []


@pytest.mark.parametrize(
    "harm",
    [
        "DROP POLICY people_family_of_scope ON people_family",
        "ALTER TABLE people_family DISABLE ROW LEVEL SECURITY",
        "CREATE POLICY open_door ON people_family USING (true)",
        "DROP POLICY people_family_read ON people_family; CREATE POLICY people_family_read ON people_family USING (true)",
    ],
)
def test_what_was_taken_away_is_missed_and_put_back(db, harm):
    with connection.cursor() as cursor:
        cursor.execute(harm)
    assert policies.missing(connection)
    policies.install(connection)
    assert policies.missing(connection) == []


def test_the_tests_own_role_is_fit_to_serve(db):
    assert roles.too_much(connection, role_name()) == []
