"""The hospital's side: a code, the summary, the signature; taking it back; what its pages say afterwards."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY
from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import code_at, enrol
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.handover import deeds
from training.handover.models import Offer
from training.pages.entry.proof import PROOFS


def look(client, family, code, **changes):
    return send(client, of(family, "offer-new"), code=code, reason="Going home near you", **changes)


def sign(client, family, code):
    """Look first, then sign what was shown."""
    form = look(client, family, code).context["form"]
    fields = {name: form[name].value() or "" for name in form.fields if name != "password"}
    return send(client, of(family, "offer-new"), **fields, sign="yes"), fields


def test_looking_signs_nothing_and_shows_what_they_would_see(north, south, signed_in, code):
    answer = look(signed_in(north.supervisor), north.family, code)

    assert (answer.status_code, Offer.objects.count()) == (200, 0)
    assert f"{south.organisation.title} would see this" in answer.content.decode()
    assert "Marit" not in answer.content.decode()


def test_signing_offers(north, south, signed_in, code):
    answer, _fields = sign(signed_in(north.supervisor), north.family, code)

    assert answer.url == of(north.family, "handover")
    assert Offer.objects.get().to == south.organisation
    assert last(north.family).kind == "offer"


def test_the_same_post_twice_is_one_offer(north, signed_in, code):
    client = signed_in(north.supervisor)
    _answer, fields = sign(client, north.family, code)
    again = send(client, of(north.family, "offer-new"), **fields, sign="yes")

    assert (again.status_code, Offer.objects.count()) == (302, 1)


def test_what_changed_since_it_was_shown_is_shown_again(north, signed_in, code):
    client = signed_in(north.supervisor)
    form = look(client, north.family, code).context["form"]
    fields = {name: form[name].value() or "" for name in form.fields if name != "password"} | {"note": "another"}
    answer = send(client, of(north.family, "offer-new"), **fields, sign="yes")

    assert (answer.status_code, Offer.objects.count()) == (200, 0)
    assert "Nothing was signed" in answer.content.decode()


def test_a_wrong_password_signs_nothing(north, signed_in, code):
    client = signed_in(north.supervisor)
    form = look(client, north.family, code).context["form"]
    fields = {name: form[name].value() or "" for name in form.fields if name != "password"}
    answer = send(client, of(north.family, "offer-new"), **fields, sign="yes", password="not it")

    assert (list(errors(answer)), Offer.objects.count()) == (["password"], 0)


def test_a_wrong_code_is_answered_with_no_name(north, south, signed_in):
    answer = look(signed_in(north.supervisor), north.family, "ABCD-EFGH-JKMN")

    assert errors(answer)["code"] == ["This code names no organisation. Ask for it again; nothing was sent."]
    assert south.organisation.title not in answer.content.decode()


def test_the_hospital_s_pages_say_it_waits(north, signed_in, offer, south):
    offer()
    client = signed_in(north.supervisor)

    assert f"Offered to {south.organisation.title}" in client.get(of(north.family, "family")).content.decode()
    assert "It waits for their answer" in client.get(of(north.family, "handover")).content.decode()


def test_taking_it_back_says_why(north, signed_in, offer):
    made = offer()
    client = signed_in(north.supervisor)
    answer = send(client, of(north.family, "offer-withdraw", offer=made.public_id), reason="They stay")
    made.refresh_from_db()

    assert (answer.status_code, made.ended, made.ended_reason) == (302, "withdrawn", "They stay")
    assert "They stay" in client.get(of(north.family, "handover")).content.decode()


def test_what_was_answered_is_not_taken_back(north, south, signed_in, offer):
    made = offer()
    deeds.decline(offer=made, reason="No room", by=south.supervisor, at=NOW)
    before = count(north.family)
    answer = send(signed_in(north.supervisor), of(north.family, "offer-withdraw", offer=made.public_id), reason="x")

    assert (count(north.family), "nothing was signed now" in said(answer)) == (before, True)


def test_the_hospital_reads_who_declined_and_why(north, south, signed_in, offer):
    deeds.decline(offer=offer(), reason="No night staff", by=south.supervisor, at=NOW)
    text = signed_in(north.educator).get(of(north.family, "handover")).content.decode()

    assert "No night staff" in text
    assert south.supervisor.signed_name in text


@pytest.mark.parametrize(("address", "words"), [("family", "Handed over to"), ("handover", "accepted")])
def test_after_the_hand_over_the_hospital_still_reads(north, signed_in, taken, address, words):
    taken()

    assert words in signed_in(north.educator).get(of(north.family, address)).content.decode()


def test_the_board_says_handed_over_and_counts_it_nowhere(north, south, signed_in, taken):
    taken()
    answer = signed_in(north.supervisor).get(reverse("board"))

    assert answer.context["attention_count"] == 1  # the other family
    assert f"Handed over to {south.organisation.title}" in answer.content.decode()


def test_a_board_of_an_earlier_date_knows_nothing_of_it(north, signed_in, taken):
    taken()
    day = TODAY - timedelta(days=1)

    assert signed_in(north.supervisor).get(reverse("board"), {"on": day}).context["attention_count"] == 2


def test_recording_after_the_hand_over_is_still_possible(north, signed_in, taken):
    taken()
    fields = {"item": "x"}  # the form itself answers, nothing refuses the family
    answer = send(signed_in(north.educator), of(north.family, "item-new"), **fields)

    assert answer.status_code == 200


def test_the_offer_s_record_says_to_whom_in_words(north, south, signed_in, offer):
    offer()
    answer = signed_in(north.educator).get(of(north.family, "record", number=last(north.family).number))

    assert f"Offered to another organisation: {south.organisation.title}" in answer.content.decode()


def test_its_password_is_asked(north, signed_in, offer):
    made = offer()
    answer = send(
        signed_in(north.supervisor), of(north.family, "offer-withdraw", offer=made.public_id), reason="x", password="no"
    )

    assert list(errors(answer)) == ["password"]
    assert PASSWORD != "no"


def test_after_the_hand_over_nothing_is_said_to_be_ahead(north, signed_in, taken):
    taken()
    text = signed_in(north.educator).get(of(north.family, "family")).content.decode()

    assert "Nothing is counted ahead here any more." in text
    assert [w for w in ("Nothing runs out in these ninety days", "may practise on") if w in text] == []


def test_with_a_second_factor_looking_asks_for_no_code_and_signing_does(north, signed_in, code):
    enrol(north.supervisor.user)
    client = signed_in(north.supervisor)
    form = look(client, north.family, code).context["form"]
    fields = {name: form[name].value() or "" for name in form.fields if name not in PROOFS} | {"sign": "yes"}

    wrong = send(client, of(north.family, "offer-new"), **fields, second_factor="000000")
    assert (list(errors(wrong)), Offer.objects.count()) == (["second_factor"], 0)
    assert "would see this" in wrong.content.decode()

    send(client, of(north.family, "offer-new"), **fields, second_factor=code_at())
    assert Offer.objects.count() == 1
