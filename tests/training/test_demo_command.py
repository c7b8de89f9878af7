"""`manage.py demo`: where it loads, where it refuses, what it prints."""

from __future__ import annotations

import socket
from io import StringIO
from typing import Any

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command
from django.db import connection

from training.curriculum.models import Edition, Enrolment, Programme, RuleSet
from training.exchange.demo.loading import FamilySheet, sheets
from training.exchange.management.commands import demo as command
from training.log.models import Entry
from training.people.models import Assignment, Caregiver, Family, Member, Organisation, User
from training.records import guards
from training.records.models import Record
from training.standing.models import CachedStanding, CachedVerdict, CacheState

SMALL = [sheet for sheet in sheets() if sheet.name in ("11-thistlewood", "15-vestergaard")]
TABLES = (
    CachedStanding,
    CachedVerdict,
    CacheState,
    Assignment,
    Caregiver,
    Enrolment,
    Family,
    Record,
    Edition,
    RuleSet,
    Programme,
)


@pytest.fixture
def empty(db: None) -> None:
    """No cast: the guards are lifted and everything is removed, until the test is rolled back."""
    guards.lift(connection)
    for model in (*TABLES, Entry, Member, User, Organisation):
        model.objects.all().delete()


@pytest.fixture
def small(monkeypatch: Any) -> None:
    """Two short families stand for all."""
    monkeypatch.setattr(command, "sheets", lambda: SMALL)


def run(**options: Any) -> str:
    out = StringIO()
    call_command("demo", stdout=out, **{"no_serve": True, **options})
    return out.getvalue()


def test_it_refuses_beside_a_real_organisation(cast):
    with pytest.raises(CommandError, match="the organisation “Northlea Children's Hospital”"):
        run()


def test_a_refusal_says_what_to_do(cast):
    with pytest.raises(CommandError, match="Set DATABASE_URL to an empty database"):
        run()


def test_a_refusal_writes_nothing(cast):
    before = (Record.objects.count(), User.objects.count())

    with pytest.raises(CommandError):
        run()

    assert (Record.objects.count(), User.objects.count()) == before


def test_it_refuses_beside_an_account_of_nobody(empty, small):
    User.objects.create_user("somebody", "a password of theirs", full_name="Some Body")

    with pytest.raises(CommandError, match="the account “somebody”"):
        run()


def test_it_refuses_once_a_real_organisation_stands_beside_the_demo(empty, small):
    run()
    Organisation.objects.create(title="Real Hospital", kind="hospital", time_zone="Europe/Oslo")

    with pytest.raises(CommandError, match="Real Hospital"):
        run()


def test_without_tables_it_asks_for_them(db, monkeypatch):
    monkeypatch.setattr(connection.introspection, "table_names", list)

    with pytest.raises(CommandError, match=r"Run `manage.py migrate` first"):
        run()


def test_it_loads_every_family_it_finds(empty, small):
    run()

    assert set(Family.objects.values_list("name", flat=True)) == {"Thistlewood-Grane", "Vestergaard-Iwuala"}


def test_it_prints_an_account_for_each_kind_of_user(empty, small):
    out = run()

    assert [name for name in User.objects.values_list("username", flat=True) if f"  {name} " not in out] == []


def test_every_printed_account_signs_in_with_the_printed_password(empty, small):
    lines = run().split("Log-ins:")[1].splitlines()[2:]

    for line in lines:
        username, password = line.split()[:2]
        assert authenticate(username=username, password=password) is not None, username


def test_the_second_time_nothing_is_loaded_twice(empty, small):
    run()
    before = (Record.objects.count(), User.objects.count())
    run()

    assert (Record.objects.count(), User.objects.count()) == before


def test_the_second_time_the_log_ins_are_printed_again(empty, small):
    first = run().split("Log-ins:")[1]
    second = run()

    assert "The demo is here already" in second
    assert second.split("Log-ins:")[1] == first


def test_a_family_the_rules_refuse_leaves_nothing_behind(empty, monkeypatch):
    about = {**SMALL[0].about, "items": {"no such item": -3}}
    monkeypatch.setattr(command, "sheets", lambda: [FamilySheet("hospital", "bad", about)])

    with pytest.raises(CommandError, match='"no such item" is no item of the programme'):
        run()
    assert Organisation.objects.count() == 0


def test_it_serves_on_this_machine_alone(empty, small, settings, monkeypatch):
    settings.DEBUG = True
    served = []
    monkeypatch.setattr(command, "call_command", lambda *args, **options: served.append((args, options)))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]

    out = run(no_serve=False, port=port)

    assert served == [(("runserver", f"127.0.0.1:{port}"), {"use_reloader": False})]
    assert f"Open http://127.0.0.1:{port}/" in out


def test_a_port_in_use_is_named_before_anything_is_loaded(empty, small, settings):
    settings.DEBUG = True
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(CommandError, match="Choose another"):
            run(no_serve=False, port=taken.getsockname()[1])

    assert Organisation.objects.count() == 0


def test_a_site_that_asks_for_https_is_not_served_here(empty, small, settings):
    settings.DEBUG = False

    with pytest.raises(CommandError, match="--no-serve"):
        run(no_serve=False)
