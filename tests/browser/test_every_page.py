"""Every page a role can reach by links, once each: axe finds nothing, nothing is cut off at 360 px, light and dark."""

from __future__ import annotations

from urllib.parse import urlsplit

import pytest
from django.urls import Resolver404, resolve

from tests.browser.looking import violations, width_of
from tests.cast import TODAY, show, sign_off_suction, write
from tests.cast import at as instant

NO_PAGES = {
    "packet",
    "family-copy",
    "emergency-sheet",
    "mine-emergency-sheet",
    "caregiver-record",
    "remaining-skills",
    "mine-remaining-skills",
    "survey",
    "survey-zip",
    "handover-packet",
    "handover-received",
    "blank-checklist",
    "sign-out",
    "log-csv",
    "board-csv",
    "board-xlsx",
    "family-export",
}


def name_of(path):
    try:
        return resolve(path).url_name
    except Resolver404:
        return None


def pages_of(page, start):
    """Yield each named page once, following links; the page stands open while it is yielded."""
    waiting, seen = [start], set()
    while waiting:
        path = waiting.pop(0)
        name = name_of(urlsplit(path).path)
        if name is None or name in seen or name in NO_PAGES:
            continue
        seen.add(name)
        answer = page.goto(path)
        assert answer.status == 200, path
        yield name
        links = page.eval_on_selector_all("a[href]", "all => all.map(a => a.getAttribute('href'))")
        waiting += [link for link in links if link.startswith("/")]


def busy_family(home):
    """Something of everything, so that every page has something to show."""
    mother, father = home.mother, home.father
    show(home, mother, "hands", TODAY)
    sign_off_suction(home, mother)
    show(home, father, "suction", TODAY, results={**_suction(), "s01": "prompted"})
    write(home.supervisor, home.family, "hold", instant(TODAY), caregiver=father.case_id, skill=None,
          on=TODAY.isoformat(), through=None, reason="away")  # fmt: skip
    show(home, mother, "emergency", TODAY)


def _suction():
    from tests.cast import ALL_ALONE

    return ALL_ALONE["suction"]


@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor", "caregiver"])
def test_every_page_is_accessible_and_fits_a_phone(live_cast, page, sign_in, account, role):
    home = live_cast.north
    busy_family(home)
    sign_in(account(home.mother) if role == "caregiver" else getattr(home, role))
    troubles = []
    names = []
    for name in pages_of(page, "/mine/" if role == "caregiver" else "/families/"):
        names.append(name)
        page.set_viewport_size({"width": 360, "height": 780})
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            troubles += [f"{name} {scheme}: {v}" for v in violations(page)]
        wide = width_of(page)
        if wide > 360:
            troubles.append(f"{name}: {wide} px wide")

    assert troubles == []
    assert len(names) >= (1 if role == "caregiver" else 7), names


def test_the_sign_in_page_too(live_cast, page):
    page.goto("/sign-in/")

    assert violations(page) == []
