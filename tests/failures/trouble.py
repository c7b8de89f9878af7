"""Trouble made on purpose, inside a serving process, for one request that asks for it in a header.

    {}                              none; the statements are counted
    {"die": 7, "of": "statements", "when": "before"}
                                    SIGKILL at the 7th statement (or of the "writes"; or at the COMMIT, {"die": "COMMIT"}):
                                    before it, after it, or so many seconds after it began
    {"fail": 3, "then": "on"}       the 3rd write fails as on a full disk; so do all later ones, or ("off") none
    {"pages": 2}                    SQLite may grow by two pages and no further
    {"bytes": 40960}                no file may be written beyond this size

A statement is what goes to the database: queries, savepoints, BEGIN (on SQLite) and COMMIT. A write is any but a SELECT.
"""

from __future__ import annotations

import json
import os
import resource
import signal
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import OperationalError
from django.db.backends.base.base import BaseDatabaseWrapper

HEADER = "HTTP_X_TROUBLE"
FULL_ON_POSTGRES = "DO $$ BEGIN RAISE EXCEPTION 'No space left on device' USING ERRCODE = '53100'; END $$"


class Here(threading.local):
    """The trouble of the request that this thread answers."""

    plan: dict[str, Any] | None = None
    statements: list[str] = []
    writes = 0


here = Here()


def watch(sender: Any, connection: BaseDatabaseWrapper, **kwargs: Any) -> None:
    """Stand between Django and a new connection. For the signal `connection_created`."""
    if here.plan and "pages" in here.plan:
        pages = connection.connection.execute("PRAGMA page_count").fetchone()[0]
        connection.connection.execute(f"PRAGMA max_page_count = {pages + here.plan['pages']}")
    commit = connection._commit
    connection.execute_wrappers.append(_executed)
    connection._commit = lambda: _meet("COMMIT", commit, lambda: _fill(connection))


def _executed(execute: Callable[..., Any], sql: str, params: Any, many: bool, context: dict[str, Any]) -> Any:
    def fill() -> None:
        if context["connection"].vendor == "postgresql":
            execute(FULL_ON_POSTGRES, None, False, context)
        raise OperationalError("database or disk is full")

    return _meet(sql, lambda: execute(sql, params, many, context), fill)


def _fill(connection: BaseDatabaseWrapper) -> None:
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor, connection.wrap_database_errors:
            cursor.cursor.execute(FULL_ON_POSTGRES)
    raise OperationalError("database or disk is full")


def _meet(sql: str, run: Callable[[], Any], fill: Callable[[], None]) -> Any:
    """One statement, and what the plan has for it."""
    plan = here.plan
    if plan is None:
        return run()
    here.statements.append(" ".join(sql.split())[:60])
    here.writes += not sql.startswith("SELECT")
    if _is_full_for(sql, plan):
        fill()
    when = plan["when"] if _is_to_die_at(sql, plan) else None
    if when == "before":
        _die()
    elif isinstance(when, float):
        threading.Timer(when, _die).start()
    result = run()
    if when is not None:
        _die()
    return result


def _is_full_for(sql: str, plan: dict[str, Any]) -> bool:
    if "fail" not in plan or sql.startswith(("SELECT", "ROLLBACK")):  # a full disk can still be read, and rolled back
        return False
    return here.writes == plan["fail"] or (plan["then"] == "on" and here.writes > plan["fail"])


def _is_to_die_at(sql: str, plan: dict[str, Any]) -> bool:
    if "die" not in plan or plan["die"] == "COMMIT":
        return plan.get("die") == sql
    if plan["of"] == "writes":
        return here.writes == plan["die"] and not sql.startswith("SELECT")
    return len(here.statements) == plan["die"]


def _die() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def troubled(application: Callable[..., Any]) -> Callable[..., Any]:
    """A WSGI application that makes the trouble a request asks for and answers with the statements it saw."""

    def answer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Any:
        plan = environ.get(HEADER)
        if plan is None:
            return application(environ, start_response)

        def start(status: str, headers: list[tuple[str, str]], *rest: Any) -> Any:
            return start_response(status, [*headers, ("X-Statements", json.dumps(here.statements))], *rest)

        with _armed(json.loads(plan)):
            return application(environ, start)

    return answer


@contextmanager
def _armed(plan: dict[str, Any]) -> Iterator[None]:
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    here.plan, here.statements, here.writes = plan, [], 0
    if "bytes" in plan:
        resource.setrlimit(resource.RLIMIT_FSIZE, (plan["bytes"], before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
        here.plan = None
