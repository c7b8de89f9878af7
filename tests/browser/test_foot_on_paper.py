"""The sentence about samples stands at the bottom of every printed page: of a short one lying, and of each of a long one."""

from __future__ import annotations

import pytest

from tests.browser.looking import printed

BOTTOM = 60  # points from the paper's lower edge: a margin of 16 mm and a line


def lowest(sheet):
    """Of the lowest line on a sheet: its height in points, and its words."""
    found = []

    def see(text, ours, theirs, _font, _size):
        if text.strip():
            found.append((theirs[5] * ours[3] + ours[5], text.strip()))

    sheet.extract_text(visitor_text=see)
    return min(found)


@pytest.mark.parametrize("address", ["/board/", "/families/{family}/", "/families/{family}/records/"])
def test_it_is_the_lowest_of_each_page(live_cast, page, sign_in, address):
    sign_in(live_cast.north.supervisor)
    page.goto(address.format(family=live_cast.north.family.public_id))
    sheets = printed(page).pages

    lines = [lowest(sheet) for sheet in sheets]

    assert [line for line in lines if line[0] > BOTTOM] == []
    assert [line for line in lines if "licensed practice" not in line[1]] == []
