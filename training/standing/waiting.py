"""Families whose stored spans are wanting: none are there, or they have an older form than this version reads."""

from __future__ import annotations

import logging
from typing import Any

from django.core.checks import CheckMessage, Warning
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor
from django.db.models import Exists, OuterRef, QuerySet

from training.people.models import Family
from training.standing.cache import FORM
from training.standing.models import CacheState
from training.standing.rebuilding_spans import rebuild

FEW = 200  # families that `migrate` works out itself
COMMAND = "Run `manage.py rebuild_standing`."

log = logging.getLogger("training.standing")


def waiting(using: str = "default") -> QuerySet[Family]:
    """The families, of every organisation, that `rebuild_standing` has yet to come to after an upgrade."""
    current = CacheState.objects.filter(family=OuterRef("pk"), form=FORM)
    return Family.objects.using(using).filter(~Exists(current)).order_by("pk")


def how_many(connection: BaseDatabaseWrapper) -> int:
    """How many wait; none before the tables are there. A role that policies hold sees none outside a request."""
    return waiting(connection.alias).count() if _is_kept(connection) else 0


def _is_kept(connection: BaseDatabaseWrapper) -> bool:
    """Whether the state of a family and its form have their place in this database yet."""
    table = CacheState._meta.db_table
    with connection.cursor() as cursor:
        if table not in connection.introspection.table_names(cursor):
            return False
        columns = {column.name for column in connection.introspection.get_table_description(cursor, table)}
    return {"family_id", "form"} <= columns


def _said(number: int) -> str:
    one = "1 family is" if number == 1 else f"{number} families are"
    return f"{one} not worked out for this version and may be missing from the board."


def families_are_worked_out(databases: Any = None, **kwargs: Any) -> list[CheckMessage]:
    """A warning where families wait."""
    numbers = {alias: how_many(connections[alias]) for alias in databases or ()}
    return [Warning(_said(n), hint=COMMAND, id="standing.W001") for n in numbers.values() if n]


def warn_of_waiting(connection: BaseDatabaseWrapper) -> None:
    """Said once, at start-up."""
    if number := how_many(connection):
        log.warning("%s %s", _said(number), COMMAND)


def work_out_waiting(using: str, stdout: Any = None, **kwargs: Any) -> None:
    """The end of `migrate`: a few families are worked out at once; for more it says what to run."""
    connection = connections[using]
    if using != "default" or not _is_whole(connection):
        return
    keys = list(waiting().values_list("pk", flat=True)[: FEW + 1])
    if not keys:
        return
    if len(keys) > FEW:
        _tell(stdout, f"{_said(waiting().count())} {COMMAND}")
        return
    refused = [family for done in rebuild(keys) for family in done.refused]
    _tell(stdout, f"Families worked out for this version: {len(keys) - len(refused)}.")
    for family in refused:
        _tell(stdout, f"Family {family}: the rules refuse its records; its spans are left as they are.")


def _is_whole(connection: BaseDatabaseWrapper) -> bool:
    """Whether every migration is applied: on the way back, or half way, the tables are not those of this version."""
    executor = MigrationExecutor(connection)
    return not executor.migration_plan(executor.loader.graph.leaf_nodes())


def _tell(stdout: Any, text: str) -> None:
    if stdout is not None:
        stdout.write(text)
