"""Pages over many families read from a second alias of one PostgreSQL: as who asks, never stale, and no longer than it answers."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import InternalError, OperationalError, connection, connections, router
from django.test.utils import CaptureQueriesContext
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from tests.training.tenancy.site_role import as_site_role, on_postgres, role_name
from training.log.models import Entry
from training.people.models import Family, Organisation
from training.standing.models import BoardSpan, SavedFilter
from training.tenancy import replica
from training.tenancy.replica import REPLICA, Primary, Router, Standby, reading_only, wrong_with
from training.tenancy.scope import scoped


@pytest.fixture
def alias(settings, monkeypatch) -> Iterator[Callable[..., None]]:
    """Gives the site a replica with these settings: the tests' own database, but for what is named."""
    settings.DATABASE_ROUTERS = ["training.tenancy.replica.Router"]
    monkeypatch.setattr(replica, "_rest_ends", [0.0])

    def be(**other: object) -> None:
        options = {"connect_timeout": 2, "options": "-c default_transaction_read_only=on"}
        there = {**connection.settings_dict, "OPTIONS": options, **other}
        connections.settings[REPLICA] = there
        # a test's own connections are named before it begins; this one comes later
        connections[REPLICA].ensure_connection = connect_where_there_is_none

    yield be
    connections[REPLICA].close()
    del connections[REPLICA], connections.settings[REPLICA]


def connect_where_there_is_none() -> None:
    site = connections[REPLICA]
    if site.connection is None:
        with site.wrap_database_errors:
            site.connect()


@pytest.fixture
def there(committed, db, alias) -> None:
    """A replica with a connection of its own: it sees what was committed, which is the cast."""
    alias()


@pytest.fixture
def dead(db, alias) -> None:
    alias(HOST="127.0.0.1", PORT="1")


@pytest.fixture
def as_site(there) -> Iterator[None]:
    """Both connections are the site's role's."""
    connections[REPLICA].ensure_connection()
    connections[REPLICA].connection.execute(f'SET ROLE "{role_name()}"')
    with as_site_role():
        yield


# Which server ---------------------------------------------------------------------------------------------


HERE = Primary("0/5000000", "00000001", "71", "1000.5")


def standby(**other: object) -> Standby:
    given = {"is_recovering": True, "has_come": True, "timeline": "00000001", "cluster": "71", "started": "2000.5"}
    return Standby(**{**given, **other})


@pytest.mark.parametrize(
    ("found", "why"),
    [
        (standby(), ""),
        (standby(has_come=False), replica.BEHIND),
        (standby(has_come=None), replica.BEHIND),
        (standby(timeline="00000002"), "it follows another timeline"),
        (standby(cluster="72"), "it is of another cluster"),
        (standby(cluster="72", is_recovering=False, started="1000.5"), "it is of another cluster"),
        (standby(is_recovering=False), "it was promoted"),
        (standby(is_recovering=False, has_come=None, started="1000.5"), ""),  # the primary itself, under another name
    ],
)
def test_what_may_be_read(found, why):
    assert wrong_with(HERE, found) == why


@pytest.fixture
def apart() -> Iterator[None]:
    """As inside `reading_only`, where the replica was found to be good."""
    token = replica._reads_replica.set(True)
    yield
    replica._reads_replica.reset(token)


def test_outside_all_is_the_primary_s():
    assert {Router().db_for_read(Family), Router().db_for_write(Family)} == {"default"}


def test_inside_reads_are_the_replica_s_and_writes_are_not(apart):
    assert (Router().db_for_read(Family), Router().db_for_write(Family)) == (REPLICA, "default")


def test_inside_sessions_and_tries_are_the_primary_s(apart):
    from axes.models import AccessAttempt
    from django.contrib.sessions.models import Session

    assert {Router().db_for_read(model) for model in (Session, AccessAttempt)} == {"default"}


def test_a_row_of_the_replica_is_not_followed_there_afterwards():
    read = Family()
    read._state.db = REPLICA
    assert Router().db_for_read(Organisation, instance=read) == "default"


@pytest.mark.parametrize(("one", "other", "may"), [(REPLICA, "default", True), ("default", "elsewhere", None)])
def test_rows_of_both_may_be_related(one, other, may):
    rows = Family(), Family()
    rows[0]._state.db, rows[1]._state.db = one, other
    assert Router().allow_relation(*rows) is may


def test_only_the_primary_is_migrated():
    assert Router().allow_migrate("default", "people") is True
    assert Router().allow_migrate(REPLICA, "people") is False


def test_without_one_nothing_is_asked(db, django_assert_num_queries):
    with django_assert_num_queries(0), reading_only() as is_apart:
        assert not is_apart
        assert router.db_for_read(Family) == "default"


# Whose pages ----------------------------------------------------------------------------------------------


def views_over_families(patterns: list[URLPattern | URLResolver]) -> Iterator[str]:
    for one in patterns:
        if isinstance(one, URLResolver):
            yield from views_over_families(one.url_patterns)
        elif getattr(getattr(one.callback, "view_class", None), "over_families", False):
            yield str(one.name)


def test_these_pages_and_no_others_read_apart():
    assert set(views_over_families(get_resolver().url_patterns)) == {
        "board", "board-csv", "board-xlsx", "answered", "log",
    }  # fmt: skip


def take_whole(answer: Any) -> None:
    """A file is closed once it is read."""
    assert b"".join(answer.streaming_content if answer.streaming else answer)


PAGES = {
    "board": ["standing_boardspan", "standing_lapseday", "people_family"],
    "board-csv": ["standing_boardspan"],
    "board-xlsx": ["standing_boardspan"],
    "answered": ["people_family", "records_record"],
    "log": ["log_entry"],
}


def address(page: str) -> str:
    return reverse(page, args=["rechecks"] if page == "answered" else [])


@on_postgres
@pytest.mark.parametrize("page", PAGES)
def test_it_is_read_from_the_replica_and_logged_at_the_primary(cast, signed_in, there, page):
    client = signed_in(cast.north.auditor)
    before = Entry.objects.count()
    with CaptureQueriesContext(connections[REPLICA]) as at_replica, CaptureQueriesContext(connection) as at_primary:
        answer = client.get(address(page))
    take_whole(answer)
    assert answer.status_code == 200
    read = " ".join(query["sql"] for query in at_replica)
    written = " ".join(query["sql"] for query in at_primary)
    assert [table for table in PAGES[page] if f'FROM "{table}"' not in read] == []
    assert [table for table in PAGES[page] if f'FROM "{table}"' in written] == []
    assert "INSERT" not in read
    assert Entry.objects.count() == before + 1


@on_postgres
def test_the_replica_is_asked_once_a_request_and_told_who_asks(cast, signed_in, there):
    with CaptureQueriesContext(connections[REPLICA]) as asked:
        signed_in(cast.north.supervisor).get(reverse("board"))
    said = f"'register.organisation', '{cast.north.organisation.pk}'"
    assert sum("pg_last_wal_replay_lsn" in query["sql"] for query in asked) == 1
    assert [query["sql"] for query in asked if said not in query["sql"]] == []


@on_postgres
@pytest.mark.parametrize("page", ["families", "programmes", "questions"])
def test_other_pages_ask_the_replica_nothing(cast, signed_in, there, page):
    with CaptureQueriesContext(connections[REPLICA]) as asked:
        signed_in(cast.north.supervisor).get(reverse(page), follow=True)
    assert len(asked) == 0


@on_postgres
def test_a_post_is_the_primary_s(cast, signed_in, there):
    with CaptureQueriesContext(connections[REPLICA]) as asked:
        signed_in(cast.north.supervisor).post(reverse("board"), {"show": "ready"})
    assert len(asked) == 0


# Whose rows -----------------------------------------------------------------------------------------------


@on_postgres
def test_the_board_shows_the_same_as_from_the_primary(cast, signed_in, there, monkeypatch):
    client = signed_in(cast.north.supervisor)
    apart = client.get(reverse("board-csv")).content
    monkeypatch.setattr(replica, "may_be_read", lambda: False)
    assert client.get(reverse("board-csv")).content == apart
    assert cast.north.family.name in apart.decode()


@on_postgres
def test_the_site_s_role_sees_its_own_organisation_s_board(cast, signed_in, as_site):
    with CaptureQueriesContext(connections[REPLICA]) as asked:
        text = signed_in(cast.north.supervisor).get(reverse("board")).content.decode()
    assert len(asked) > 5
    assert cast.north.family.name in text
    assert cast.south.family.name not in text


@on_postgres
def test_the_replica_itself_keeps_organisations_apart(cast, signed_in, as_site, no_filter):
    """With the filter of the pages switched off."""
    text = signed_in(cast.north.supervisor).get(reverse("board-csv")).content.decode()
    assert cast.north.family.name in text
    assert cast.south.family.name not in text


@on_postgres
def test_nobody_is_shown_nothing(cast, as_site):
    with reading_only() as is_apart:
        outside = BoardSpan.objects.count()
        with scoped(account=cast.north.supervisor.user_id, organisation=cast.north.organisation.pk):
            inside = set(BoardSpan.objects.values_list("organisation", flat=True))
    assert (is_apart, outside, inside) == (True, 0, {cast.north.organisation.pk})


# What is written ------------------------------------------------------------------------------------------


@on_postgres
def test_what_is_written_inside_goes_to_the_primary(cast, there):
    with reading_only() as is_apart:
        made, _new = SavedFilter.objects.get_or_create(member=cast.north.supervisor, title="x", asked={})
        Family.objects.filter(pk=cast.north.family.pk).update(name="changed")
        found = SavedFilter.objects.filter(pk=made.pk)
        assert (is_apart, found.db, made._state.db, found.exists()) == (True, REPLICA, "default", False)
    assert SavedFilter.objects.filter(pk=made.pk).exists()
    assert Family.objects.get(pk=cast.north.family.pk).name == "changed"


@on_postgres
def test_the_replica_s_connection_only_reads(cast, there):
    with pytest.raises(InternalError, match="read-only"), connections[REPLICA].cursor() as cursor:
        cursor.execute("UPDATE people_family SET name = 'x'")


# Behind, dead, failing ------------------------------------------------------------------------------------


def lines(caplog: pytest.LogCaptureFixture) -> list[str]:
    return [one.getMessage() for one in caplog.records if one.name == "training.tenancy"]


@on_postgres
def test_one_that_is_behind_is_not_read_this_once(cast, signed_in, there, monkeypatch, caplog):
    behind = replica._AT_REPLICA.replace("pg_is_in_recovery()", "true").replace(
        "pg_last_wal_replay_lsn()", "'0/1'::pg_lsn"
    )
    monkeypatch.setattr(replica, "_AT_REPLICA", behind)
    client = signed_in(cast.north.supervisor)
    caplog.set_level(logging.INFO, logger="training.tenancy")
    for times in (1, 2):
        with CaptureQueriesContext(connections[REPLICA]) as asked:
            answer = client.get(reverse("board"))
        assert cast.north.family.name in answer.content.decode()
        assert len(asked) == 1
        assert lines(caplog) == ["Read from the primary: the replica is behind."] * times


@on_postgres
def test_a_dead_one_is_asked_once_and_then_left_alone(cast, signed_in, dead, caplog):
    client = signed_in(cast.north.supervisor)
    for _time in (1, 2):
        assert cast.north.family.name in client.get(reverse("board")).content.decode()
    assert lines(caplog) == ["Read from the primary for 15 seconds: the replica cannot be used (OperationalError)."]


@on_postgres
def test_it_is_asked_again_after_its_rest(there, monkeypatch):
    replica._rest("a test")
    assert not replica.may_be_read()
    monkeypatch.setattr(replica, "RESTS", 0.0)
    replica._rest("a test")
    assert replica.may_be_read()


@on_postgres
@pytest.mark.parametrize("page", PAGES)
def test_one_that_fails_meanwhile_is_replaced_by_the_primary(cast, signed_in, there, page, caplog):
    """As a standby does that ends a statement in favour of what it has to replay."""
    client = signed_in(cast.north.auditor)
    before = Entry.objects.count()
    with connections[REPLICA].execute_wrapper(fail_at(PAGES[page][0])):
        answer = client.get(address(page))
    take_whole(answer)
    assert answer.status_code == 200
    assert Entry.objects.count() == before + 1
    assert len(lines(caplog)) == 1


def fail_at(table: str) -> Callable[..., object]:
    def execute(execute, sql, params, many, context):
        if f'FROM "{table}"' in sql:
            raise OperationalError("canceling statement due to conflict with recovery")
        return execute(sql, params, many, context)

    return execute


def test_a_failure_of_the_primary_s_own_is_not_tried_twice():
    times = []

    def read() -> None:
        times.append(1)
        raise OperationalError

    with pytest.raises(OperationalError):
        replica.read_apart(read)
    assert times == [1]


@on_postgres
def test_a_primary_that_is_a_standby_has_no_replica(there, monkeypatch, caplog):
    monkeypatch.setattr(replica, "_AT_PRIMARY", replica._AT_PRIMARY.replace("NOT pg_is_in_recovery()", "false"))
    assert not replica.may_be_read()
    assert "the primary is a standby itself" in lines(caplog)[0]


# At start-up ----------------------------------------------------------------------------------------------


@pytest.fixture
def start(db, monkeypatch) -> Callable[[], None]:
    monkeypatch.setattr(connection, "close", lambda: None)
    from training import wsgi

    return wsgi.look_at_the_database


@on_postgres
def test_a_site_says_that_it_reads_apart_and_leaves_no_connection(start, there, caplog):
    caplog.set_level(logging.INFO, logger="training.tenancy")
    start()
    assert "Pages over many families are read from the replica." in lines(caplog)
    assert connections[REPLICA].connection is None


@on_postgres
def test_a_site_starts_without_its_replica(start, dead, caplog):
    start()
    assert any("cannot be used (OperationalError)" in line for line in lines(caplog))
