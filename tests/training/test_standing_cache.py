"""The stored spans of many families at once are those of each by itself."""

import pytest
from django.db import transaction

from training.people.models import Family
from training.standing.cache import refresh, refresh_all
from training.standing.file import open_file, open_files
from training.standing.models import CachedStanding, CachedVerdict, CacheState

pytestmark = pytest.mark.django_db

SPAN = ("caregiver", "skill", "standing", "start", "through")


def stored():
    return [
        sorted(CachedStanding.objects.values_list(*SPAN), key=str),
        sorted(CachedVerdict.objects.values_list("family", "verdict", "start", "through"), key=str),
        sorted(CacheState.objects.values_list("family", "head", "programme_version", "qualifications_head")),
    ]


def families():
    return list(Family.objects.order_by("pk"))


@transaction.atomic
def one_by_one():
    for family in families():
        refresh(open_file(family))


@transaction.atomic
def together():
    refresh_all(list(open_files(families())))


@pytest.mark.usefixtures("cast")
def test_files_opened_together_are_those_opened_one_by_one():
    for file, family in zip(open_files(families()), families(), strict=True):
        alone = open_file(family)
        assert [r.digest for r in file.records] == [r.digest for r in alone.records]
        assert [r.digest for r in file.staff_records] == [r.digest for r in alone.staff_records]
        assert file.programme == alone.programme
        assert file.caregivers == alone.caregivers


@pytest.mark.usefixtures("cast")
def test_spans_stored_together_are_those_stored_one_by_one():
    one_by_one()
    before = stored()
    CachedStanding.objects.all().delete()
    CachedVerdict.objects.all().delete()
    CacheState.objects.all().delete()

    together()

    assert before[0]
    assert stored() == before


@pytest.mark.usefixtures("cast")
def test_a_wrong_span_is_taken_away_and_a_right_one_keeps_its_row():
    one_by_one()
    before = stored()
    kept = set(CachedStanding.objects.values_list("pk", flat=True))
    wrong = CachedStanding.objects.first()
    CachedStanding.objects.filter(pk=wrong.pk).update(standing="lapsed")

    together()

    assert stored() == before
    assert set(CachedStanding.objects.values_list("pk", flat=True)) >= kept - {wrong.pk}


@pytest.mark.usefixtures("cast")
def test_as_many_queries_for_two_families_as_for_four(django_assert_num_queries):
    one_by_one()
    for count in (2, 4):
        some = families()[:count]
        with django_assert_num_queries(12):
            refresh_all(list(open_files(some)))
