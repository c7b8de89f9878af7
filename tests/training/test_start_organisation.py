"""The command that starts an organisation that is not the demo's."""

import io
from datetime import date, timedelta
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from training.people.models import Member, Organisation

SAMPLE = Path(__file__).parents[2] / "fixtures/programmes/home-tracheostomy.yaml"


def start(monkeypatch, first_day, password="long enough and odd", **changes):
    monkeypatch.setattr("sys.stdin", io.StringIO(password + "\n"))
    options = {
        "kind": "hospital", "zone": "Europe/Oslo", "administrator": "ada", "full_name": "Ada Admin",
        "programme": SAMPLE, "first_day": first_day,
    } | changes  # fmt: skip
    call_command("start_organisation", "New Place", **options, stdout=io.StringIO())


def tomorrow(days=2):
    return timezone.localdate() + timedelta(days=days)


@pytest.mark.django_db
def test_it_starts_with_an_administrator_and_a_published_programme(monkeypatch):
    start(monkeypatch, tomorrow())
    place = Organisation.objects.get(title="New Place")

    assert [m.role for m in place.members.all()] == [Member.Role.ADMINISTRATOR]
    assert {e.in_force_from for e in place.programmes.get().editions.all()} == {tomorrow()}


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("why", "first_day", "changes"),
    [
        ("a programme begins tomorrow or later", date(2025, 1, 1), {}),
        ("no such zone", None, {"zone": "Mars/North"}),
        ("no such file", None, {"programme": Path("nowhere.yaml")}),
        ("a short password", None, {"password": "short"}),
    ],
)
def test_what_cannot_be_started_leaves_nothing(monkeypatch, why, first_day, changes):
    with pytest.raises(CommandError):
        start(monkeypatch, first_day or tomorrow(), **changes)

    assert not Organisation.objects.filter(title="New Place").exists(), why
