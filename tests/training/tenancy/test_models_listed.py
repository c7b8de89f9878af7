"""Every model is on each list, or excused from it by name: nothing new is forgotten."""

from __future__ import annotations

import pytest
from django.apps import apps

from training.records import guards
from training.tenancy import models_listed as listed
from training.tenancy.policies import POLICIES, table_of

MODELS = {model._meta.label for model in apps.get_models(include_auto_created=True)}

LISTS = {
    "tenancy": (set(POLICIES), set(listed.NO_TENANT)),
    "log": (listed.LOGGED, set(listed.NOT_LOGGED)),
    "append-only": (
        listed.APPEND_ONLY,
        listed.NEVER_DELETED | listed.ONLY_READ | set(listed.MAY_BE_DELETED),
    ),
    "backup": (MODELS - set(listed.NOT_BACKED_UP), set(listed.NOT_BACKED_UP)),
}


@pytest.mark.parametrize("name", LISTS)
def test_every_model_is_on_the_list_or_excused(name):
    on, excused = LISTS[name]
    assert MODELS - on - excused == set(), f"put it on the {name} list of training/tenancy, or excuse it with a reason"


@pytest.mark.parametrize("name", LISTS)
def test_none_is_both(name):
    on, excused = LISTS[name]
    assert on & excused == set()


@pytest.mark.parametrize("name", LISTS)
def test_no_list_names_what_is_not_there(name):
    on, excused = LISTS[name]
    assert (on | excused) - MODELS == set()


def test_what_may_be_done_to_a_table_is_said_once():
    lists = (listed.APPEND_ONLY, listed.NEVER_DELETED, listed.ONLY_READ, set(listed.MAY_BE_DELETED))
    assert sum(map(len, lists)) == len(set().union(*lists))


@pytest.mark.parametrize("excuses", [listed.NO_TENANT, listed.NOT_LOGGED, listed.MAY_BE_DELETED, listed.NOT_BACKED_UP])
def test_every_excuse_has_a_reason(excuses):
    assert all(reason.strip() for reason in excuses.values())


def test_append_only_tables_have_triggers():
    """Whoever adds a table to the list gives it the triggers of `training.records.guards` too."""
    assert {table_of(label) for label in listed.APPEND_ONLY} == set(guards.TABLES)


def test_a_restored_backup_holds_every_table(scratch):
    there = set(scratch.introspection.table_names())
    wanted = {table_of(label) for label in MODELS - set(listed.NOT_BACKED_UP)}
    assert wanted - there == set()
