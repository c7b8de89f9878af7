"""Triggers that refuse to change or remove a row of what is only ever added to, on SQLite and PostgreSQL alike.

A migration that rebuilds a table loses SQLite's triggers without a word, so they are put back after every
migration, and a site that finds one missing does not start.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from django.db.backends.base.base import BaseDatabaseWrapper

TABLE = "records_record"
REFUSAL = "records are never changed or removed"

# Each table, and when a row to be inserted would replace one that is there.
TABLES: Mapping[str, str] = {
    TABLE: "id = NEW.id OR intent = NEW.intent OR (chain = NEW.chain AND number = NEW.number)",
    "log_entry": "id = NEW.id",
    "people_accountentry": "id = NEW.id",
    "invitations_removedaccount": "id = NEW.id",
}


def _sqlite(table: str) -> dict[str, str]:
    refuse = f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    found = {
        f"{table}_no_{deed.lower()}": (
            f"CREATE TRIGGER IF NOT EXISTS {table}_no_{deed.lower()} BEFORE {deed} ON {table} {refuse}"
        )
        for deed in ("UPDATE", "DELETE")
    }
    name = f"{table}_no_replace"
    found[name] = (
        # INSERT OR REPLACE removes the old row without a DELETE trigger unless recursive triggers are on
        f"CREATE TRIGGER IF NOT EXISTS {name} BEFORE INSERT ON {table} "  # noqa: S608 - names of ours
        f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {TABLES[table]}) "
        f"BEGIN SELECT RAISE(ABORT, 'UNIQUE constraint failed: {REFUSAL}'); END"
    )
    return found


def _postgres(table: str) -> dict[str, str]:
    return {
        f"{table}_no_change": (
            f"CREATE OR REPLACE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION {TABLE}_refuse()"
        ),
        f"{table}_no_truncate": (
            f"CREATE OR REPLACE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} "
            f"FOR EACH STATEMENT EXECUTE FUNCTION {TABLE}_refuse()"
        ),
    }


_FUNCTION = (
    f"CREATE OR REPLACE FUNCTION {TABLE}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation'; END$$"
)


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place; harmless when they are there."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_FUNCTION)
        for _table, _name, statement in _wanted(connection):
            cursor.execute(statement)


def lift(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away. Only the tests' flush has a use for this."""
    with connection.cursor() as cursor:
        for table, name, _statement in _wanted(connection):
            where = f" ON {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{where}")


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """The names of triggers that are not in place, or switched off."""
    found = {row for table in TABLES for row in _in_place(connection, table)}
    return [name for _table, name, _statement in _wanted(connection) if name not in found]


def _in_place(connection: BaseDatabaseWrapper, table: str) -> list[str]:
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT tgname FROM pg_trigger WHERE tgrelid = to_regclass(%s) AND tgenabled IN ('O', 'A')", [table]
            )
        else:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", [table])
        return [row[0] for row in cursor.fetchall()]


def _wanted(connection: BaseDatabaseWrapper) -> Iterator[tuple[str, str, str]]:
    """Table, name and statement of each trigger, for the tables there are: an older backup may lack one."""
    there = set(connection.introspection.table_names())
    make = _postgres if connection.vendor == "postgresql" else _sqlite
    for table in TABLES:
        if table in there:
            yield from ((table, name, statement) for name, statement in make(table).items())
