"""Computed checks on the site: in the programme file, beside the care plan, on the family page; never before a family."""

from __future__ import annotations

from datetime import date

import pytest

import tests.cast
from competency.fields import RefusedError
from tests.cast import make_home, plan
from tests.factories import UserFactory
from training.curriculum.programme_file import read_file

FACTS = """
  - {code: tube_od_mm, title: "Tube, outer diameter", plain: how wide it is outside, kind: number, unit: mm, low: 2, high: 16}
  - {code: catheter_fr, title: Suction catheter, plain: how thick it is, kind: number, unit: Fr, low: 4, high: 18}
  - {code: cuff_cmh2o, title: Cuff pressure, plain: how full the balloon is, kind: number, unit: cmH2O, low: 5, high: 60}
checks:
  tube: {inner: tube_id_mm, outer: tube_od_mm}
  catheter: {tube: tube_id_mm, order: catheter_fr, by: diameter, per_cent: 50, source: "AARC guideline 2010, rec. 9"}
  spares: {tube: tube_id_mm, step_mm: 0.5, source: "Emergency kit lists"}
  ranges:
    - {code: cuff, title: Cuff pressure, order: cuff_cmh2o, unit: cmH2O, limits: {all: {low: 20, high: 30, source: "A summary"}}}
skills:"""
CHECKED = tests.cast.PROGRAMME.replace("\nskills:", FACTS, 1)
PLAN = {"suction": True, "cuff": "air", "tube_id_mm": 5, "catheter_fr": 8, "cuff_cmh2o": 25}


@pytest.fixture
def home(cast, monkeypatch):
    monkeypatch.setattr(tests.cast, "PROGRAMME", CHECKED)
    made = make_home("Eastbrook Hospital", "hospital", [("Tamm", "Lise")])
    plan(made, made.family, date(2026, 4, 1), PLAN)
    return made


def family_page(client, home):
    return client.get(f"/families/{home.family.public_id}/")


def test_the_family_page_shows_each_check_beside_the_order(home, signed_in):
    checks = family_page(signed_in(home.educator), home).context["checks"]

    assert [(c.title, c.ordered, c.computed, c.agrees) for c in checks] == [
        ("Suction catheter for this tube", "8 Fr", "at most 6 Fr", False),
        ("Cuff pressure", "25 cmH2O", "20 to 30 cmH2O", True),
        ("Spare tubes at hand", "", "5, 4.5 mm inside, one each", None),
    ]


def test_each_check_names_its_rule_and_source_and_a_disagreement(home, signed_in):
    text = family_page(signed_in(home.educator), home).content.decode()

    assert "At most 50 % of the tube’s inner diameter." in text
    assert "AARC guideline 2010, rec. 9" in text
    assert "Order and check disagree" in text
    assert "The prescriber’s order stands" in text


def test_a_programme_without_checks_shows_none(cast, signed_in):
    assert "Computed checks" not in family_page(signed_in(cast.north.educator), cast.north).content.decode()


def test_no_caregiver_sees_a_check(home, signed_in):
    mother = home.mother
    mother.user = UserFactory()
    mother.save(update_fields=["user"])
    text = signed_in(mother.user).get(f"/mine/{mother.public_id}/").content.decode()

    assert "6 Fr" not in text
    assert "disagree" not in text


# The care plan's form -------------------------------------------------------------------------------------


def look(client, home, **typed):
    """Ask what an entry would change; nothing is signed."""
    url = f"/families/{home.family.public_id}/care-plan-new/"
    form = client.get(url).context["form"]
    data = {name: form[name].value() for name in form.fields}
    data = {name: "" if value is None else value for name, value in data.items()} | {"on": "2026-05-14"}
    return client.post(url, data | {f"fact_{name}": value for name, value in typed.items()})


@pytest.mark.parametrize(
    ("typed", "stored"), [("26 cmH2O", "26"), ("20 mmHg", "27.19"), ("2.5 kPa", "25.49"), ("18,4 mmhg", "25.01")]
)
def test_a_pressure_is_taken_in_any_unit_and_kept_in_the_facts_own(home, signed_in, typed, stored):
    page = look(signed_in(home.educator), home, cuff_cmh2o=typed)

    assert next(c.ordered for c in page.context["checks"] if c.title == "Cuff pressure") == f"{stored} cmH2O"


@pytest.mark.parametrize("typed", ["25", "25 psi", "much"])
def test_a_pressure_without_a_known_unit_is_refused(home, signed_in, typed):
    form = look(signed_in(home.educator), home, cuff_cmh2o=typed).context["form"]

    assert form.errors["fact_cuff_cmh2o"] == ["Write the number and its unit: cmH2O, mmHg or kPa, such as 25 cmH2O."]


def test_a_pressure_far_off_is_refused_in_the_facts_unit(home, signed_in):
    form = look(signed_in(home.educator), home, cuff_cmh2o="25 kPa").context["form"]

    assert form.errors["fact_cuff_cmh2o"] == ["That is 254.93 cmH2O; 60 or less can be entered."]


def test_the_form_is_filled_in_with_the_unit(home, signed_in):
    page = signed_in(home.educator).get(f"/families/{home.family.public_id}/care-plan-new/")

    assert 'value="25 cmH2O"' in page.content.decode()


@pytest.mark.parametrize(("outer", "refused"), [("5", True), ("4.9", True), ("7.3", False), ("", False)])
def test_a_tube_is_wider_outside_than_inside(home, signed_in, outer, refused):
    form = look(signed_in(home.educator), home, tube_od_mm=outer).context["form"]

    assert ("fact_tube_od_mm" in form.errors) is refused


def test_a_disagreement_is_shown_before_signing(home, signed_in):
    page = look(signed_in(home.educator), home, catheter_fr="10")

    assert "Order and check disagree" in page.content.decode()


def test_checks_that_cannot_be_are_refused_with_the_file():
    with pytest.raises(RefusedError) as refused:
        read_file(CHECKED.replace("order: catheter_fr", "order: catheter"))

    assert "checks.catheter.order" in [p.path for p in refused.value.problems]
