"""Two observers at one attempt: whose results are entered, where they differ, what is signed."""

from __future__ import annotations

from datetime import date

import pytest

from competency.scoring import Outcome
from tests.cast import TODAY, write
from tests.cast import at as instant
from tests.factories import MemberFactory
from training.people.models import Caregiver, Member
from training.records.models import Record
from training.standing import drafts
from training.standing.file import open_file
from training.standing.models import Draft
from training.standing.questions import FamilyOn

PROMPTED = {"result": "prompted"}


def text(bedside, name="draft", **more):
    answer = bedside.client.get(bedside.url(name, **more))
    assert answer.status_code == 200, answer
    return answer.content.decode()


def last_record(cast):
    return Record.objects.of_chain(cast.north.family.public_id).last()


def judged(cast):
    record = last_record(cast)
    return FamilyOn(open_file(cast.north.family), TODAY).judged(record)


def sign(bedside):
    """The words are kept, with a line where one is due, and the password given."""
    bedside.client.post(bedside.url(), {"note": "", "reteach_line": "Wash first.", "sign": "yes"})
    return bedside.sign()


@pytest.fixture
def unqualified(cast):
    return MemberFactory(organisation=cast.north.organisation, role="educator", credential="RN")


# Who


def test_everybody_else_of_the_organisation_is_offered(bedside, cast):
    bedside.all_alone()
    page = text(bedside, "draft-second")
    offered = {m for m in Member.objects.all() if m.observer_id in page}

    assert offered == {cast.north.supervisor, cast.north.administrator, cast.north.auditor}


def test_somebody_who_has_left_is_not_offered(bedside, cast):
    Member.objects.filter(pk=cast.north.auditor.pk).update(through=date(2026, 5, 13))
    bedside.all_alone()

    assert cast.north.auditor.observer_id not in text(bedside, "draft-second")


def test_the_caregivers_own_account_is_not_offered(bedside, cast):
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.supervisor.user)
    bedside.all_alone()

    assert cast.north.supervisor.observer_id not in text(bedside, "draft-second")


@pytest.mark.parametrize("who", ["lead", "elsewhere", "nothing", ""])
def test_who_could_not_have_watched_is_not_there(bedside, cast, who):
    bedside.all_alone()
    observers = {"lead": cast.north.educator.observer_id, "elsewhere": cast.south.educator.observer_id}

    assert bedside.name_second(observers.get(who, who)).status_code == 404
    assert bedside.draft.data["second"] is None


@pytest.mark.parametrize(
    ("who", "said"),
    [("supervisor", "qualified to assess Suctioning on 14 May 2026"),
     ("auditor", "not qualified to assess Suctioning on 14 May 2026: their results are kept and move nothing")],
)  # fmt: skip
def test_the_qualification_is_said_beside_each_name(bedside, cast, who, said):
    bedside.all_alone()
    page = text(bedside, "draft-second")
    start = page.index(getattr(cast.north, who).observer_id)

    assert f"<small>{said}</small>" in page[start : start + 400]


def test_a_second_observer_can_be_named_at_the_start(bedside, cast):
    bedside.start(second=cast.north.supervisor.observer_id)

    assert bedside.draft.data["second"] == {"observer": cast.north.supervisor.observer_id, "results": {}}


def test_the_lead_is_no_choice_at_the_start(bedside, cast):
    answer = bedside.start(second=cast.north.educator.observer_id)

    assert answer.context["form"].errors["second"]
    assert not Draft.objects.exists()


# Their pass


def test_the_tablet_is_handed_over_after_the_leads_own_pass(bedside, cast):
    bedside.start(second=cast.north.supervisor.observer_id)
    bedside.step(1, "independent")
    bedside.step(2, "independent", value="8")
    bedside.client.post(bedside.url("draft-rest"), {"all": "alone"})

    assert bedside.client.post(bedside.url("draft-rest"), {"done": "yes"}).url == bedside.url("draft-second")


@pytest.mark.parametrize(
    ("name", "more"),
    [("draft-second-step", {"place": 1}), ("draft-second-step", {"place": 2}), ("draft-second-rest", {})],
)
def test_every_page_of_theirs_says_whose_results_it_takes(bedside, cast, name, more):
    bedside.all_alone()
    bedside.name_second(cast.north.supervisor)

    assert f"Results of {cast.north.supervisor.signed_name}, second observer" in text(bedside, name, **more)


@pytest.mark.parametrize(("name", "more"), [("draft-step", {"place": 1}), ("draft-rest", {})])
def test_the_leads_pages_say_so_too(bedside, cast, name, more):
    bedside.all_alone()
    bedside.name_second(cast.north.supervisor)

    assert f"Results of {cast.north.educator.signed_name}, lead observer" in text(bedside, name, **more)


def test_with_one_observer_nothing_is_said(bedside):
    bedside.start()

    assert "r-answering" not in text(bedside, "draft-step", place=1)


def test_they_do_not_see_the_leads_results(bedside, cast):
    bedside.all_alone()
    bedside.step(1, "assisted")
    bedside.name_second(cast.north.supervisor)

    assert "aria-current" not in text(bedside, "draft-second-step", place=1)


def test_their_answers_leave_the_leads_alone(bedside, cast):
    bedside.all_alone()
    kept = bedside.draft.data["results"]
    bedside.second_all_alone(cast.north.supervisor, step_1=PROMPTED)

    assert (bedside.draft.data["results"], bedside.draft.data["second"]["results"]["s01"]) == (kept, "prompted")


def test_an_unfinished_pass_of_theirs_has_no_outcome_yet(bedside, cast):
    bedside.all_alone()
    bedside.name_second(cast.north.supervisor)

    assert "5 of 5 steps have no result yet." in text(bedside)
    assert bedside.client.get(bedside.url("draft-sign")).url == bedside.url()


@pytest.mark.parametrize(("name", "more"), [("draft-second-step", {"place": 1}), ("draft-second-rest", {})])
def test_without_a_second_observer_their_pages_ask_who_it_is(bedside, name, more):
    bedside.all_alone()
    url = bedside.url(name, **more)

    assert bedside.client.get(url).url == bedside.url("draft-second")
    assert bedside.client.post(url, {"result": "independent", "all": "alone"}).url == bedside.url("draft-second")


def test_they_can_be_taken_back(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    bedside.name_second("nobody")

    assert bedside.draft.data["second"] is None


def test_somebody_else_starts_without_results(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    bedside.name_second(cast.north.auditor)

    assert bedside.draft.data["second"]["results"] == {}


def test_the_same_name_again_keeps_the_results(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    bedside.name_second(cast.north.supervisor)

    assert len(bedside.draft.data["second"]["results"]) == 5


def test_a_stop_ends_their_pass_too(bedside, cast):
    bedside.start(second=cast.north.supervisor.observer_id)
    bedside.step(1, "independent")
    bedside.client.post(bedside.url("draft-stop") + "?at=s02", {"whose": "patient"})

    assert bedside.draft.data["second"]["results"] == {
        "s02": "not_seen",
        "s03": "not_seen",
        "s04": "not_seen",
        "s06": "not_seen",
    }


def test_who_is_named_after_a_stop_has_not_seen_the_end_either(bedside, cast):
    bedside.start()
    bedside.step(1, "independent")
    bedside.client.post(bedside.url("draft-stop") + "?at=s04", {"whose": "patient"})
    bedside.name_second(cast.north.supervisor)

    assert bedside.draft.data["second"]["results"] == {"s04": "not_seen", "s06": "not_seen"}


# What becomes of it


def test_a_disagreement_is_said_before_signing(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor, step_1=PROMPTED)

    for name in ("draft", "draft-sign"):
        page = text(bedside, name) if name == "draft" else sign_page(bedside)
        assert "The two outcomes differ." in page, name
        assert "disputed until a named person resolves" in page, name
        assert "Steps they saw differently" in page, name


def sign_page(bedside):
    bedside.client.post(bedside.url(), {"note": "", "reteach_line": "Wash first.", "sign": "yes"})
    return text(bedside, "draft-sign")


def test_only_the_steps_that_differ_are_listed_as_different(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor, step_2={"result": "independent", "value": "9"})
    answer = bedside.client.get(bedside.url())

    assert [(a.step.code, a.value, b.value) for a, b in answer.context["two"].differing] == [("s03", "8", "9")]
    assert "The two outcomes differ." not in answer.content.decode()


def test_a_line_is_due_when_either_saw_a_critical_step_go_wrong(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor, step_1=PROMPTED)

    assert bedside.client.post(bedside.url(), {"note": "", "sign": "yes"}).context["form"].errors["reteach_line"]


@pytest.mark.parametrize(
    ("who", "seen", "outcome"),
    [
        ("supervisor", {}, Outcome.PASSED),
        ("supervisor", {"step_1": PROMPTED}, Outcome.DISPUTED),
        ("auditor", {"step_1": PROMPTED}, Outcome.PASSED),
    ],
)
def test_what_two_observers_come_to(bedside, cast, who, seen, outcome):
    """Design 4.1: a qualified second who differs makes it disputed; an unqualified one's results move nothing."""
    bedside.all_alone()
    bedside.second_all_alone(getattr(cast.north, who), **seen)
    sign(bedside)

    assert judged(cast).outcome is outcome


def test_the_unqualified_seconds_results_are_kept_and_it_is_said(bedside, unqualified, cast):
    bedside.all_alone()
    bedside.second_all_alone(unqualified, step_1=PROMPTED)
    page = sign_page(bedside)
    bedside.sign()

    assert f"{unqualified.signed_name} is not qualified to assess Suctioning on 14 May 2026" in page
    assert last_record(cast).data["second"]["results"]["s01"] == "prompted"


def test_the_record_holds_both_results_and_one_signature(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    sign(bedside)
    body = last_record(cast).data

    assert body["second"]["observer"] == cast.north.supervisor.observer_id
    assert body["second"]["results"]["s03"] == {"result": "independent", "value": 8}
    assert (body["observers"], body["signed"]["id"]) == (
        [cast.north.educator.observer_id],
        cast.north.educator.observer_id,
    )


def test_two_observers_are_one_attempt(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    sign(bedside)

    assert Record.objects.filter(kind="demonstration", chain=cast.north.family.public_id).count() == 1


def test_a_named_person_resolves_it(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor, step_1=PROMPTED)
    sign(bedside)
    record = last_record(cast)
    write(cast.north.supervisor, cast.north.family, "resolution", instant(TODAY, 10), caregiver=cast.north.mother.case_id,
          record=str(record.intent), take="second", reason="Saw the hands.")  # fmt: skip

    assert FamilyOn(open_file(cast.north.family), TODAY).judged(record).outcome is Outcome.CRITICAL


def test_an_account_that_became_the_caregivers_cannot_be_second(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    shown = bedside.shown()
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.supervisor.user)

    assert "You cannot observe yourself." in bedside.sign(shown=shown).content.decode()
    assert Draft.objects.count() == 1


def test_a_change_of_theirs_moves_the_text(bedside, cast):
    bedside.all_alone()
    bedside.second_all_alone(cast.north.supervisor)
    shown = bedside.shown()
    bedside.client.post(bedside.url("draft-second-step", place=1), PROMPTED)

    assert "The text to sign has changed." in bedside.sign(shown=shown).content.decode()


def test_results_of_nobody_are_refused(cast):
    with pytest.raises(drafts.NoSecondError):
        drafts.given_by({"results": {}, "second": None}, drafts.Take.SECOND)
