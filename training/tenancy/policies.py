"""Row-level security: which rows each table shows to a role that does not own it.

A scope is an account and, on a staff page, an organisation (see `scope`). Staff see their organisation's rows. With an
account alone, a caregiver sees the families they care in, and what is needed to read those. Without either: nothing.

The owner of the tables is not held by the policies. They are not forced on it, because a backup has to be whole:
`pg_dump` refuses a table whose policies apply to it. The site's role owns nothing, which is checked at start-up.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db.backends.base.base import BaseDatabaseWrapper

_ORGANISATION = "(SELECT register_organisation())"
_ACCOUNT = "(SELECT register_account())"
_OWN_FAMILIES = "ANY ((SELECT register_own_families())::bigint[])"
_OWN_ORGANISATIONS = "ANY ((SELECT register_own_organisations())::bigint[])"
_CARE_ORGANISATIONS = "ANY ((SELECT register_care_organisations())::bigint[])"
_OWN_CHAINS = "ANY ((SELECT register_own_chains())::uuid[])"
_COLLEAGUE = f"IN (SELECT m.id FROM people_member m WHERE m.organisation_id = {_ORGANISATION})"  # noqa: S608 - ours

STAFF = f"organisation_id = {_ORGANISATION}"
OF_A_FAMILY = "EXISTS (SELECT 1 FROM people_family f WHERE f.id = family_id)"  # the family's own policy applies in it
OF_A_PROGRAMME = "EXISTS (SELECT 1 FROM curriculum_programme p WHERE p.id = programme_id)"
OF_A_CAREGIVER = (  # for staff alone: a caregiver does not read who else was invited
    "caregiver_id IN (SELECT c.id FROM people_caregiver c JOIN people_family f ON f.id = c.family_id "  # noqa: S608
    f"WHERE f.organisation_id = {_ORGANISATION})"
)
OF_CARE = f"organisation_id = {_CARE_ORGANISATIONS}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """rows: which are seen, changed and made. also_read: which are seen besides.

    made: what a row that was made or changed must meet too. inserted: what a new one must meet besides.
    """

    rows: str
    also_read: str = ""
    made: str = ""
    inserted: str = ""

    def statements(self, table: str) -> Iterator[tuple[str, str]]:
        """Each policy's name, and what makes it."""
        check = f"({self.rows}) AND ({self.made})" if self.made else self.rows
        name = f"{table}_of_scope"
        yield name, f"CREATE POLICY {name} ON {table} USING ({self.rows}) WITH CHECK ({check})"
        if self.also_read:
            name = f"{table}_read"
            yield name, f"CREATE POLICY {name} ON {table} FOR SELECT USING ({self.also_read})"
        if self.inserted:
            name = f"{table}_inserted"
            yield name, f"CREATE POLICY {name} ON {table} AS RESTRICTIVE FOR INSERT WITH CHECK ({self.inserted})"


def _on_the_board(table: str) -> Policy:
    """Rows that carry the organisation beside the family: staff need no look at the family."""
    same = (
        "EXISTS (SELECT 1 FROM people_family f "  # noqa: S608 - ours
        f"WHERE f.id = family_id AND f.organisation_id = {table}.organisation_id)"
    )
    return Policy(rows=f"{STAFF} OR {OF_A_FAMILY}", made=same)


# The tenancy list. A model that is neither here nor in `models_listed.NO_TENANT` fails a test.
POLICIES = {
    "people.Organisation": Policy(rows=f"id = {_ORGANISATION}", also_read=f"id = {_OWN_ORGANISATIONS}"),
    "people.Member": Policy(rows=STAFF, also_read=f"user_id = {_ACCOUNT} OR {OF_CARE}"),
    "people.Family": Policy(rows=STAFF, also_read=f"id = {_OWN_FAMILIES}"),
    "people.Caregiver": Policy(rows=OF_A_FAMILY, also_read=f"user_id = {_ACCOUNT}"),
    "people.Assignment": Policy(rows=OF_A_FAMILY, made=f"member_id {_COLLEAGUE}"),
    "people.AccountEntry": Policy(rows=STAFF, also_read=f"user_id = {_ACCOUNT}"),
    "invitations.Invitation": Policy(rows=OF_A_CAREGIVER),
    "invitations.RemovedAccount": Policy(rows=OF_A_CAREGIVER),
    "log.Entry": Policy(rows=STAFF),
    "curriculum.Programme": Policy(rows=STAFF, also_read=OF_CARE),
    "curriculum.Edition": Policy(rows=OF_A_PROGRAMME),
    "curriculum.RuleSet": Policy(rows=OF_A_PROGRAMME),
    "curriculum.Enrolment": Policy(rows=OF_A_FAMILY, made=OF_A_PROGRAMME),
    "curriculum.ProgrammeDraft": Policy(
        rows=f"programme_id IN (SELECT p.id FROM curriculum_programme p WHERE p.{STAFF})",  # noqa: S608 - ours
        made=f"changed_by_id {_COLLEAGUE}",
    ),
    "handover.HandoverCode": Policy(rows=STAFF),
    # both sides read it and write what became of it; only the side that gives makes one
    "handover.Offer": Policy(
        rows=f"from_organisation_id = {_ORGANISATION} OR to_id = {_ORGANISATION}",
        inserted=f"from_organisation_id = {_ORGANISATION} AND {OF_A_FAMILY}",
    ),
    "issuing.Document": Policy(rows=STAFF, made=OF_A_FAMILY),
    "records.Record": Policy(
        rows=f"{STAFF} OR chain = {_OWN_CHAINS}",
        made="register_chain_is_of(chain, organisation_id)",
    ),
    "standing.CachedStanding": _on_the_board("standing_cachedstanding"),
    "standing.CachedVerdict": _on_the_board("standing_cachedverdict"),
    "standing.CacheState": _on_the_board("standing_cachestate"),
    "standing.BoardFamily": _on_the_board("standing_boardfamily"),
    "standing.BoardSpan": _on_the_board("standing_boardspan"),
    "standing.LapseDay": _on_the_board("standing_lapseday"),
    "standing.AssessedBy": _on_the_board("standing_assessedby"),
    "standing.SavedFilter": Policy(rows=f"member_id {_COLLEAGUE}"),
    "standing.Draft": Policy(
        rows=f"author_id {_COLLEAGUE} AND EXISTS "  # noqa: S608 - ours
        "(SELECT 1 FROM people_caregiver c JOIN people_family f ON f.id = c.family_id WHERE c.id = caregiver_id)",
    ),
}

_OWN = "SELECT family_id FROM people_caregiver WHERE user_id = register_account()"
# Those that read tables run as their owner: a policy that read its own table would never end. Their path names no
# schema in which the site's role could put a table of the same name first.
_FUNCTIONS = {
    "register_account()": ("bigint", "SELECT NULLIF(current_setting('register.account', true), '')::bigint"),
    "register_organisation()": ("bigint", "SELECT NULLIF(current_setting('register.organisation', true), '')::bigint"),
    "register_own_families()": (
        "bigint[]",
        f"SELECT ARRAY({_OWN} AND register_organisation() IS NULL)",
    ),
    "register_own_organisations()": (
        "bigint[]",
        f"SELECT ARRAY(SELECT organisation_id FROM people_family WHERE id IN ({_OWN}) UNION "  # noqa: S608 - ours
        "SELECT organisation_id FROM people_member WHERE user_id = register_account())",
    ),
    "register_care_organisations()": (
        "bigint[]",
        "SELECT ARRAY(SELECT DISTINCT organisation_id FROM people_family WHERE id = ANY (register_own_families()))",
    ),
    "register_own_chains()": (
        "uuid[]",
        "SELECT ARRAY(SELECT public_id FROM people_family WHERE id = ANY (register_own_families()) UNION "
        "SELECT public_id FROM people_organisation WHERE id = ANY (register_care_organisations()))",
    ),
    # who holds the code of an invitation, or the one an organisation tells others, learns whose it is
    "register_inviting(wanted text)": (
        "bigint",
        "SELECT f.organisation_id FROM invitations_invitation i JOIN people_caregiver c ON c.id = i.caregiver_id "
        "JOIN people_family f ON f.id = c.family_id WHERE i.digest = wanted OR i.public_id::text = wanted",
    ),
    "register_with_handover_code(wanted text)": (
        "bigint",
        "SELECT organisation_id FROM handover_handovercode WHERE code = wanted",
    ),
    # and who holds a document, whose it is: by its number, or by the digest of its bytes
    "register_giving_out(wanted text)": (
        "bigint",
        "SELECT organisation_id FROM issuing_document WHERE number = wanted OR sha256 = wanted "
        "ORDER BY id DESC LIMIT 1",
    ),
    # a chain belongs to whose first record it is, and a family's or an organisation's to that organisation
    "register_chain_is_of(wanted uuid, keeper bigint)": (
        "boolean",
        "SELECT NOT EXISTS (SELECT 1 FROM records_record WHERE chain = wanted AND number = 1 "
        "AND organisation_id <> keeper) "
        "AND NOT EXISTS (SELECT 1 FROM people_family WHERE public_id = wanted AND organisation_id <> keeper) "
        "AND NOT EXISTS (SELECT 1 FROM people_organisation WHERE public_id = wanted AND id <> keeper) "
        "AND (register_organisation() IS NOT NULL OR EXISTS "
        "(SELECT 1 FROM people_family WHERE public_id = wanted AND id = ANY (register_own_families())))",
    ),
}


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every function and policy in place; what is there already, as it is meant, is left alone."""
    with connection.cursor() as cursor:
        there = set(connection.introspection.table_names(cursor))
        if not {table_of(label) for label in POLICIES} <= there or not missing(connection):
            return  # half a migration has no policies yet; the rest of it comes by here again
        cursor.execute("SELECT quote_ident(current_schema())")
        schema = cursor.fetchone()[0]
        cursor.execute("; ".join([*_functions(schema), *_taken_away(cursor), *_put()]))  # one message: all or nothing


def _functions(schema: str) -> Iterator[str]:
    for signature, (returns, body) in _FUNCTIONS.items():
        runs_as_owner = f"SECURITY DEFINER SET search_path = {schema}, pg_temp" if " FROM " in body else ""
        yield (
            f"CREATE OR REPLACE FUNCTION {signature} RETURNS {returns} LANGUAGE sql STABLE {runs_as_owner} "
            f"AS $${body}$$"
        )


def _taken_away(cursor: Any) -> list[str]:
    cursor.execute(
        "SELECT format('DROP POLICY %%I ON %%I', policyname, tablename) FROM pg_policies "
        "WHERE schemaname = current_schema() AND tablename = ANY (%s)",
        [[table_of(label) for label in POLICIES]],
    )
    return [statement for (statement,) in cursor.fetchall()]


def _put() -> Iterator[str]:
    for label, policy in POLICIES.items():
        table = table_of(label)
        yield f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY"
        for name, statement in policy.statements(table):
            yield statement
            yield f"COMMENT ON POLICY {name} ON {table} IS '{_mark(statement)}'"


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """What is not as it is meant: a policy that is missing, altered here, or one too many; a table left open."""
    wanted = {
        (table, name): _mark(statement)
        for table, policy in ((table_of(label), policy) for label, policy in POLICIES.items())
        for name, statement in policy.statements(table)
    }
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.relname, p.polname, obj_description(p.oid, 'pg_policy'), c.relrowsecurity "
            "FROM pg_class c LEFT JOIN pg_policy p ON p.polrelid = c.oid "
            "WHERE c.relnamespace = current_schema()::regnamespace AND c.relkind = 'r' AND c.relname = ANY (%s)",
            [[table_of(label) for label in POLICIES]],
        )
        rows = cursor.fetchall()
    found = {(table, name): mark for table, name, mark, _on in rows if name}
    wrong = {name for (table, name), mark in wanted.items() if found.get((table, name)) != mark}
    wrong |= {name for table, name in found if (table, name) not in wanted}
    return sorted(wrong | {f"{table} (row-level security is off)" for table, _name, _mark, on in rows if not on})


def table_of(label: str) -> str:
    return apps.get_model(label)._meta.db_table


def _mark(statement: str) -> str:
    """Stands in the policy's comment, so that one written anew is told from the one in place."""
    return hashlib.sha256(f"{statement}{sorted(_FUNCTIONS.items())}".encode()).hexdigest()[:16]
