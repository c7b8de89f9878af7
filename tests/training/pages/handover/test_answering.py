"""The agency's side: what is offered to it, the answer, and what it sees before and after."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from tests.cast import NOW
from tests.training.pages.setup.acts import said, send
from training.handover import deeds
from training.handover.codes import organisation_with
from training.handover.models import HandoverCode, Offer
from training.people.models import Family


def of(made, name="offer"):
    return reverse(name, args=[made.public_id])


def accepted(client, made, south, **changes):
    return send(client, of(made, "offer-accept"), **{"programme": str(south.programme.public_id), **changes})


def test_the_navigation_counts_only_while_something_waits(south, signed_in, offer):
    client = signed_in(south.educator)
    before = client.get(reverse("families")).content.decode()
    offer()

    assert "Offered to us" not in before
    assert "Offered to us (1)" in client.get(reverse("families")).content.decode()


def test_an_offer_that_ran_out_is_not_counted(south, signed_in, offer):
    offer(at=NOW - timedelta(days=31))

    assert "Offered to us (" not in signed_in(south.educator).get(reverse("families")).content.decode()


def test_the_list_and_the_page_show_the_summary(south, signed_in, offer):
    made, client = offer(), signed_in(south.educator)

    assert "Ilse" in client.get(reverse("offers")).content.decode()
    assert "Going home near you" in client.get(of(made)).content.decode()


def test_before_accepting_no_name_birth_date_or_record_is_shown(north, south, signed_in, offer):
    text = signed_in(south.supervisor).get(of(offer())).content.decode()
    personal = [
        north.family.name,
        north.family.patient_name,
        "February 2023",
        *(c.called for c in north.family.caregivers.all()),
    ]

    assert [word for word in personal if word in text] == []


def test_the_family_itself_is_not_found_before_and_after(north, south, signed_in, offer):
    made, client = offer(), signed_in(south.supervisor)
    address = reverse("family", args=[north.family.public_id])
    before = client.get(address).status_code
    accepted(client, made, south)

    assert (before, client.get(address).status_code) == (404, 404)


def test_accepting_opens_the_file(south, signed_in, offer):
    made = offer()
    answer = accepted(signed_in(south.supervisor), made, south)
    made.refresh_from_db()

    assert answer.url == reverse("handover", args=[made.made.public_id])
    assert made.made.organisation == south.organisation


def test_two_tabs_are_one_file(south, signed_in, offer):
    made, client = offer(), signed_in(south.supervisor)
    accepted(client, made, south)
    again = accepted(client, made, south)

    assert (again.status_code, Family.objects.filter(organisation=south.organisation).count()) == (302, 3)
    assert "Accepted already" in said(again)


def test_declining_asks_for_a_reason(south, signed_in, offer):
    made, client = offer(), signed_in(south.supervisor)
    without = send(client, of(made, "offer-decline"), reason="")
    send(client, of(made, "offer-decline"), reason="No room")
    made.refresh_from_db()

    assert (without.status_code, made.ended, made.ended_reason) == (200, "declined", "No room")


def test_a_wrong_password_answers_nothing(south, signed_in, offer):
    made = offer()
    accepted(signed_in(south.supervisor), made, south, password="no")
    made.refresh_from_db()

    assert made.ended == ""


def test_another_organisation_s_programme_is_no_choice(north, south, signed_in, offer):
    made = offer()
    accepted(signed_in(south.supervisor), made, south, programme=str(north.programme.public_id))
    made.refresh_from_db()

    assert made.ended == ""


def test_what_was_withdrawn_shows_no_summary_any_more(north, south, signed_in, offer):
    made = offer()
    deeds.withdraw(offer=made, reason="They stay", by=north.supervisor, at=NOW)
    text = signed_in(south.supervisor).get(of(made)).content.decode()

    assert ("They stay" in text, "Ilse" in text, "Going home near you" in text) == (True, False, False)


def test_what_was_withdrawn_meanwhile_is_said_on_the_post(north, south, signed_in, offer):
    made = offer()
    deeds.withdraw(offer=made, reason="They stay", by=north.supervisor, at=NOW)
    answer = accepted(signed_in(south.supervisor), made, south)

    assert "does not wait any more" in said(answer)
    assert Family.objects.filter(organisation=south.organisation).count() == 2


@pytest.mark.parametrize(
    ("page", "statuses"),
    [
        ("offers", (200, 200, 403, 403)),
        ("offer", (200, 200, 403, 403)),
        ("offer-accept", (403, 200, 403, 403)),
        ("offer-decline", (403, 200, 403, 403)),
        ("handover-code", (403, 200, 200, 403)),
    ],
)
@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor"])
def test_who_is_let_in(south, signed_in, offer, page, statuses, role):
    made = offer()
    args = [made.public_id] if page.startswith("offer-") or page == "offer" else []
    answer = signed_in(getattr(south, role)).get(reverse(page, args=args))

    assert answer.status_code == statuses[["educator", "supervisor", "administrator", "auditor"].index(role)]


@pytest.mark.parametrize("page", ["offer", "offer-accept", "offer-decline"])
@pytest.mark.parametrize("role", ["educator", "supervisor"])
def test_an_offer_to_somebody_else_is_not_found(north, signed_in, offer, page, role):
    assert signed_in(getattr(north, role)).get(of(offer(), page)).status_code == 404


def test_nobody_else_answers_it(north, signed_in, offer):
    made = offer()
    answer = send(signed_in(north.supervisor), of(made, "offer-decline"), reason="x")

    assert (answer.status_code, Offer.objects.get(pk=made.pk).ended) == (404, "")


def test_the_code_is_shown_and_changed(south, signed_in):
    client = signed_in(south.supervisor)
    first = client.get(reverse("handover-code")).context["code"]
    client.post(reverse("handover-code"))

    assert first != client.get(reverse("handover-code")).context["code"]
    assert organisation_with(first) is None
    assert HandoverCode.objects.get().organisation == south.organisation
