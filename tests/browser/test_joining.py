"""A caregiver joins on a phone: the picture on the paper leads to the code, the code to an account, and to a pause."""

from __future__ import annotations

import re

from tests.browser.looking import violations, width_of

PASSWORD = "three quiet words"


def paper(page, home):
    """The address behind the picture, as a phone's camera reads it."""
    page.goto(f"/families/{home.family.public_id}/people/{home.mother.public_id}/access/")
    page.click("text=Invite Marit")
    code = page.inner_text(".i-code")
    return page.inner_text(".i-address"), code


def troubles_of(page):
    wide = width_of(page)
    found = [f"{page.url}: {wide} px wide"] if wide > 390 else []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        found += [f"{page.url} {scheme}: {v}" for v in violations(page)]
    return found


def test_a_caregiver_joins_with_the_picture_and_takes_a_pause(live_cast, page, sign_in):
    home, troubles = live_cast.north, []
    sign_in(home.educator)
    address, code = paper(page, home)
    troubles += troubles_of(page)
    asked = []
    page.on("request", lambda request: asked.append(request.url))

    page.goto(f"{address}#{code}")  # the nurse is still signed in on this device
    page.wait_for_selector("text=Sign out first")
    assert "Marit" not in page.inner_text("main")
    troubles += troubles_of(page)
    page.click("main button:has-text('Sign out')")
    page.wait_for_url("**/sign-in/")

    page.goto(f"{address}#{code}")
    page.wait_for_url("**/join/you/")
    troubles += troubles_of(page)
    page.fill("input[name=name]", "marit")
    page.fill("input[name=born]", "1990-05-01")
    page.click("main button[type=submit]")
    page.wait_for_url("**/join/new/")
    page.fill("input[name=username]", "marit.lind")
    page.fill("input[name=password]", PASSWORD)
    page.click("text=Show the password")
    assert page.get_attribute("input[name=password]", "type") == "text"
    troubles += troubles_of(page)
    page.click("text=Open my page")
    page.wait_for_url(re.compile("/mine/"))
    assert "This is your page, Marit. Welcome." in page.inner_text("main")

    page.click("text=I need a pause")
    page.wait_for_selector("text=On pause since")
    troubles += troubles_of(page)
    assert troubles == []
    assert [url for url in asked if code in url.split("#")[0]] == []

    page.click("text=Sign out Marit")
    page.wait_for_url("**/sign-in/")
    page.go_back()
    assert "What you can do" not in page.inner_text("body")


def test_without_scripts_the_code_is_typed(live_cast, browser, live_server, page, sign_in):
    sign_in(live_cast.north.educator)
    _address, code = paper(page, live_cast.north)
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    plain = context.new_page()
    plain.goto("/join/")
    plain.fill("input[name=code]", code.lower().replace("-", " "))
    plain.click("main button[type=submit]")

    assert plain.url.endswith("/join/you/")
    context.close()
