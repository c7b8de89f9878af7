"""Generated organisations: chains that fit, files the rules read, nothing but the invented; and where they are refused."""

from datetime import UTC, date, datetime
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from training.exchange.bulk.organisation import make_organisation
from training.people.models import Family, Organisation
from training.standing.cache import refresh
from training.standing.file import open_file

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 20, 9, tzinfo=UTC)


@pytest.fixture
def home():
    return make_organisation(families=30, now=NOW)


def test_every_chain_fits_and_every_file_is_read(home):
    families = list(Family.objects.filter(organisation=home.organisation))
    verdicts = set()
    for family in families:
        file = open_file(family)
        verdicts.add(file.history().readiness.line.on(date(2026, 11, 20)))
        refresh(file)

    call_command("verify_records", stdout=StringIO(), stderr=StringIO())

    assert len(families) == 30
    assert {family.caregivers.count() for family in families} == {3}
    assert len(verdicts) > 1


def test_the_same_seed_tells_the_same_families(home):
    names = sorted(Family.objects.filter(organisation=home.organisation).values_list("name", "patient_born"))
    assert len(set(names)) > 20
    assert home.organisation.is_invented
    for family in Family.objects.filter(organisation=home.organisation)[:5]:
        assert max(r.recorded_at for r in open_file(family).records) <= NOW


@pytest.mark.usefixtures("cast")
def test_bench_refuses_a_database_in_use():
    before = Organisation.objects.count()
    with pytest.raises(CommandError, match="an organisation in this database"):
        call_command("bench", families=100, stdout=StringIO(), stderr=StringIO())
    assert Organisation.objects.count() == before


@pytest.mark.parametrize("asked", [{"processes": 0}, {"processes": 2, "cpu": True}])
def test_bench_refuses_a_number_of_processes_that_says_nothing(asked):
    with pytest.raises(CommandError, match="--processes is 1 or more"):
        call_command("bench", families=100, stdout=StringIO(), stderr=StringIO(), **asked)
