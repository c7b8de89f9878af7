"""Looking at what has come: a click is over when the next page has begun, and not when it stands there."""

from __future__ import annotations

import io

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page
from pypdf import PdfReader


def width_of(page: Page) -> int:
    """How wide the page is, in CSS pixels, once it has come whole."""
    page.wait_for_load_state()
    return int(page.evaluate("document.documentElement.scrollWidth"))


def violations(page: Page) -> list[str]:
    """What axe finds on the page, once it has come whole: the rule's name and where."""
    page.wait_for_load_state()
    found = Axe().run(page).response["violations"]
    return [f"{v['id']}: {node['html'][:160]}" for v in found for node in v["nodes"]]


def printed(page: Page) -> PdfReader:
    """What a browser makes of the page for a printer, once it has come whole."""
    page.wait_for_load_state()
    return PdfReader(io.BytesIO(page.pdf(prefer_css_page_size=True, print_background=True)))
