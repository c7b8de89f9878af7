"""Writing what a care plan may state, the notice and the checks; publishing them; and what is refused."""

from __future__ import annotations

from datetime import date

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY, plan
from tests.factories import PASSWORD
from tests.training.pages.curriculum.test_drafting_pages import errors
from training.curriculum import drafting, stating
from training.curriculum.words import facts_of
from training.records.models import Record
from training.standing.projecting import programme_differences

SOURCE = "A digest of a guideline."


def fact_post(*choices, version=1, **changes):
    """A post of the form for one fact. choices: (code, place, words)."""
    data = {"version": version, "title": "Age group", "plain": "how old", "kind": "choice", **changes}
    data |= {"choice-TOTAL_FORMS": len(choices), "choice-INITIAL_FORMS": len(choices)}
    for n, (code, place, title) in enumerate(choices):
        data |= {f"choice-{n}-code": code, f"choice-{n}-place": place, f"choice-{n}-title": title}
    return data


AGES = [("", 2, "Child"), ("", 1, "Infant"), ("", "", "Grown up")]


def fact(draft, code):
    draft.refresh_from_db()
    return facts_of(draft.body["facts"]).get(code)


def publish(client, page, **changes):
    """Look at the draft of the facts, and sign it."""
    asked = {
        "intent": "5f1f2f4e-9c2c-4a77-9d6a-2a6d0e1d7c11",
        "drafts": ["~facts"],
        "version_~facts": 2,
        "first_day": date(2026, 5, 15).isoformat(),
        "note": "As the new guideline says.",
        **changes,
    }
    seen = client.post(page("publish"), asked)
    if seen.context.get("affected") is None:
        return seen, None
    shown = seen.context["form"]["shown"].value()
    return seen, client.post(page("publish"), {**asked, "shown": shown, "password": PASSWORD, "sign": "y"}, follow=True)


# Facts ----------------------------------------------------------------------------------------------------


def test_a_fact_is_added_with_its_choices_in_order(educator, facts, page):
    educator.post(page("fact-new"), fact_post(*AGES))

    made = fact(facts, "age_group")
    assert list(made["choices"].items()) == [("infant", "Infant"), ("child", "Child"), ("grown_up", "Grown up")]


def test_choices_are_put_in_another_order_and_keep_their_codes(educator, facts, page):
    educator.post(page("fact-edit", "cuff"), fact_post(("none", 2, "No cuff at all"), ("air", 1, "Filled with air")))

    assert list(fact(facts, "cuff")["choices"].items()) == [("air", "Filled with air"), ("none", "No cuff at all")]


def test_a_number_keeps_its_unit_and_limits(educator, facts, page):
    post = fact_post(title="Oxygen", plain="oxygen", kind="number", unit="l/min", low="0.5", high="6")
    educator.post(page("fact-new"), post)

    assert fact(facts, "oxygen") == {
        "code": "oxygen", "title": "Oxygen", "plain": "oxygen", "kind": "number", "unit": "l/min", "low": 0.5, "high": 6,
    }  # fmt: skip


def test_a_fact_that_says_nothing_about_equipment(educator, facts, page):
    post = fact_post(("none", 1, "No cuff"), ("air", 2, "Filled with air"), title="Cuff", no_device="on")
    educator.post(page("fact-edit", "cuff"), post)
    assert fact(facts, "cuff")["device"] is False
    assert educator.get(page("fact-edit", "cuff")).context["form"]["no_device"].value() is True

    del post["no_device"]
    educator.post(page("fact-edit", "cuff"), {**post, "version": 2})
    assert "device" not in fact(facts, "cuff")


def test_the_preview_says_which_fact_is_not_about_equipment(educator, facts, page):
    post = fact_post(("none", 1, "No cuff"), ("air", 2, "Filled with air"), title="Cuff", no_device="on")
    educator.post(page("fact-edit", "cuff"), post)
    seen, _signed = publish(educator, page)

    assert "Fact “Cuff”: not about equipment." in " ".join(seen.content.decode().split())


def test_the_kind_and_unit_of_a_published_fact_stay(educator, facts, page):
    post = fact_post(title="Tube", plain="tube", kind="yes_no", unit="cm", low="2", high="11")
    educator.post(page("fact-edit", "tube_id_mm"), post)

    made = fact(facts, "tube_id_mm")
    assert (made["title"], made["kind"], made["unit"], made["high"]) == ("Tube", "number", "mm", 11)


def test_a_fact_never_published_goes_and_leaves_nothing(educator, facts, page):
    educator.post(page("fact-new"), fact_post(*AGES))
    educator.post(page("fact-edit", "age_group"), {"version": 2, "remove": "yes"})

    assert fact(facts, "age_group") is None


def test_a_published_fact_is_retired_and_brought_back(educator, facts, page, north):
    unused = {"code": "school", "title": "School", "plain": "school", "kind": "yes_no"}
    north.programme.about = {**north.programme.about, "facts": [*north.programme.about["facts"], unused]}
    north.programme.save()
    drafting.save(facts, {**facts.body, "facts": [*facts.body["facts"], unused]}, version=1, by=north.educator, at=NOW)

    educator.post(page("fact-edit", "school"), {"version": 2, "remove": "yes"})
    assert fact(facts, "school")["retired"] is True
    assert "Retired" in educator.get(page("facts-draft")).content.decode()

    educator.post(page("fact-edit", "school"), {"version": 3, "back": "yes"})
    assert "retired" not in fact(facts, "school")


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("suction", "Suctioning, edition 1: the condition uses this fact."),
        ("cuff", "Suctioning, edition 1: the condition of step 5 uses this fact."),
        ("tube_id_mm", "Suctioning, edition 1: what its change does uses this fact."),
    ],
)
def test_a_fact_in_use_is_not_retired(educator, facts, page, code, said):
    answer = educator.post(page("fact-edit", code), {"version": 1, "remove": "yes"}, follow=True)

    assert said in answer.content.decode()
    assert "retired" not in fact(facts, code)


def test_a_fact_that_a_check_reads_is_not_retired(educator, facts, page, north):
    new = {"code": "fr", "title": "Catheter", "plain": "catheter", "kind": "number", "unit": "Fr"}
    checks = {"catheter": {"tube": "tube_id_mm", "order": "fr", "per_cent": 50, "source": SOURCE}}
    body = {**facts.body, "facts": [*facts.body["facts"], new], "checks": checks}
    drafting.save(facts, body, version=1, by=north.educator, at=NOW)

    answer = educator.post(page("fact-edit", "fr"), {"version": 2, "remove": "yes"}, follow=True)

    assert "Checks: the catheter uses this fact." in answer.content.decode()


@pytest.mark.parametrize(
    ("code", "post", "said"),
    [
        ("cuff", fact_post(("none", 1, "No cuff"), ("air", 2, "")), "“Filled with air” is published and stays"),
        ("cuff", fact_post(("none", 1, "Same"), ("air", 2, "Same")), "Two choices have the same words."),
        (None, fact_post(("", 1, "")), "Write at least one choice."),
        (None, fact_post(kind="number", unit="CMH2O"), "Write a pressure’s unit as cmH2O, mmHg or kPa."),
        (None, fact_post(kind="number", unit="mm", low="3", high="2"), "This is below the lowest."),
        (None, fact_post(kind="number", unit="mm", low="NaN"), "Enter a number."),
        (None, fact_post(kind="feeling"), "Select a valid choice."),
        (None, fact_post(*AGES, title="x" * 121), "at most 120 characters"),
    ],
)
def test_a_fact_that_cannot_be_is_refused(educator, facts, page, code, post, said):
    answer = educator.post(page("fact-edit", code) if code else page("fact-new"), post)

    assert said in answer.content.decode()
    facts.refresh_from_db()
    assert facts.version == 1


def test_a_made_up_code_of_a_choice_is_not_taken(educator, facts, page):
    educator.post(page("fact-new"), fact_post(("../x", 1, "One"), ("none", 2, "Two")))

    assert list(fact(facts, "age_group")["choices"]) == ["one", "two"]


def test_a_step_may_use_a_fact_that_is_only_drafted(educator, facts, draft, page):
    educator.post(page("fact-new"), fact_post(*AGES))

    assert "when_age_group" in educator.get(page("step-new", "suction")).context["form"].fields


def test_a_second_writer_is_told(educator, facts, north, page):
    drafting.save(facts, facts.body, version=1, by=north.supervisor, at=NOW)

    answer = educator.post(page("notice-edit"), {"version": 1, "title": "T", "notice": "N"})

    assert f"{north.supervisor.signed_name} changed this draft" in errors(answer)["__all__"]


# Checks ---------------------------------------------------------------------------------------------------


@pytest.fixture
def orders(facts, north):
    """The draft with facts that an order states: the outer diameter, the catheter, the cuff's pressure, an age group."""
    new = [
        {"code": "od", "title": "Outer", "plain": "outer", "kind": "number", "unit": "mm"},
        {"code": "fr", "title": "Catheter", "plain": "catheter", "kind": "number", "unit": "Fr"},
        {"code": "press", "title": "Cuff pressure", "plain": "cuff", "kind": "number", "unit": "cmH2O"},
        {"code": "age", "title": "Age group", "plain": "age", "kind": "choice", "choices": {"child": "Child", "adult": "Adult"},
         "choice_order": ["child", "adult"]},
    ]  # fmt: skip
    drafting.save(facts, {**facts.body, "facts": [*facts.body["facts"], *new]}, version=1, by=north.educator, at=NOW)
    facts.refresh_from_db()
    return facts


def checks(draft):
    draft.refresh_from_db()
    return draft.body.get("checks")


CATHETER = {"version": 2, "tube": "tube_id_mm", "order": "fr", "by": "area", "per_cent": "50", "source": SOURCE}


@pytest.mark.parametrize("strictly", [True, False])
def test_the_catheter_rule(educator, orders, page, strictly):
    educator.post(page("check-catheter"), CATHETER | ({"strictly_below": "on"} if strictly else {}))

    expected = {"tube": "tube_id_mm", "order": "fr", "by": "area", "per_cent": 50, "source": SOURCE}
    assert checks(orders) == {"catheter": expected | ({"strictly_below": True} if strictly else {})}
    said = educator.get(page("facts-draft")).content.decode()
    assert "elow 50 % of the tube’s area" in said if strictly else "At most 50 % of the tube’s area" in said


def test_tube_and_spares(educator, orders, page):
    educator.post(page("check-tube"), {"version": 2, "inner": "tube_id_mm", "outer": "od"})
    educator.post(page("check-spares"), {"version": 3, "tube": "tube_id_mm", "step_mm": "0.5", "source": SOURCE})

    assert checks(orders) == {
        "tube": {"inner": "tube_id_mm", "outer": "od"},
        "spares": {"tube": "tube_id_mm", "step_mm": 0.5, "source": SOURCE},
    }


def test_a_range_by_age_group_and_one_for_everybody(educator, orders, page):
    by_age = {"version": 2, "title": "Cuff", "order": "press", "unit": "mmhg",
              "low_child": "15", "high_child": "18.5", "source_child": SOURCE, "high_adult": "22", "source_adult": SOURCE}  # fmt: skip
    educator.post(f"{page('range-new')}?by=age", by_age)
    educator.post(page("range-new"), {"version": 3, "title": "Cuff", "order": "press", "unit": "cmH2O",
                                      "high_all": "30", "source_all": SOURCE})  # fmt: skip

    one, two = checks(orders)["ranges"]
    assert one == {
        "code": "cuff", "title": "Cuff", "order": "press", "unit": "mmHg", "by": "age",
        "limits": {"child": {"low": 15, "high": 18.5, "source": SOURCE}, "adult": {"high": 22, "source": SOURCE}},
    }  # fmt: skip
    assert (two["code"], two["limits"]) == ("cuff_2", {"all": {"high": 30, "source": SOURCE}})


def test_a_range_is_changed_and_taken_out(educator, orders, page):
    post = {"title": "Cuff", "order": "press", "unit": "cmH2O", "high_all": "30", "source_all": SOURCE}
    educator.post(page("range-new"), {"version": 2, **post})
    educator.post(page("range-edit", "cuff"), {"version": 3, **post, "low_all": "20"})
    assert checks(orders)["ranges"][0]["limits"]["all"] == {"low": 20, "high": 30, "source": SOURCE}
    form = educator.get(page("range-edit", "cuff")).context["form"]
    assert form["low_all"].value() == 20

    educator.post(page("range-edit", "cuff"), {"version": 4, "remove": "yes"})
    assert checks(orders) == {"ranges": []}


@pytest.mark.parametrize(
    ("name", "post", "field", "said"),
    [
        ("check-catheter", CATHETER | {"source": ""}, "source", "This field is required."),
        ("check-catheter", CATHETER | {"per_cent": "100"}, "per_cent", "Ensure this value is less than or equal to 99."),
        ("check-catheter", CATHETER | {"order": "press"}, "order",
         "Select a valid choice. press is not one of the available choices."),
        ("check-spares", {"version": 2, "tube": "tube_id_mm", "step_mm": "0", "source": SOURCE}, "step_mm",
         "This has to be above zero."),
        ("range-new", {"version": 2, "title": "C", "order": "press", "unit": "", "high_all": "3", "source_all": "x"}, "unit",
         "This field is required."),
        ("range-new", {"version": 2, "title": "C", "order": "press", "unit": "mm", "high_all": "3", "source_all": "x"}, "order",
         "Press is in cmH2O, not in mm."),
        ("range-new", {"version": 2, "title": "C", "order": "press", "unit": "kPa", "high_all": "3"}, "source_all",
         "A limit needs its source, or “common practice, no source”."),
        ("range-new", {"version": 2, "title": "C", "order": "press", "unit": "kPa", "low_all": "4", "high_all": "3", "source_all": "x"},
         "high_all", "This is below “at least”."),
        ("range-new", {"version": 2, "title": "C", "order": "press", "unit": "kPa"}, "__all__",
         "Set a limit for at least one group."),
    ],
)  # fmt: skip
def test_a_check_that_cannot_be_is_refused_at_its_field(educator, orders, page, name, post, field, said):
    answer = educator.post(page(name), post)

    assert errors(answer)[field] == said
    assert checks(orders) is None


def test_a_range_by_what_is_no_choice_is_not_there(educator, orders, page):
    for by in ("tube_id_mm", "nonsense"):
        assert educator.get(f"{page('range-new')}?by={by}").status_code == 404


# Publishing -----------------------------------------------------------------------------------------------


def test_the_preview_says_what_changes_and_beside_whose_order(educator, orders, north, page):
    plan(north, north.family, TODAY, {"suction": True, "cuff": "none", "tube_id_mm": 5, "fr": 8})
    educator.post(page("check-catheter"), CATHETER | {"by": "diameter"})

    seen, signed = publish(educator, page, **{"version_~facts": 3})

    said = " ".join(seen.content.decode().split())
    assert "Fact added: “Catheter”." in said
    assert "Check added, Suction catheter for this tube: at most 50 % of the tube’s inner diameter" in said
    assert "at most 6 Fr" in said
    assert "order and check disagree" in said
    moved = {family.name: checks[0].new.agrees for family, checks in seen.context["facts"].families}
    assert moved == {north.family.name: False, "Quist": None}  # no catheter is ordered there
    assert "Published." in signed.content.decode()
    checks = educator.get(reverse("family", args=[north.family.public_id])).context["checks"]
    assert [(c.computed, c.agrees) for c in checks] == [("at most 6 Fr", False)]


def test_what_is_published_is_the_record_with_its_note(educator, facts, north, page):
    educator.post(page("notice-edit"), {"version": 1, "title": "Our own", "notice": "The prescriber comes first."})

    _seen, signed = publish(educator, page)

    north.programme.refresh_from_db()
    assert signed.status_code == 200
    assert (north.programme.title, north.programme.about["notice"]) == ("Our own", "The prescriber comes first.")
    assert not north.programme.drafts.exists()
    assert list(programme_differences(north.programme.public_id)) == []
    last = Record.objects.of_chain(north.programme.public_id).last()
    assert (last.kind, last.data["signed"]["note"]) == ("programme", "As the new guideline says.")


SAMPLE = "Sample, or copied from a sample."
OWN = {"version": 1, "title": "Our own", "notice": "The prescriber comes first."}


def test_a_programme_says_it_is_a_sample_until_it_is_signed_that_it_is_adapted(educator, facts, north, page):
    programme = reverse("programme", args=[north.programme.public_id])
    checklist = reverse("checklist", args=[north.programme.public_id, "suction", 1])
    for address in (programme, checklist, reverse("programmes"), page("facts-draft")):
        assert SAMPLE in educator.get(address).content.decode()

    educator.post(page("notice-edit"), {**OWN, "adapted": "on"})
    assert "Adapted: no longer a sample, once this is published." in educator.get(page("facts-draft")).content.decode()
    assert SAMPLE in educator.get(programme).content.decode()
    seen, signed = publish(educator, page)

    assert any(line.startswith("No longer a sample") for line in seen.context["facts"].changes)
    assert SAMPLE not in signed.content.decode()
    assert SAMPLE not in educator.get(checklist).content.decode()
    last = Record.objects.of_chain(north.programme.public_id).last()
    assert ("sample" in last.data, last.data["signed"]["id"]) == (False, north.educator.observer_id)
    assert list(programme_differences(north.programme.public_id)) == []


def test_other_words_alone_leave_a_sample_one(educator, facts, north, page):
    educator.post(page("notice-edit"), OWN)
    publish(educator, page)

    north.programme.refresh_from_db()
    assert (north.programme.title, north.programme.about["sample"]) == ("Our own", True)


def test_adapted_is_taken_back_before_it_is_signed(educator, facts, page):
    educator.post(page("notice-edit"), {**OWN, "adapted": "on"})
    assert educator.get(page("notice-edit")).context["form"]["adapted"].value() is True
    educator.post(page("notice-edit"), {**OWN, "version": 2})

    facts.refresh_from_db()
    assert "adapted" not in facts.body


def test_what_is_no_sample_is_not_asked_whether_it_is_adapted(educator, facts, north, page):
    north.programme.about = {k: v for k, v in north.programme.about.items() if k != "sample"}
    north.programme.save()

    assert "adapted" not in educator.get(page("notice-edit")).context["form"].fields


def test_a_draft_without_a_change_is_not_published(educator, facts, page):
    _seen, signed = publish(educator, page, **{"version_~facts": 1})

    assert "nothing in them is other than what is published" in signed.content.decode()


def test_a_draft_overtaken_is_refused_until_taken_account_of(educator, facts, north, page):
    north.programme.about = {**north.programme.about, "notice": "Another."}
    north.programme.save()

    assert "published after this draft was begun" in educator.get(page("facts-draft")).content.decode()
    answer, _signed = publish(educator, page, **{"version_~facts": 1})
    assert "were published again since this draft was begun" in answer.content.decode()

    educator.post(page("facts-follow"), {"version": 1})
    facts.refresh_from_db()
    assert not stating.is_overtaken(facts)


def test_a_retired_fact_is_not_asked_of_a_care_plan_and_keeps_its_words(educator, facts, north, page, signed_in):
    educator.post(page("fact-new"), fact_post(*AGES))
    publish(educator, page)
    plan(north, north.family, TODAY, {"suction": True, "age_group": "infant"})
    assert "Infant" in educator.get(reverse("family", args=[north.family.public_id])).content.decode()

    educator.post(page("facts-begin"))
    educator.post(page("fact-edit", "age_group"), {"version": 1, "remove": "yes"})
    seen, _signed = publish(educator, page, intent="5f1f2f4e-9c2c-4a77-9d6a-2a6d0e1d7c12")

    assert seen.context["facts"].retired == (("Age group", 1),)
    form = educator.get(reverse("care-plan-new", args=[north.family.public_id])).context["form"]
    assert "fact_age_group" not in form.fields
    assert "fact_cuff" in form.fields
    assert "Infant" in educator.get(reverse("family", args=[north.family.public_id])).content.decode()


def test_an_edition_that_names_a_retired_fact_is_refused(educator, facts, draft, north, page):
    retired = [{**f, "retired": True} if f["code"] == "cuff" else f for f in facts.body["facts"]]
    drafting.save(facts, {**facts.body, "facts": retired}, version=1, by=north.educator, at=NOW)

    said = educator.get(page("edition-draft", "suction")).content.decode()

    assert "is no fact of this programme" in said
