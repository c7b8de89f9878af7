"""The n-th write fails, for every n: nothing half done, a page in plain words, and the next signature holds."""

from __future__ import annotations

import pytest
from django.db import connection

from tests.failures.conftest import Ward, ready_to_sign
from tests.failures.site import sign_path
from tests.failures.whole import broken, ruins, stale

NOT_SIGNED = "This could not be saved Nothing was signed. Your draft is kept, as it was last saved."
SIGNED = "It is signed The record is in the file, once."
UNTOLD = "This could not be saved The register cannot tell just now whether it was kept."  # it may not even be read
LIMIT = 60
on_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="the limits are those of SQLite's file")


class Failures:
    """One signature after another, each with trouble first and without it afterwards."""

    def __init__(self, ward: Ward) -> None:
        self.ward = ward
        self.server = ward.site.serve()
        self.home = ward.home
        self.family = self.home.family
        self.said: list[str] = []

    def draft(self, **more):
        return ready_to_sign(self.home.educator, self.home.mother, **more)[0]

    def statements(self) -> list[str]:
        answer = self.ward.educator.sign(self.server, self.draft(), trouble={})
        assert answer.status == 302, answer.said
        return answer.statements

    def until_one_fits(self, trouble, **more) -> tuple[int, list[str]]:
        """How many signatures met the trouble before one did not, and what was wrong."""
        wrongs = []
        for n in range(LIMIT):
            met, wrong = self.one(trouble(n), **more)
            wrongs += wrong
            if not met:
                return n, wrongs
        return LIMIT, wrongs

    def one(self, trouble, **more) -> tuple[bool, list[str]]:
        """Whether the trouble was met, and what is wrong afterwards."""
        draft, person = self.draft(**more), self.ward.educator
        form = person.form(self.server, sign_path(draft))
        answer = person.ask(self.server, "POST", sign_path(draft), form, trouble)
        is_signed = None if UNTOLD in answer.said else answer.status == 302 or SIGNED in answer.said
        wrong = broken(self.family, draft, acknowledged=is_signed)
        if answer.status not in (302, 503):
            wrong.append(f"{answer.status} {answer.said}")
        if answer.status == 503 and not answer.said.startswith((NOT_SIGNED, SIGNED, UNTOLD)):
            wrong.append(answer.said)
        self.said.append(answer.said)
        again = person.ask(self.server, "POST", sign_path(draft), form)
        if again.status != 302:
            wrong.append(f"the next signature: {again.status} {again.said}")
        return answer.status == 503, wrong + broken(self.family, draft, acknowledged=True)


@pytest.fixture
def failures(ward: Ward) -> Failures:
    return Failures(ward)


@pytest.mark.parametrize("then", ["on", "off"])
def test_whichever_write_fails_nothing_is_half_signed(failures, then, figure):
    """``on``: the disk stays full until the answer is out. Goes on until a signature has fewer writes than that."""
    met, wrongs = failures.until_one_fits(lambda n: {"fail": n + 1, "then": then})
    figure("failed writes", met)

    assert wrongs == []
    assert 10 <= met < LIMIT
    assert not stale(failures.family)


@on_sqlite
def test_a_database_that_may_not_grow_keeps_what_was_there(failures, figure):
    """The room runs out one page later each time. Pages that an earlier test left empty would be room as well."""
    with connection.cursor() as cursor:
        cursor.execute("VACUUM")
    met, wrongs = failures.until_one_fits(lambda n: {"pages": n}, note="Was tired. " * 2000)
    figure("sizes at which it was full", met)

    assert wrongs == []
    assert 4 <= met < LIMIT
    assert ruins() == []


@on_sqlite
@pytest.mark.parametrize("every", [16, pytest.param(1, marks=pytest.mark.long)])
def test_a_file_system_that_is_full_in_the_middle_of_a_commit_keeps_what_was_there(failures, every, figure):
    """No file may be written beyond a limit, from the first page of the database to its last."""
    with connection.cursor() as cursor:
        size = cursor.execute("PRAGMA page_size").fetchone()[0]
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
    found = [failures.one({"bytes": page * size}) for page in range(0, pages + 1, every)]
    figure("limits", len(found))
    figure("failures", sum(met for met, _wrong in found))

    assert [wrong for _met, wrong in found if wrong] == []
    assert any(met for met, _wrong in found)
    assert ruins() == []
    assert not stale(failures.family)
