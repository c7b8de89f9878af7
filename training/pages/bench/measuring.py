"""One run: an organisation is written, its spans worked out, its board opened, records signed, a packet printed."""

from __future__ import annotations

import re
import resource
import statistics
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date, datetime, timedelta
from typing import Any

from django.core.management import call_command
from django.db import connection
from django.test import Client, override_settings
from django.urls import reverse

from competency.history import FamilyHistory
from competency.overview import glances
from competency.reading import read_case
from competency.records import Case
from training.documents.packet import render_packet
from training.documents.packet_of import packet_of
from training.exchange.bulk.organisation import make_organisation
from training.exchange.demo.people import Home, organisations
from training.pages.bench import plain_tables
from training.pages.templatetags.register import outcome_word, standing_word, verdict_word
from training.people.models import Caregiver, Family, Member
from training.settling import settle
from training.standing.drafts import start
from training.standing.file import open_file
from training.standing.questions import FamilyOn
from training.standing.rebuilding_spans import hundreds, open_files

AT_MOST = 2_000  # families whose rules are timed; the figure is scaled to all
BOARDS, SIGNATURES, PACKETS = 40, 25, 9
PROCESSES = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
LONG_ENOUGH = 20.0  # seconds of opening boards, after which five will do
_SHOWN = re.compile(r'name="shown" value="(\w+)"')


class NotMeasurableError(Exception):
    """A page did not answer as it must; its time would mean nothing."""


@contextmanager
def measured_settings() -> Iterator[None]:
    """As a site is served, but for the password: hashing it is slow on purpose, and the same at every size."""
    with override_settings(
        DEBUG=False,
        ALLOWED_HOSTS=["testserver"],
        SECURE_SSL_REDIRECT=False,
        SESSION_COOKIE_SECURE=False,
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
        STORAGES={"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}},
    ):
        yield


_clock: ContextVar[Callable[[], float]] = ContextVar("clock", default=time.perf_counter)


def measure(
    families: int, now: datetime, say: Callable[[str], object], *, cpu: bool = False, processes: int = 1
) -> dict[str, float]:
    """Every figure of one size, on the database in use, which must be empty. say: told what is under way.

    cpu: by this process's processor time, where other work slows the machine; what PostgreSQL does is not in it.
    processes: how many write the families and work out their spans.
    """
    _clock.set(time.process_time if cpu else time.perf_counter)
    with measured_settings():
        say(f"writing {families} families")
        wrote, home = _timed(lambda: make_organisation(families=families, now=now, processes=processes))
        say("working out every span")
        rebuild_s, _none = _timed(lambda: rebuild(processes))
        _tidy()
        say("working out the rules alone")
        rules_s, from_values_s = _rules(families)
        say("opening the board, signing, printing")
        settle()  # as a started site has
        return {
            "families": families,
            "processes": processes,
            **_board(home, now),
            "sign_p50_ms": _signing(home, now),
            "rebuild_s": round(rebuild_s, 2),
            "rules_s": round(rules_s, 2),
            "rules_from_values_s": round(from_values_s, 2),
            "families_per_s": round(families / rebuild_s, 1),
            "written_per_s": round(families / wrote, 1),
            **_packet(home, now),
            "peak_mib": max(resource.getrusage(who).ru_maxrss for who in PROCESSES) // 1024,
        }


def rebuild(processes: int = 1) -> None:
    """Every stored span; by one process its time compares with the rules'."""
    call_command("rebuild_standing", processes=processes, verbosity=0, stdout=_Nowhere(), stderr=_Nowhere())


def _tidy() -> None:
    """What PostgreSQL does by itself, but minutes later: until then statements are planned for empty tables."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("VACUUM ANALYZE")


class _Nowhere:
    def write(self, *said: object) -> None: ...
    def flush(self) -> None: ...
    def isatty(self) -> bool:
        return False


def _timed(work: Callable[[], Any]) -> tuple[float, Any]:
    clock = _clock.get()
    start_at = clock()
    made = work()
    return clock() - start_at, made


# The rules alone -------------------------------------------------------------------------------------------------


def _rules(families: int) -> tuple[float, float]:
    """Seconds for `competency` to read every case and work everything out, and for the second half alone."""
    keys = list(Family.objects.order_by("public_id").values_list("pk", flat=True)[:AT_MOST])
    reading = working = 0.0
    for some in hundreds(keys):
        told = [(file.case_data(date(2000, 1, 1)), file.rules) for file in open_files(some).values()]
        took, cases = _timed(lambda told=told: [read_case(data, programme=rules) for data, rules in told])
        reading += took
        working += _timed(lambda cases=cases: [_work_out(case) for case in cases])[0]
    scale = families / len(keys)
    return (reading + working) * scale, working * scale


def _work_out(case: Case) -> int:
    history = FamilyHistory(case)
    skills = history.known.programme.skills
    spans = sum(len(list(history.line(caregiver, skill))) for caregiver in history.caregivers for skill in skills)
    return spans + len(history.readiness.line) + len(glances(history))


# Pages -----------------------------------------------------------------------------------------------------------


def _signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member.user, backend="django.contrib.auth.backends.ModelBackend")
    return client


def _board(home: Home, now: datetime) -> dict[str, float]:
    """The first page on days of this month and the next; the SQL is that of one of them, run bare."""
    client, today = _signed_in(home.supervisor), now.date()
    asked: list[tuple[str, Any]] = []

    def keep(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        asked.append((sql, params))
        return execute(sql, params, many, context)

    _open(client, "/board/")
    with connection.execute_wrapper(keep):
        _open(client, "/board/")
    took: list[float] = []
    for n in range(BOARDS):
        if len(took) < 5 or sum(took) < LONG_ENOUGH:
            took.append(_timed(lambda n=n: _open(client, f"/board/?on={today + timedelta(days=n)}"))[0])
    reads = [(sql, params) for sql, params in asked if sql.lstrip(" (").upper().startswith(("SELECT", "WITH"))]
    return {
        "board_p95_ms": _ms(statistics.quantiles(took, n=20)[-1]),
        "board_p50_ms": _ms(statistics.median(took)),
        "board_sql_ms": _ms(statistics.median(_timed(lambda: _bare(reads))[0] for _ in range(15))),
        "board_queries": len(asked),
    }


def _bare(reads: list[tuple[str, Any]]) -> None:
    with connection.cursor() as cursor:
        for sql, params in reads:
            cursor.execute(sql, params)
            cursor.fetchall()


def _open(client: Client, address: str) -> str:
    answer = client.get(address)
    if answer.status_code != 200:
        raise NotMeasurableError(f"{address.partition('?')[0]} answers {answer.status_code}")
    return str(answer.content.decode())


def _signing(home: Home, now: datetime) -> float:
    """From the press of the button until the answer: judged, written, its spans brought up to date."""
    observer = home.observer(0)
    client, password = _signed_in(observer), organisations()["password"]
    took = []
    for family in Family.objects.order_by("public_id")[:SIGNATURES]:
        draft = _draft(observer, family, now)
        address = reverse("draft-sign", kwargs={"draft": draft})
        shown = _SHOWN.search(_open(client, address))
        if shown is None:
            raise NotMeasurableError("the page to sign on has no digest")
        sent = {"password": password, "shown": shown[1]}
        seconds, answer = _timed(lambda address=address, sent=sent: client.post(address, sent))
        if answer.status_code != 302 or "/records/" not in answer.url:
            raise NotMeasurableError("signing does not lead to the record")
        took.append(seconds)
    return _ms(statistics.median(took))


def _draft(observer: Member, family: Family, now: datetime) -> uuid.UUID:
    """What was seen last, seen once more."""
    last = next(r for r in reversed(open_file(family).records) if r.kind == "demonstration")
    body = {k: v for k, v in last.plain.items() if k not in ("caregiver", "signed")}
    results = {code: _typed(seen) for code, seen in body["results"].items()}
    here = now.astimezone(family.zone) - timedelta(minutes=20)
    data = {**body, "on": here.date().isoformat(), "time": f"{here:%H:%M}", "results": results}
    data |= {"observers": [observer.observer_id], "began": None, "second": None}
    caregiver = Caregiver.objects.get(public_id=last.data["caregiver"])
    return start(author=observer, caregiver=caregiver, data=data, intent=uuid.uuid4(), at=now).public_id


def _typed(seen: Any) -> Any:
    return {**seen, "value": str(seen["value"])} if isinstance(seen, dict) else seen


# Documents -------------------------------------------------------------------------------------------------------


def _packet(home: Home, now: datetime) -> dict[str, float]:
    """A packet of three caregivers, from the database to the bytes; the plain tables draw the same text."""
    family = Family.objects.order_by("public_id").first()
    if family is None:
        raise NotMeasurableError("there is no family")

    def gathered() -> Any:
        return packet_of(
            FamilyOn(open_file(Family.objects.get(pk=family.pk)), family.today(now)),
            known_at=now,
            standing_word=standing_word,
            verdict_word=verdict_word,
            outcome_word=outcome_word,
        )

    packet = gathered()
    text = plain_tables.text_of(packet)
    plain_tables.draw(text)
    works: dict[str, Callable[[], Any]] = {
        "packet_ms": lambda: render_packet(gathered()),
        "packet_drawn_ms": lambda: render_packet(packet),
        "plain_table_ms": lambda: plain_tables.draw(text),
    }
    took: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(PACKETS):  # in turn, so that what else the machine does slows all three
        for name, work in works.items():
            took[name].append(_timed(work)[0])
    return {name: _ms(statistics.median(found)) for name, found in took.items()}


def _ms(seconds: float) -> float:
    return round(seconds * 1000, 1)
