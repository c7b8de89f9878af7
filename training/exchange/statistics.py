"""What the database knows of its own tables, by which it plans its statements."""

from __future__ import annotations

from django.db.backends.base.base import BaseDatabaseWrapper


def renew_statistics(connection: BaseDatabaseWrapper) -> None:
    """Let PostgreSQL look at its tables now: by itself it does so minutes after they were filled.

    Until then it guesses: with 1,000 families the board took nearly twice as long, and with 100,000 each hundred of a
    rebuild read the whole table of records to find where a few chains end (docs/speed.md).
    SQLite keeps no such figures unless it is told to, and is not.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
