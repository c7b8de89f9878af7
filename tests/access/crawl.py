"""What one actor can read: links and forms followed from the first page on, and every address of both sides tried.

The words of a page are its text, the text and the metadata of a PDF, what an archive holds, the headers, and the file's name.
"""

from __future__ import annotations

import re
import subprocess
import zipfile
from collections import deque
from html import unescape
from io import BytesIO
from typing import Any
from urllib.parse import urlencode, urljoin, urlsplit

from tests.access.addresses import address, patterns
from tests.access.asking import Asker, body_of
from tests.access.world import World

TOKEN = re.compile(r"QX[NS]\d[a-z]\d{4}")
_LINK = re.compile(r"""\b(?:href|src|data-address)=["']([^"']*)["']""")
_FORM = re.compile(r"<form\b([^>]*)>(.*?)</form>", re.DOTALL)
_FIELD = re.compile(r"<(?:input|select|textarea|button)\b[^>]*?\bname=\"([^\"]+)\"(?:[^>]*?\bvalue=\"([^\"]*)\")?")
NOT_FOLLOWED = ("/static/", "/sign-out/")


def crawl(world: World, actor: str, at_most: int) -> dict[str, str]:
    """Where this actor came, and what was read there. at_most: how many pages are come upon by following."""
    asker, read = Asker(world, actor), {}
    for side in (world.north, world.south):
        for name in patterns():
            for method in ("GET", "POST"):
                asked = address(side, name)
                read[f"{method} {asked}"] = words_of(asker.ask(method, asked))
    waiting, seen = deque(["/"]), set()
    while waiting and len(seen) < at_most:
        here = waiting.popleft()
        if here not in seen:
            seen.add(here)
            answer = asker.ask("GET", here)
            read[f"GET {here}"] = words_of(answer)
            waiting.extend(onward(here, answer))
    return read


def onward(here: str, answer: Any) -> list[str]:
    """Where a page leads on this site: its links, its forms by GET, a redirect."""
    found = [answer["Location"]] if answer.has_header("Location") else []
    if answer.get("Content-Type", "").startswith("text/html"):
        page = body_of(answer).decode()
        found += [unescape(link) for link in _LINK.findall(page)]
        for tag, inside in _FORM.findall(page):
            if "post" not in tag:
                action = re.search(r'action="([^"]*)"', tag)
                found.append(f"{action[1] if action else ''}?{urlencode(_FIELD.findall(inside))}")
    there = (urljoin(here, link) for link in found)
    return [f"{p.path}?{p.query}" if p.query else p.path for p in map(urlsplit, there) if is_ours(p)]


def is_ours(parts: Any) -> bool:
    return not parts.netloc and parts.path.startswith("/") and not parts.path.startswith(NOT_FOLLOWED)


def words_of(answer: Any) -> str:
    """Everything that reaches whoever asked."""
    return str(dict(answer.headers)) + str(answer.cookies) + _read(body_of(answer))


def _read(body: bytes) -> str:
    """A page or a table as it is; a PDF's text, metadata and bytes; every file of an archive, such as a workbook."""
    if body.startswith(b"%PDF-"):
        return _run("pdftotext", "-", "-", given=body) + _run("pdfinfo", "-", given=body) + body.decode("latin-1")
    if body.startswith(b"PK"):
        with zipfile.ZipFile(BytesIO(body)) as whole:
            return "\n".join(f"{name}\n{_read(whole.read(name))}" for name in whole.namelist())
    return body.decode()


def _run(*command: str, given: bytes) -> str:
    return subprocess.run(command, input=given, capture_output=True, check=True, timeout=60).stdout.decode()
