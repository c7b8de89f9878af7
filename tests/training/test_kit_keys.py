"""The programme file's keys about the kit: what is wrong is named, what is right is kept."""

from __future__ import annotations

import pytest

from competency.fields import RefusedError
from tests.cast import PROGRAMME
from training.curriculum.programme_file import read_file, rules_of_file

KIT = "sizes: [tube_id_mm], caregiver_may_check: true"


@pytest.mark.parametrize(
    ("said", "path"),
    [
        ("sizes: [boat]", "sizes[0]"),
        ("sizes: tube_id_mm", "sizes"),
        ("caregiver_may_check: 1", "caregiver_may_check"),
        ("hours: 0", "hours"),
        ("hours: many", "hours"),
        ("hours: 1.5", "hours"),
        ("hours: true", "hours"),
    ],
)
def test_what_is_wrong_is_named_with_its_place(said, path):
    assert KIT in PROGRAMME
    with pytest.raises(RefusedError) as refused:
        read_file(PROGRAMME.replace(KIT, said))

    assert [p.path for p in refused.value.problems] == [f"rules[0].items[0].{path}"]


def test_what_is_right_is_kept():
    kit = read_file(PROGRAMME.replace(KIT, f"{KIT}, hours: 24")).rules[0]["items"][0]

    assert (kit["sizes"], kit["caregiver_may_check"], kit["hours"]) == (["tube_id_mm"], True, 24)


def test_the_rules_read_none_of_it():
    item = rules_of_file(PROGRAMME.replace(KIT, f"{KIT}, hours: 24"))["rules"][0]["items"][0]

    assert item == {"code": "kit", "valid_for": "P30D"}
