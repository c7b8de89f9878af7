"""A family is handed over in a browser: the hospital's supervisor offers, the agency's accepts, and takes over one sign-off."""

from __future__ import annotations

from tests.browser.looking import violations, width_of
from tests.cast import FIRST_DAY, sign_off_suction
from tests.factories import PASSWORD
from training.handover.models import Offer
from training.people.models import Family


def sign(page, button="main form button.btn-primary"):
    page.fill("input[name=password]", PASSWORD)
    page.click(button)
    page.wait_for_load_state()


def check(page):
    """What stands open fits a phone, and axe finds nothing."""
    page.set_viewport_size({"width": 360, "height": 780})
    assert width_of(page) <= 360, page.url
    assert violations(page) == [], page.url


def offer(page, family, code):
    page.goto(f"/families/{family.public_id}/")
    page.click("a.btn:has-text('Hand over')")
    page.fill("input[name=code]", code)
    page.fill("textarea[name=reason]", "They go home to a town of yours.")
    check(page)
    page.click("main form button.btn-primary")
    assert "would see this, and no more" in page.inner_text("main")
    check(page)
    sign(page, "button[name=sign]")
    assert "It waits for their answer" in page.inner_text("main")
    check(page)


def accept(page):
    page.goto("/families/")
    page.click("nav a:has-text('Offered to us (1)')")
    check(page)
    page.click("main table a")
    check(page)
    page.click("a.btn:has-text('Accept')")
    check(page)
    sign(page)
    assert "handed this family over on" in page.inner_text("main")
    check(page)


def enter_care_plan(page):
    page.click("a:has-text('Enter it')")
    assert page.input_value("select[name=fact_suction]") == "yes"
    page.click("main form button.btn-primary")
    check(page)
    sign(page, "button[name=sign]")


def take_over(page):
    page.click("a:has-text('Take over after my own check')")
    page.check("input[name=checked]")
    page.fill("textarea[name=how]", "Watched one suction at the bedside.")
    check(page)
    sign(page)
    assert "Taken over" in page.inner_text("main table")
    check(page)


def test_a_family_is_handed_over(live_cast, days_ago, page, sign_in):
    north, south = live_cast.north, live_cast.south
    sign_off_suction(north, north.mother, days_ago(10))

    sign_in(south.supervisor)
    page.goto("/handover-code/")
    code = page.inner_text(".h-code")
    check(page)

    sign_in(north.supervisor)
    offer(page, north.family, code)

    sign_in(south.supervisor)
    accept(page)
    enter_care_plan(page)
    take_over(page)
    page.click("a:has-text('Read their record')")
    assert "every record fits" in page.inner_text("main")
    check(page)
    page.click("main table a >> nth=0")
    check(page)

    sign_in(north.educator)
    page.goto(f"/families/{north.family.public_id}/")
    assert f"Handed over to {south.organisation.title}" in page.inner_text("main")
    check(page)
    assert Offer.objects.get().made in Family.objects.filter(organisation=south.organisation)


def test_a_closed_file_is_quiet(live_cast, page, sign_in, account):
    home = live_cast.north
    sign_in(home.supervisor)
    page.goto(f"/families/{home.family.public_id}/closing-new/")
    page.select_option("select[name=why]", "died")
    check(page)
    sign(page)
    assert "This file is closed" in page.inner_text("main")
    assert "Not ready" not in page.inner_text("main")
    check(page)
    for address in (
        "/families/?closed=yes",
        "/board/?show=closed",
        f"/families/{home.family.public_id}/reopening-new/",
    ):
        page.goto(address)
        check(page)

    sign_in(account(home.mother))
    page.goto("/mine/")
    assert "asks nothing of you here any more" in page.inner_text("main")
    assert str(FIRST_DAY.year) not in page.inner_text("main")
    check(page)


def test_a_paper_from_outside_is_listed(live_cast, page, sign_in):
    home = live_cast.north
    sign_in(home.educator)
    page.goto(f"/families/{home.family.public_id}/outside-evidence-new/")
    page.fill("textarea[name=evidence]", "Tube change shown twice")
    page.fill("input[name=says]", "Another hospital")
    check(page)
    sign(page)
    assert "each counts for nothing until observed" in page.inner_text("main")
    check(page)
