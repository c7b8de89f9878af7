"""One person, several places: one is worn at a time. A shared phone: short sessions, nothing kept after signing out."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from tests.cast import NOW, TODAY
from tests.factories import MemberFactory
from tests.training.pages.caregiver.acts import address, text_of
from training.people.models import Caregiver, Family


@pytest.fixture
def both(cast, north):
    """Marit also works at the agency, as an educator."""
    return MemberFactory(organisation=cast.south.organisation, user=north.mother.user)


@pytest.mark.parametrize("page", ["account", "account-password", "second-factor"])
def test_the_account_leads_back_to_one_s_own_page(north, mother, page):
    assert f'href="{reverse("mine")}"' in mother.get(reverse(page)).content.decode()


@pytest.mark.parametrize("page", ["account", "account-password", "second-factor"])
def test_the_account_s_foot_speaks_to_who_reads_it(cast, signed_in, north, mother, page):
    to_caregiver, to_staff = "If something here does not fit, ask.", "Checklists shown here are a sample to adapt."
    own = text_of(mother.get(reverse(page)))
    staff = text_of(signed_in(north.educator).get(reverse(page)))

    assert (to_caregiver in own, to_staff in own) == (True, False)
    assert (to_caregiver in staff, to_staff in staff) == (False, True)


def choose(client, place):
    return client.post(reverse("place"), {"place": str(place.public_id)}, follow=True)


def test_with_several_places_one_is_asked_for(north, mother, both):
    answer = mother.get(reverse("home"))

    assert [hat.says for hat in answer.context["hats"]] == ["Educator at Southmere Home Care", "Marit for Ilse"]
    assert "Marit for Ilse" in text_of(answer)


def test_as_a_caregiver_no_page_of_staff_s_opens(cast, north, mother, both):
    page = choose(mother, north.mother)

    assert page.redirect_chain[-1][0] == address(north.mother)
    assert mother.get(reverse("families")).status_code == 404
    assert mother.get(reverse("family", args=[cast.south.family.public_id])).status_code == 404


def test_as_staff_the_own_page_asks_first(cast, north, mother, both):
    page = choose(mother, both)

    assert page.redirect_chain[-1][0] == reverse("families")
    assert mother.get(address(north.mother)).url == reverse("place")
    assert mother.post(reverse("mine-pause", args=[north.mother.public_id]), {"intent": ""}).status_code == 404
    assert mother.get(reverse("family", args=[cast.south.family.public_id])).status_code == 200


def test_staff_s_bar_and_the_own_page_offer_the_switch(north, mother, both):
    staff = choose(mother, both).content.decode()
    own = choose(mother, north.mother).content.decode()

    assert f'href="{reverse("place")}"' in staff
    assert "Educator at Southmere Home Care" in own


def test_with_one_place_there_is_no_switch(north, mother):
    assert "Switch" not in mother.get(address(north.mother)).content.decode()


def test_the_place_is_kept_through_the_session(north, mother, both):
    choose(mother, north.mother)

    assert mother.get(reverse("home")).url == address(north.mother)
    assert mother.get(reverse("mine")).url == address(north.mother)


@pytest.mark.parametrize("wanted", ["", "nonsense", "foreign"])
def test_nobody_chooses_a_place_that_is_not_theirs(cast, north, mother, both, wanted):
    foreign = str(cast.south.mother.public_id)
    answer = mother.post(reverse("place"), {"place": foreign if wanted == "foreign" else wanted})

    assert answer.status_code == 404


def test_two_families_are_two_places(cast, north, mother):
    Caregiver.objects.filter(pk=cast.south.mother.pk).update(user=north.mother.user)
    first = choose(mother, cast.south.mother)

    assert "What you can do for Noor" in text_of(first)
    assert mother.get(address(north.mother)).url == reverse("place")
    assert "What you can do for Ilse" in text_of(choose(mother, north.mother))


def test_a_place_that_has_ended_is_chosen_no_longer(north, mother, both):
    choose(mother, both)
    both.through = TODAY - timedelta(days=1)
    both.save(update_fields=["through"])

    assert mother.get(reverse("home")).url == address(north.mother)
    assert mother.get(address(north.mother)).status_code == 200


# Leaving


NEW_YORK = [
    (datetime(2026, 5, 14, 23, 0, tzinfo=UTC), 200),  # 19:00 of the last day where the patient is
    (datetime(2026, 5, 15, 3, 59, tzinfo=UTC), 200),  # 23:59
    (datetime(2026, 5, 15, 4, 0, tzinfo=UTC), 404),  # midnight there; long past it in Oslo
]


@pytest.mark.parametrize(("instant", "status"), NEW_YORK)
def test_the_last_day_ends_where_the_patient_is(north, client, instant, status):
    Family.objects.filter(pk=north.family.pk).update(time_zone="America/New_York")
    Caregiver.objects.filter(pk=north.mother.pk).update(through=TODAY)
    with time_machine.travel(instant, tick=False):
        client.force_login(north.mother.user)
        assert client.get(address(north.mother)).status_code == status


def test_an_open_session_is_out_with_the_last_day(north, mother):
    Caregiver.objects.filter(pk=north.mother.pk).update(through=TODAY)
    before = mother.get(address(north.mother)).status_code
    with time_machine.travel(datetime(2026, 5, 14, 21, 50, tzinfo=UTC), tick=False) as clock:
        mother.force_login(north.mother.user)
        late = mother.get(address(north.mother)).status_code
        clock.move_to(datetime(2026, 5, 14, 22, 1, tzinfo=UTC))
        after = mother.get(address(north.mother)).status_code
        act = mother.post(reverse("mine-pause", args=[north.mother.public_id]), {"intent": ""}).status_code
        home = mother.get(reverse("home"))

    assert (before, late, after, act) == (200, 200, 404, 404)
    assert "You have no place here on this date" in text_of(home)


def test_who_left_stays_in_the_record(north, signed_in):
    Caregiver.objects.filter(pk=north.mother.pk).update(through=TODAY - timedelta(days=1))
    page = signed_in(north.educator).get(reverse("family", args=[north.family.public_id]))

    assert "Marit Okonjo-Lind" in page.content.decode()


def test_a_closed_account_is_out_at_its_next_request(north, mother):
    user = north.mother.user
    before = mother.get(address(north.mother)).status_code
    user.is_active = False
    user.save(update_fields=["is_active"])

    assert (before, mother.get(address(north.mother)).url.split("?")[0]) == (200, reverse("sign-in"))


# A shared phone


@pytest.mark.parametrize(("minutes", "is_in"), [(29, True), (31, False)])
def test_left_alone_it_signs_out(north, settings, minutes, is_in):
    client = Client()
    with time_machine.travel(NOW, tick=False) as clock:
        client.force_login(north.mother.user)
        client.get(address(north.mother))
        clock.shift(timedelta(minutes=minutes))
        answer = client.get(address(north.mother))

    assert (answer.status_code == 200) is is_in


def test_a_touch_in_between_keeps_it_open(north):
    client = Client()
    with time_machine.travel(NOW, tick=False) as clock:
        client.force_login(north.mother.user)
        for _ in range(4):
            clock.shift(timedelta(minutes=20))
            answer = client.get(address(north.mother))

    assert answer.status_code == 200


def test_the_page_says_how_long(north, mother, settings):
    settings.CAREGIVER_IDLE_MINUTES = 17

    assert "Left alone for 17 minutes, this page signs Marit out." in mother.get(address(north.mother)).content.decode()


def test_a_switch_to_staff_gives_the_session_its_length_back(north, mother, both):
    choose(mother, north.mother)
    short = mother.session.get_expiry_age()
    choose(mother, both)

    assert (short, mother.session.get_expiry_age()) == (30 * 60, 12 * 60 * 60)


def test_signing_out_names_whose_page_it_was_and_empties_the_cache(north, mother):
    before = mother.get(address(north.mother)).content.decode()
    answer = mother.post(reverse("sign-out"))
    after = mother.get(answer.url).content.decode()

    assert "Sign out Marit" in before
    assert answer["Clear-Site-Data"] == '"cache"'  # not the storage: a nurse's unsent drafts may be in it
    assert [name for name in ("Marit", "Ilse", "Okonjo", north.mother.user.username) if name in after] == []
