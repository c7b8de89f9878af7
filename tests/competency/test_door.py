"""``python -m competency``: one case in, its answer out (design 5)."""

import json
import subprocess
import sys

import pytest

from tests.competency.build import data, shown


def ask(text, *words):
    found = subprocess.run(
        [sys.executable, "-m", "competency", *words],
        input=text,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    return found.returncode, found.stdout, found.stderr


def test_an_answer_has_the_keys_it_promises():
    status, out, err = ask(json.dumps(data(shown("2025-01-10"))))
    found = json.loads(out)

    assert (status, err) == (0, "")
    assert set(found) == {"on", "known_at", "caregivers", "team", "readiness"}
    assert set(found["readiness"]) == {"verdict", "since", "through", "missing", "spans"}
    assert set(found["caregivers"][0]) == {"id", "sets", "skills"}
    assert set(found["caregivers"][0]["skills"][0]) == {
        "skill", "standing", "since", "through", "last_day", "may_practise", "asked", "because", "spans",
    }  # fmt: skip


def test_every_reason_has_a_code():
    _, out, _ = ask(json.dumps(data(shown("2025-01-10"))))

    assert all(r["code"] for s in json.loads(out)["caregivers"][0]["skills"] for r in s["because"])


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ("", "$"),
        ("{", "$"),
        ("[]", "$"),
        ('{"on": 1, "on": 2}', "$"),
        ('{"on": NaN}', "$"),
        ("[" * 100_000, "$"),
    ],
)
def test_what_is_no_case_is_refused(text, path):
    status, out, err = ask(text)

    assert (status, out) == (2, "")
    assert err.startswith(f"{path}: ")


def test_every_problem_is_named_at_once():
    wrong = data(
        shown("2025-01-10", edition=9),
        shown("2025-01-11", results={}),
        voids=[{"id": "v", "record": "x", "reason": "r", "recorded_at": "2025-01-01T00:00:00Z"}],
    )
    status, _, err = ask(json.dumps(wrong))

    assert status == 2
    assert [line.split(": ")[0] for line in err.splitlines()] == [
        "voids[0].record",
        "caregivers[0].records[0].edition",
        "caregivers[0].records[1].results.a",
    ]


def test_the_order_of_input_never_matters():
    records = [shown("2025-01-10"), shown("2025-01-12"), shown("2025-01-11")]

    assert ask(json.dumps(data(*records)))[1] == ask(json.dumps(data(*reversed(records))))[1]
