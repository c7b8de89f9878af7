"""Before the first step."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from tests.cast import FIRST_DAY, NOW, TODAY, show, sign_off_suction, write
from training.curriculum.models import Enrolment
from training.people.models import Caregiver, Family
from training.records.models import Record
from training.standing.models import Draft


def page(bedside, skill="suction"):
    answer = bedside.client.get(bedside.start_url(skill))
    assert answer.status_code == 200
    return answer.content.decode()


# What is said


@pytest.mark.parametrize(
    "words",
    ["Marit, for Ilse", "Suctioning, edition 1", "Not started", "0 of 2 passes on the patient", "Ilse Okonjo-Lind",
     "Tube, inner diameter: <b>5 mm</b>", "Depth and pressure are the prescriber", "Marit leads, in person, in hospital; 14 May 2026, 10:00"],
)  # fmt: skip
def test_the_page_says_who_what_and_how_far(bedside, words):
    assert words in page(bedside)


def test_a_stays_link_hands_its_days_over(bedside):
    text = bedside.client.get(
        bedside.start_url("suction") + "?began=2026-05-12&on=2026-05-13&time=09:00"
    ).content.decode()

    assert [f'value="{handed}"' in text for handed in ("2026-05-12", "2026-05-13", "09:00")] == [True, True, True]


def test_purpose_is_chosen_by_a_button_and_never_beforehand(bedside):
    text = page(bedside)

    assert [f'name="purpose" value="{p}"' in text for p in ("assessment", "practice")] == [True, True]


def test_the_key_that_sends_a_form_chooses_nothing(bedside):
    assert '<button type="submit" disabled hidden></button>' in page(bedside)


def test_last_times_trouble_and_line_come_first(bedside, cast):
    line = {"line": "Say what you see in her breathing.", "on": "2026-05-14"}
    results = {"s01": "prompted", "s02": "independent", "s03": "omitted", "s04": "independent", "s06": "independent"}
    show(cast.north, cast.north.mother, "suction", TODAY - timedelta(days=9), results=results, reteach=line)
    text = page(bedside)

    assert "Last time, 5 May 2026" in text
    assert "Step 1, critical:" in text
    assert "Agreed then: “Say what you see in her breathing.” To be shown again on 14 May 2026." in text


def test_a_pass_takes_the_slip_away(bedside, cast):
    sign_off_suction(cast.north, cast.north.mother)

    assert "Last time," not in page(bedside)


def test_a_missing_authorisation_is_said_before(bedside, cast):
    write(cast.north.educator, cast.north.family, "void", NOW, record=authorisation(cast, "suction"), reason="x")

    assert "No authorisation of the prescriber is in force." in page(bedside)


def test_a_hold_is_said_before(bedside, cast):
    hold(cast)

    assert "On hold since 14 May 2026." in page(bedside)


def test_who_is_not_qualified_is_told_so(bedside, cast):
    other = cast.north.administrator
    other.role = "educator"
    other.save()
    bedside.client.force_login(other.user)

    assert "You are not qualified to assess Suctioning on 14 May 2026: it will be kept as practice." in page(bedside)


def test_a_draft_under_way_is_offered(bedside):
    bedside.start()

    assert bedside.url() in page(bedside)


def test_nothing_is_started_for_oneself(bedside, cast):
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(user=cast.north.educator.user)
    answer = bedside.start()

    assert "You cannot observe yourself. Name another observer." in answer.content.decode()
    assert not Draft.objects.exists()


# Gates


def test_a_closed_gate_is_named(bedside):
    assert "Gate closed: Suctioning is not signed off." in page(bedside, "tube_change")


def test_behind_a_closed_gate_the_patient_is_not_chosen_beforehand(bedside):
    assert bedside.client.get(bedside.start_url("tube_change")).context["form"]["setting"].value() == "simulation"


def test_behind_a_closed_gate_nothing_is_assessed_on_the_patient(bedside):
    form = bedside.start("tube_change").context["form"]

    assert form.errors["setting"] == [
        "Gate closed: Suctioning is not signed off. Gate closed: Hand hygiene is not signed off."
    ]
    assert not Draft.objects.exists()


@pytest.mark.parametrize("changes", [{"setting": "model"}, {"setting": "simulation"}, {"purpose": "practice"}])
def test_behind_a_closed_gate_other_ways_are_open(bedside, changes):
    assert bedside.start("tube_change", **changes).status_code == 302


def test_what_was_done_behind_a_closed_gate_is_kept_and_said(bedside):
    answer = bedside.start("tube_change", on="2026-05-12")

    assert "On 12 May 2026: Gate closed: Suctioning is not signed off." in follow(bedside, answer)


def test_a_renewal_is_not_gated(bedside, cast):
    sign_off_suction(cast.north, cast.north.mother)
    show(cast.north, cast.north.mother, "hands", TODAY - timedelta(days=9))
    show(cast.north, cast.north.mother, "tube_change", TODAY - timedelta(days=8))
    hold(cast, "suction")

    assert bedside.start("tube_change").status_code == 302


# Bad input


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"on": "2026-05-15"}, "on", "15 May 2026 lies ahead: it is not that day yet where the patient is."),
        ({"time": "10:01"}, "time", "10:01 lies ahead: it is not that late yet where the patient is."),
        ({"on": "2026-03-01"}, "on", "1 March 2026 is before the care plan’s first day, 2 March 2026. Choose another day."),
        ({"on": "12 May"}, "on", "Enter a valid date."),
        ({"on": ""}, "on", "This field is required."),
        ({"time": "25:00"}, "time", "Enter a valid time."),
        ({"purpose": None}, "purpose", "Choose assessment or practice."),
        ({"purpose": "exam"}, "purpose", "Select a valid choice. exam is not one of the available choices."),
        ({"setting": "zoo"}, "setting", "Select a valid choice. zoo is not one of the available choices."),
        ({"role": ""}, "role", "This field is required."),
        ({"began": "2026-05-14"}, "began", "A stay over several days begins before its last day, 14 May 2026."),
        ({"began": "2026-03-01"}, "began", "It lies before the care plan’s first day, 2 March 2026."),
        ({"intent": "x"}, "intent", "Enter a valid UUID."),
    ],
)  # fmt: skip
def test_bad_input_is_named_at_its_field_and_nothing_saved(bedside, changes, field, words):
    form = bedside.start(**changes).context["form"]

    assert form.errors[field] == [words]
    assert not Draft.objects.exists()


def test_a_message_stands_at_the_choice_of_the_setting(bedside):
    assert 'id="id_setting_error"' in bedside.start("tube_change").content.decode()


def test_what_was_chosen_is_kept(bedside):
    text = bedside.start(on="2026-05-15", place="school", mode="remote").content.decode()

    assert '<option value="school" selected>' in text
    assert '<option value="remote" selected>' in text
    assert 'value="2026-05-15"' in text


@pytest.mark.parametrize(
    "changes", [{"on": "2026-05-14", "time": "10:00"}, {"on": FIRST_DAY.isoformat(), "time": "00:00"}]
)
def test_the_first_and_the_last_moment_are_accepted(bedside, changes):
    assert bedside.start(**changes).status_code == 302


def test_without_a_care_plan_nothing_starts(bedside, cast):
    record = Record.objects.get(kind="care_plan", chain=cast.north.family.public_id)
    write(cast.north.educator, cast.north.family, "void", NOW, record=str(record.intent), reason="x")

    assert "There is no care plan yet." in page(bedside)
    assert bedside.start().context["form"].errors["on"] == [
        "There is no care plan yet. A demonstration needs one on its day."
    ]


def test_a_post_twice_is_one_draft(bedside):
    intent = str(uuid.uuid4())
    answers = [bedside.start(intent=intent).url for _ in range(2)]

    assert (answers[0], Draft.objects.count()) == (answers[1], 1)


def test_another_persons_intent_is_not_there(bedside, cast):
    intent = str(uuid.uuid4())
    bedside.start(intent=intent)
    bedside.client.force_login(cast.north.supervisor.user)

    assert bedside.start(intent=intent).status_code == 404


def test_the_body_is_what_was_chosen(bedside, cast):
    bedside.start("emergency", setting="simulation", began="2026-05-13", purpose="practice")

    assert bedside.draft.data == {
        "purpose": "practice", "on": "2026-05-14", "time": "09:30", "skill": "emergency", "edition": 1,
        "setting": "simulation", "role": "lead", "mode": "in_person", "place": "hospital",
        "observers": [cast.north.educator.observer_id], "results": {}, "second": None, "stopped": None,
        "began": "2026-05-13",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "time"),
    [
        ({"time": "10:00", "time_shown": "10:00"}, "10:00:00"),
        ({"time": "09:59", "time_shown": "09:59"}, "10:00:00"),
        ({"time": "09:30", "time_shown": "10:00"}, "09:30"),
        ({"time": "10:00", "time_shown": "10:00", "on": "2026-05-13"}, "10:00"),
    ],
)
def test_a_time_left_as_shown_is_the_moment_it_begins(bedside, changes, time):
    bedside.start(**changes)

    assert bedside.draft.data["time"] == time


def test_a_gate_opened_a_moment_ago_is_open(bedside, cast):
    """Both within one minute: the order is that of the seconds."""
    sign_off_suction(cast.north, cast.north.mother)
    now = {"time": "10:00", "time_shown": "10:00"}
    bedside.all_alone("hands", **now)
    bedside.sign()
    with time_machine.travel(NOW + timedelta(seconds=20), tick=False):
        bedside.all_alone("tube_change", **now)

        assert bedside.client.get(bedside.url()).context["kept_out"] == []


def test_an_agency_is_at_home(cast):
    client = Client()
    client.force_login(cast.south.educator.user)
    family = cast.south.family.public_id
    answer = client.get(f"/families/{family}/people/{cast.south.mother.public_id}/skills/suction/start/")

    assert answer.context["form"]["place"].value() == "home"


def test_what_the_standard_looks_at_is_chosen_beforehand(bedside):
    assert bedside.client.get(bedside.start_url("emergency")).context["form"]["setting"].value() == "simulation"


@pytest.mark.parametrize("called", ["محمد علي", "Nguyễn Thị Mai", "<b>Ana</b>", "李" * 80, "O’Neil & Søn"])
def test_any_name_stands_as_it_was_written(bedside, cast, called):
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(called=called, full_name=called)

    assert called.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;") in page(bedside)


def test_a_database_without_families_has_nothing_to_record(bedside, cast):
    url = bedside.start_url().replace(str(cast.north.family.public_id), str(uuid.uuid4()))

    assert bedside.client.get(url).status_code == 404
    assert Family.objects.count() == Enrolment.objects.count()


def follow(bedside, answer):
    return bedside.client.get(answer.url).content.decode()


def authorisation(cast, skill):
    rows = Record.objects.filter(kind="authorisation", chain=cast.north.family.public_id)
    return next(str(r.intent) for r in rows if r.data["skill"] == skill)


def hold(cast, skill=None):
    body = {"caregiver": cast.north.mother.case_id, "skill": skill, "on": TODAY.isoformat(), "through": None}
    write(cast.north.educator, cast.north.family, "hold", NOW, **body, reason="Tired.")
