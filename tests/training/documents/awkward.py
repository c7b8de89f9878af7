"""Awkward names and notes, the same ones each time, and a reader that takes a PDF's text as a conforming reader does."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from io import BytesIO
from typing import Any

from pypdf import PdfReader
from pypdf.generic import ContentStream

from training.documents.pdf.text import clean, spell_out

NAMES = (
    "Nguyễn Thị Mai", "Łukasz Żółć", "Ольга Ёлкина", "Ελένη Ϊδα", "O'Neil", "d’Été", "Åse-Marie Ørn", "İpek Şık", "ẞtraße",
    "محمد علي", "فاطمة الزهراء", "گلچهره پژمان", "ٹیپو سلطان", "مُحَمَّد", "李小龍", "किरण", "Zoë (زوي) Lind", "שרה לוי",
    "e\u0301a\u0323o\u0302", "ﬁona ﬀ", "A\u00a0B", "soft\u00adhyphen\u00aded", "a\u202eb\u202cc", "x\u200by\ufeffz", "👩\u200d👧 ok",
    "N" * 90, "w" * 400, "\ud800", "\ue000", "½ µ ° ≤ ≥ ×", "Anne\u2011Lise\u2010Kari", "ǅ Ŀ ŉ", "1\u20442",
)  # fmt: skip
NOTES = (
    "<b>pass</b>", '<img src="/etc/hostname"/>', '<img src="http://192.0.2.1/x.png">', "</para><para>", "<!-- -->",
    "<br/>", "<font size=90>big</font>", '<a href="file:///etc/passwd">here</a>', "&nbsp;&#65;&lt;", "S&P", "%s {0} %(n)s",
    "\\n (a\\) [b] <</JS (x)>>", ") Tj ET", "BT /F1 12 Tf", "=1+1", "@SUM(A1)", "one\ntwo\r\nthree\u2028four", "tab\tbed",
    "\x00\x07bell", "{{ x }} {% y %}", "SpO2 <90 for 5 min; 0.1 <A <0.9", "']]>", "%PDF-1.7", "endstream endobj",
    "${jndi:ldap://192.0.2.1/a}", "../../etc/passwd", "C:\\x", " leading", "trailing ", "double  space", "–—…’“”",
    "word " * 60, "long-" * 80, "كلمة " * 40,
)  # fmt: skip


def awkward(count: int) -> list[str]:
    """So many texts, all different: first each by itself, then drawn together."""
    draw = random.Random(7)
    every = [*NAMES, *NOTES]
    found = dict.fromkeys(every)
    while len(found) < count:
        found[" ".join(draw.choices(every, k=draw.choice((2, 2, 3))))[: draw.choice((60, 200, 900))]] = None
    return list(found)[:count]


# Into a document ------------------------------------------------------------------------------------------

NOT_TYPED = frozenset(
    {"verdict", "standing", "chain_head", "programme_head", "language", "zone", "address", "document", "digest", "ticks"}
)  # fmt: skip


def filled(value: Any, texts: Iterator[str], *, root: bool = True) -> Any:
    """The document with every text that somebody could have typed replaced by the next one."""
    if isinstance(value, str):
        return next(texts)
    if isinstance(value, tuple):
        return tuple(filled(part, texts, root=False) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        kept = NOT_TYPED | ({"title"} if root else frozenset())
        names = [f.name for f in fields(value) if f.name not in kept]
        return replace(value, **{name: filled(getattr(value, name), texts, root=name == "packet") for name in names})
    return value


def letters(text: str) -> str:
    """What has to stand on the paper of a text: no spaces, for lines end anywhere; no hyphens that may show or not."""
    return "".join(spell_out(clean(text)).replace("\u00ad", "").split())


# And out again --------------------------------------------------------------------------------------------

_ROW = re.compile(rb"<([0-9A-F]{2})> <([0-9A-F]+)>")


def text_of(data: bytes) -> str:
    """All text in the order of the structure tree, without spaces: a line's own words for it where it has some.

    What is no part of the text (heads drawn again, feet, marks) is left out by that. A code without a letter fails.
    """
    reader = PdfReader(BytesIO(data))
    drawn: dict[tuple[int, int], str] = {}
    for page in reader.pages:
        fonts = {name: _codes(font.get_object()) for name, font in page["/Resources"]["/Font"].items()}
        for number, text in _drawn(ContentStream(page.get_contents(), reader), fonts):
            at = page.indirect_reference.idnum, number
            drawn[at] = drawn.get(at, "") + text
    told = "".join(drawn.get(at, "") for at in _in_order(reader.trailer["/Root"]["/StructTreeRoot"]["/K"]))
    return "".join(told.replace("\u00ad", "").split())


def _in_order(kids: Any) -> Iterator[tuple[int, int]]:
    for kid in kids:
        node = kid.get_object()
        if "/MCID" in node:
            yield node.raw_get("/Pg").idnum, int(node["/MCID"])
        else:
            yield from _in_order(node["/K"])


def _codes(font: Any) -> dict[int, str]:
    rows = _ROW.findall(font["/ToUnicode"].get_data().partition(b"beginbfchar")[2])
    return {int(code, 16): bytes.fromhex(letter.decode()).decode("utf-16-be") for code, letter in rows}


def _drawn(stream: ContentStream, fonts: dict[str, dict[int, str]]) -> Iterator[tuple[int, str]]:
    """Each stretch of text with the number of the marked content it belongs to."""
    marked: list[tuple[int | None, bool]] = [(None, False)]  # the number, and whether its words were told already
    codes: dict[int, str] = {}
    for operands, operator in stream.operations:
        number, told = marked[-1]
        if operator == b"BDC":
            spoken = operands[1].get("/ActualText")
            if spoken is not None and number is not None:
                yield number, str(spoken)
            own = operands[1].get("/MCID", number)
            marked.append((None if operands[0] == "/Artifact" else own, told or spoken is not None))
        elif operator == b"EMC":
            marked.pop()
        elif operator == b"Tf":
            codes = fonts[operands[0]]
        elif operator == b"Tj":
            raw = operands[0]
            text = "".join(codes[code] for code in (raw if isinstance(raw, bytes) else raw.original_bytes))
            if number is not None and not told:
                yield number, text
