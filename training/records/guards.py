"""Triggers that refuse to change or remove a record, on SQLite and PostgreSQL alike.

A migration that rebuilds the table loses SQLite's triggers without a word, so they are put back after every
migration, and a site that finds one missing does not start.
"""

from __future__ import annotations

from django.db.backends.base.base import BaseDatabaseWrapper

TABLE = "records_record"
REFUSAL = "records are never changed or removed"

_SQLITE = {
    f"{TABLE}_no_{deed.lower()}": (
        f"CREATE TRIGGER IF NOT EXISTS {TABLE}_no_{deed.lower()} BEFORE {deed} ON {TABLE} "
        f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END"
    )
    for deed in ("UPDATE", "DELETE")
}
_REPLACED = f"{TABLE}_no_replace"
_SQLITE[_REPLACED] = (
    # INSERT OR REPLACE removes the old row without a DELETE trigger unless recursive triggers are on
    f"CREATE TRIGGER IF NOT EXISTS {_REPLACED} BEFORE INSERT ON {TABLE} "  # noqa: S608 - names of ours
    f"WHEN EXISTS (SELECT 1 FROM {TABLE} WHERE id = NEW.id OR intent = NEW.intent "
    f"OR (chain = NEW.chain AND number = NEW.number)) "
    f"BEGIN SELECT RAISE(ABORT, 'UNIQUE constraint failed: {REFUSAL}'); END"
)

_FUNCTION = (
    f"CREATE OR REPLACE FUNCTION {TABLE}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
    f"$$BEGIN RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'restrict_violation'; END$$"
)
_POSTGRES = {
    f"{TABLE}_no_change": (
        f"CREATE OR REPLACE TRIGGER {TABLE}_no_change BEFORE UPDATE OR DELETE ON {TABLE} "
        f"FOR EACH ROW EXECUTE FUNCTION {TABLE}_refuse()"
    ),
    f"{TABLE}_no_truncate": (
        f"CREATE OR REPLACE TRIGGER {TABLE}_no_truncate BEFORE TRUNCATE ON {TABLE} "
        f"FOR EACH STATEMENT EXECUTE FUNCTION {TABLE}_refuse()"
    ),
}


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place; harmless when they are there."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(_FUNCTION)
        for statement in _wanted(connection).values():
            cursor.execute(statement)


def lift(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away. Only the tests' flush has a use for this."""
    with connection.cursor() as cursor:
        for name in _wanted(connection):
            where = f" ON {TABLE}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{where}")


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """The names of triggers that are not in place, or switched off."""
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT tgname FROM pg_trigger WHERE tgrelid = to_regclass(%s) AND tgenabled IN ('O', 'A')", [TABLE]
            )
        else:
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s", [TABLE])
        found = {row[0] for row in cursor.fetchall()}
    return [name for name in _wanted(connection) if name not in found]


def _wanted(connection: BaseDatabaseWrapper) -> dict[str, str]:
    return _POSTGRES if connection.vendor == "postgresql" else _SQLITE
