"""What is kept besides the results: who stopped it and why, teach-back, interpreter, how the caregiver feels."""

from __future__ import annotations

import pytest

from training.records.models import Record

EVERYTHING = {
    "teach_back": "Says she stops at once when the colour changes.",
    "interpreter": "video",
    "language": "Northern Sami",
    "feels": "not_yet",
    "note": "Was tired.",
}


def keep(bedside, **sent):
    return bedside.client.post(bedside.url(), {"note": "", "keep": "yes", **sent})


def signed_body(bedside, cast):
    bedside.sign()
    return Record.objects.of_chain(cast.north.family.public_id).last().data


@pytest.mark.parametrize(
    ("key", "kept"),
    [
        ("teach_back", EVERYTHING["teach_back"]),
        ("interpreter", {"kind": "video", "language": "Northern Sami"}),
        ("feels", "not_yet"),
    ],
)
def test_what_was_said_is_signed_with_the_record(bedside, cast, key, kept):
    bedside.all_alone()
    keep(bedside, **EVERYTHING)

    assert signed_body(bedside, cast)[key] == kept


@pytest.mark.parametrize(
    "said", [EVERYTHING["teach_back"], "by video, Northern Sami", "“Not yet” (kept, counts for nothing)", "Was tired."]
)
def test_what_was_said_stands_on_the_page_to_sign(bedside, said):
    bedside.all_alone()
    keep(bedside, **EVERYTHING)

    assert said in bedside.client.get(bedside.url("draft-sign")).content.decode()


@pytest.mark.parametrize("key", ["teach_back", "interpreter", "feels", "stop"])
def test_what_was_not_said_is_not_in_the_record(bedside, cast, key):
    bedside.all_alone()

    assert key not in signed_body(bedside, cast)


@pytest.mark.parametrize("feels", ["ready", "not_yet", ""])
def test_how_the_caregiver_feels_moves_nothing(bedside, feels):
    bedside.all_alone()
    before = [str(b) for b in bedside.client.get(bedside.url()).context["brings"]]
    keep(bedside, feels=feels)

    assert [str(b) for b in bedside.client.get(bedside.url()).context["brings"]] == before


@pytest.mark.parametrize("kind", ["in_person", "video", "phone", "family_member"])
def test_an_interpreter_interprets_into_a_language(bedside, kind):
    bedside.all_alone()

    assert keep(bedside, interpreter=kind).context["form"].errors["language"]


@pytest.mark.parametrize(("kind", "kept"), [("none_needed", {"kind": "none_needed", "language": ""}), ("", None)])
def test_without_an_interpreter_there_is_no_language(bedside, kind, kept):
    bedside.all_alone()
    keep(bedside, interpreter=kind, language="Northern Sami")

    assert bedside.draft.data.get("interpreter") == kept


def test_a_family_member_who_interprets_is_kept_with_a_caution(bedside):
    bedside.all_alone()
    keep(bedside, interpreter="family_member", language="Northern Sami")

    assert "repeat it with a qualified interpreter" in bedside.client.get(bedside.url("draft-sign")).content.decode()


@pytest.mark.parametrize(("key", "value"), [("feels", "brave"), ("interpreter", "telepathy")])
def test_a_made_up_choice_is_refused(bedside, key, value):
    bedside.all_alone()

    assert keep(bedside, **{key: value, "language": "x"}).context["form"].errors[key]


def test_the_words_come_back_to_be_changed(bedside):
    bedside.all_alone()
    keep(bedside, **EVERYTHING)
    form = bedside.client.get(bedside.url()).context["form"]

    assert {key: form[key].value() for key in EVERYTHING} == EVERYTHING


# Stopping


def stop(bedside, **sent):
    return bedside.client.post(bedside.url("draft-stop") + "?at=s04", {"whose": "caregiver", **sent})


@pytest.mark.parametrize(
    ("sent", "kept"),
    [
        ({}, {"by": "observer", "why": ""}),
        ({"stopped_by": "caregiver", "why": "Colour changed."}, {"by": "caregiver", "why": "Colour changed."}),
        ({"stopped_by": "patient"}, {"by": "patient", "why": ""}),
        ({"stopped_by": "other", "why": "The alarm."}, {"by": "other", "why": "The alarm."}),
    ],
)
def test_who_stopped_it_and_why_is_kept(bedside, sent, kept):
    bedside.start()
    stop(bedside, **sent)

    assert bedside.draft.data["stop"] == kept


@pytest.mark.parametrize("sent", [{"stopped_by": "nobody"}, {"stopped_by": "second"}, {"why": "x" * 301}])
def test_who_cannot_have_stopped_it(bedside, sent):
    bedside.start()
    stop(bedside, **sent)

    assert "stop" not in bedside.draft.data


def test_a_stop_from_the_seconds_pass_is_theirs_unless_they_say_otherwise(bedside, cast):
    bedside.start(second=cast.north.supervisor.observer_id)
    bedside.client.post(bedside.url("draft-stop") + "?at=s04&by=second", {"whose": "patient"})

    assert bedside.draft.data["stop"]["by"] == "second"


def test_a_stop_taken_back_takes_its_words_along(bedside):
    bedside.start()
    stop(bedside, why="Colour changed.")
    stop(bedside, whose="nobody")

    assert "stop" not in bedside.draft.data


def test_why_it_was_stopped_can_be_told_before_signing(bedside, cast):
    bedside.all_alone()
    stop(bedside)
    keep(bedside, reteach_line="Say stop.", stopped_by="patient", why="She pulled away.")

    assert signed_body(bedside, cast)["stop"] == {"by": "patient", "why": "She pulled away."}


@pytest.mark.parametrize("said", ["Stopped: it was not safe to go on.", "She pulled away.", "the patient"])
def test_the_stop_stands_on_the_page_to_sign(bedside, said):
    bedside.all_alone()
    stop(bedside)
    keep(bedside, reteach_line="Say stop.", stopped_by="patient", why="She pulled away.")

    assert said in bedside.client.get(bedside.url("draft-sign")).content.decode()


def test_after_a_critical_attempt_nothing_is_signed_without_a_line(bedside):
    bedside.all_alone()
    stop(bedside)

    assert bedside.client.get(bedside.url("draft-sign")).url == bedside.url()
