"""A paper checklist typed in by keyboard, checked and signed; what is shown to sign is accessible and fits a phone."""

from __future__ import annotations

from datetime import timedelta

from django.utils import timezone

from tests.browser.looking import violations, width_of
from tests.factories import PASSWORD
from training.records.models import Record


def type_in(page, observer):
    page.select_option("select[name=saw]", observer.observer_id)
    page.fill("input[name=on]", (timezone.localdate() - timedelta(days=1)).isoformat())
    page.fill("input[name=time]", "09:30")
    for name, value in (("purpose", "practice"), ("setting", "model"), ("role", "lead"), ("mode", "in_person")):
        page.check(f"input[name={name}][value={value}]")
    page.check("input[name=place][value=hospital]")
    for step in ("s01", "s02"):
        page.focus(f"input[name=lead-{step}] >> nth=0")
        page.keyboard.press("Space")
        page.keyboard.press("ArrowRight")


def test_it_is_typed_in_checked_and_signed(live_cast, page, sign_in):
    north = live_cast.north
    sign_in(north.supervisor)
    page.goto(f"/families/{north.family.public_id}/people/{north.mother.public_id}/skills/hands/editions/1/paper/")
    type_in(page, north.educator)
    page.click(".p-acts button[name=check]")
    page.wait_for_selector("#check")
    found = []
    for scheme in ("light", "dark"):
        page.set_viewport_size({"width": 360, "height": 780})
        page.emulate_media(color_scheme=scheme)
        found += violations(page)

    assert found == []
    assert width_of(page) <= 360
    page.fill("input[name=password]", PASSWORD)
    page.click("button[name=sign]")
    page.wait_for_url("**/records/*/")
    record = Record.objects.of_chain(north.family.public_id).last()
    assert record.data["results"] == {"s01": "prompted", "s02": "prompted"}
    assert record.data["transcribed"]["saw_id"] == north.educator.observer_id
