"""Published programmes, to read."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from django.urls import reverse

from tests.cast import at
from tests.factories import MemberFactory, OrganisationFactory
from tests.training.pages.family.test_family_page import squeezed
from training.curriculum.programme_file import read_file
from training.standing import deeds


def addresses(home):
    programme = home.programme.public_id
    return {
        "programmes": reverse("programmes"),
        "programme": reverse("programme", args=[programme]),
        "checklist": reverse("checklist", args=[programme, "suction", 1]),
    }


PAGES = ("programmes", "programme", "checklist")


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor"])
def test_every_role_reads(cast, signed_in, page, role):
    assert signed_in(getattr(cast.north, role)).get(addresses(cast.north)[page]).status_code == 200


@pytest.mark.parametrize("page", ["programme", "checklist"])
def test_the_other_organisation_finds_nothing(cast, signed_in, page):
    assert signed_in(cast.south.supervisor).get(addresses(cast.north)[page]).status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_a_visitor_signs_in_first(cast, client, page):
    assert client.get(addresses(cast.north)[page]).status_code == 302


@pytest.mark.parametrize(("skill", "number"), [("suction", 2), ("juggling", 1)])
def test_an_edition_that_is_not_there_is_not_found(cast, signed_in, skill, number):
    address = reverse("checklist", args=[cast.north.programme.public_id, skill, number])

    assert signed_in(cast.north.educator).get(address).status_code == 404


@pytest.fixture
def read(cast, signed_in):
    return lambda page: squeezed(signed_in(cast.north.educator).get(addresses(cast.north)[page]).content.decode())


@pytest.mark.parametrize("page", PAGES)
def test_the_notice_stands_on_top(read, page):
    assert "A sample to adapt. The prescriber, the organisation&#x27;s policy and local law come first." in read(page)


def test_a_checklist_says_its_cautions_and_standard(read):
    text = read("checklist")

    assert "Depth and pressure are the prescriber&#x27;s order." in text
    assert "2 passes on the patient, on 2 different days." in text


def test_a_step_says_critical_and_its_limit(read):
    assert "3 Critical Suctions no longer than the limit To the caregiver: Be quick. Measured: at most 10 s." in read(
        "checklist"
    )


def test_a_step_says_when_it_applies(read):
    assert "Where the care plan says so, or does not say: Cuff: Filled with air." in read("checklist")


def test_a_programme_lists_skills_sets_and_team(read):
    text = read("programme")

    assert "Suctioning, edition 1 , from 1 January 2025: 2 passes on the patient, on 2 different days; 6 steps" in text
    assert "one full : 1 holding Full care, 18 or over" in text


def test_no_programme_yet(db, now, signed_in):
    member = MemberFactory(organisation=OrganisationFactory())

    assert "No programme is published yet." in signed_in(member).get("/checklists/").content.decode()


SAMPLES = sorted((Path(__file__).resolve().parents[4] / "fixtures/programmes").glob("*.yaml"))


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda path: path.stem)
def test_every_checklist_of_the_samples_can_be_read(cast, signed_in, sample):
    home = cast.south
    made = deeds.publish_programme(
        organisation=home.organisation, file=read_file(sample.read_text()), at=at(date(2024, 12, 1))
    )
    client = signed_in(home.educator)
    assert client.get(reverse("programme", args=[made.public_id])).status_code == 200
    for edition in made.editions.all():
        page = client.get(reverse("checklist", args=[made.public_id, edition.skill, edition.number]))
        assert page.status_code == 200, edition
