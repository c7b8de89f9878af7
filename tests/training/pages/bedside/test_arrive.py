"""What arrives from a device: once, whole or with every reason, and only from its author."""

from __future__ import annotations

import json
import uuid
from datetime import date, timedelta

import pytest
from django.test import Client

from tests.cast import NOW, TODAY, plan
from tests.factories import PASSWORD
from training.records.models import Record
from training.standing.arriving import WORDS
from training.standing.drafts import start
from training.standing.models import Draft


def test_it_is_a_draft_of_its_author(device, cast):
    device.post()
    draft = Draft.objects.get()

    assert (draft.author, draft.caregiver, str(draft.intent)) == (
        cast.north.educator,
        cast.north.mother,
        device.sent["intent"],
    )


def test_the_draft_says_what_was_ticked(device, cast):
    device.post()

    assert Draft.objects.get().data == {
        **device.sent["data"],
        "observers": [cast.north.educator.observer_id],
        "second": None,
        "began": None,
    }


def test_the_receipt_leads_to_the_draft(device):
    intent = device.sent["intent"]

    assert device.post().json() == {"intent": intent, "draft": f"/drafts/{intent}/"}


def test_the_draft_stands_ready_to_sign(device):
    page = device.client.get(device.post().json()["draft"]).content.decode()

    assert 'data-outcome="critical"' in page


def test_sent_again_it_gives_the_same_receipt(device):
    first = device.post().json()

    assert [device.post().json() for _ in range(3)] == [first] * 3
    assert Draft.objects.count() == 1


def test_sent_again_it_changes_nothing_of_the_draft(device):
    device.post()
    kept = Draft.objects.get().data
    device.change("data.results", {"s01": "independent"})
    device.post()

    assert Draft.objects.get().data == kept


def sign(device):
    user = device.cast.north.educator.user
    user.set_password(PASSWORD)
    user.save()
    device.client.force_login(user)
    url = device.post().json()["draft"]
    device.client.post(url, {"reteach_line": "Hands first.", "note": "", "sign": "yes"})
    shown = device.client.get(f"{url}sign/").context["shown"]
    device.client.post(f"{url}sign/", {"password": PASSWORD, "shown": shown})
    return Record.objects.get(intent=device.sent["intent"])


def test_sent_again_after_signing_it_leads_to_the_record(device):
    record = sign(device)

    assert device.post().json() == {
        "intent": device.sent["intent"],
        "record": f"/families/{record.chain}/records/{record.number}/",
    }
    assert not Draft.objects.exists()


def test_an_intent_of_another_record_is_refused(device, cast):
    device.change("intent", str(Record.objects.filter(chain=cast.north.family.public_id).first().intent))

    assert device.codes() == ["intent"]


def test_an_intent_of_somebody_elses_draft_is_refused(device, cast):
    data = {**device.sent["data"], "skill": "suction"}
    start(
        author=cast.north.supervisor,
        caregiver=cast.north.mother,
        data=data,
        intent=uuid.UUID(device.sent["intent"]),
        at=NOW,
    )

    assert device.codes() == ["intent"]


def test_an_intent_of_another_caregivers_draft_is_refused(device, cast):
    device.post()
    device.change("caregiver", cast.north.father.case_id)

    assert device.codes() == ["intent"]


WORDS_AROUND = {
    "teach_back": "She said it back: short, and out.",
    "note": "Calm.",
    "feels": "not_yet",
    "interpreter": {"kind": "phone", "language": "Tigrinya"},
    "reteach": {"line": "Hands first.", "on": "2026-05-20"},
}


@pytest.mark.parametrize("key", WORDS_AROUND)
def test_the_words_around_it_are_kept(device, key):
    device.change(f"data.{key}", WORDS_AROUND[key])
    device.post()

    assert Draft.objects.get().data[key] == WORDS_AROUND[key]


def test_a_stop_is_kept_with_who_and_why(device):
    device.change("data.stopped", "patient")
    device.change("data.stop", {"by": "caregiver", "why": "She coughed."})
    device.post()
    data = Draft.objects.get().data

    assert (data["stopped"], data["stop"]) == ("patient", {"by": "caregiver", "why": "She coughed."})


@pytest.mark.parametrize(
    ("typed", "kept"), [("8,5", "8.5"), ("08", "8"), (" 9 ", "9"), ("12.40", "12.40"), ("−1", "-1")]
)
def test_a_number_is_kept_one_way(device, typed, kept):
    device.change("data.results.s03", {"result": "independent", "value": typed})
    device.post()

    assert Draft.objects.get().data["results"]["s03"] == {"result": "independent", "value": kept}


def test_what_was_not_seen_has_no_number(device):
    device.change("data.results.s03", {"result": "not_seen", "value": "8"})
    device.post()

    assert Draft.objects.get().data["results"]["s03"] == "not_seen"


# The care plan changed while the device was away


def test_a_step_that_applies_by_now_is_asked_for(device, cast):
    plan(cast.north, cast.north.family, TODAY - timedelta(days=1), {"suction": True, "cuff": "air", "tube_id_mm": 5})
    page = device.client.get(device.post().json()["draft"]).content.decode()

    assert "One of 6 steps has no result yet." in page


def test_a_ticked_step_that_applies_no_longer_is_kept(device):
    device.change("data.results.s05", "independent")  # only with a cuff, and the plan has none
    device.post()

    assert Draft.objects.get().data["results"]["s05"] == "independent"


def test_half_a_recording_is_taken_and_asks_for_the_rest(device):
    device.change("data.results", {"s01": "independent"})
    page = device.client.get(device.post().json()["draft"]).content.decode()

    assert "4 of 5 steps have no result yet." in page


# Refused

MANY = "x" * 1001
SHAPES = [
    ("intent", ...), ("intent", "7"), ("intent", None), ("author", ""), ("author", 5), ("family", "x"), ("caregiver", []),
    ("data", ...), ("data", "x"), ("data", []), ("surplus", 1), ("data.surplus", 1), ("data.observers", []),
    ("data.second", None), ("data.purpose", "exam"), ("data.purpose", ...), ("data.on", "14 May"), ("data.on", None),
    ("data.on", "2026-02-30"), ("data.time", "24:00"), ("data.time", None), ("data.time", 9), ("data.skill", ""),
    ("data.skill", "\0"), ("data.skill", "\ud800"), ("data.edition", 0), ("data.edition", "1"), ("data.edition", True),
    ("data.setting", "moon"), ("data.role", None), ("data.mode", "post"), ("data.place", 1), ("data.results", None),
    ("data.results", []), ("data.results.s01", "good"), ("data.results.s01", None), ("data.results.s01", 1),
    ("data.results.s03", {}), ("data.results.s03", {"result": "independent", "value": 8}),
    ("data.results.s03", {"result": "independent", "value": ""}),
    ("data.results.s03", {"result": "independent", "value": "8", "more": 1}), ("data.stopped", "nobody"),
    ("data.stop", {"by": "observer", "why": ""}), ("data.teach_back", MANY), ("data.teach_back", 1), ("data.note", ""),
    ("data.note", "a\0b"), ("data.feels", "well"), ("data.interpreter", {"kind": "parrot", "language": ""}),
    ("data.interpreter", "phone"), ("data.reteach", {"line": "", "on": None}), ("data.reteach", {"line": "x", "on": "soon"}),
    ("data.reteach", {"line": "x", "on": "2026-05-13"}), ("data.reteach", {"line": "x", "on": "2027-05-16"}),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value"), SHAPES, ids=str)
def test_what_cannot_be_read_is_refused(device, path, value):
    device.change(path, value)

    assert set(device.codes()) == {"shape"}
    assert not Draft.objects.exists()


REFUSED = [
    ("author", str(uuid.UUID(int=1)), "author"),
    ("caregiver", str(uuid.UUID(int=1)), "caregiver"),
    ("family", str(uuid.UUID(int=1)), "caregiver"),
    ("data.skill", "juggling", "skill"),
    ("data.skill", "cpr_card", "skill"),
    ("data.edition", 2, "edition"),
    ("data.on", "2026-05-15", "ahead"),
    ("data.time", "10:06", "ahead"),
    ("data.on", "2026-04-13", "old"),
    ("data.on", "2026-03-01", "no_plan"),
    ("data.results.s99", "independent", "step"),
    ("data.results.s01", "not_applicable", "may_not_skip"),
    ("data.results.s03", "independent", "needs_number"),
    ("data.results.s03", {"result": "independent", "value": "eight"}, "no_number"),
    ("data.results.s03", {"result": "prompted", "value": "1,000"}, "no_number"),
    ("data.results.s02", {"result": "independent", "value": "8"}, "not_measured"),
]


@pytest.mark.parametrize(("path", "value", "code"), REFUSED, ids=str)
def test_what_does_not_fit_the_file_is_refused(device, path, value, code):
    device.change(path, value)

    assert code in device.codes()
    assert not Draft.objects.exists()


@pytest.mark.parametrize(
    ("path", "value"),
    [("data.time", "10:05"), ("data.on", "2026-04-14"), ("data.time", "00:00"), ("data.results.s03", "omitted")],
    ids=str,
)
def test_at_the_edge_it_is_taken(device, path, value):
    device.change(path, value)

    assert device.post().status_code == 200


def test_every_reason_is_given_at_once(device):
    device.change("data.on", "2026-05-15")
    device.change("data.results.s99", "independent")
    device.change("data.results.s03", "independent")

    assert device.codes() == ["ahead", "needs_number", "step"]


def test_somebody_does_not_observe_themself(device, cast):
    mother = cast.north.mother
    mother.user = cast.north.educator.user
    mother.save(update_fields=["user"])

    assert device.codes() == ["self"]


def test_a_reason_is_told_in_words(device):
    device.change("data.results.s03", "independent")

    assert device.post().json()["refused"] == [
        {"code": "needs_number", "path": "data.results.s03", "text": "Step 3 needs a number: it is measured."}
    ]


def test_a_reason_may_hold_a_percent_sign(device):
    device.change("data.purpose", "100 %(x)s")

    assert "100 %(x)s" in device.post().json()["refused"][0]["text"]


def test_every_code_has_been_seen():
    seen = {code for _, _, code in REFUSED} | {"shape", "intent", "self"}

    assert seen == set(WORDS)


# Who may send


PEOPLE = {"visitor": 302, "stranger": 404, "auditor": 403, "administrator": 403, "elsewhere": 422, "supervisor": 422}


@pytest.mark.parametrize("name", PEOPLE)
def test_only_its_author_sends_it(device, person, name):
    device.client.logout()
    if name != "visitor":
        device.client.force_login(person(name))

    assert device.post().status_code == PEOPLE[name]
    assert not Draft.objects.exists()


def test_a_caregiver_of_another_organisation_is_not_there(device, cast):
    device.change("caregiver", cast.south.mother.case_id)
    device.change("family", str(cast.south.family.public_id))

    assert device.post().status_code == 404


def test_it_is_only_posted(device):
    assert device.client.get("/bedside/arrive/").status_code == 405


def test_without_a_token_nothing_is_taken(device, cast):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.north.educator.user)
    answer = client.post("/bedside/arrive/", device.sent, content_type="application/json")

    assert (answer.status_code, Draft.objects.exists()) == (403, False)


def test_with_the_token_that_was_fetched_it_is_taken(device, cast):
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.north.educator.user)
    token = client.get("/bedside/token/").json()["token"]
    answer = client.post(
        "/bedside/arrive/", device.sent, content_type="application/json", headers={"X-CSRFToken": token}
    )

    assert answer.status_code == 200


@pytest.mark.parametrize("body", [b"", b"{", b"\xff", b"[" * 50_000, b'"' + b"x" * 100_001 + b'"'])
def test_what_is_no_json_is_refused(device, body):
    answer = device.client.post("/bedside/arrive/", body, content_type="application/json")

    assert answer.status_code == 400


@pytest.mark.parametrize("sent", ["7", "null", "[]", '"x"', "{}"])
def test_what_is_no_recording_is_refused(device, sent):
    answer = device.client.post("/bedside/arrive/", sent, content_type="application/json")

    assert {r["code"] for r in answer.json()["refused"]} == {"shape"}


def test_a_form_is_not_taken(device):
    assert device.client.post("/bedside/arrive/", {"x": json.dumps(device.sent)}).status_code == 400


def test_an_edition_before_its_first_day_is_refused(device, cast):
    edition = cast.north.programme.editions.get(skill="suction")
    assert edition.in_force_from == date(2025, 1, 1)
    device.change("data.on", (edition.in_force_from - timedelta(days=1)).isoformat())

    assert "edition" in device.codes()
