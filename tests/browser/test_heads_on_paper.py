"""No heading and no table head is the last thing on a printed page, wherever on it the page breaks."""

from __future__ import annotations

import pytest

from tests.browser.looking import printed
from tests.cast import show, sign_off_suction

PAGE_MM = 267  # what A4 leaves between the margins
EVERY, SOME = 9, 54  # mm: less than the row that a head may lose; a quick look
FOOT = 70  # points from the paper's lower edge: the sentence about samples stands there in two lines
ONE_LINE = 2  # points by which the bases of one line may differ
HEADS = "main h2:visible, main h3:visible, main thead th:visible"


@pytest.fixture
def family_page(live_cast, page, sign_in, days_ago):
    """A family's page that fills some sheets; before what is named stands a gap of this many millimetres."""
    home = live_cast.north
    sign_off_suction(home, home.mother, days_ago(4))
    show(home, home.father, "hands", days_ago(3))
    sign_in(home.supervisor)
    page.goto(f"/families/{home.family.public_id}/")
    page.evaluate("document.querySelector('main').insertAdjacentHTML('afterbegin', '<div id=gap></div>')")

    def sheets(gap):
        page.evaluate(f"document.getElementById('gap').style.height = '{gap}mm'")
        return printed(page).pages

    return sheets


def last_line(sheet):
    """The words of the lowest line above the foot, from the left as they were drawn."""
    found = []

    def see(text, ours, theirs, _font, _size):
        height = theirs[5] * ours[3] + ours[5]
        if text.strip() and height > FOOT:
            found.append((height, text))

    sheet.extract_text(visitor_text=see)
    lowest = min(height for height, _text in found)
    return "".join(text for height, text in found if height - lowest < ONE_LINE)


def folded(text):
    return "".join(text.split()).casefold()


def is_head(line, heads):
    """A table's head has several to a line, of which the first is enough."""
    return folded(line) in heads or any(len(head) > 8 and folded(line).startswith(head) for head in heads)


@pytest.mark.parametrize("step", [SOME, pytest.param(EVERY, marks=pytest.mark.long)])
def test_no_head_stands_alone_at_the_foot(family_page, page, step):
    page.emulate_media(media="print")
    said = page.locator(HEADS).all_inner_texts()
    heads = {folded(line) for text in said for line in text.splitlines()} - {""}
    alone = [
        (gap, number, line)
        for gap in range(0, PAGE_MM, step)
        for number, sheet in enumerate(family_page(gap), start=1)
        if is_head(line := last_line(sheet), heads)
    ]

    assert alone == []
