"""The rules package against the second reading: whole histories, every day of them.

Some hundreds in every run; the long run (marked) is at least 20,000:
``.venv/bin/python -m pytest tests/naive -m long``.
"""

from __future__ import annotations

import random
from concurrent.futures import ProcessPoolExecutor

import pytest

from competency.answer import answer
from competency.reading import read_case

from .histories import make_case
from .reading import answer as naive_answer

QUICK = [("tiny", 0, 60), ("small", 0, 80), ("dense", 0, 120), ("large", 0, 20)]
LONG = [("tiny", 1_000, 3_000), ("small", 1_000, 6_000), ("dense", 1_000, 10_000), ("large", 1_000, 2_000)]


def comparable(found):
    """An answer without its reasons, which the second reading does not give."""
    for caregiver in found["caregivers"]:
        for skill in caregiver["skills"]:
            del skill["because"]
    found["readiness"]["missing"] = [{"code": m["code"]} for m in found["readiness"]["missing"]]
    return found


def differences(one, other, path=""):
    """Where two answers differ, as (path, one, other)."""
    if isinstance(one, dict) and isinstance(other, dict):
        for key in sorted(one.keys() | other.keys()):
            yield from differences(one.get(key, "absent"), other.get(key, "absent"), f"{path}.{key}")
    elif isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        for i, (a, b) in enumerate(zip(one, other, strict=True)):
            yield from differences(a, b, f"{path}[{i}]")
    elif one != other:
        yield path, one, other


def first_difference(size, seed):
    case = make_case(random.Random(f"{size} {seed}"), size)
    return next(differences(comparable(answer(read_case(case))), naive_answer(case)), None)


def disagreements(job):
    size, start, count = job
    found = ((size, seed, first_difference(size, seed)) for seed in range(start, start + count))
    return [row for row in found if row[2] is not None]


@pytest.mark.parametrize("job", QUICK, ids=lambda job: job[0])
def test_both_readings_agree(job):
    assert disagreements(job) == []


@pytest.mark.long
def test_both_readings_agree_on_twenty_thousand_histories():
    jobs = [(size, start + k, min(250, count - k)) for size, start, count in LONG for k in range(0, count, 250)]
    with ProcessPoolExecutor(2) as pool:
        found = [row for rows in pool.map(disagreements, jobs) for row in rows]

    assert found == []
