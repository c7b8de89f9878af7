"""What somebody who means harm posts: drawn from a seed, so that the same number is always the same post."""

from __future__ import annotations

import json
import uuid
from html import unescape
from html.parser import HTMLParser
from random import Random
from typing import Any

from tests.access.addresses import address, patterns
from tests.access.asking import Asker, body_of
from tests.access.expected import expected
from tests.access.world import World

SCRIPT = "<script>zq()</script>"
IMAGE = '"><img src=x onerror=zq()>'
PAYLOADS = (SCRIPT, IMAGE, "'><svg/onload=zq()>", "</textarea><script>zq()</script>", "javascript:zq()")
TEXTS = (
    *PAYLOADS, "", " ", "\x00", "a\x00b", "\r\nSet-Cookie: a=b", "' OR 1=1 --", "'; DROP TABLE records_record; --", "%s%n{0}",
    "{{ 7|add:7 }}{% debug %}", "../../../etc/passwd", "=HYPERLINK(\"http://x\")", "\u202eabc", "\ud7ff\ufdd0", "\U0001f9d1\u200d\U0001f37c",
    "e\u0301" * 40, "ﬁ", "١٢٣", "０１２", "null", "None", "undefined", "true", "[]", "{}", "NaN", "Infinity", "-1", "0", "1e309",
    "9" * 400, "99999999999999999999", "0x10", "1,5", "-0.0", "2026-02-30", "0000-00-00", "9999-12-31", "10000-01-01", "14.05.2026",
    "2026-05-14T10:00", "24:00", "25:61", "-1:00", "2026-W20-4", "P1Y", "P-1D", "P9999999999Y",
)  # fmt: skip
NOT_JSON = (b"", b"{", b"[]", b"null", b"\xff\xfe", b'"a"', b"1e999", b'{"a":' * 2000, b"NaN")
BY = ("educator", "supervisor", "administrator", "auditor", "mother", "father", "other", "stranger", "visitor")


class Fields(HTMLParser):
    """The fields of the forms on a page, each with the values it offers."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, list[str]] = {}
        self.select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        at = dict(attrs)
        if tag == "select":
            self.select = at.get("name") or ""
        if tag == "option" and self.select:
            self.found.setdefault(self.select, []).append(unescape(at.get("value") or ""))
        elif tag in ("input", "textarea", "select", "button") and at.get("name"):
            self.found.setdefault(str(at["name"]), []).extend([at["value"]] if at.get("value") else [])


class Attacker:
    """Posts one after the other; the forms are read once."""

    def __init__(self, world: World, seed: int) -> None:
        self.world = world
        self.draw = Random(seed)
        self.askers = {who: Asker(world, who) for who in BY}
        self.names = sorted(patterns())
        self.forms: dict[tuple[str, str], dict[str, list[str]]] = {}
        self.foreign = foreign_ids(world)

    def post(self) -> tuple[str, Any]:
        """One post: where and by whom, and what was answered."""
        name, who = self.draw.choice(self.names), self.draw.choice(BY)
        if expected(name, "POST", who) in (403, 404, 405):  # mostly those who are let in
            who = next((w for w in BY if expected(name, "POST", w) in (200, 302, 400)), who)
        side = self.world.south if self.draw.random() < 0.1 else self.world.north
        asked = address(side, name)
        if name.startswith(("bedside-", "passkey-")) and self.draw.random() < 0.9:
            sent: Any = self.json()
            return f"{who} {name}", self.askers[who].ask("POST", asked, sent, content_type="application/json")
        return f"{who} {name}", self.askers[who].ask("POST", asked, self.fields(name, who, asked))

    def fields(self, name: str, who: str, asked: str) -> dict[str, Any]:
        """The page's own fields, most of them as it offers them, some spoilt, some missing, some twice, some of nobody's."""
        form = self.forms.get((name, who))
        if form is None:
            form = self.forms[name, who] = fields_of(self.askers[who].ask("GET", asked))
        sent: dict[str, Any] = {}
        how = self.draw.choice((0.1, 0.3, 0.9))  # how much of it is spoilt
        for field, offered in form.items():
            if self.draw.random() < 0.05:
                continue
            values = [self.value(offered, how) for _ in range(self.draw.choice((1, 1, 1, 1, 3)))]
            sent[field] = values if len(values) > 1 else values[0]
        if "password" in sent and self.draw.random() < 0.8:
            sent["password"] = "correct horse battery"
        for _ in range(self.draw.choice((0, 0, 1, 2))):
            sent[
                self.draw.choice(("organisation", "user", "by", "family", "caregiver", "id", "pk", "is_active", "role"))
            ] = self.draw.choice(self.foreign)
        return sent

    def value(self, offered: list[str], spoilt: float) -> str:
        if self.draw.random() >= spoilt:
            return self.draw.choice(offered) if offered else "2026-05-14"
        kind = self.draw.random()
        if kind < 0.25:
            return self.draw.choice(self.foreign)
        if kind < 0.28:
            return self.draw.choice(PAYLOADS) * 3000
        return self.draw.choice(TEXTS)

    def json(self) -> Any:
        """What a device sends, with nonsense in it; or no JSON at all."""
        if self.draw.random() < 0.2:
            return self.draw.choice(NOT_JSON)
        ids = [str(self.world.north.families[1].public_id), self.world.north.people["mother 1"].case_id, *self.foreign]
        data = {
            key: self.nonsense(2)
            for key in ("purpose", "on", "time", "skill", "edition", "setting", "role", "results", "stopped")
        }
        good = {
            "purpose": "assessment",
            "on": "2026-05-14",
            "time": "09:30",
            "skill": "suction",
            "edition": 1,
            "results": {},
        }
        data |= {k: v for k, v in good.items() if self.draw.random() < 0.7}
        sent = {
            "intent": str(uuid.UUID(int=self.draw.getrandbits(128), version=4)),
            "author": self.world.north.educator.observer_id, "family": self.draw.choice(ids), "caregiver": self.draw.choice(ids),
            "data": data,
        }  # fmt: skip
        for key in list(sent):
            if self.draw.random() < 0.15:
                sent[key] = self.nonsense(3)
        return json.dumps(self.draw.choice((sent, sent, sent, self.nonsense(4))))

    def nonsense(self, depth: int) -> Any:
        plain = (None, True, 0, -1, 1.5, 10**30, *TEXTS)
        if depth == 0 or self.draw.random() < 0.5:
            return self.draw.choice(plain)
        inside = [self.nonsense(depth - 1) for _ in range(self.draw.randrange(4))]
        return inside if self.draw.random() < 0.5 else {str(self.draw.choice(TEXTS)): one for one in inside}


def foreign_ids(world: World) -> list[str]:
    """Ids of the other organisation, and some of nobody's."""
    south = world.south
    found = [f.public_id for f in (*south.families.values(), *south.received.values())]
    found += [c.public_id for c in south.people.values()]
    found += [m.public_id for m in (south.home.educator, south.home.supervisor)]
    found += [r.intent for r in south.records.values()]
    found += [
        south.draft.public_id,
        south.programme.public_id,
        south.asked.public_id,
        south.home.organisation.public_id,
    ]
    return [
        *map(str, found),
        str(uuid.UUID(int=0)),
        "not-an-id",
        "1",
        str(south.home.organisation.pk),
        str(south.home.educator.pk),
    ]


def fields_of(answer: Any) -> dict[str, list[str]]:
    reader = Fields()
    if answer.get("Content-Type", "").startswith("text/html"):
        reader.feed(body_of(answer).decode())
    return {name: values for name, values in reader.found.items() if name != "csrfmiddlewaretoken"}
