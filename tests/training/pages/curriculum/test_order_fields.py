"""A step's limit from the prescriber's order: chosen among the facts, said in words, and refused where it is none."""

from __future__ import annotations

import pytest
from django.urls import reverse

import tests.cast
from tests.cast import NOW, make_home
from training.curriculum import drafting
from training.curriculum.comparing import compare
from training.standing.file import words_in

FACTS = """\
  - {code: most_s, title: Longest pass, plain: how long, kind: number, unit: s, low: 1, high: 15}
  - {code: least_s, title: Shortest pass, plain: how short, kind: number, unit: s, low: 1, high: 15}
skills:"""
STEP = {"version": 1, "text": "Withdraws in one pass", "kind": "critical", "unit": "s", "high": "10"}


@pytest.fixture
def home(cast, monkeypatch):
    monkeypatch.setattr(tests.cast, "PROGRAMME", tests.cast.PROGRAMME.replace("skills:", FACTS, 1))
    return make_home("Eastbrook Hospital", "hospital", [("Tamm", "Lise")])


@pytest.fixture
def draft(home):
    return drafting.begin_edition(home.programme, "suction", by=home.educator, at=NOW)


@pytest.fixture
def send(home, draft, signed_in):
    """Post the form of step 3."""
    address = reverse("step-edit", args=[home.programme.public_id, "suction", "s03"])
    return lambda **typed: signed_in(home.educator).post(address, {**STEP, **typed})


def measure(draft):
    draft.refresh_from_db()
    return next(s for s in draft.body["edition"]["steps"] if s["code"] == "s03")["measure"]


def test_a_limit_is_taken_from_the_order(draft, send):
    assert send(high_from="most_s", low_from="least_s").status_code == 302
    assert measure(draft) == {"unit": "s", "high": 10, "order": {"low": "least_s", "high": "most_s"}}


def test_and_given_up_again(draft, send):
    send(high_from="most_s")
    send(version=2, high_from="")

    assert measure(draft) == {"unit": "s", "high": 10}


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        (
            {"high_from": "tube_id_mm"},
            "high_from",
            "“Tube, inner diameter” is in mm, this step in s. Choose a fact in the same unit.",
        ),
        ({"low_from": "cuff"}, "low_from", "Select a valid choice. cuff is not one of the available choices."),
        ({"unit": "", "high": "", "high_from": "most_s"}, "unit", "A limit from the order needs the unit too."),
    ],
)
def test_what_is_no_limit_is_refused_at_its_field(draft, send, typed, field, said):
    answer = send(**typed)

    assert answer.context["form"].errors[field] == [said]
    assert measure(draft) == {"unit": "s", "high": 10}


def test_what_it_means_is_shown_and_nothing_saved(draft, send):
    answer = send(high_from="most_s", show="yes")

    assert "at most 10 s, unless the prescriber’s order says otherwise (at most: “Longest pass”)." in (
        answer.content.decode()
    )
    assert measure(draft) == {"unit": "s", "high": 10}


def test_the_form_opens_with_what_is_there(home, draft, send, signed_in):
    send(high_from="most_s")
    page = signed_in(home.educator).get(reverse("step-edit", args=[home.programme.public_id, "suction", "s03"]))

    assert page.context["form"]["high_from"].value() == "most_s"


def test_two_editions_side_by_side_name_the_fact(home, draft, send):
    send(high_from="most_s", text=draft.body["edition"]["steps"][2]["text"])
    old = home.programme.editions.get(skill="suction").body
    draft.refresh_from_db()
    words = words_in(home.programme.pk, home.programme.version)
    line = next(s for s in compare(old, draft.body["edition"], words).steps if s.new_number == 3)

    assert ("Measured", "at most 10 s",
            "at most 10 s, unless the prescriber’s order says otherwise (at most: “Longest pass”)") in line.details  # fmt: skip
