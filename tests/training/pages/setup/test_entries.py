"""Authorisations, items, cards and the educator's signature: what is written, and what is refused at its field."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from competency.standing import Standing
from tests.cast import TODAY, show, sign_off_suction
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.standing.file import open_file
from training.standing.kit import kit
from training.standing.questions import FamilyOn

LONG_NAME = "Ólafía Þórðardóttir-Ngũgĩ wa Thiongʼo " * 5
NAMES = ["李小龍", "محمد علي", "ትዕግስት", "O’Brien & <b>Sons</b>", LONG_NAME.strip()]


def standing(home, skill):
    return FamilyOn(open_file(home.family), TODAY).cell(home.mother, skill).standing


def authorise(client, home, **changes):
    fields = {"skill": "suction", "prescriber": "Dr Q. Ravn", "from_day": "2026-05-14", "through": "", **changes}
    return send(client, of(home.family, "authorisation-new"), **fields)


@pytest.fixture
def educator(cast, signed_in):
    return signed_in(cast.north.educator)


# Authorisations


def test_an_authorisation_goes_to_the_family(cast, educator):
    answer = authorise(educator, cast.north)

    assert (answer.status_code, answer.url) == (302, of(cast.north.family, "family"))


def test_an_authorisation_says_its_days(cast, educator):
    answer = authorise(educator, cast.north, through="2026-08-13")

    assert said(answer) == "Authorisation entered: Suctioning, 14 May 2026 through 13 August 2026."


@pytest.mark.parametrize("name", NAMES)
def test_the_prescriber_is_kept_as_written(cast, educator, name):
    authorise(educator, cast.north, prescriber=name)

    assert last(cast.north.family).data["prescriber"] == name


def test_the_signature_says_who_and_what(cast, educator):
    authorise(educator, cast.north)
    signed = last(cast.north.family).data["signed"]

    assert (signed["id"], signed["meaning"]) == (
        cast.north.educator.observer_id,
        "I entered the prescriber's word as it was given.",
    )


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"password": "wrong"}, "password"),
        ({"password": None}, "password"),
        ({"skill": "hands"}, "skill"),  # needs none
        ({"skill": "nothing"}, "skill"),
        ({"prescriber": " "}, "prescriber"),
        ({"prescriber": "x" * 201}, "prescriber"),
        ({"from_day": "14.05.2026"}, "from_day"),
        ({"from_day": "2026-02-30"}, "from_day"),
        ({"from_day": "0206-05-14"}, "from_day"),
        ({"through": "2026-05-13"}, "through"),
        ({"through": "9999-12-31"}, "through"),
        ({"intent": "no"}, "intent"),
    ],
)
def test_bad_input_stands_at_its_field_and_writes_nothing(cast, educator, changes, field):
    before = count(cast.north.family)
    answer = authorise(educator, cast.north, **changes)

    assert (answer.status_code, list(errors(answer)), count(cast.north.family)) == (200, [field], before)


def test_nothing_typed_is_lost(cast, educator):
    answer = authorise(educator, cast.north, password="wrong", prescriber="Dr Quill & Søn", through="2026-09-01")

    assert 'value="Dr Quill &amp; Søn"' in answer.content.decode()
    assert 'value="2026-09-01"' in answer.content.decode()


def test_the_password_never_comes_back(cast, educator):
    answer = authorise(educator, cast.north, password="wrong-one-typed")

    assert "wrong-one-typed" not in answer.content.decode()


def test_a_wrong_password_says_that_nothing_was_signed(cast, educator):
    answer = authorise(educator, cast.north, password="wrong")

    assert errors(answer)["password"] == [
        "That is not your password. Nothing was signed; what you typed is still here."
    ]


def test_the_same_post_twice_is_one_record(cast, educator):
    before, intent = count(cast.north.family), str(uuid.uuid4())
    answers = [authorise(educator, cast.north, intent=intent) for _ in range(2)]

    assert ([a.status_code for a in answers], count(cast.north.family)) == ([302, 302], before + 1)


def test_an_intent_of_another_family_is_not_reused(cast, signed_in):
    client = signed_in(cast.north.educator)
    intent = str(uuid.uuid4())
    authorise(client, cast.north, intent=intent)
    other = of(cast.north.families[1], "authorisation-new")
    answer = send(client, other, skill="suction", prescriber="Dr A.", from_day="2026-05-14", intent=intent)

    assert (answer.status_code, list(errors(answer))) == (200, ["__all__"])


# Items


def test_an_item_is_chosen_by_the_address(cast, educator):
    answer = educator.get(of(cast.north.family, "item-new") + "?item=kit")

    assert answer.context["form"]["item"].value() == "kit"


def test_an_item_is_in_place(cast, educator):
    send(educator, of(cast.north.family, "item-new"), item="kit", on="2026-05-13", note="Two spare tubes.")
    kit = FamilyOn(open_file(cast.north.family), TODAY).items[0]

    assert (kit.is_done, kit.done_on) == (True, TODAY - timedelta(days=1))


def test_an_item_is_not_checked_ahead(cast, educator):
    answer = send(educator, of(cast.north.family, "item-new"), item="kit", on="2026-05-15", note="")

    assert errors(answer) == {"on": ["Lies ahead: it is not that day yet where the patient is."]}


@pytest.fixture
def tried(cast):
    """Papers, of all things, have to be tried for a day."""
    rules = cast.north.programme.rule_sets.get()
    next(item for item in rules.body["items"] if item["code"] == "papers")["hours"] = 24
    rules.save()


def test_no_hours_are_asked_where_nothing_is_tried(cast, educator):
    assert "hours" not in educator.get(of(cast.north.family, "item-new")).context["form"].fields


@pytest.mark.parametrize("hours", ["", "0", "23"])
def test_what_was_not_tried_long_enough_is_not_in_place(cast, educator, tried, hours):
    family = cast.north.family
    before = count(family)
    answer = send(educator, of(family, "item-new"), item="papers", on="2026-05-14", note="", hours=hours)

    assert list(errors(answer)) == ["hours"]
    assert count(family) == before


def test_hours_are_written_and_shown_with_the_note(cast, educator, tried):
    family = cast.north.family
    send(educator, of(family, "item-new"), item="papers", on="2026-05-14", note="With <b>the pump.", hours=30)

    assert last(family).data["hours"] == 30
    line = next(line for line in kit(FamilyOn(open_file(family), TODAY)) if line.item.code == "papers")
    assert (line.hours, line.item.hours, line.item.is_done) == (24, 30, True)
    page = educator.get(of(family, "family")).content.decode()
    assert "Tried for 24 hours before it counts" in page
    assert "tried for 30 hours" in page
    assert "Note: With &lt;b&gt;the pump." in page


def test_hours_of_what_is_not_tried_are_not_written(cast, educator, tried):
    send(educator, of(cast.north.family, "item-new"), item="kit", on="2026-05-14", note="", hours="7")

    assert "hours" not in last(cast.north.family).data


def test_the_computed_spares_stand_beside_the_item_with_the_tubes_size(cast, educator):
    programme = cast.north.programme
    programme.about["checks"] = {"spares": {"tube": "tube_id_mm", "step_mm": 0.5, "source": "common practice"}}
    programme.save()
    family = type(cast.north.family).objects.get(pk=cast.north.family.pk)
    found = kit(FamilyOn(open_file(family), TODAY))

    assert [(line.item.code, line.spares and line.spares.computed) for line in found] == [
        ("kit", "5, 4.5 mm inside, one each"),
        ("papers", None),
    ]
    said = educator.get(of(family, "family")).content.decode()
    assert "Spare tubes at hand, computed: 5, 4.5 mm inside, one each" in said


def test_an_unknown_item_is_no_choice(cast, educator):
    answer = send(educator, of(cast.north.family, "item-new"), item="boat", on="2026-05-14")

    assert list(errors(answer)) == ["item"]


# Cards


def card(client, home, **changes):
    fields = {
        "caregiver": home.mother.case_id,
        "skill": "cpr_card",
        "on": "2026-02-01",
        "through": "2028-02-01",
        "note": "",
        **changes,
    }
    return send(client, of(home.family, "certificate-new"), **fields)


def test_a_card_is_signed_off(cast, educator):
    answer = card(educator, cast.north)

    assert standing(cast.north, "cpr_card") is Standing.SIGNED_OFF
    assert said(answer) == "Card entered. CPR card, Marit: signed off."


def test_only_cards_are_offered(cast, educator):
    answer = educator.get(of(cast.north.family, "certificate-new"))

    assert answer.context["form"].fields["skill"].choices == [("cpr_card", "CPR card")]


@pytest.mark.parametrize(
    ("changes", "field"),
    [({"through": "2026-01-31"}, "through"), ({"on": "2026-05-15"}, "on"), ({"skill": "hands"}, "skill")],
)
def test_a_card_that_cannot_be_is_refused(cast, educator, changes, field):
    assert list(errors(card(educator, cast.north, **changes))) == [field]


# The educator's signature


def test_no_signature_is_asked_for_at_first(cast, educator):
    answer = educator.get(of(cast.north.family, "signature-new"))

    assert "No skill of this family waits for an educator’s signature." in answer.content.decode()


def test_an_awaited_signature_is_given(cast, educator):
    show(cast.north, cast.north.mother, "emergency", TODAY - timedelta(days=1))
    which = f"{cast.north.mother.case_id}/emergency"
    send(educator, of(cast.north.family, "signature-new"), which=which)
    body = last(cast.north.family).data

    assert (body["by"], body["skill"], body["on"]) == ("educator", "emergency", "2026-05-14")


def test_a_signature_nobody_awaits_is_no_choice(cast, educator):
    show(cast.north, cast.north.mother, "emergency", TODAY - timedelta(days=1))
    sign_off_suction(cast.north, cast.north.mother)
    which = f"{cast.north.mother.case_id}/suction"

    assert list(errors(send(educator, of(cast.north.family, "signature-new"), which=which))) == ["which"]


def test_the_address_chooses_whose_signature(cast, educator):
    for caregiver in (cast.north.mother, cast.north.father):
        show(cast.north, caregiver, "emergency", TODAY - timedelta(days=1))
    address = of(cast.north.family, "signature-new") + f"?caregiver={cast.north.father.case_id}&skill=emergency"

    assert educator.get(address).context["form"]["which"].value() == f"{cast.north.father.case_id}/emergency"
