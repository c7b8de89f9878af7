"""How fast the rules are, from parsed records: every span and verdict of generated agencies, in one process.

Not collected with the suite, since it measures. Run it alone, on a machine with nothing else to do:
    .venv/bin/python -m pytest tests/benchmarks/bench_agency.py --benchmark-columns=min,median,max,rounds -s
"""

from __future__ import annotations

import gc
import json
import resource
import sqlite3
import time

import pytest

from competency.history import FamilyHistory
from competency.records import Case, Demonstration
from tests.benchmarks.agencies import agency

FAMILIES = 2_000
AT_LEAST = 40_000  # demonstrations a second on one core
ROUNDS = 3


def work_out(cases: list[Case]) -> int:
    """Every standing, set, team and verdict of these families through time; how many spans there are."""
    spans = 0
    for case in cases:
        history = FamilyHistory(case)
        for caregiver in history.caregivers:
            spans += sum(len(history.line(caregiver, skill)) for skill in history.known.programme.skills)
        spans += len(history.readiness.line)
    return spans


def demonstrations(cases: list[Case]) -> list[Demonstration]:
    return [r for case in cases for c in case.caregivers for r in c.records if isinstance(r, Demonstration)]


def peak_mib() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


@pytest.fixture(scope="module")
def cases():
    made = agency(FAMILIES)
    gc.collect()
    gc.freeze()  # what is measured is the work, not the collector walking the cases
    yield made
    gc.unfreeze()


def test_every_span_of_two_thousand_families(benchmark, cases):
    before = peak_mib()
    spans = benchmark.pedantic(work_out, args=(cases,), rounds=ROUNDS, iterations=1)
    count = len(demonstrations(cases))
    rate = count / benchmark.stats.stats.min
    benchmark.extra_info.update(demonstrations=count, per_second=round(rate), spans=spans, peak_mib=peak_mib())
    print(f"\n{count} demonstrations, {spans} spans: {rate:,.0f} a second; {peak_mib()} MiB at most, {before} before")
    assert rate >= AT_LEAST


def test_ten_times_the_families_take_at_most_eleven_times_as_long(cases):
    def seconds(some: list[Case]) -> float:
        best = float("inf")
        for _ in range(ROUNDS):
            start = time.process_time()
            work_out(some)
            best = min(best, time.process_time() - start)
        return best

    few, all_ = seconds(cases[: FAMILIES // 10]), seconds(cases)
    print(f"\n{FAMILIES // 10} families {few:.2f} s, {FAMILIES} families {all_:.2f} s: {all_ / few:.2f} times as long")
    assert all_ <= 11 * few


def test_reading_and_parsing_the_same_rows_for_comparison(benchmark, cases, tmp_path):
    rows = demonstrations(cases)
    with sqlite3.connect(tmp_path / "rows.sqlite3") as db:
        db.execute("CREATE TABLE row (body TEXT)")
        db.executemany("INSERT INTO row VALUES (?)", [(as_json(row),) for row in rows])

    def read() -> int:
        return len([json.loads(body) for (body,) in db.execute("SELECT body FROM row")])

    assert benchmark.pedantic(read, rounds=ROUNDS, iterations=1) == len(rows)
    print(f"\n{len(rows) / benchmark.stats.stats.min:,.0f} rows a second are read and parsed")
    db.close()


def as_json(d: Demonstration) -> str:
    results = {
        code: s.result if s.value is None else {"result": s.result, "value": s.value} for code, s in d.results.items()
    }
    return json.dumps({"id": d.id, "on": d.on.isoformat(), "skill": d.skill, "edition": d.edition, "purpose": d.purpose,
                       "setting": d.setting, "role": d.role, "observers": list(d.observers), "results": results})  # fmt: skip
