"""Whoever has an exported file can change it too; `competency.verify` names what was done."""

from __future__ import annotations

import random
from collections import Counter
from io import BytesIO
from typing import Any

import pytest

from competency.verify import MisfitError, NotAnExportError, check_export
from tests.training.records.tampering import attack_export, entries_of, report
from training.exchange.exporting import export_lines

SEED = 20260514
FEW = 300
MANY = 10_000


@pytest.fixture
def lines(cast: Any) -> tuple[bytes, ...]:
    return tuple(export_lines(cast.north.family))


def attack_exports(lines: tuple[bytes, ...], times: int) -> tuple[Counter[str], list[str]]:
    draw, done, unnoticed = random.Random(SEED), Counter[str](), []
    for _ in range(times):
        attack, made = attack_export(draw, lines)
        alone, with_head = fits(made), fits(made, attack.head)
        done[attack.kind] += 1
        if (alone, with_head) != (attack.kind == "cut tail", False):
            unnoticed.append(f"{attack}: fits alone {alone}, with the head {with_head}")
    return done, unnoticed


def fits(file: bytes, head: str | None = None) -> bool:
    try:
        check_export(BytesIO(file), head)
    except (MisfitError, NotAnExportError):
        return False
    return True


def test_every_change_in_an_export_is_named(lines):
    done, unnoticed = attack_exports(lines, FEW)
    report(done)

    assert (unnoticed, sum(done.values())) == ([], FEW)


@pytest.mark.long
def test_every_one_of_very_many_changes_in_an_export_is_named(lines):
    done, unnoticed = attack_exports(lines, MANY)
    report(done)

    assert (unnoticed, sum(done.values())) == ([], MANY)


def test_the_untouched_export_fits(lines):
    assert fits(b"".join(lines), head_of_family(lines))


def test_any_earlier_head_fits_too(lines):
    """A packet printed before the last records were made."""
    assert all(fits(b"".join(lines), entry.digest) for entry in entries_of(lines))


def head_of_family(lines: tuple[bytes, ...]) -> str:
    entries = entries_of(lines)
    return [entry.digest for entry in entries if entry.chain == entries[0].chain][-1]
