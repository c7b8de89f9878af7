"""Writers on SQLite wait in line: in the order they came, across processes too, and never for somebody dead."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from django.db import OperationalError, connection, transaction

from training.people.models import Organisation
from training.sqlite.creation import DatabaseCreation
from training.sqlite.turns import Line

on_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite only")
HOLDING = """
import sys
from training.sqlite.turns import Line
assert Line(sys.argv[1]).take(5)
print("taken", flush=True)
sys.stdin.read()
"""


@pytest.fixture
def path(tmp_path):
    (tmp_path / "db").touch(mode=0o640)
    return str(tmp_path / "db")


@pytest.fixture
def line(path):
    made = Line(path)
    yield made
    made.close()


@pytest.fixture
def other(path):
    """Another process, which has the turn until it is told or killed."""
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDING, path], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout.readline() == "taken\n"
    yield holder
    holder.kill()
    holder.wait()
    holder.stdin.close()
    holder.stdout.close()


def test_they_come_in_order(line):
    order, threads = [], []

    def write(n):
        assert line.take(10)
        order.append(n)
        line.give()

    line.take(1)
    for n in range(8):
        threads.append(threading.Thread(target=write, args=(n,)))
        threads[-1].start()
        while len(line._waiting) <= n:
            time.sleep(0.001)
    line.give()
    for thread in threads:
        thread.join()

    assert order == list(range(8))


def test_who_waited_too_long_is_told_so(line):
    line.take(1)

    assert not line.take(0.02)


def test_who_gave_up_is_not_waited_for(line):
    line.take(1)
    line.take(0.02)
    line.give()

    assert line.take(0.02)


def test_another_process_is_waited_for(line, other):
    assert not line.take(0.05)


def test_after_another_process_it_goes_on(line, other):
    other.stdin.close()
    other.wait()

    assert line.take(1)


def test_a_process_that_was_killed_is_not_waited_for(line, other):
    os.kill(other.pid, signal.SIGKILL)

    assert line.take(2)


def test_in_vain_for_another_process_leaves_the_line_open(line, other):
    line.take(0.02)
    other.kill()

    assert line.take(2)


def test_a_forked_process_does_not_keep_its_parent_s_turn(path):
    """Or a turn would last as long as any child of the process that had it."""
    from training.sqlite import turns

    ours = turns.line_for(path)
    ours.take(1)
    child = os.fork()
    if child == 0:
        time.sleep(5)
        os._exit(0)
    os.close(ours._file)  # as if the parent had died
    turns._lines.pop(path)
    another = Line(path)
    is_free = another.take(1)
    another.close()
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)

    assert is_free


def test_the_file_has_the_database_s_permissions(line, path):
    line.take(1)

    assert Path(f"{path}-turn").stat().st_mode & 0o777 == 0o640


@on_sqlite
@pytest.mark.django_db(transaction=True)
def test_a_transaction_has_the_turn_until_it_ends(guards_lifted):
    with transaction.atomic():
        during = connection._line

    assert (during is not None, connection._line) == (True, None)


@on_sqlite
@pytest.mark.django_db(transaction=True)
def test_a_transaction_that_fails_gives_the_turn_back(guards_lifted):
    with pytest.raises(ValueError, match="no"), transaction.atomic():
        raise ValueError("no")

    assert connection._line is None


@on_sqlite
@pytest.mark.django_db(transaction=True)
def test_a_write_outside_a_transaction_waits_for_its_turn(guards_lifted, monkeypatch):
    another = connection.copy()
    monkeypatch.setitem(connection.settings_dict, "OPTIONS", {**connection.settings_dict["OPTIONS"], "timeout": 0.05})
    another.inc_thread_sharing()
    try:
        another._take_turn()
        with pytest.raises(OperationalError, match="locked"):
            Organisation.objects.update(title="x")
    finally:
        another.close()


@on_sqlite
@pytest.mark.django_db(transaction=True)
def test_reading_needs_no_turn(guards_lifted, monkeypatch):
    another = connection.copy()
    another._take_turn()
    try:
        assert Organisation.objects.count() >= 0
    finally:
        another.close()


def test_a_database_of_the_tests_leaves_nothing_behind(path):
    Path(f"{path}-turn").touch()
    DatabaseCreation(connection)._destroy_test_db(path, verbosity=0)

    assert list(Path(path).parent.iterdir()) == []
