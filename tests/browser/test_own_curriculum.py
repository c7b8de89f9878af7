"""An educator alone: copies the sample, makes it their own, sees who it touches, publishes, and prints the map."""

from __future__ import annotations

import dataclasses
import re
from datetime import UTC, datetime, timedelta

import time_machine
from django.utils import timezone

from tests.browser.looking import printed
from tests.cast import make_family, sign_off_suction
from tests.factories import PASSWORD
from training.curriculum.models import Programme

COPIED = datetime(2026, 1, 12, 9, tzinfo=UTC)


def test_the_sample_becomes_ones_own_and_its_map_is_printed(live_cast, page, sign_in, days_ago):
    north = live_cast.north
    with time_machine.travel(COPIED):
        sign_in(north.educator)
        page.goto("/checklists/")
        page.click("main h2 a")
        page.click("text=Change this programme")
        page.click("text=Copy this programme")
        page.fill("input[name=title]", "Our own home care")
        page.fill("input[name=code]", "our-own")
        page.fill("input[name=password]", PASSWORD)
        page.click("main form.r-form button[type=submit]")
        page.locator("main", has_text="Made: Our own home care").wait_for()
    mine = Programme.objects.get(organisation=north.organisation, code="our-own")
    home = dataclasses.replace(north, programme=mine, families=[])
    family = make_family(home, "Tveit-Anker", "Solvi")
    home.families.append(family)
    mother = family.caregivers.get(called="Marit")
    sign_off_suction(home, mother, last=days_ago(3))
    first = family.today(timezone.now()) + timedelta(days=1)
    skill = f"/families/{family.public_id}/people/{mother.public_id}/skills/suction/"

    sign_in(north.educator)  # some months later
    page.goto(f"/programmes/{mine.public_id}/")
    page.click("li:has(h3:text-is('Suctioning')) button")
    page.click("a[href$='/draft/standard/']")
    page.fill("input[name=needs-0-passes]", "3")
    page.locator("#said", has_text="3 passes on the patient").wait_for()
    page.click("text=Save in the draft")
    page.click("text=Add a step at the end")
    page.fill("textarea[name=text]", "Checks that the spare tube is at hand")
    page.check("input[name=kind][value=critical]")
    page.click("text=Save in the draft")
    page.click("text=Publish: see who it touches")
    page.fill("textarea[name=note]", "Three passes, and the spare tube is checked.")
    page.check("input[name=older_suction][value=recheck]")
    page.click("text=Next: who it touches")
    seen = page.inner_text(".c-affected")
    assert "1 caregiver in 1 family" in re.sub(r"\s+", " ", seen)
    assert re.search(r"Signed off\s+becomes\s+Held", seen)
    page.fill("input[name=password]", PASSWORD)
    page.click("text=Sign and publish")
    page.locator("main", has_text="Published, in force from").wait_for()

    page.goto(skill)
    assert page.get_attribute(".f-standing", "data-standing") == "signed_off"
    page.goto(f"{skill}?on={first.isoformat()}")
    assert page.get_attribute(".f-standing", "data-standing") == "held"
    assert "edition 2" in page.inner_text("main").lower()

    page.goto(f"/checklists/{mine.public_id}/")
    page.click("text=Map of skills and gates")
    sheets = printed(page).pages
    assert len(sheets) == 1
    assert "Suctioning" in sheets[0].extract_text()
