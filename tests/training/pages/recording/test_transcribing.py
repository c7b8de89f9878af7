"""A paper checklist typed in: checked and shown, then signed by who typed it."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse

from tests.cast import FIRST_DAY, NOW, TODAY, plan, show, write
from tests.factories import PASSWORD
from tests.training.documents.editions import home_with_two_editions
from training.people.models import Caregiver, Family, Member
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.models import Draft
from training.standing.questions import FamilyOn
from training.standing.signing import MEANINGS, shown_digest

RESULTS = {
    "lead-s01": "independent",
    "lead-s02": "independent",
    "lead-s03": "independent",
    "lead-s03-value": "8",
    "lead-s04": "independent",
    "lead-s06": "not_applicable",
}


class Desk:
    """A supervisor with a sheet that the educator filled in yesterday."""

    def __init__(self, client: Any, home: Any, typist: Any) -> None:
        self.client, self.home, self.typist = client, home, typist
        self.intent = str(uuid.uuid4())

    def url(self, skill: str = "suction", edition: int = 1) -> str:
        whole = {"family": self.home.family.public_id, "caregiver": self.home.mother.public_id}
        return reverse("transcribe", kwargs={**whole, "skill": skill, "edition": edition})

    def typed(self, **changes: Any) -> dict[str, str]:
        sheet = {
            "intent": self.intent,
            "saw": self.home.educator.observer_id,
            "on": "2026-05-13",
            "time": "09:30",
            "purpose": "assessment",
            "setting": "patient",
            "role": "lead",
            "mode": "in_person",
            "place": "hospital",
            "document": "7c1e-0b44-91d2",
            **RESULTS,
            **{key.replace("__", "-"): value for key, value in changes.items()},
        }
        return {key: value for key, value in sheet.items() if value is not None}

    def check(self, **changes: Any) -> Any:
        return self.client.post(self.url(), {**self.typed(**changes), "check": "yes"})

    def sign(self, shown: str | None = None, password: str = PASSWORD, **changes: Any) -> Any:
        shown = self.check(**changes).context["digest"] if shown is None else shown
        return self.client.post(
            self.url(), {**self.typed(**changes), "sign": "yes", "shown": shown, "password": password}
        )

    @property
    def records(self) -> list[Record]:
        return list(Record.objects.of_chain(self.home.family.public_id).filter(kind="demonstration"))


@pytest.fixture
def desk(cast: Any, signed_in: Any) -> Desk:
    for member in (cast.north.supervisor, cast.north.educator):
        member.user.set_password(PASSWORD)
        member.user.save()
    return Desk(signed_in(cast.north.supervisor), cast.north, cast.north.supervisor)


def crossed(answer: Any) -> list[tuple[str, str]]:
    """The radio buttons that are chosen: name and value."""
    radios = re.findall(r'<input type="radio"[^>]*\schecked[^>]*>', answer.content.decode())
    return [(re.search(r'name="([^"]*)"', r)[1], re.search(r'value="([^"]*)"', r)[1]) for r in radios]


# Who


PEOPLE = ("visitor", "stranger", "elsewhere", "auditor", "administrator", "supervisor", "educator")


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize(("name", "status"), list(zip(PEOPLE, (302, 404, 404, 403, 403, 200, 200), strict=True)))
def test_who_may_record_types_in(desk, cast, name, status, method):
    people = {"stranger": cast.stranger, "elsewhere": cast.south.educator.user}
    desk.client.logout()
    if name != "visitor":
        desk.client.force_login(people[name] if name in people else getattr(cast.north, name).user)

    assert getattr(desk.client, method)(desk.url()).status_code == status


@pytest.mark.parametrize(("skill", "edition"), [("suction", 0), ("suction", 2), ("juggling", 1), ("cpr_card", 1)])
def test_an_edition_that_has_no_paper_is_not_there(desk, skill, edition):
    assert desk.client.get(desk.url(skill, edition)).status_code == 404


def test_a_caregiver_of_another_family_is_not_there(desk, cast):
    other = str(cast.north.families[1].caregivers.first().public_id)
    url = desk.url().replace(str(cast.north.mother.public_id), other)

    assert desk.client.get(url).status_code == 404


def test_those_who_may_record_or_are_observers_can_have_watched(desk, cast):
    offered = [code for code, _name in desk.client.get(desk.url()).context["form"].fields["saw"].choices]

    assert set(offered) == {"", cast.north.educator.observer_id, cast.north.supervisor.observer_id}


def test_an_observer_without_the_right_to_record_can_have_watched(desk, cast):
    deeds.qualify(
        observer=cast.north.auditor, skill="suction", from_day=FIRST_DAY, through=None, by=cast.north.administrator,
        intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip

    assert desk.check(saw=cast.north.auditor.observer_id).context["judged"] is not None


# What is shown at first


@pytest.mark.parametrize(
    "words",
    ["Suctioning, edition 1, shown by Marit Okonjo-Lind.", "Washes hands", "Critical step", "10 s or less",
     "Step 2: Prompted", "Depth and pressure are the prescriber", "A sample to adapt."],
)  # fmt: skip
def test_the_form_says(desk, words):
    assert words in desk.client.get(desk.url()).content.decode()


def test_nothing_is_chosen_beforehand(desk):
    """But for what is not crossed on most sheets: stopped, and what the caregiver said."""
    assert crossed(desk.client.get(desk.url())) == [("stopped", ""), ("feels", "")]


def test_nothing_is_signed_before_it_was_shown(desk):
    text = desk.client.get(desk.url()).content.decode()

    assert ('name="password"' in text, 'name="sign"' in text) == (False, False)


@pytest.mark.parametrize(("step", "offered"), [("s04", False), ("s06", True)])
def test_not_applicable_is_offered_only_where_a_step_may_be_skipped(desk, step, offered):
    text = desk.client.get(desk.url()).content.decode()

    assert (f'name="lead-{step}" value="not_applicable"' in text) is offered


def test_a_step_of_another_care_plan_is_not_asked(desk):
    assert 'name="lead-s05"' not in desk.client.get(desk.url()).content.decode()


# Checked


def test_checking_writes_nothing(desk):
    desk.check()

    assert (desk.records, Draft.objects.count()) == ([], 0)


@pytest.mark.parametrize(
    "words",
    ["4 of 4 steps independent.", "watched on 13 May 2026, 09:30: assessment; Ilse, leads, in person, in hospital.",
     "From document 7c1e-0b44-91d2.", "8 s, limit 10 s", "Suctioning: in training.", 'name="password"',
     "RN filled in; I did not necessarily watch it.", "Sign 1 record"],
)  # fmt: skip
def test_what_would_be_signed_is_shown(desk, words):
    assert words in desk.check().content.decode()


def test_the_outcome_is_shown_before(desk):
    answer = desk.check(lead__s01="prompted")

    assert (answer.context["outcome"], answer.context["alone"]) == ("critical", 3)


def test_a_value_outside_its_limits_is_not_independent(desk):
    assert desk.check(lead__s03__value="11").context["outcome"] == "critical"


def test_why_it_would_not_count_is_shown(desk, cast):
    text = desk.check(saw=_newcomer(cast, "educator").observer_id).content.decode()

    assert "What was seen: passed." in text
    assert "qualified" in text


def test_after_a_stop_the_steps_at_the_end_were_not_seen(desk):
    stopped = {"stopped": "patient", "lead__s03": None, "lead__s03__value": "", "lead__s04": None, "lead__s06": None}
    body = desk.check(**stopped).context["judged"].body

    assert [body["results"][step] for step in ("s03", "s04", "s06")] == ["not_seen"] * 3


def test_what_does_not_apply_is_left_out_and_said(desk):
    answer = desk.check(lead__s05="independent")

    assert "Left out, for it does not apply to this attempt: step 5." in answer.content.decode()
    assert "s05" not in answer.context["judged"].body["results"]


def test_a_step_of_the_care_plan_of_that_day_is_asked(desk, cast):
    plan(cast.north, cast.north.family, TODAY - timedelta(days=2), {"suction": True, "cuff": "air", "tube_id_mm": 5})
    form = desk.check().context["form"]

    assert form.errors == {"lead-s05": ["Step 5 has no result. Choose one."]}


@pytest.mark.parametrize(("role", "missing"), [("lead", ["lead-s02"]), ("assist", [])])
def test_a_step_of_one_role_is_asked_of_that_role(desk, role, missing):
    sheet = {"role": role, "lead-s01": "independent", "lead-s02": None, "lead-s03": "independent"}
    answer = desk.client.post(desk.url("tube_change"), {**desk.typed(**sheet), "check": "yes"})

    assert list(answer.context["form"].errors) == missing


# Bad input


AT_ITS_FIELD = [
    ({"saw": ""}, "saw", "This field is required."),
    ({"saw": "nobody"}, "saw", "Select a valid choice. nobody is not one of the available choices."),
    ({"on": ""}, "on", "This field is required."),
    ({"on": "12 May"}, "on", "Write the day as year-month-day, such as 2026-05-14."),
    ({"on": "2026-05-15"}, "on", "15 May 2026 lies ahead: it is not that day yet where the patient is."),
    ({"on": "2026-05-14", "time": "10:01"}, "time", "10:01 lies ahead: it is not that late yet where the patient is."),
    ({"on": "2026-03-01"}, "on", "1 March 2026 is before the care plan’s first day, 2 March 2026."),
    ({"time": ""}, "time", "This field is required."),
    ({"time": "25:00"}, "time", "Write the time as hours and minutes, such as 09:05."),
    ({"began": "2026-05-13"}, "began", "A stay over several days begins before its last day, 13 May 2026."),
    ({"began": "2026-03-01"}, "began", "It lies before the care plan’s first day, 2 March 2026."),
    ({"purpose": None}, "purpose", "This field is required."),
    ({"setting": "zoo"}, "setting", "Select a valid choice. zoo is not one of the available choices."),
    ({"role": None}, "role", "This field is required."),
    ({"mode": None}, "mode", "This field is required."),
    ({"place": None}, "place", "This field is required."),
    ({"lead-s01": None}, "lead-s01", "Step 1 has no result. Choose one."),
    ({"lead-s06": None}, "lead-s06", "Step 6 has no result. Choose one."),
    ({"lead-s04": "not_applicable"}, "lead-s04", "Select a valid choice. not_applicable is not one of the available choices."),
    ({"lead-s02": "perfect"}, "lead-s02", "Select a valid choice. perfect is not one of the available choices."),
    ({"lead-s03-value": ""}, "lead-s03-value", "Step 3 needs a number: it is measured."),
    ({"lead-s03-value": "eight"}, "lead-s03-value", "Step 3: “eight” is no number. Write one such as 12 or 7.5."),
    ({"lead-s03-value": "1,000"}, "lead-s03-value", "Step 3: “1,000” is no number. Write one such as 12 or 7.5."),
    ({"lead-s03": "not_seen"}, "lead-s03-value", "Step 3 was not seen, so it has no number. Clear it."),
    ({"stopped": "caregiver", "lead-s02": None}, "lead-s02", "Step 2 has no result. Choose one."),
    ({"stop_why": "He went blue."}, "stopped", "Somebody stopped it, or something happened: choose for whose sake it stopped."),
    ({"stopped": "patient", "stop_by": "second"}, "stop_by", "No second observer is named."),
    ({"reteach_on": "2026-05-20"}, "reteach_line", "Write the line that was agreed for that day."),
    ({"reteach_on": "2026-05-12", "reteach_line": "x"}, "reteach_on", "It lies before the day seen, 13 May 2026."),
    ({"interpreter": "phone"}, "language", "Write the language it was interpreted into."),
    ({"second-s02": "omitted"}, "second", "There are results of a second observer. Name who that was, or clear them."),
    ({"document": "x" * 41}, "document", "Ensure this value has at most 40 characters (it has 41)."),
    ({"intent": "x"}, "intent", "Enter a valid UUID."),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "field", "words"), AT_ITS_FIELD)
def test_bad_input_is_named_at_its_field_and_nothing_is_shown_to_sign(desk, changes, field, words):
    answer = desk.check(**changes)

    assert answer.context["form"].errors[field] == [words]
    assert answer.context["judged"] is None


@pytest.mark.parametrize(("changes", "field", "words"), AT_ITS_FIELD)
def test_bad_input_is_not_signed_either(desk, changes, field, words):
    shown = desk.check().context["digest"]
    desk.sign(shown, **changes)

    assert desk.records == []


def test_whoever_was_no_member_that_day_did_not_watch(desk, cast):
    Member.objects.filter(pk=cast.north.educator.pk).update(through=TODAY - timedelta(days=2))
    form = desk.check().context["form"]

    assert form.errors["saw"] == [f"{cast.north.educator.signed_name} was no member here on 13 May 2026."]


def test_somebody_who_has_left_can_have_watched_before(desk, cast):
    Member.objects.filter(pk=cast.north.educator.pk).update(through=TODAY - timedelta(days=1))

    assert desk.check().context["judged"] is not None


def test_nobody_observes_themself(desk, cast):
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.educator.user)
    form = desk.check().context["form"]

    assert form.errors["saw"] == [f"{cast.north.educator.signed_name} is the caregiver. Nobody observes themself."]


def test_nobody_types_in_their_own(desk, cast):
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.supervisor.user)

    assert desk.check().context["form"].non_field_errors() == [
        "You cannot type in what you showed yourself. Ask a colleague."
    ]


def test_without_a_care_plan_nothing_is_typed_in(desk, cast):
    record = Record.objects.get(kind="care_plan", chain=cast.north.family.public_id)
    write(
        cast.north.educator, cast.north.family, "void", NOW - timedelta(hours=1), record=str(record.intent), reason="x"
    )

    assert desk.check().context["form"].errors["on"] == [
        "There is no care plan yet. A demonstration needs one on its day."
    ]


def test_everything_typed_is_kept(desk):
    answer = desk.check(lead__s01=None, lead__s02="assisted", place="school", note="<tube>", lead__s03__value="7,x")
    page = answer.content.decode()
    texts = ("&lt;tube&gt;", 'value="7,x"', 'value="2026-05-13"', 'value="09:30"', 'value="7c1e-0b44-91d2"')

    assert {("lead-s02", "assisted"), ("lead-s04", "independent"), ("place", "school")} <= set(crossed(answer))
    assert [text for text in texts if text not in page] == []


def test_a_message_stands_at_its_row(desk):
    page = desk.check(lead__s02=None).content.decode()

    assert 'href="#div_id_lead-s02"' in page
    assert 'id="div_id_lead-s02" class="p-refused"' in page


# Signed


def test_the_record_says_who_saw_and_who_typed(desk, cast):
    desk.sign()
    body = desk.records[0].data

    assert body["observers"] == [cast.north.educator.observer_id]
    assert body["transcribed"] == {
        "saw": cast.north.educator.signed_name,
        "saw_id": cast.north.educator.observer_id,
        "typed": cast.north.supervisor.signed_name,
        "from": "7c1e-0b44-91d2",
    }


def test_the_signature_is_the_typists_and_means_that_they_typed(desk, cast):
    desk.sign()
    signed = desk.records[0].data["signed"]

    assert (signed["id"], signed["meaning"]) == (
        str(cast.north.supervisor.public_id),
        f"I typed this from paper that {cast.north.educator.signed_name} filled in; I did not necessarily watch it.",
    )


def test_who_types_their_own_sheet_still_watched(desk, cast):
    desk.sign(saw=cast.north.supervisor.observer_id)

    assert desk.records[0].data["signed"]["meaning"] == (
        "I watched this demonstration, recorded what I saw on paper, and typed it from there."
    )


@pytest.mark.parametrize("name", ["{saw}", "{0.__class__}", "%s", "}{"])
def test_a_name_is_never_taken_for_a_place_to_fill(desk, cast, name):
    cast.north.educator.user.full_name = name
    cast.north.educator.user.save()
    desk.sign()

    assert f"that {name}, RN filled in" in desk.records[0].data["signed"]["meaning"]


def test_a_demonstration_that_was_watched_means_what_it_did(cast):
    assert show(cast.north, cast.north.mother, "hands", TODAY).data["signed"]["meaning"] == MEANINGS["demonstration"]


def test_the_record_is_what_was_typed(desk):
    desk.sign(began="2026-05-12")
    body = {
        k: v
        for k, v in desk.records[0].data.items()
        if k not in ("signed", "shown", "transcribed", "observers", "caregiver")
    }

    assert body == {
        "purpose": "assessment", "on": "2026-05-13", "time": "09:30", "skill": "suction", "edition": 1,
        "setting": "patient", "role": "lead", "mode": "in_person", "place": "hospital", "second": None,
        "stopped": None, "began": "2026-05-12",
        "results": {"s01": "independent", "s02": "independent", "s03": {"result": "independent", "value": 8},
                    "s04": "independent", "s06": "not_applicable"},
    }  # fmt: skip


def test_the_words_are_kept(desk):
    desk.sign(
        stopped="caregiver", stop_by="caregiver", stop_why="Felt faint.", feels="not_yet", teach_back="Call first.",
        interpreter="phone", language="Amharic", reteach_line="Count aloud.", reteach_on="2026-05-20", note="Calm room.",
    )  # fmt: skip
    body = desk.records[0].data

    assert {key: body[key] for key in ("stopped", "stop", "feels", "teach_back", "interpreter", "reteach", "note")} == {
        "stopped": "caregiver",
        "stop": {"by": "caregiver", "why": "Felt faint."},
        "feels": "not_yet",
        "teach_back": "Call first.",
        "interpreter": {"kind": "phone", "language": "Amharic"},
        "reteach": {"line": "Count aloud.", "on": "2026-05-20"},
        "note": "Calm room.",
    }


def test_a_second_observers_sheet_is_typed_in_too(desk, cast):
    second = {f"second-{step}": "independent" for step in ("s01", "s02", "s03", "s04", "s06")}
    second |= {"second-s02": "prompted", "second-s03-value": "9", "second": cast.north.supervisor.observer_id}
    desk.sign(**second)
    kept = desk.records[0].data["second"]

    assert kept["observer"] == cast.north.supervisor.observer_id
    assert (kept["results"]["s02"], kept["results"]["s03"]) == ("prompted", {"result": "independent", "value": 9})


def test_the_second_observer_is_somebody_else(desk, cast):
    form = desk.check(second=cast.north.educator.observer_id).context["form"]

    assert form.errors["second"] == ["The second observer is somebody else than the first."]


def test_a_missing_result_of_the_second_observer_is_named(desk, cast):
    form = desk.check(second=cast.north.supervisor.observer_id).context["form"]

    assert form.errors["second-s01"] == ["Step 1 has no result. Choose one."]


def test_it_counts_like_any_other(desk, cast):
    show(cast.north, cast.north.mother, "suction", TODAY - timedelta(days=4))
    desk.sign()
    picture = FamilyOn(open_file(Family.objects.get(pk=cast.north.family.pk)), TODAY)

    assert picture.cell(cast.north.mother, "suction").standing == "signed_off"


def test_the_record_page_is_where_it_leads(desk):
    answer = desk.sign()

    assert "Signed. Record" in desk.client.get(answer.url).content.decode()


@pytest.mark.parametrize("password", ["", "wrong"])
def test_without_the_password_nothing_is_signed_and_all_is_still_shown(desk, password):
    answer = desk.sign(password=password)

    assert list(answer.context["form"].errors) == ["password"]
    assert answer.context["judged"] is not None
    assert desk.records == []


def test_the_password_is_never_sent_back(desk):
    assert "no such word" not in desk.sign(password="no such word").content.decode()


@pytest.mark.parametrize("changes", [{"note": "More."}, {"lead-s02": "prompted"}, {"time": "09:31"}, {"document": ""}])
def test_what_was_changed_after_it_was_shown_is_shown_again(desk, changes):
    shown = desk.check().context["digest"]
    answer = desk.sign(shown, **changes)

    assert answer.context["form"].non_field_errors() == [
        "The text to sign has changed. It stands here as it is now; nothing was signed."
    ]
    assert answer.context["digest"] != shown
    assert desk.records == []


def test_what_is_shown_again_is_signed_then(desk):
    shown = desk.sign(desk.check().context["digest"], note="More.").context["digest"]
    desk.sign(shown, note="More.")

    assert desk.records[0].data["note"] == "More."


def test_signing_what_was_never_shown_is_refused(desk):
    desk.sign("")

    assert desk.records == []


def test_the_digest_of_what_was_shown_is_kept(desk):
    shown = desk.check().context["digest"]
    desk.sign(shown)
    body = {k: v for k, v in desk.records[0].data.items() if k not in ("signed", "shown")}

    assert desk.records[0].data["shown"] == shown == shown_digest(body)


def test_the_same_post_twice_is_one_record(desk):
    shown = desk.check().context["digest"]
    answers = [desk.sign(shown).url for _ in range(2)]

    assert (answers[0], len(desk.records)) == (answers[1], 1)


def test_a_check_after_signing_leads_to_the_record(desk):
    signed = desk.sign().url

    assert desk.check().url == signed


def test_a_care_plan_that_moved_meanwhile_asks_again(desk, cast):
    shown = desk.check().context["digest"]
    plan(cast.north, cast.north.family, TODAY - timedelta(days=2), {"suction": True, "cuff": "air", "tube_id_mm": 5})
    answer = desk.sign(shown)

    assert answer.context["form"].errors == {"lead-s05": ["Step 5 has no result. Choose one."]}
    assert desk.records == []


# Editions


@pytest.fixture
def two(cast, signed_in, monkeypatch):
    """Edition 2 of hand hygiene began on 10 May; the sheet is of the supervisor's."""
    home = home_with_two_editions(monkeypatch, TODAY - timedelta(days=4))
    home.supervisor.user.set_password(PASSWORD)
    home.supervisor.user.save()
    return Desk(signed_in(home.supervisor), home, home.supervisor)


def hands(desk, edition, on):
    steps = {f"lead-s0{n}": "independent" for n in range(1, edition + 2)}
    sheet = {k: v for k, v in desk.typed().items() if not k.startswith("lead-")}
    return desk.client.post(desk.url("hands", edition), {**sheet, **steps, "on": on, "check": "yes"})


@pytest.mark.parametrize(
    ("edition", "on", "counts"),
    [(1, "2026-05-09", True), (1, "2026-05-10", False), (2, "2026-05-10", True), (2, "2026-05-13", True)],
)
def test_an_older_edition_is_taken_as_the_rules_take_it(two, edition, on, counts):
    answer = hands(two, edition, on)

    assert answer.context["outcome"] == "passed"
    assert (answer.context["kept_out"] == []) is counts


def test_a_day_before_the_editions_first_is_refused(two):
    assert hands(two, 2, "2026-05-09").context["form"].errors["on"] == [
        "9 May 2026 is before the first day of edition 2, 10 May 2026."
    ]


@pytest.mark.parametrize(("edition", "says"), [(1, True), (2, False)])
def test_an_older_edition_says_that_it_is_one(two, edition, says):
    text = two.client.get(two.url("hands", edition)).content.decode()

    assert ("This is not the edition in force today, which is edition 2." in text) is says


def _newcomer(cast, role):
    """A member who may record and is qualified for nothing."""
    cast.north.administrator.role = role
    cast.north.administrator.save()
    return cast.north.administrator
