"""Pages of a draft, which no link leads to before one is begun: axe finds nothing, nothing is cut off at 360 px."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.browser.looking import violations, width_of
from tests.cast import demonstration, show
from tests.factories import PASSWORD
from training.people.models import User
from training.records.models import Record
from training.standing import drafts

NARROW = {"width": 360, "height": 780}
PAGES = (
    ("draft", {}), ("draft-step", {"place": 1}), ("draft-step", {"place": 2}), ("draft-rest", {}), ("draft-second", {}),
    ("draft-second-step", {"place": 2}), ("draft-second-rest", {}), ("draft-stop", {}), ("draft-sign", {}),
    ("draft-discard", {}),
)  # fmt: skip


def begin(home, caregiver, skill, day, **changes):
    data = demonstration(caregiver, skill, day, home.educator, time="00:01", **changes)
    del data["caregiver"]
    for seen in (data["results"], *([data["second"]["results"]] if data["second"] else [])):
        if "s03" in seen and isinstance(seen["s03"], dict):
            seen["s03"] = {**seen["s03"], "value": str(seen["s03"]["value"])}
    return drafts.start(author=home.educator, caregiver=caregiver, data=data, intent=uuid.uuid4(), at=timezone.now())


def all_alone():
    seen = dict.fromkeys(("s01", "s02", "s04", "s06"), "independent")
    return {**seen, "s03": {"result": "independent", "value": "8"}}


def disputed(home, today):
    """Suctioning as two observers saw it, with all the words there are."""
    second = {"observer": home.supervisor.observer_id, "results": {**all_alone(), "s01": "prompted", "s04": "omitted"}}
    return begin(
        home, home.mother, "suction", today,
        results=all_alone(), second=second, stopped="patient", stop={"by": "caregiver", "why": "She coughed."},
        reteach={"line": "Wash first, every time.", "on": (today + timedelta(days=2)).isoformat()}, note="Was tired.",
        teach_back="Says when to stop.", interpreter={"kind": "family_member", "language": "Northern Sami"},
        feels="not_yet",
    )  # fmt: skip


def address(draft, name, **more):
    return reverse(name, kwargs={"draft": draft.public_id, **more})


WHO_IS_WIDE = """[...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > innerWidth)
    .map(e => `${e.tagName}.${e.className} ${e.textContent.trim().slice(0, 40)}`)"""


def troubles_of(page, path):
    """What axe finds, light and dark, and whether something is cut off."""
    answer = page.goto(path)
    assert answer.status == 200, path
    page.set_viewport_size(NARROW)
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    found = []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        found += [f"{path} {scheme}: {v}" for v in violations(page)]
    page.evaluate("document.fonts.ready")
    wide = width_of(page)
    return found + ([f"{path}: {wide} px wide: {page.evaluate(WHO_IS_WIDE)}"] if wide > NARROW["width"] else [])


def test_every_page_of_a_draft_is_accessible_and_fits_a_phone(live_cast, days_ago, page, sign_in):
    home = live_cast.north
    show(
        home,
        home.mother,
        "suction",
        days_ago(9),
        results={**all_alone(), "s03": {"result": "independent", "value": 12}},
    )
    draft = disputed(home, days_ago(0))
    sign_in(home.educator)
    found = [t for name, more in PAGES for t in troubles_of(page, address(draft, name, **more))]

    drafts.name_second(draft, None, observer=None, at=timezone.now())
    found += troubles_of(page, address(draft, "draft-second"))
    assert found == []


@pytest.mark.parametrize(
    "called", ["Ruth Emberley", "Person Number1234", "Wilhelmina van der Hoogeveen-Santorini", "N" * 60]
)
def test_the_page_that_signs_several_is_too(live_cast, days_ago, page, sign_in, called):
    home = live_cast.north
    User.objects.filter(pk__in=[home.educator.user_id, home.supervisor.user_id]).update(full_name=called)
    disputed(home, days_ago(0))
    begin(home, home.father, "hands", days_ago(0))
    begin(home, home.father, "tube_change", days_ago(0), results={})
    sign_in(home.educator)

    assert troubles_of(page, reverse("drafts-sign", kwargs={"family": home.family.public_id})) == []


def test_two_touches_lead_from_the_list_of_a_caregivers_skills_to_the_first_step(live_cast, page, sign_in):
    """The first touch is the caregiver's skill, the second is assess or practise."""
    home = live_cast.north
    sign_in(home.educator)
    page.goto(reverse("family", kwargs={"family": home.family.public_id}))
    page.evaluate("document.querySelectorAll('details').forEach(d => d.open = true)")
    page.click(f"a[href*='{home.mother.public_id}/skills/suction/start/']")
    page.click("button[name=purpose][value=practice]")

    assert "/step/1/" in page.url


def test_the_stopwatch_fills_the_number_by_touch(live_cast, days_ago, page, sign_in):
    home = live_cast.north
    draft = begin(home, home.mother, "suction", days_ago(0), results={})
    sign_in(home.educator)
    page.goto(address(draft, "draft-step", place=2))
    clock = page.get_by_role("button", name="Start the clock")
    clock.click()
    page.get_by_role("button", name="Stop the clock").click()

    assert float(page.input_value("input[name=value]")) >= 0
    assert page.get_by_role("button", name="Again").is_visible()


def test_the_clock_runs_on_over_a_reload(live_cast, days_ago, page, sign_in):
    home = live_cast.north
    draft = begin(home, home.mother, "suction", days_ago(0), results={})
    sign_in(home.educator)
    page.goto(address(draft, "draft-step", place=2))
    page.get_by_role("button", name="Start the clock").click()
    page.reload()

    assert page.get_by_role("button", name="Stop the clock").is_visible()


def test_without_a_script_the_number_can_be_typed(live_cast, days_ago, browser, live_server):
    home = live_cast.north
    draft = begin(home, home.mother, "suction", days_ago(0), results={})
    context = browser.new_context(base_url=live_server.url, viewport=NARROW, java_script_enabled=False)
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=username]", home.educator.user.username)
    page.fill("input[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    page.goto(address(draft, "draft-step", place=2))
    has_clock = page.locator("[data-stopwatch]").is_visible()
    page.fill("input[name=value]", "9")
    page.click("button[value=independent]")
    context.close()
    draft.refresh_from_db()

    assert (has_clock, draft.data["results"]["s03"]) == (False, {"result": "independent", "value": "9"})


def test_a_sitting_is_signed_with_one_password(live_cast, days_ago, page, sign_in):
    home = live_cast.north
    for caregiver in (home.mother, home.father):
        begin(home, caregiver, "hands", days_ago(0))
    sign_in(home.educator)
    page.goto(reverse("drafts-sign", kwargs={"family": home.family.public_id}))
    page.fill("input[name=password]", PASSWORD)
    page.click("button[type=submit]:has-text('Sign what is ticked')")
    page.wait_for_url(f"**/families/{home.family.public_id}/")

    assert "are in the file." in page.inner_text("main")
    assert Record.objects.filter(chain=home.family.public_id, kind="demonstration").count() == 2
