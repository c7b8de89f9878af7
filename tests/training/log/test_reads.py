"""Who looked at what: every look at a family, every page of an auditor's; and what happens where it cannot be kept."""

from __future__ import annotations

import logging
from types import SimpleNamespace

import pytest
from django.db import DatabaseError, connection, connections
from django.urls import reverse

from tests.cast import TODAY, show
from tests.factories import UserFactory
from training.log import reading
from training.log.models import Entry
from training.sqlite import base

FAMILY_PAGES = ("family", "records", "packet", "stays")


@pytest.fixture
def reads():
    """What was read since the test began."""
    before = Entry.objects.order_by("-pk").values_list("pk", flat=True).first() or 0

    def found():
        return list(Entry.objects.filter(kind="read", pk__gt=before).order_by("pk"))

    return found


def page(home, name, **more):
    return reverse(name, kwargs={"family": home.family.public_id, **more})


@pytest.mark.parametrize("name", FAMILY_PAGES)
@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor"])
def test_a_look_at_a_family_is_one_entry(cast, signed_in, reads, name, role):
    member = getattr(cast.north, role)
    assert signed_in(member).get(page(cast.north, name)).status_code == 200
    (entry,) = reads()

    assert (entry.view, entry.who_id, entry.who_role) == (name, member.observer_id, role)
    assert (entry.about_id, entry.about_name) == (str(cast.north.family.public_id), "Okonjo-Lind")


def test_a_record_and_a_skill_are_looks_at_the_family(cast, signed_in, reads):
    home = cast.north
    made = show(home, home.mother, "hands", TODAY)
    client = signed_in(home.supervisor)
    client.get(page(home, "record", number=made.number))
    client.get(page(home, "skill", caregiver=home.mother.public_id, skill="hands"))

    assert [e.view for e in reads()] == ["record", "skill"]


def test_what_a_device_takes_along_is_a_look(cast, signed_in, reads):
    signed_in(cast.north.educator).get(page(cast.north, "bedside-pack"))

    assert [(e.view, e.about_name) for e in reads()] == [("bedside-pack", "Okonjo-Lind")]


@pytest.mark.parametrize("name", ["board", "families"])
def test_a_list_is_one_entry_with_the_number_of_families(cast, signed_in, reads, name):
    signed_in(cast.north.supervisor).get(reverse(name))

    assert [(e.view, e.words) for e in reads()] == [(name, {"families": 2})]


@pytest.mark.parametrize(("role", "status"), [("auditor", 403), ("south", 404)])
def test_who_is_shown_nothing_read_nothing(cast, signed_in, reads, role, status):
    member = cast.south.educator if role == "south" else cast.north.auditor
    assert signed_in(member).get(page(cast.north, "care-plan-new")).status_code == status

    assert reads() == []


@pytest.mark.parametrize("name", ["members", "programmes"])
def test_an_auditors_every_page_is_logged(cast, signed_in, reads, name):
    signed_in(cast.north.auditor).get(reverse(name))

    assert [e.view for e in reads()] == [name]


def test_a_colleagues_look_at_the_members_is_not(cast, signed_in, reads):
    signed_in(cast.north.educator).get(reverse("members"))

    assert reads() == []


def test_a_caregivers_own_page_is_logged(cast, signed_in, reads):
    mother = cast.north.mother
    mother.user = UserFactory(full_name="Marit")
    mother.save()
    assert signed_in(mother.user).get(reverse("mine-family", args=[mother.public_id])).status_code == 200
    (entry,) = reads()

    assert (entry.who_name, entry.who_role, entry.view) == ("Marit Okonjo-Lind", "mother", "mine-family")


def test_each_organisation_has_its_own_entries(cast, signed_in):
    signed_in(cast.south.educator).get(page(cast.south, "family"))

    assert not Entry.objects.visible_to(cast.north.auditor).filter(about_name="Abara-Voss").exists()


# Where the entry cannot be written


@pytest.fixture
def full(monkeypatch):
    def refuse(*args, **kwargs):
        raise DatabaseError("disk full; Ilse Okonjo-Lind")

    monkeypatch.setattr(reading, "write", refuse)


@pytest.mark.parametrize(("role", "status"), [("educator", 200), ("supervisor", 200), ("administrator", 503), ("auditor", 503)])  # fmt: skip
def test_only_who_cares_for_patients_is_shown_it_anyway(cast, signed_in, full, role, status):
    answer = signed_in(getattr(cast.north, role)).get(page(cast.north, "family"))

    assert answer.status_code == status
    assert (b"Okonjo-Lind" in answer.content) is (status == 200)


def test_what_was_shown_anyway_goes_to_the_sites_log_without_a_name(cast, signed_in, full, caplog):
    caplog.set_level(logging.INFO, logger="training")
    signed_in(cast.north.educator).get(page(cast.north, "family"))
    (line,) = caplog.messages

    assert str(cast.north.family.public_id) in line
    assert cast.north.educator.observer_id in line
    assert "Okonjo-Lind" not in line


@pytest.mark.skipif(connection.vendor != "sqlite", reason="only SQLite's writers wait in line")
def test_a_page_waits_two_seconds_for_its_entry_and_no_longer(db, monkeypatch):
    waited = []
    line = SimpleNamespace(take=waited.append)  # it gives nothing back: the turn has not come
    site = connections["default"]
    monkeypatch.setattr(site, "_line", None)
    monkeypatch.setattr(base, "line_for", lambda name: line)
    with reading._patience(), pytest.raises(DatabaseError, match="locked"):
        site._take_turn()

    assert waited == [reading.PATIENCE]
