"""Reading from a replica: pages over many families, where it has all that the primary had when the request came.

A replica that lags could still say "ready". So it is asked, once a request, whether it has come as far as the primary
is; otherwise, and while it does not answer, the primary is read. Writes never come here, nor do sessions and sign-in.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, NamedTuple, TypeVar

from django.db import DEFAULT_DB_ALIAS, Error, InterfaceError, OperationalError, connections

log = logging.getLogger("training.tenancy")

REPLICA = "replica"
RESTS = 15.0  # seconds a replica that failed is not asked again: until then nobody waits for it
BEHIND = "it is behind"
_PRIMARY_ALONE = frozenset({"sessions", "axes", "mfa"})  # who is signed in, and who tried

T = TypeVar("T")
_reads_replica: ContextVar[bool] = ContextVar("reads_replica", default=False)


class Router:
    """Named in the settings where there is a REPLICA_URL."""

    def db_for_read(self, model: Any, **hints: Any) -> str:
        if _reads_replica.get() and model._meta.app_label not in _PRIMARY_ALONE:
            return REPLICA
        return DEFAULT_DB_ALIAS

    def db_for_write(self, model: Any, **hints: Any) -> str:
        return DEFAULT_DB_ALIAS

    def allow_relation(self, one: Any, other: Any, **hints: Any) -> bool | None:
        both = {one._state.db, other._state.db}
        return True if both <= {DEFAULT_DB_ALIAS, REPLICA} else None

    def allow_migrate(self, db: str, app_label: str, **hints: Any) -> bool:
        return db == DEFAULT_DB_ALIAS


# Which server is read ---------------------------------------------------------------------------------------


@contextmanager
def reading_only() -> Iterator[bool]:
    """What is read in here comes from the replica, if it may; gives whether it does. Use it once a request."""
    token = _reads_replica.set(may_be_read())
    try:
        yield _reads_replica.get()
    finally:
        _reads_replica.reset(token)


def read_apart(read: Callable[[], T]) -> T:
    """What ``read`` gives, from the replica if it may be; from the primary if not, or if the replica fails meanwhile.

    A standby may end a statement at any time, in favour of what it has to replay. So ``read`` may be called twice.
    """
    is_apart = False
    try:
        with reading_only() as is_apart:
            return read()
    except (OperationalError, InterfaceError) as error:
        if not is_apart:
            raise
        _rest(type(error).__name__)
    return read()


def may_be_read() -> bool:
    """Whether there is a replica that has replayed what the primary has written by now."""
    if REPLICA not in connections.settings or time.monotonic() < _rest_ends[0]:
        return False
    try:
        why_not = _why_not()
    except Error as error:
        why_not = type(error).__name__
    if why_not == BEHIND:
        log.info("Read from the primary: the replica is behind.")
    elif why_not:
        _rest(why_not)
    return not why_not


def is_answering() -> bool:
    """Whether a replica is there at start-up, said once in the log. Without one the site starts all the same."""
    is_there = may_be_read()
    if is_there:
        log.info("Pages over many families are read from the replica.")
    return is_there


_rest_ends = [0.0]  # by the monotonic clock, in each process


def _rest(why: str) -> None:
    """A database repeats values in its errors' words, so only their kind is said."""
    _rest_ends[0] = time.monotonic() + RESTS
    log.warning("Read from the primary for %d seconds: the replica cannot be used (%s).", RESTS, why)


# How far each has come --------------------------------------------------------------------------------------

# The place of the next record, not of the last that was written out: with synchronous_commit=off a row is seen before.
_AT_PRIMARY = """
    SELECT pg_current_wal_insert_lsn()::text, left(pg_walfile_name(pg_current_wal_insert_lsn()), 8),
        system_identifier::text, extract(epoch FROM pg_postmaster_start_time())::text
    FROM pg_control_system() WHERE NOT pg_is_in_recovery()"""
_AT_REPLICA = """
    SELECT pg_is_in_recovery(), pg_wal_lsn_diff(pg_last_wal_replay_lsn(), %s) >= 0,
        lpad(upper(to_hex(timeline_id)), 8, '0'),
        system_identifier::text, extract(epoch FROM pg_postmaster_start_time())::text
    FROM pg_control_system(), pg_control_checkpoint()"""


class Primary(NamedTuple):
    """place: in its log. cluster, timeline: whose log that is. started: tells this server from a promoted one."""

    place: str
    timeline: str
    cluster: str
    started: str


class Standby(NamedTuple):
    """has_come: whether it has replayed what is before the primary's place; None where it never replayed."""

    is_recovering: bool
    has_come: bool | None
    timeline: str
    cluster: str
    started: str


def _why_not() -> str:
    """The primary is asked first: what it writes after that is newer than this request."""
    primary = _ask(DEFAULT_DB_ALIAS, _AT_PRIMARY)
    if primary is None:
        return "the primary is a standby itself"
    return wrong_with(Primary(*primary), Standby(*_ask(REPLICA, _AT_REPLICA, primary[0])))


def wrong_with(primary: Primary, standby: Standby) -> str:
    """Why this replica may not be read; "" where it may. Places in the log are compared only within one timeline."""
    if standby.cluster != primary.cluster:
        return "it is of another cluster"
    if not standby.is_recovering:
        return "" if standby.started == primary.started else "it was promoted"
    if standby.timeline != primary.timeline:
        return "it follows another timeline"
    return "" if standby.has_come else BEHIND


def _ask(alias: str, sql: str, *params: str) -> Any:
    with connections[alias].cursor() as cursor:
        cursor.execute(sql, params or None)
        return cursor.fetchone()
