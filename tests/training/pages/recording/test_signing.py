"""The outcome, the words for next time, and the signature."""

from __future__ import annotations

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from tests.cast import NOW, TODAY, plan, show, sign_off_suction, write
from training.people.models import Caregiver
from training.records.models import Record
from training.standing import deeds
from training.standing.models import CachedStanding, Draft


def outcome(bedside):
    answer = bedside.client.get(bedside.url())
    assert answer.status_code == 200
    return answer.content.decode()


def words(bedside, **sent):
    return bedside.client.post(bedside.url(), {"note": "", "sign": "yes", **sent})


def last_record(cast):
    return Record.objects.of_chain(cast.north.family.public_id).last()


def first_pass(cast):
    show(cast.north, cast.north.mother, "hands", TODAY - timedelta(days=5))
    show(cast.north, cast.north.mother, "suction", TODAY - timedelta(days=4))


def critical(bedside, **changes):
    """All alone, but for the first critical step."""
    bedside.all_alone(**changes)
    bedside.step(1, "prompted")


# The outcome


@pytest.mark.parametrize(
    "said", ["Passed", "5 of 5 steps independent.", "The mark is 80 %.", "Suctioning: signed off, through 14 November 2026.",
             "Before: in training.", "Gate opens: Tube change."],
)  # fmt: skip
def test_a_pass_says_what_it_brings(bedside, cast, said):
    first_pass(cast)
    bedside.all_alone()

    assert said in outcome(bedside)


def test_a_first_pass_says_what_is_still_missing(bedside):
    bedside.all_alone()

    assert "1 of 2 passes on the patient. 1 more, on another day." in outcome(bedside)


def test_a_pass_asks_for_no_line(bedside):
    bedside.all_alone()

    assert 'name="reteach_line"' not in outcome(bedside)


@pytest.mark.parametrize("said", ["Critical", "Step 1, critical", "For next time", "4 of 5 steps independent."])
def test_a_critical_attempt_says_which_step_and_asks_for_a_line(bedside, said):
    critical(bedside)

    assert said in outcome(bedside)


def test_readiness_that_changes_is_said(bedside, cast):
    """All but the tube change: kit, papers, card, the other skills and the two signatures."""
    mother, home = cast.north.mother, cast.north
    show(home, mother, "hands", TODAY - timedelta(days=9))
    sign_off_suction(home, mother, TODAY - timedelta(days=6))
    show(home, mother, "emergency", TODAY - timedelta(days=5))
    today = {"on": TODAY.isoformat()}
    for by in ("caregiver", "educator"):
        write_down("signature", home, caregiver=mother.case_id, skill="emergency", by=by, **today)
    write_down("certificate", home, caregiver=mother.case_id, skill="cpr_card", through=None, **today)
    for item in ("kit", "papers"):
        write_down("item", home, item=item, **today)
    bedside.all_alone("tube_change")

    assert "By the programme’s rules the family is now ready.</b> Before: not ready." in outcome(bedside)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"purpose": "practice"}, "14 May 2026: practice, counts for nothing."),
        ({"on": "2026-03-03"}, "What was seen: passed."),
    ],
)
def test_what_moves_nothing_is_shown_as_practice(bedside, cast, change, said):
    if "on" in change:
        unqualify(cast, bedside)
    bedside.all_alone(**change)
    page = outcome(bedside)

    assert said in page
    assert "<h1>Practice</h1>" in page


def test_a_pass_without_authorisation_says_why_it_does_not_count(bedside, cast):
    rows = Record.objects.filter(kind="authorisation", chain=cast.north.family.public_id)
    intent = next(str(r.intent) for r in rows if r.data["skill"] == "suction")
    write(cast.north.educator, cast.north.family, "void", NOW, record=intent, reason="x")
    bedside.all_alone()

    assert "14 May 2026: passed, does not count: no authorisation that day." in outcome(bedside)


def test_a_pass_behind_a_closed_gate_says_why_it_does_not_count(bedside):
    bedside.all_alone("tube_change", on="2026-05-12")

    assert "the gate was closed (Suctioning, Hand hygiene)" in outcome(bedside)


# The words for next time


def test_after_a_critical_attempt_a_line_is_due(bedside):
    critical(bedside)

    assert words(bedside, reteach_line=" ").context["form"].errors["reteach_line"] == [
        "Write one line: what you look at together before the next time."
    ]


def test_after_practice_a_line_may_be_left_out(bedside):
    critical(bedside, purpose="practice")

    assert words(bedside, reteach_line="").url == bedside.url("draft-sign")


@pytest.mark.parametrize("day", ["2026-05-13", "2027-06-01", "soon"])
def test_a_day_for_next_time_that_cannot_be(bedside, day):
    critical(bedside)
    answer = words(bedside, reteach_line="Wash first.", reteach_on=day)

    assert answer.context["form"].errors["reteach_on"]
    assert "Wash first." in answer.content.decode()


def test_a_line_is_signed_with_the_record(bedside, cast):
    critical(bedside)
    words(bedside, reteach_line="Wash first.", reteach_on="2026-05-16", note="Was tired.")
    bedside.sign()

    body = last_record(cast).data
    assert (body["reteach"], body["note"]) == ({"line": "Wash first.", "on": "2026-05-16"}, "Was tired.")


def test_the_words_are_kept_without_signing(bedside):
    critical(bedside)
    answer = bedside.client.post(bedside.url(), {"note": "Was tired.", "reteach_line": "Wash first.", "keep": "yes"})

    assert (answer.url, bedside.draft.data["note"]) == (bedside.url(), "Was tired.")


def test_an_unfinished_draft_has_no_outcome_to_keep(bedside):
    bedside.start()

    assert "Some steps have no result yet." in words(bedside).content.decode()


# The text to sign


@pytest.mark.parametrize(
    "said", ["I watched this demonstration and recorded what I saw.", "Person Number", "educator",
             "14 May 2026, 10:00, Europe/Oslo (UTC+02:00)", "Suctions no longer than the limit", "8 s, limit 10 s", "14 May 2026, 09:30.",
             "It cannot be changed.", "Wash &lt;first&gt;.", "To be shown again on 16 May 2026."],
)  # fmt: skip
def test_the_whole_text_is_shown_before_signing(bedside, said):
    critical(bedside)
    words(bedside, reteach_line="Wash <first>.", reteach_on="2026-05-16")

    assert said in bedside.client.get(bedside.url("draft-sign")).content.decode()


def test_an_unfinished_draft_is_not_offered_for_signing(bedside):
    bedside.start()

    assert bedside.client.get(bedside.url("draft-sign")).url == bedside.url()


def test_a_signature_makes_one_record_and_the_draft_goes(bedside, cast):
    bedside.all_alone()
    bedside.sign()

    assert (last_record(cast).kind, Draft.objects.count()) == ("demonstration", 0)


def test_the_stored_spans_follow(bedside, cast):
    first_pass(cast)
    bedside.all_alone()
    bedside.sign()
    now = CachedStanding.objects.filter(caregiver=cast.north.mother, skill="suction", start=TODAY).get()

    assert now.standing == "signed_off"


@pytest.mark.parametrize(
    "said", ["Signed. Record", "Suctioning: signed off, through 14 November 2026.", "Gate opens: Tube change."]
)
def test_after_signing_one_is_told_what_followed(bedside, cast, said):
    first_pass(cast)
    bedside.all_alone()
    answer = bedside.client.get(bedside.sign().url)

    assert any(said in str(message) for message in answer.context["messages"])


def test_a_fraction_is_a_number_in_the_record(bedside, cast):
    bedside.all_alone()
    bedside.step(2, "independent", value="7,50")
    bedside.sign()

    assert last_record(cast).data["results"]["s03"] == {"result": "independent", "value": Decimal("7.5")}


def test_the_record_says_who_signed_and_what_was_shown(bedside, cast):
    bedside.all_alone()
    shown = bedside.shown()
    bedside.sign(shown=shown)
    body = last_record(cast).data

    assert (body["shown"], body["signed"]["name"]) == (shown, cast.north.educator.signed_name)


# What goes wrong


@pytest.mark.parametrize("password", ["nonsense", "", " "])
def test_a_wrong_password_signs_nothing(bedside, cast, password):
    bedside.all_alone()
    before = last_record(cast)
    answer = bedside.sign(password)

    assert answer.context["form"].errors["password"]
    assert (last_record(cast), Draft.objects.count()) == (before, 1)


def test_a_wrong_password_is_said_at_its_field(bedside):
    bedside.all_alone()

    assert "That is not your password. Nothing was signed" in bedside.sign("nonsense").content.decode()


def test_a_text_that_changed_is_shown_again_and_not_signed(bedside, cast):
    bedside.all_alone()
    shown = bedside.shown()
    bedside.step(1, "prompted")
    answer = bedside.sign(shown=shown)

    assert "The text to sign has changed." in answer.content.decode()
    assert answer.context["shown"] not in ("", shown)
    assert last_record(cast).kind != "demonstration"


@pytest.mark.parametrize("shown", ["", "0" * 64])
def test_a_made_up_digest_signs_nothing(bedside, shown):
    bedside.all_alone()

    assert "The text to sign has changed." in bedside.sign(shown=shown).content.decode()


def test_a_care_plan_that_brings_a_step_sends_one_back(bedside, cast):
    bedside.all_alone()
    shown = bedside.shown()
    plan(cast.north, cast.north.family, TODAY - timedelta(days=1), {"suction": True, "cuff": "air", "tube_id_mm": 5})

    assert bedside.sign(shown=shown).url == bedside.url()
    assert "A demonstration under way" in outcome(bedside)


def test_a_care_plan_that_takes_a_step_away_is_followed(bedside, cast):
    plan(cast.north, cast.north.family, TODAY - timedelta(days=2), {"suction": True, "cuff": "air", "tube_id_mm": 5})
    bedside.all_alone()
    plan(cast.north, cast.north.family, TODAY - timedelta(days=1), {"suction": True, "cuff": "none", "tube_id_mm": 5})
    words(bedside)
    bedside.sign()

    assert "s05" not in last_record(cast).data["results"]


def test_a_care_plan_that_was_voided_is_named(bedside, cast):
    bedside.all_alone()
    entry = Record.objects.get(kind="care_plan", chain=cast.north.family.public_id)
    write(cast.north.educator, cast.north.family, "void", NOW, record=str(entry.intent), reason="x")
    page = bedside.client.get(bedside.url())

    assert page.status_code == 200
    assert Draft.objects.count() == 1


def test_an_account_that_became_the_caregivers_cannot_sign(bedside, cast):
    bedside.all_alone()
    shown = bedside.shown()
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.educator.user)

    assert "You cannot observe yourself." in bedside.sign(shown=shown).content.decode()
    assert Draft.objects.count() == 1


# Twice


def test_the_same_post_twice_is_one_record(bedside, cast):
    bedside.all_alone()
    url, shown = bedside.url("draft-sign"), bedside.shown()
    answers = [bedside.client.post(url, {"password": "correct horse battery", "shown": shown}).url for _ in range(2)]

    assert answers[0] == answers[1]
    assert Record.objects.filter(kind="demonstration", chain=cast.north.family.public_id).count() == 1


@pytest.mark.parametrize("name", ["draft", "draft-sign", "draft-rest", "draft-stop", "draft-discard"])
def test_the_way_back_after_signing_leads_to_the_record(bedside, cast, name):
    bedside.all_alone()
    url = bedside.url(name)
    bedside.sign()
    answer = bedside.client.get(url, follow=True)

    assert answer.redirect_chain[0][0].endswith(f"/records/{last_record(cast).number}/")
    assert any("This is signed already, once" in str(m) for m in answer.context["messages"])


def test_the_start_of_what_is_signed_leads_to_the_record(bedside, cast):
    intent = str(uuid.uuid4())
    bedside.all_alone(intent=intent)
    bedside.sign()

    assert bedside.start(intent=intent).url.endswith(f"/records/{last_record(cast).number}/")


def test_a_signed_draft_is_not_there_for_a_colleague(bedside, cast):
    bedside.all_alone()
    url = bedside.url()
    bedside.sign()
    bedside.client.force_login(cast.north.supervisor.user)

    assert bedside.client.get(url).status_code == 404


def unqualify(cast, bedside):
    """Record as somebody who was never qualified."""
    other = cast.north.administrator
    other.role = "educator"
    other.save()
    bedside.client.force_login(other.user)


def write_down(kind, home, **body):
    deeds.record(family=home.family, kind=kind, body=body, by=home.educator, intent=uuid.uuid4(), at=NOW)
