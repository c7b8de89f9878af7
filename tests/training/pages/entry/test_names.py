"""One spelling of each user name, on both databases."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from tests.training.pages.entry.conftest import is_signed_in, sign_in
from training.people.models import User

pytestmark = pytest.mark.django_db

SPELLINGS = [
    ("Ana", "ana"),
    ("ÅSE", "åse"),  # SQLite's own LOWER folds a to z only
    ("A\u030ase", "åse"),  # a letter and a ring, composed
    ("ＡＮＡ", "ana"),  # wide letters
    ("  ana\u00a0", "ana"),
    ("Ana@Example.ORG", "ana@example.org"),
    ("STRASSE", "straße"),
]


@pytest.mark.parametrize(("one", "other"), SPELLINGS)
def test_two_spellings_are_one_name(one, other):
    User.objects.create_user(one, "pass phrase one", full_name="One")

    with pytest.raises(IntegrityError), transaction.atomic():
        User.objects.create_user(other, "pass phrase two", full_name="Two")


@pytest.mark.parametrize(("one", "other"), SPELLINGS)
def test_either_spelling_signs_in(client, one, other):
    User.objects.create_user(one, "pass phrase one", full_name="One")

    sign_in(client, other, "pass phrase one")

    assert is_signed_in(client)


def test_the_database_refuses_another_case_written_past_the_manager():
    User.objects.create(username="ana", full_name="One")

    with pytest.raises(IntegrityError), transaction.atomic():
        User.objects.create(username="ANA", full_name="Two")


def test_a_name_longer_than_any_is_nobody_s(client, db):
    """SQLite refuses to compare with a text of more than 50,000 letters: it was an error of the server."""
    answer = sign_in(client, "x" * 50_001)

    assert answer.status_code == 200
    assert not is_signed_in(client)
