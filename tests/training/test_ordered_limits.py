"""A limit that the prescriber ordered, from the programme file to the pages and papers that show it."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

import tests.cast
from competency.fields import RefusedError
from tests.cast import TODAY, make_home, plan, show
from training.curriculum.programme_file import read_file

FACT = "  - {code: most_s, title: Longest pass, plain: how long, kind: number, unit: s, low: 1, high: 15}\nskills:"
ORDERED = tests.cast.PROGRAMME.replace("skills:", FACT, 1).replace(
    "measure: {unit: s, high: 10}", "measure: {unit: s, high: 10, order: {high: most_s}}"
)


@pytest.fixture
def home(cast, monkeypatch):
    """A hospital whose programme takes the longest suction pass from the care plan; 6 s are ordered since April."""
    monkeypatch.setattr(tests.cast, "PROGRAMME", ORDERED)
    made = make_home("Eastbrook Hospital", "hospital", [("Tamm", "Lise")])
    plan(made, made.family, date(2026, 4, 1), {"suction": True, "cuff": "none", "tube_id_mm": 5, "most_s": 6})
    return made


def limits_at_the_bedside(client, family):
    steps = client.get(f"/bedside/pack/{family.public_id}/").json()["skills"]["suction"]["steps"]
    return next(s["limits"] for s in steps if s["code"] == "s03")


def test_the_bedside_shows_the_ordered_limit(home, signed_in):
    assert limits_at_the_bedside(signed_in(home.educator), home.family) == "6 s or less, as ordered"


def test_a_family_without_an_order_sees_the_programmes_own(cast, signed_in):
    assert limits_at_the_bedside(signed_in(cast.north.educator), cast.north.family) == "10 s or less"


def test_each_record_shows_the_limit_of_its_day(home, signed_in):
    client = signed_in(home.educator)
    before = show(home, home.mother, "suction", date(2026, 3, 20))
    after = show(home, home.mother, "suction", TODAY - timedelta(days=2))

    pages = [client.get(f"/families/{home.family.public_id}/records/{r.number}/") for r in (before, after)]

    assert [[s.limits for s in p.context["steps"] if s.limits] for p in pages] == [
        ["at most 10 s"],
        ["at most 6 s, as ordered"],
    ]
    assert [next(s.seen.mark for s in p.context["steps"] if s.limits) for p in pages] == ["independent", "outside"]


def test_the_page_of_the_checklist_says_that_an_order_goes_first(home, signed_in):
    page = signed_in(home.educator).get(f"/checklists/{home.programme.public_id}/suction/1/")

    assert (
        "at most 10 s, unless the prescriber’s order says otherwise (at most: “Longest pass”)" in page.content.decode()
    )


@pytest.mark.parametrize(
    ("order", "path", "message"),
    [
        ("{high: nothing}", "order.high", "nothing is no fact of this programme"),
        ("{high: cuff}", "order.high", "cuff is no number"),
        ("{low: tube_id_mm}", "order.low", "tube_id_mm is in mm, the step in s"),
    ],
)
def test_an_order_that_cannot_be_a_limit_is_refused(order, path, message):
    with pytest.raises(RefusedError) as refused:
        read_file(ORDERED.replace("{high: most_s}", order))

    found = [(p.path, p.message) for p in refused.value.problems]
    assert (f"skills[1].editions[0].steps[2].measure.{path}", message) in found
