"""A family that follows one of the three samples: every page and paper that staff and caregivers open stands up to it."""

from __future__ import annotations

import dataclasses
import json
from datetime import date
from pathlib import Path

import pytest
from django.urls import reverse

from tests.cast import at, make_family
from training.curriculum.programme_file import read_file
from training.standing import deeds

FOLDER = Path(__file__).parents[2] / "fixtures/programmes"
SAMPLES = ["adult-tracheostomy", "child-tracheostomy", "child-ventilator"]

pytestmark = pytest.mark.parametrize("sample", SAMPLES)


@pytest.fixture
def followed(cast, sample):
    """A home whose one family follows the sample."""
    file = read_file((FOLDER / f"{sample}.yaml").read_text(encoding="utf-8"))
    made = deeds.publish_programme(organisation=cast.north.organisation, file=file, at=at(date(2024, 12, 1)))
    home = dataclasses.replace(cast.north, programme=made, families=[])
    home.families.append(make_family(home, "Brevik-Aune", "Sunniva"))
    return home


def test_the_familys_page_has_every_skill_its_care_plan_calls_for(followed, signed_in):
    page = signed_in(followed.educator).get(reverse("family", args=[followed.family.public_id]))
    titles = {s["title"] for s in followed.programme.about["skills"]}

    assert page.status_code == 200
    wanted = "Suctioning", "Blocked tube", "Emergency tube change, alone", "The go-bag"
    assert set(wanted) <= titles
    for title in wanted:
        assert title in page.content.decode()


def test_the_bedside_takes_every_step_along(followed, signed_in):
    pack = signed_in(followed.educator).get(f"/bedside/pack/{followed.family.public_id}/")
    skills = json.loads(pack.content)["skills"]

    assert len(skills) > 20
    assert all(step["text"] != step["code"] for skill in skills.values() for step in skill["steps"])
    assert len(pack.content) < 500_000


@pytest.mark.parametrize("address", ["board", "programmes"])
def test_staff_see_it_beside_the_others(followed, signed_in, address):
    assert signed_in(followed.supervisor).get(reverse(address)).status_code == 200


def test_its_packet_is_made(followed, signed_in):
    answer = signed_in(followed.educator).get(reverse("packet", args=[followed.family.public_id]))

    assert b"".join(answer.streaming_content).startswith(b"%PDF-")


def test_a_checklist_says_what_the_caregiver_reads(followed, signed_in):
    page = signed_in(followed.educator).get(reverse("checklist", args=[followed.programme.public_id, "tie_change", 1]))

    assert "To the caregiver: Tie the new ties first. Only then cut the old ones." in page.content.decode()
