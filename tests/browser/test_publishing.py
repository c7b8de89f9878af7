"""An educator, by hand: add a critical step, see who it touches, publish it, and find the rechecks on its first day."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.utils import timezone

from tests.browser.looking import violations, width_of
from tests.cast import sign_off_suction
from tests.factories import PASSWORD
from training.curriculum import drafting, stating


@pytest.fixture
def signed_off(live_cast, days_ago):
    """A mother signed off in suctioning, in the server's own time."""
    north = live_cast.north
    sign_off_suction(north, north.mother, last=days_ago(3))
    return north


def test_a_new_critical_step_is_previewed_published_and_rechecked(signed_off, page, sign_in):
    north, mother = signed_off, signed_off.mother
    first = north.family.today(timezone.now()) + timedelta(days=1)
    skill = f"/families/{north.family.public_id}/people/{mother.public_id}/skills/suction/"
    sign_in(north.educator)

    page.goto("/checklists/")
    page.click("main h2 a")
    page.click("text=Change this programme")
    page.click("li:has(h3:text-is('Suctioning')) button")
    page.click("text=Add a step at the end")
    page.fill("textarea[name=text]", "Checks the spare tube")
    page.check("input[name=kind][value=critical]")
    page.click("text=Save in the draft")
    page.click("li.c-step:last-child button[value^=up]")
    assert page.locator("li.c-step .c-step-words b").nth(5).inner_text().endswith("Checks the spare tube")

    page.click("text=Publish: see who it touches")
    page.fill("textarea[name=note]", "The spare tube is checked.")
    page.check("input[name=older_suction][value=recheck]")
    page.click("text=Next: who it touches")
    seen = page.inner_text(".c-affected")
    assert mother.full_name in seen
    assert re.search(r"Signed off\s+becomes\s+Held", seen)
    page.fill("input[name=password]", PASSWORD)
    page.click("text=Sign and publish")
    assert "Published, in force from" in page.inner_text("main")

    page.goto(skill)
    assert page.get_attribute(".f-standing", "data-standing") == "signed_off"
    page.goto(f"{skill}?on={first.isoformat()}")
    assert page.get_attribute(".f-standing", "data-standing") == "held"


def test_the_standard_says_what_it_means_while_it_is_written(signed_off, page, sign_in):
    north = signed_off
    drafting.begin_edition(north.programme, "suction", by=north.educator, at=timezone.now())
    sign_in(north.educator)
    page.goto(f"/programmes/{north.programme.public_id}/skills/suction/draft/standard/")

    page.fill("input[name=needs-0-passes]", "3")
    page.fill("input[name=needs-0-observers]", "2")

    page.locator("#said", has_text="before 2 different observers").wait_for()
    assert "3 passes on the patient" in page.inner_text("#said")
    assert north.programme.drafts.get().version == 1


def test_steps_are_moved_with_the_keyboard_alone(signed_off, page, sign_in):
    north = signed_off
    draft = drafting.begin_edition(north.programme, "suction", by=north.educator, at=timezone.now())
    sign_in(north.educator)
    page.goto(f"/programmes/{north.programme.public_id}/skills/suction/draft/")

    page.focus("button[value='down:s01']")
    page.keyboard.press("Enter")
    page.wait_for_url("**#step-s01")

    draft.refresh_from_db()
    assert [s["code"] for s in draft.body["edition"]["steps"]][:2] == ["s02", "s01"]


PAGES = [
    "", "publish/", "copy/", "new-skill/", "skills/suction/editions/", "skills/suction/compare/?old=1&new=draft",
    "skills/suction/draft/", "skills/suction/draft/words/", "skills/suction/draft/when/", "skills/suction/draft/standard/",
    "skills/suction/draft/steps/", "skills/suction/draft/steps/s03/", "skills/suction/draft/throw-away/", "sets/draft/",
    "sets/draft/sets/full/", "sets/draft/team/0/", "sets/draft/items/kit/", "facts/draft/", "facts/draft/notice/",
    "facts/draft/facts/", "facts/draft/facts/cuff/", "facts/draft/checks/tube/", "facts/draft/checks/catheter/",
    "facts/draft/checks/spares/", "facts/draft/checks/ranges/", "facts/draft/checks/ranges/?by=cuff",
]  # fmt: skip


def test_every_page_of_writing_is_accessible_and_fits_a_phone(signed_off, page, sign_in):
    north = signed_off
    now = timezone.now()
    draft = drafting.begin_edition(north.programme, "suction", by=north.educator, at=now)
    edition = drafting.with_step(draft.body["edition"], {"code": "s07", "text": "Checks", "critical": True})
    drafting.save(draft, {**draft.body, "edition": edition}, version=1, by=north.educator, at=now)
    drafting.begin_rules(north.programme, by=north.educator, at=now)
    stating.begin_facts(north.programme, by=north.educator, at=now)
    sign_in(north.educator)
    page.set_viewport_size({"width": 360, "height": 780})
    troubles = []
    for path in PAGES:
        assert page.goto(f"/programmes/{north.programme.public_id}/{path}").status == 200, path
        troubles += look(page, path)
    page.goto(f"/programmes/{north.programme.public_id}/publish/?part=suction")
    page.fill("textarea[name=note]", "x")
    page.check("input[name=older_suction][value=recheck]")
    page.click("text=Next: who it touches")
    troubles += look(page, "preview")

    assert troubles == []


def look(page, path):
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        found += [f"{path} {scheme}: {v}" for v in violations(page)]
    wide = width_of(page)
    return [*found, f"{path}: {wide} px wide"] if wide > 360 else found
