"""Two addresses of one database, whose command uses which, and a site that does not start while its role may too much."""

from __future__ import annotations

import logging
from io import StringIO
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import connection

from tests.training.scratch import database_of_its_own
from tests.training.tenancy.site_role import as_site_role, on_postgres, role_name
from training import environment
from training.tenancy import checks, policies, roles

SITE = "postgres://site:s@db.example:5432/register"
OWNER = "postgres://owner:o@db.example:5432/register"


@pytest.fixture
def addresses(monkeypatch):
    def be(site="", owner="", as_owner=""):
        for name, value in (("DATABASE_URL", site), ("DATABASE_OWNER_URL", owner), ("DATABASE_AS_OWNER", as_owner)):
            monkeypatch.setenv(name, value)
        return environment.databases(folder=Path("/nowhere"))

    return be


# Which address ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "user", "role", "as_owner"),
    [
        ((SITE, "", ""), "site", "", False),
        ((SITE, OWNER, ""), "site", "site", False),
        ((SITE, OWNER, "yes"), "owner", "site", True),
        ((SITE, "", "yes"), "site", "", False),
    ],
)
def test_who_logs_in(addresses, given, user, role, as_owner):
    database, found, is_owner = addresses(*given)
    assert (database["USER"], found, is_owner) == (user, role, as_owner)


@pytest.mark.parametrize(
    ("site", "owner", "words"),
    [
        ("", OWNER, "is for PostgreSQL"),
        (SITE, "sqlite:////srv/register.sqlite3", "is for PostgreSQL"),
        (SITE, OWNER.replace("/register", "/other"), "one database"),
        (SITE, OWNER.replace("5432", "5433"), "one database"),
        (SITE, SITE, "name one role"),
        (SITE.replace("site:s@", ""), OWNER, "name one role"),
    ],
)
def test_addresses_that_do_not_fit_are_refused(addresses, site, owner, words):
    with pytest.raises(ImproperlyConfigured, match=words):
        addresses(site, owner)


@pytest.mark.parametrize(
    ("command", "as_owner"),
    [("migrate", True), ("verify_records", True), ("backup", True), ("runserver", False), ("check", False)],
)
def test_whose_command_it_is(monkeypatch, command, as_owner):
    monkeypatch.setenv("DATABASE_AS_OWNER", "")
    environment.work_as_owner(["manage.py", command])
    assert environment.flag("DATABASE_AS_OWNER", default=False) is as_owner


# At start-up ------------------------------------------------------------------------------------------------


def wrong() -> list[str]:
    with as_site_role():
        return [error.msg for error in checks.site_role_is_sound(databases=["default"])]


@on_postgres
def test_a_role_that_owns_nothing_may_serve(db):
    assert wrong() == []


HARM = {
    "GRANT UPDATE ON records_record TO {role}": "may UPDATE records_record",
    "GRANT UPDATE (body) ON records_record TO {role}": "may UPDATE records_record",
    "GRANT DELETE ON records_record TO {role}": "may DELETE records_record",
    "GRANT TRUNCATE ON records_record TO {role}": "may TRUNCATE records_record",
    "GRANT TRIGGER ON records_record TO {role}": "may TRIGGER records_record",
    "GRANT UPDATE ON records_record TO PUBLIC": "may UPDATE records_record",
    "ALTER ROLE {role} BYPASSRLS": "bypasses row-level security",
    "ALTER TABLE people_user OWNER TO {role}": "owns 1 tables, people_user among them",
    "DROP POLICY standing_draft_of_scope ON standing_draft": "standing_draft_of_scope is not in place",
    "ALTER TABLE people_family DISABLE ROW LEVEL SECURITY": "people_family (row-level security is off) is not in place",
}


@on_postgres
@pytest.mark.parametrize("harm", HARM)
def test_a_role_that_may_too_much_may_not_serve(db, harm):
    with connection.cursor() as cursor:
        cursor.execute(harm.format(role=f'"{role_name()}"'))
    found = wrong()
    assert len(found) == 1
    assert HARM[harm] in found[0]


@on_postgres
def test_a_superuser_may_not_serve_where_the_owner_has_an_address(db, settings):
    settings.SITE_ROLE = "postgres"
    found = [error.msg for error in checks.site_role_is_sound(databases=["default"])]
    assert any("superuser" in said for said in found)
    assert any("owns" in said for said in found)


@on_postgres
def test_a_member_of_the_owner_s_role_may_not_serve(db):
    """It owns nothing itself, and could become who does."""
    with connection.cursor() as cursor:
        cursor.execute("CREATE ROLE an_owner_of_the_test NOLOGIN")
        cursor.execute("ALTER TABLE people_user OWNER TO an_owner_of_the_test")
        cursor.execute(f'GRANT an_owner_of_the_test TO "{role_name()}"')
    assert any("owns 1 tables" in said for said in wrong())


@on_postgres
def test_one_role_for_both_is_warned_of_and_works(db, caplog):
    with caplog.at_level(logging.WARNING, logger="training.tenancy"):
        checks.warn_of_one_role(connection)
    assert caplog.messages == [checks.ONE_ROLE]
    assert checks.site_role_is_sound(databases=["default"]) == []


@on_postgres
def test_the_owner_s_commands_are_not_asked(db, settings):
    settings.SITE_ROLE, settings.AS_OWNER = role_name(), True
    with connection.cursor() as cursor:
        cursor.execute("DROP POLICY standing_draft_of_scope ON standing_draft")
    assert checks.site_role_is_sound(databases=["default"]) == []


@on_postgres
@pytest.mark.parametrize("harm", [None, "GRANT UPDATE ON records_record TO {role}"])
def test_the_way_in_stops_where_the_role_may_too_much(db, monkeypatch, harm):
    """What a starting site does; the tests' own connection stays open."""
    monkeypatch.setattr(connection, "close", lambda: None)
    from training import wsgi

    if harm is None:
        with as_site_role():
            return wsgi.look_at_the_database()
    with connection.cursor() as cursor:
        cursor.execute(harm.format(role=f'"{role_name()}"'))
    with as_site_role(), pytest.raises(ImproperlyConfigured, match="may UPDATE records_record"):
        return wsgi.look_at_the_database()


# The command --------------------------------------------------------------------------------------------------


def ask(*words: str) -> str:
    out = StringIO()
    call_command("database_roles", *words, stdout=out)
    return out.getvalue()


@on_postgres
def test_it_says_that_a_role_is_fit(db):
    assert "owns nothing" in ask(role_name())


@on_postgres
def test_it_says_what_a_role_may_too_much(db):
    with pytest.raises(CommandError, match="is a superuser"):
        ask("postgres")


@on_postgres
def test_it_prints_what_it_would_run(db):
    printed = ask("somebody", "--sql")
    assert "CREATE ROLE" in printed
    assert 'GRANT SELECT, INSERT ON "records_record" TO "somebody";' in printed


@on_postgres
def test_it_makes_a_role_that_is_fit(db, monkeypatch):
    monkeypatch.setattr("sys.stdin", StringIO("a password of some length\n"))
    name = f"made_{role_name()}"[:60]
    assert "owns nothing" in ask(name, "--create")
    assert roles.too_much(connection, name) == []


@on_postgres
def test_it_asks_for_a_role_s_name(db):
    with pytest.raises(CommandError, match="Name the role"):
        ask()


@pytest.mark.skipif(connection.vendor == "postgresql", reason="SQLite only")
def test_sqlite_has_no_roles(db):
    with pytest.raises(CommandError, match="SQLite knows no roles"):
        ask("somebody")


@on_postgres
def test_rights_are_given_after_a_migration_where_the_role_is_known(db, settings):
    settings.SITE_ROLE = role_name()
    with connection.cursor() as cursor:
        cursor.execute(f'REVOKE ALL ON people_family FROM "{role_name()}"')
        cursor.execute(f'GRANT DELETE ON records_record TO "{role_name()}"')
    call_command("migrate", verbosity=0)
    assert wrong() == []
    with as_site_role(), connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM people_family")


@on_postgres
def test_a_restored_database_is_fenced_too(cast_backup, db, settings, tmp_path):
    """A backup carries no role's rights; they are given again where it is put."""
    settings.SITE_ROLE = role_name()
    with database_of_its_own(cast_backup, tmp_path) as restored, restored.cursor() as cursor:
        assert policies.missing(restored) == []
        cursor.execute("SELECT has_table_privilege(%s, 'people_family', 'SELECT')", [role_name()])
        assert cursor.fetchone()[0]
        assert roles.too_much(restored, role_name()) == []


@on_postgres
def test_policies_are_put_back_by_a_migration(db):
    with connection.cursor() as cursor:
        cursor.execute("DROP POLICY standing_draft_of_scope ON standing_draft")
    call_command("migrate", verbosity=0)
    assert policies.missing(connection) == []
