"""The draft of sets, team and items."""

from __future__ import annotations

import pytest

from tests.cast import NOW
from training.curriculum import drafting


def body_of(rules):
    rules.refresh_from_db()
    return rules.body


def people(*lines):
    data = {"people-TOTAL_FORMS": max(1, len(lines)), "people-INITIAL_FORMS": 0}
    for n, line in enumerate(lines):
        data |= {f"people-{n}-{key}": value for key, value in line.items()}
    return data


def test_a_set_is_added_with_a_code_of_its_name(educator, rules, page):
    educator.post(page("set-new"), {"version": 1, "title": "Night care", "plain": "", "skills": ["hands", "suction"]})

    assert body_of(rules)["sets"]["night_care"] == {"title": "Night care", "skills": ["hands", "suction"]}


def test_a_set_is_changed_in_its_place(educator, rules, page):
    educator.post(page("set-edit", "daytime"), {"version": 1, "title": "Day", "plain": "by day", "skills": ["hands"]})

    assert body_of(rules)["sets"]["daytime"] == {"title": "Day", "plain": "by day", "skills": ["hands"]}


@pytest.mark.parametrize("post", [{"remove": "yes"}, {"title": "Full care", "skills": []}])
def test_a_set_that_the_team_asks_for_is_neither_removed_nor_emptied(educator, rules, page, post):
    answer = educator.post(page("set-edit", "full"), {"version": 1, **post}, follow=True)

    assert "“one full” asks for" in answer.content.decode()
    assert len(body_of(rules)["sets"]["full"]["skills"]) == 5


def test_a_set_nobody_asks_for_is_removed(educator, rules, page):
    educator.post(page("set-edit", "daytime"), {"version": 1, "remove": "yes"})

    assert list(body_of(rules)["sets"]) == ["full"]


def test_a_way_to_meet_the_team(educator, rules, page):
    lines = people({"count": 1, "set": "full", "minimum_age": 21}, {"count": 2, "set": "daytime"}, {"set": ""})

    educator.post(page("way-new"), {"version": 1, "name": "three", "patient_alone": "on", **lines})

    assert body_of(rules)["team"][1] == {
        "name": "three",
        "people": [{"set": "full", "count": 1, "minimum_age": 21}, {"set": "daytime", "count": 2}],
        "patient_alone": True,
    }


@pytest.mark.parametrize(
    ("line", "field"),
    [
        ({"count": -1, "set": "full"}, "count"),
        ({"count": 0, "set": "full"}, "count"),
        ({"count": 1, "set": "juggling"}, "set"),
        ({"count": 2, "set": ""}, "set"),
        ({"count": "", "set": "full"}, "count"),
        ({"count": 1, "set": "full", "minimum_age": -3}, "minimum_age"),
    ],
)
def test_a_team_that_cannot_be_is_refused_at_its_line(educator, rules, page, line, field):
    answer = educator.post(page("way-new"), {"version": 1, "name": "x", **people(line)})

    assert field in answer.context["form"].rows[0].errors
    assert len(body_of(rules)["team"]) == 1


def test_a_team_of_a_set_without_skills_is_refused(north, educator, rules, page):
    sets = {**rules.body["sets"], "none": {"title": "None", "skills": []}}
    drafting.save(rules, {**rules.body, "sets": sets}, version=1, by=north.educator, at=NOW)

    answer = educator.post(page("way-new"), {"version": 2, "name": "x", **people({"count": 1, "set": "none"})})

    assert answer.context["form"].rows[0].errors["set"] == ["This set has no skill, so nobody can hold it."]


def test_the_only_way_stays(educator, rules, page):
    answer = educator.post(page("way-edit", 0), {"version": 1, "remove": "yes"}, follow=True)

    assert "this is the only way" in answer.content.decode()
    assert len(body_of(rules)["team"]) == 1


def test_items(educator, rules, page):
    educator.post(page("rule-item-new"), {"version": 1, "title": "Bag", "valid_for_n": "6", "valid_for_unit": "M"})
    educator.post(
        page("rule-item-edit", "kit"), {"version": 2, "title": "Kit", "valid_for_n": "", "valid_for_unit": "D"}
    )
    educator.post(page("rule-item-edit", "papers"), {"version": 3, "remove": "yes"})

    kit, bag = body_of(rules)["items"]
    assert (kit["code"], kit["title"], "valid_for" in kit) == ("kit", "Kit", False)
    assert bag == {"code": "bag", "title": "Bag", "valid_for": "P6M"}


def test_what_stands_beside_an_item_and_its_hours(educator, rules, page):
    form = educator.get(page("rule-item-edit", "kit")).context["form"]
    assert form["sizes"].value() == ["tube_id_mm"]
    sent = {"version": 1, "title": "Kit", "valid_for_n": "", "valid_for_unit": "D", "hours": "48"}
    educator.post(page("rule-item-edit", "kit"), {**sent, "sizes": ["cuff", "tube_id_mm"]})

    kit = body_of(rules)["items"][0]
    assert (kit["sizes"], kit["hours"]) == (["cuff", "tube_id_mm"], 48)
    educator.post(page("rule-item-edit", "kit"), {**sent, "version": 2, "hours": ""})
    assert not {"sizes", "hours"} & body_of(rules)["items"][0].keys()
    answer = educator.post(page("rule-item-edit", "kit"), {**sent, "version": 3, "sizes": ["boat"]})
    assert list(answer.context["form"].errors) == ["sizes"]


@pytest.mark.parametrize(("name", "more"), [("set-edit", ["x"]), ("way-edit", [9]), ("rule-item-edit", ["x"])])
def test_what_is_not_there_is_not_found(educator, rules, page, name, more):
    assert educator.get(page(name, *more)).status_code == 404
