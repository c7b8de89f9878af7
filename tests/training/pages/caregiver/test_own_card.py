"""A card belongs to the person: they may tell another house's nurse of it themself. It counts once it was seen there."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from competency.fields import RefusedError
from competency.standing import Standing
from tests.cast import NOW, TODAY, write
from tests.training.kept import keep
from tests.training.pages.caregiver.acts import address
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def there(cast, north):
    """Marit's place in a family of the agency; the hospital has seen her card."""
    Caregiver.objects.filter(pk=cast.south.mother.pk).update(user=north.mother.user)
    return cast.south


def card(home, caregiver, through="2028-05-01"):
    return write(home.educator, caregiver.family, "certificate", NOW, caregiver=caregiver.case_id, skill="cpr_card",
                 on="2026-05-01", through=through, note="CANARY 4711")  # fmt: skip


def page_at(client, place):
    client.post(reverse("place"), {"place": str(place.public_id)})
    return client.get(address(place))


def tell(client, place, made, intent=None):
    client.post(reverse("place"), {"place": str(place.public_id)})
    fields = {"intent": intent or str(uuid.uuid4()), "card": str(made.intent)}
    return client.post(reverse("mine-card", args=[place.public_id]), fields)


def told_to(home):
    return list(Record.objects.of_chain(home.family.public_id).filter(kind="told_card"))


def standing(place):
    return FamilyOn(open_file(place.family), TODAY).cell(place, "cpr_card").standing


def staff_page(home):
    client = Client()
    client.force_login(home.educator.user)
    return client.get(reverse("family", args=[home.family.public_id])).content.decode()


def test_the_other_house_knows_nothing_until_the_person_tells(north, mother, there):
    card(north, north.mother)

    assert "says they have this card" not in staff_page(there)
    assert "Tell my nurse here about my card" in page_at(mother, there.mother).content.decode()


def test_what_is_told_is_to_be_checked_and_counts_for_nothing(north, mother, there):
    tell(mother, there.mother, card(north, north.mother))
    page = staff_page(there)

    assert "Desta says they have this card: CPR card." in page
    assert "Dated 1 May 2026, through 1 May 2028." in page
    assert [word for word in ("CANARY", "Northlea", "Okonjo", "Marit") if word in page] == []
    assert standing(there.mother) is Standing.NOT_STARTED


def test_once_it_was_seen_it_counts_and_is_listed_no_longer(north, mother, there):
    tell(mother, there.mother, card(north, north.mother))
    card(there, there.mother)

    assert standing(there.mother) is Standing.SIGNED_OFF
    assert "says they have this card" not in staff_page(there)


def test_the_same_touch_twice_is_one_and_it_is_offered_once(north, mother, there):
    made, intent = card(north, north.mother), str(uuid.uuid4())
    for _ in range(2):
        tell(mother, there.mother, made, intent)
    tell(mother, there.mother, made)

    assert len(told_to(there)) == 1
    assert "Tell my nurse here" not in page_at(mother, there.mother).content.decode()


@pytest.mark.parametrize("case", ["old", "father's", "entered here", "voided"])
def test_it_is_offered_only_where_it_is_theirs_current_and_missing(north, mother, there, case):
    made = card(north, north.father if case == "father's" else north.mother, "2026-05-13" if case == "old" else None)
    if case == "entered here":
        card(there, there.mother)
    if case == "voided":
        write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="wrong")
    read = page_at(mother, there.mother).content.decode()
    tell(mother, there.mother, made)

    assert "Tell my nurse here" not in read
    assert told_to(there) == []


@pytest.mark.parametrize(
    ("who", "changes", "path"),
    [
        ("educator", {}, "caregiver"),
        ("father", {}, "caregiver"),
        ("mother", {"skill": "suction"}, "skill"),
        ("mother", {"dated": "2026-05-15"}, "dated"),
        ("mother", {"through": "2026-04-30"}, "through"),
        ("mother", {"on": "2026-05-13"}, "on"),
    ],
)
def test_nobody_tells_for_another_or_of_what_cannot_be(north, who, changes, path):
    body = {"caregiver": north.mother.case_id, "skill": "cpr_card", "dated": "2026-05-01", "through": None,
            "on": "2026-05-14", **changes}  # fmt: skip
    with pytest.raises(RefusedError) as caught:
        keep(getattr(north, who), north.family, "told_card", **body)

    assert [p.path for p in caught.value.problems] == [path]
