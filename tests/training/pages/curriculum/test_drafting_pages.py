"""Writing a draft: its words, steps, conditions, what comes first; two people at once; what is refused and where."""

from __future__ import annotations

import pytest

from tests.cast import NOW
from training.curriculum import drafting
from training.curriculum.models import ProgrammeDraft


def errors(answer):
    form = answer.context["form"]
    return {name: " ".join(said) for name, said in form.errors.items()}


def step_post(**changes):
    return {"version": 1, "text": "Checks the spare tube", "kind": "critical", "plain": "Have a spare tube.", **changes}


def steps_of(draft):
    draft.refresh_from_db()
    return draft.body["edition"]["steps"]


# Reaching it ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("role", "status"), [("educator", 200), ("supervisor", 200), ("administrator", 200), ("auditor", 403)]
)
@pytest.mark.parametrize(
    "name",
    ["writing", "edition-draft", "edition-words", "edition-when", "edition-standard", "step-new", "edition-throw-away",
     "facts-draft", "facts-throw-away", "notice-edit", "fact-new", "check-tube", "check-catheter", "check-spares",
     "range-new", "rules-draft", "set-new", "way-new", "rule-item-new", "rules-throw-away", "publish", "programme-copy", "skill-new"],
)  # fmt: skip
def test_who_may_write(cast, draft, rules, facts, page, signed_in, role, status, name):
    more = ["suction"] if name.startswith(("edition-", "step-")) else []

    assert signed_in(getattr(cast.north, role)).get(page(name, *more)).status_code == status
    assert signed_in(getattr(cast.south, role)).get(page(name, *more)).status_code == 404


def test_everybody_on_the_staff_may_read_the_editions(cast, page, signed_in):
    assert signed_in(cast.north.auditor).get(page("editions", "suction")).status_code == 200
    assert signed_in(cast.south.auditor).get(page("editions", "suction")).status_code == 404


def test_beginning_twice_is_one_draft(north, educator, page):
    for _ in range(2):
        assert educator.post(page("edition-begin", "suction")).status_code == 302

    assert ProgrammeDraft.objects.get(programme=north.programme).skill == "suction"


def test_a_skill_that_is_not_there_has_no_draft(educator, page):
    assert educator.post(page("edition-begin", "juggling")).status_code == 404
    assert educator.get(page("edition-draft", "juggling")).status_code == 404


def test_the_hub_says_whose_draft_it_is(north, educator, draft, page):
    said = educator.get(page("writing")).content.decode()

    assert north.educator.signed_name in said
    assert "14 May 2026, 10:00" in said  # by the organisation's clock


# Steps ----------------------------------------------------------------------------------------------------


def test_a_critical_step_is_added_at_the_end(educator, draft, page):
    educator.post(page("step-new", "suction"), step_post())

    assert steps_of(draft)[-1] == {
        "code": "s07",
        "text": "Checks the spare tube",
        "plain": "Have a spare tube.",
        "critical": True,
    }


def test_a_new_step_never_takes_an_old_code(north, educator, draft, page):
    edition = {**draft.body["edition"], "steps": draft.body["edition"]["steps"][:2]}
    drafting.save(draft, {**draft.body, "edition": edition}, version=1, by=north.educator, at=NOW)

    educator.post(page("step-new", "suction"), step_post(version=2))

    assert [s["code"] for s in steps_of(draft)] == ["s01", "s02", "s07"]


@pytest.mark.parametrize(
    ("move", "order"),
    [
        ("up:s02", ["s02", "s01", "s03", "s04", "s05", "s06"]),
        ("down:s02", ["s01", "s03", "s02", "s04", "s05", "s06"]),
        ("up:s01", ["s01", "s02", "s03", "s04", "s05", "s06"]),
        ("down:s06", ["s01", "s02", "s03", "s04", "s05", "s06"]),
        ("up:s99", ["s01", "s02", "s03", "s04", "s05", "s06"]),
        ("sideways:s02", ["s01", "s02", "s03", "s04", "s05", "s06"]),
    ],
)
def test_a_step_moves_by_a_button(educator, draft, page, move, order):
    educator.post(page("step-move", "suction"), {"version": 1, "move": move})

    assert [s["code"] for s in steps_of(draft)] == order


def test_a_step_of_an_older_page_is_not_moved(north, educator, draft, page):
    drafting.save(draft, draft.body, version=1, by=north.supervisor, at=NOW)

    answer = educator.post(page("step-move", "suction"), {"version": 1, "move": "up:s02"}, follow=True)

    assert [s["code"] for s in steps_of(draft)][:2] == ["s01", "s02"]
    assert "Nothing was moved" in answer.content.decode()


def test_what_the_form_does_not_ask_about_stays(north, educator, draft, page):
    """A key another part of the site keeps on a step outlives an edit."""
    edition = drafting.with_step(draft.body["edition"], {**draft.body["edition"]["steps"][2], "limit": "depth"})
    drafting.save(draft, {**draft.body, "edition": edition}, version=1, by=north.educator, at=NOW)

    educator.post(page("step-edit", "suction", "s03"), step_post(version=2, unit="s", high="8"))

    step = steps_of(draft)[2]
    assert (step["limit"], step["measure"], step["text"]) == (
        "depth",
        {"unit": "s", "high": 8},
        "Checks the spare tube",
    )


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"text": ""}, "text", "This field is required."),
        ({"text": "x" * 301}, "text", "Ensure this value has at most 300 characters (it has 301)."),
        ({"high": "10"}, "unit", "A limit needs its unit: a bare number is not enough."),
        ({"unit": "s", "low": "9", "high": "3"}, "low", "This is above “at most”."),
        ({"unit": "s", "low": "nine"}, "low", "Write a number with a point, such as 4.5."),
        ({"when_tube_id_mm": "4 five"}, "when_tube_id_mm", "“five” is no number."),
        ({"when_tube_id_mm": "40"}, "when_tube_id_mm", "40 is outside 2 to 12."),
        ({"when_tube_id_mm": "NaN"}, "when_tube_id_mm", "“NaN” is no number."),
        ({"when_cuff": ["square"]}, "when_cuff",
         "Select a valid choice. square is not one of the available choices."),
    ],
)  # fmt: skip
def test_a_step_that_cannot_be_is_refused_at_its_field(educator, draft, page, changes, field, said):
    answer = educator.post(page("step-new", "suction"), step_post(**changes))

    assert errors(answer)[field] == said
    assert len(steps_of(draft)) == 6


def test_conditions_are_picked_from_the_programmes_facts(educator, draft, page):
    educator.post(
        page("step-new", "suction"),
        step_post(when_cuff=["air"], when_tube_id_mm="4 4.5", when_suction=["yes"], roles="lead", kind="may_skip"),
    )

    step = steps_of(draft)[-1]
    assert step["applies_when"] == {"cuff": ["air"], "tube_id_mm": [4, 4.5], "suction": [True]}
    assert (step["roles"], step["may_skip"], "critical" in step) == (["lead"], True, False)


def test_a_step_is_taken_out(educator, draft, page):
    educator.post(page("step-edit", "suction", "s04"), {"version": 1, "remove": "yes"})

    assert [s["code"] for s in steps_of(draft)] == ["s01", "s02", "s03", "s05", "s06"]


def test_the_last_step_a_need_asks_for_stays_and_says_why(north, educator, page):
    draft = drafting.begin_edition(north.programme, "tube_change", by=north.educator, at=NOW)
    lead = {"code": "s01", "text": "Leads", "roles": ["lead"]}
    assist = {"code": "s02", "text": "Helps", "roles": ["assist"]}
    edition = {**draft.body["edition"], "steps": [lead, assist]}
    drafting.save(draft, {**draft.body, "edition": edition}, version=1, by=north.educator, at=NOW)

    answer = educator.post(page("step-edit", "tube_change", "s01"), {"version": 2, "remove": "yes"}, follow=True)

    assert "The step stays. standard, need 1: asks for a pass, and no step is left to be shown leading." in (
        answer.content.decode()
    )
    assert len(steps_of(draft)) == 2


# Two at once ----------------------------------------------------------------------------------------------


def test_the_second_of_two_is_told_and_keeps_what_was_typed(north, educator, draft, page):
    other = {**draft.body, "words": {**draft.body["words"], "title": "Theirs"}}
    drafting.save(draft, other, version=1, by=north.supervisor, at=NOW)

    answer = educator.post(page("step-new", "suction"), step_post())

    said = answer.content.decode()
    assert f"{north.supervisor.signed_name} changed this draft at 10:00" in said
    assert "Checks the spare tube" in said
    assert answer.context["form"]["version"].value() == "2"
    assert len(steps_of(draft)) == 6

    educator.post(page("step-new", "suction"), step_post(version=2))
    assert len(steps_of(draft)) == 7
    assert draft.body["words"]["title"] == "Theirs"


# Words, conditions and what comes first -------------------------------------------------------------------

WORDS = {"title": "Suction", "plain": "Clearing the tube", "group": "routine", "why": "Air."}


def test_words_and_cautions(educator, draft, page):
    educator.post(page("edition-words", "suction"), {"version": 1, **WORDS, "cautions": "One.\n\n Two. "})

    draft.refresh_from_db()
    assert draft.body["words"] == {**WORDS, "cautions": ["One.", "Two."]}


def first(*rows):
    data = {"first-TOTAL_FORMS": len(rows), "first-INITIAL_FORMS": 0}
    for n, row in enumerate(rows):
        data |= {f"first-{n}-{key}": value for key, value in row.items()}
    return data


def test_when_and_what_first(educator, draft, page):
    post = {
        "version": 1,
        "needs_authorisation": "on",
        "when_cuff": ["none", "air"],
        "change_cuff": "recheck_by",
        "by_cuff_n": "7",
        "by_cuff_unit": "D",
        "change_tube_id_mm": "restart",
        **first({"skill": "hands", "within_n": "3", "within_unit": "M", "only_to_learn": "on"}, {"skill": ""}),
    }

    educator.post(page("edition-when", "suction"), post)

    draft.refresh_from_db()
    edition = draft.body["edition"]
    assert edition["applies_when"] == {"cuff": ["none", "air"]}
    assert edition["requires"] == [{"skill": "hands", "within": "P3M", "only_to_learn": True}]
    assert edition["on_change"] == {"cuff": {"recheck_by": "P7D"}, "tube_id_mm": "restart"}
    assert edition["needs_authorisation"] is True


def test_what_is_there_comes_back_unchanged(educator, draft, page):
    before = draft.body["edition"]
    form = educator.get(page("edition-when", "suction")).context["form"]
    post = {name: form[name].value() for name in form.fields if form[name].value() not in (None, "", False)}
    period = {k: v for k, v in post.items() if k.startswith("by_")}
    assert period == {}

    educator.post(page("edition-when", "suction"), {**post, **first({"skill": ""})})

    draft.refresh_from_db()
    assert draft.body["edition"] == before


@pytest.mark.parametrize(
    ("changes", "field", "said"),
    [
        ({"change_cuff": "recheck_by"}, "by_cuff", "Say within how long it is shown again."),
        ({"change_cuff": "recheck_by", "by_cuff_n": "-1", "by_cuff_unit": "D"}, "by_cuff",
         "Ensure this value is greater than or equal to 0."),
        ({"change_cuff": "recheck_by", "by_cuff_n": "1", "by_cuff_unit": "fortnights"}, "by_cuff",
         "Choose days, weeks, months or years."),
        ({"change_cuff": "recheck_by", "by_cuff_n": "999", "by_cuff_unit": "Y"}, "by_cuff",
         "This is longer than 200 years."),
        ({**first({"skill": "hands"}, {"skill": "hands"})}, "__all__", "What comes first: a skill is named twice."),
    ],
)  # fmt: skip
def test_changes_that_cannot_be(educator, draft, page, changes, field, said):
    answer = educator.post(page("edition-when", "suction"), {"version": 1, **first({"skill": ""}), **changes})

    assert errors(answer)[field] == said


def test_a_skill_may_not_come_before_itself(educator, draft, page):
    answer = educator.post(page("edition-when", "suction"), {"version": 1, **first({"skill": "suction"})})

    assert answer.context["form"].first[0].errors["skill"]


def test_a_circle_is_named_on_the_drafts_page(north, educator, page):
    draft = drafting.begin_edition(north.programme, "hands", by=north.educator, at=NOW)
    edition = {**draft.body["edition"], "requires": [{"skill": "tube_change"}]}
    drafting.save(draft, {**draft.body, "edition": edition}, version=1, by=north.educator, at=NOW)

    said = educator.get(page("edition-draft", "hands")).content.decode()

    assert "go in a circle: Hand hygiene needs Tube change needs Hand hygiene" in said


# Skills and drafts as a whole -----------------------------------------------------------------------------


def test_a_new_skill_is_a_draft_with_a_code_of_its_title(north, educator, page):
    educator.post(page("skill-new"), {**WORDS, "title": "Żuławy câre & more"})

    draft = north.programme.drafts.get()
    assert draft.skill == "zu_awy_care_more" or draft.skill.isascii()
    said = educator.get(page("edition-draft", draft.skill)).content.decode()
    assert "is empty: nothing could be shown, and nobody signed off" in said


def test_a_draft_is_thrown_away(north, educator, draft, page):
    educator.post(page("edition-throw-away", "suction"), {"version": 1})

    assert not north.programme.drafts.exists()


def test_a_draft_changed_meanwhile_is_not_thrown_away(north, educator, draft, page):
    drafting.save(draft, draft.body, version=1, by=north.supervisor, at=NOW)

    answer = educator.post(page("edition-throw-away", "suction"), {"version": 1})

    assert "changed this draft" in answer.content.decode()
    assert north.programme.drafts.exists()


def test_a_new_skill_in_use_stays_and_says_where(north, educator, rules, page):
    educator.post(page("skill-new"), WORDS)
    body = {**rules.body, "sets": {**rules.body["sets"], "x": {"title": "Night", "skills": ["suction_2"]}}}
    skill = north.programme.drafts.exclude(skill="").get().skill
    body["sets"]["x"]["skills"] = [skill]
    drafting.save(rules, body, version=1, by=north.educator, at=NOW)

    answer = educator.post(page("edition-throw-away", skill), {"version": 1})

    assert "the set “Night” asks for this skill" in answer.content.decode()
    assert north.programme.drafts.filter(skill=skill).exists()


def test_a_draft_that_was_overtaken_says_so_until_somebody_has_looked(north, educator, draft, page):
    ProgrammeDraft.objects.update(based_on=None)
    said = educator.get(page("edition-draft", "suction")).content.decode()
    assert "Edition 1 was published after this draft was begun." in said

    educator.post(page("edition-follow", "suction"), {"version": 1})

    said = educator.get(page("edition-draft", "suction")).content.decode()
    assert "was published after this draft was begun" not in said


@pytest.mark.parametrize("version", ["", "x", "-1", "9" * 40, "²"])
@pytest.mark.parametrize("name", ["step-move", "edition-throw-away", "edition-follow", "step-new"])
def test_a_version_that_is_none_changes_nothing(educator, draft, page, name, version):
    answer = educator.post(page(name, "suction"), step_post(version=version, move="up:s02"))

    assert answer.status_code in (200, 302)
    draft.refresh_from_db()
    assert draft.version == 1
