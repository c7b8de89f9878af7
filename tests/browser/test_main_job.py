"""The main job in a browser: suctioning is signed off, tube change opens, the packet says so, all three see the same."""

from __future__ import annotations

import io

from pypdf import PdfReader

from tests.cast import show
from tests.factories import PASSWORD


def record_suctioning(page, family, caregiver):
    """From the skill's page to the signature: two touches to the first step, every step done alone."""
    page.goto(f"/families/{family.public_id}/people/{caregiver.public_id}/skills/suction/start/")
    page.click("button[name=purpose][value=assessment]")
    while "/step/" in page.url:
        page.wait_for_load_state()
        value = page.locator("input[name=value]")
        if value.count():
            value.fill("8")
        page.click("button[value=independent]")
    page.click("button[name=all]")
    page.click("button[name=done]")
    outcome = page.inner_text("main")
    page.click("button[name=sign]")
    page.fill("input[name=password]", PASSWORD)
    page.click("form.r-sign-form button[type=submit]")
    page.wait_for_url("**/records/*/")
    return outcome


def test_a_signed_suctioning_opens_the_tube_change_for_everybody(live_cast, days_ago, page, sign_in, account):
    home, family, mother = live_cast.north, live_cast.north.family, live_cast.north.mother
    show(home, mother, "hands", days_ago(9))
    show(home, mother, "suction", days_ago(8))
    tube = f"/families/{family.public_id}/people/{mother.public_id}/skills/tube_change/"

    sign_in(home.educator)
    page.goto(tube)
    assert "Gate closed: Suctioning is not signed off." in page.inner_text("main")

    outcome = record_suctioning(page, family, mother)
    assert "Passed" in outcome
    assert "Tube change" in outcome
    assert "Signed. Record" in page.inner_text("main")

    page.goto(tube)
    assert "Gate open: Suctioning." in page.inner_text("main")

    answer = page.request.get(f"/families/{family.public_id}/packet.pdf")
    text = " ".join(" ".join(p.extract_text() for p in PdfReader(io.BytesIO(answer.body())).pages).split())
    assert "The clinical team decides discharge" in text
    assert mother.full_name in text

    sign_in(home.supervisor)
    page.goto(f"/families/{family.public_id}/people/{mother.public_id}/skills/suction/")
    assert "Signed off" in page.inner_text("main")

    sign_in(account(mother))
    page.goto("/mine/")
    mine = page.inner_text("main")
    assert "Suctioning the tube" in mine[mine.index("Ready alone") :]


def test_going_back_and_signing_again_is_still_one_record(live_cast, days_ago, page, sign_in):
    from training.records.models import Record

    home, family, mother = live_cast.north, live_cast.north.family, live_cast.north.mother
    sign_in(home.educator)
    record_suctioning(page, family, mother)
    before = Record.objects.filter(chain=family.public_id).count()

    page.go_back()
    page.reload()

    assert Record.objects.filter(chain=family.public_id).count() == before
