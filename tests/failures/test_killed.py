"""kill -9 of the process that signs: at every statement, and at moments of no meaning."""

from __future__ import annotations

import random
import threading
import time

import pytest

from tests.failures.conftest import Ward, ready_to_sign
from tests.failures.site import Answer, UnansweredError, sign_path
from tests.failures.whole import broken, ruins, stale, wait_for_end
from training.records.models import Record

FAMILY_FULL = 40  # a family's file grows by one record each time; then the next family begins


class Killings:
    """One signature after another. Each is sent to a process that is killed, then again to one that lives."""

    def __init__(self, ward: Ward) -> None:
        self.ward = ward
        self.living = ward.site.serve()
        self.number = 0
        self.answered = 0
        self.killed = 0
        self.kept = 0
        self._next_family()

    def _next_family(self) -> None:
        self.family = self.ward.family(f"Thole-{self.number}")
        self.caregivers = list(self.family.caregivers.all())

    def draft(self):
        self.number += 1
        if self.number % FAMILY_FULL == 0:
            self._next_family()
        caregiver = self.caregivers[self.number % 2]
        return ready_to_sign(self.ward.home.educator, caregiver)[0]

    def statements(self) -> list[str]:
        """What signing says to the database when nobody kills it."""
        answer = self.ward.educator.sign(self.living, self.draft(), trouble={})
        assert answer.status == 302, answer.said
        return answer.statements

    def one(self, trouble=None, seconds: float | None = None) -> list[str]:
        """Kill once, at a statement or after some seconds, and give back what is wrong afterwards."""
        draft, person = self.draft(), self.ward.educator
        form = person.form(self.living, sign_path(draft))
        doomed = self.ward.site.serve()
        answer = self._send(doomed, draft, form, trouble, seconds)
        if answer is not None:
            assert answer.status == 302, answer.said
            self.answered += 1
        else:
            self.killed += 1
            self.kept += Record.objects.filter(intent=draft).exists()
        wrong = broken(self.family, draft, acknowledged=True if answer else None)
        again = person.ask(self.living, "POST", sign_path(draft), form)
        if (again.status, "/records/" in again.location) != (302, True):
            wrong.append(f"the next signature: {again.status} {again.said}")
        return wrong + broken(self.family, draft, acknowledged=True)

    def _send(self, doomed, draft, form, trouble, seconds) -> Answer | None:
        killer = threading.Timer(seconds, doomed.kill) if seconds is not None else None
        if killer:
            killer.start()
        try:
            return self.ward.educator.ask(doomed, "POST", sign_path(draft), form, trouble)
        except UnansweredError:
            return None
        finally:
            if killer:
                killer.join()
            doomed.kill()
            wait_for_end(doomed.pid)


@pytest.fixture
def killings(ward: Ward) -> Killings:
    return Killings(ward)


def kill_at(killings: Killings, of: str) -> dict[tuple[int, str], list[str]]:
    """Kill before and after the first statement, the second, and so on until a few signatures have no more of them.

    How many there are differs a little from one signature to the next. Gives back what was wrong, and where.
    """
    wrong, place, last = {}, 0, 0
    while place < last + 4:
        place += 1
        for when in ("before", "after"):
            answered = killings.answered
            wrong[place, when] = killings.one({"die": place, "of": of, "when": when})
            last = place if killings.answered == answered else last
    return {death: found for death, found in wrong.items() if found}


def test_signing_writes_in_one_transaction(killings):
    """What the tests below rest on: one COMMIT, after everything that belongs to the record."""
    said = killings.statements()
    commit = said.index("COMMIT")

    assert said.count("COMMIT") == 1
    assert [s for s in said[commit:] if "records_" in s or "standing_" in s] == []


@pytest.mark.parametrize("of", ["writes", pytest.param("statements", marks=pytest.mark.long)])
def test_a_process_killed_at_any_statement_leaves_all_or_nothing(killings, of, figure):
    assert kill_at(killings, of) == {}
    figure(f"killed at {of}", killings.killed)
    figure("of them in the file", killings.kept)
    assert killings.killed >= {"writes": 20, "statements": 50}[of]
    assert killings.kept
    assert_sound(killings)


@pytest.mark.parametrize("times", [10, pytest.param(300, marks=pytest.mark.long)])
def test_a_process_killed_in_the_middle_of_a_commit_leaves_all_or_nothing(killings, times, figure):
    """From the first instant of the COMMIT to 10 ms into it, which is past its end on a quick disk."""
    found = [killings.one({"die": "COMMIT", "when": 0.01 * n / times}) for n in range(times)]
    figure("killed", killings.killed)
    figure("of them in the file", killings.kept)

    assert [wrong for wrong in found if wrong] == []
    assert killings.killed == times
    assert_sound(killings)


@pytest.mark.parametrize("times", [15, pytest.param(1000, marks=pytest.mark.long)])
def test_a_process_killed_at_any_moment_leaves_all_or_nothing(killings, times, figure):
    began = time.perf_counter()
    killings.statements()
    longest = 1.3 * (time.perf_counter() - began)  # the form is read too, so some come too late
    moments = random.Random(4)
    found = [killings.one(seconds=moments.uniform(0, longest)) for _ in range(times)]
    figure("killed in time", killings.killed)
    figure("of them in the file", killings.kept)
    figure("answered before", killings.answered)

    assert [wrong for wrong in found if wrong] == []
    assert killings.killed > times / 3
    assert_sound(killings)


def assert_sound(killings: Killings) -> None:
    assert ruins() == []
    assert not stale(killings.family)
