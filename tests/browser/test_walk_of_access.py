"""As new users would: the hospital hands a family over, the agency accepts it, a caregiver joins there on a phone with a
printed code, and an account that is closed is out at once.
"""

from __future__ import annotations

import re

from tests.browser.looking import width_of
from tests.browser.test_handover import accept, offer
from tests.cast import sign_off_suction
from tests.factories import PASSWORD
from training.handover.models import Offer

PHONE = {"width": 360, "height": 780}
NEW_PASSWORD = "three quiet words"


def code_of(page, sign_in, home):
    """What the agency tells the hospital on the telephone."""
    sign_in(home.supervisor)
    page.goto("/handover-code/")
    return page.inner_text(".h-code")


def received(home):
    return Offer.objects.get(to=home.organisation).made


def printed_code(page, family):
    """The paper the agency's supervisor prints for the mother."""
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(f"/families/{family.public_id}/people/{family.caregivers.get(called='Marit').public_id}/access/")
    page.click("text=Invite Marit")
    return page.inner_text(".i-code")


def join(phone, code):
    """Typed by hand, as from paper."""
    phone.goto("/join/")
    phone.fill("input[name=code]", code.lower())
    phone.click("main button[type=submit]")
    phone.wait_for_url("**/join/you/")
    phone.fill("input[name=name]", "Marit")
    phone.fill("input[name=born]", "1990-05-01")
    phone.click("main button[type=submit]")
    phone.wait_for_url("**/join/new/")
    phone.fill("input[name=username]", "marit.walks")
    phone.fill("input[name=password]", NEW_PASSWORD)
    assert width_of(phone) <= PHONE["width"]
    phone.click("text=Open my page")
    phone.wait_for_url(re.compile("/mine/"))


def close_account(page, sign_in, home, member):
    """The administrator closes a colleague's account."""
    sign_in(home.administrator)
    page.goto(f"/members/{member.public_id}/account/")
    page.fill("[name=because]", "Has left us")
    page.fill("input[name=password]", PASSWORD)
    page.click("button[name=what][value=closed]")
    page.wait_for_load_state()


def test_from_the_hospital_to_a_caregiver_s_phone(live_cast, days_ago, browser, live_server, page, sign_in):
    north, south = live_cast.north, live_cast.south
    sign_off_suction(north, north.mother, days_ago(10))
    code = code_of(page, sign_in, south)
    sign_in(north.supervisor)
    offer(page, north.family, code)
    sign_in(south.supervisor)
    accept(page)
    family = received(south)

    typed = printed_code(page, family)
    context = browser.new_context(base_url=live_server.url, viewport=PHONE, has_touch=True, is_mobile=True)
    phone = context.new_page()
    join(phone, typed)
    assert "This is your page, Marit. Welcome." in phone.inner_text("main")
    for elsewhere in (f"/families/{family.public_id}/", f"/families/{north.family.public_id}/", "/board/"):
        assert phone.goto(elsewhere).status == 404
    assert phone.goto(f"/mine/{north.mother.public_id}/").status == 404  # the hospital's page of hers has no account

    close_account(page, sign_in, south, south.supervisor)
    assert "closed" in page.inner_text("main").lower()
    assert phone.goto("/mine/").status == 200  # hers is another account
    context.close()


def test_a_closed_account_is_out_at_once(live_cast, browser, live_server, page, sign_in):
    home = live_cast.south
    context = browser.new_context(base_url=live_server.url)
    other = context.new_page()
    other.goto("/sign-in/")
    other.fill("input[name=username]", home.educator.user.username)
    other.fill("input[name=password]", PASSWORD)
    other.click("main button[type=submit]")
    other.wait_for_url("**/families/")
    assert other.goto(f"/families/{home.family.public_id}/").status == 200

    close_account(page, sign_in, home, home.educator)
    other.reload()
    assert "/sign-in/" in other.url
    other.fill("input[name=username]", home.educator.user.username)
    other.fill("input[name=password]", PASSWORD)
    other.click("main button[type=submit]")
    other.wait_for_load_state()
    assert "/sign-in/" in other.url
    context.close()
