"""A map as plain values: boxes, lines and gates with their places in the picture. Units are the picture's own.

Drawn by ``templates/map/_picture.html``. What stands in a box is handed in; nothing about a standing is decided here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from textwrap import wrap

from training.pages.map.layout import Threads, columns, direct, places, threaded

WIDE, HIGH = 150, 64
GAP = 64  # between columns: lanes for lines, then the gate
PITCH = WIDE + GAP  # from one column to the next
BELOW = 12  # under a box
WAITING = 28  # where there are boxes that wait: under each, what for
THREAD = 20  # the room of a line that passes by
EDGE = 8
LETTERS = 19  # of a title's line
PAPER = 273 / 125  # width by height of what an A4 page has room for, lying
LEAST = 5  # boxes that a column takes at least before the next is begun
SAY_LETTERS = 25
ROUND = 4
LANE, LANES = 8, 28  # how far two lanes lie apart at most, and the room for all of a column's


@dataclass(frozen=True, slots=True, kw_only=True)
class Node:
    """What one box says. gates: the skills that come first; waits: those that are closed, empty where all are open.

    standing, mark: empty on a programme's own map. word: under the title; waiting: a short line under the box.
    """

    code: str
    title: str
    gates: tuple[str, ...]
    standing: str = ""
    mark: str = ""
    word: str = ""
    waits: tuple[str, ...] = ()
    waiting: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    node: Node
    x: int
    y: int
    lines: tuple[str, ...]
    waiting: str
    wide: int = WIDE
    high: int = HIGH

    @property
    def foot(self) -> int:
        return self.y + HIGH

    @property
    def right(self) -> int:
        return self.x + WIDE

    @property
    def middle(self) -> int:
        return self.y + HIGH // 2

    @property
    def text_x(self) -> int:
        return self.x + 8

    @property
    def word_y(self) -> int:
        return self.foot - 9

    @property
    def mark_x(self) -> int:
        return self.right - 27

    @property
    def mark_y(self) -> int:
        return self.foot - 27

    @property
    def waiting_y(self) -> int:
        return self.foot + 17

    @property
    def named(self) -> list[tuple[int, str]]:
        return [(self.y + 18 + 16 * n, line) for n, line in enumerate(self.lines)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """The two posts before a box, and whether the leaf is open."""

    x: int
    y: int
    is_open: bool

    @property
    def posts(self) -> str:
        x, y = self.x, self.y
        return f"M{x - 3} {y - 15}h6v6h-6zM{x - 3} {y + 9}h6v6h-6z"

    @property
    def leaf(self) -> str:
        return f"M{self.x} {self.y - 12}h15" if self.is_open else f"M{self.x} {self.y - 9}v18"


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """lines: each path, and whether it leads from a skill that is signed off; the open ones last, so on top."""

    width: int
    height: int
    boxes: tuple[Box, ...]
    lines: tuple[tuple[str, bool], ...]
    gates: tuple[Gate, ...]


def drawing(nodes: Sequence[Node]) -> Drawing:
    """The picture of these skills. Lines that other lines imply are left out.

    Long columns go on in the next one, at the length that makes the picture largest on a lying page.
    """
    by_code = {node.code: node for node in nodes}
    drawn = direct({node.code: [g for g in node.gates if g in by_code] for node in nodes})
    lengths = range(LEAST, max(LEAST, len(nodes)) + 1)
    folded = dict.fromkeys(tuple(sorted(columns(drawn, most).items())) for most in lengths)
    return min((_drawn(by_code, drawn, dict(found)) for found in folded), key=_size)


def _size(picture: Drawing) -> float:
    """How wide a lying page would have to be for it."""
    return max(picture.width, picture.height * PAPER)


def _drawn(by_code: Mapping[str, Node], drawn: Mapping[str, Sequence[str]], column: Mapping[str, int]) -> Drawing:
    threads = threaded(drawn, column)
    through = threads.through
    below = WAITING if any(node.waiting for node in by_code.values()) else BELOW
    corner = _corners(threads, by_code, below)
    boxes = {
        code: Box(node=node, x=corner[code][0], y=corner[code][1], lines=_title(node), waiting=_cut(node.waiting))
        for code, node in by_code.items()
    }
    lanes = _lanes(corner, through)
    lines = []
    for (gate, code), names in through.items():
        is_open = bool(by_code[code].standing) and gate not in by_code[code].waits
        stops = [(lanes[place], corner[place][1]) for place in (gate, *names)]
        lines.append((_path(stops, boxes[code]), is_open))
    height = max((box.foot for box in boxes.values()), default=0) + below
    return Drawing(
        width=max((box.right for box in boxes.values()), default=0) + EDGE,
        height=max([height, *(y + THREAD for _x, y in corner.values())]),
        boxes=tuple(boxes.values()),
        lines=tuple(sorted(lines, key=lambda line: line[1])),
        gates=tuple(_gates(boxes.values(), drawn)),
    )


def _gates(boxes: Iterable[Box], drawn: Mapping[str, Sequence[str]]) -> Iterator[Gate]:
    for box in boxes:
        if drawn[box.node.code]:
            yield Gate(x=box.x - 21, y=box.middle, is_open=not box.node.waits)


def _corners(threads: Threads, by_code: Mapping[str, Node], below: int) -> dict[str, tuple[int, int]]:
    """The upper left corner of every box and stand-in, each column in the middle of the picture's height."""
    listed: dict[int, list[str]] = {}
    stood = places(threads.gates, threads.column)
    for code, place in sorted(stood.items(), key=lambda found: (found[1].column, found[1].row)):
        listed.setdefault(place.column, []).append(code)
    room = {code: HIGH + below if code in by_code else THREAD for code in stood}
    tallest = max((sum(room[c] for c in column) for column in listed.values()), default=0)
    found = {}
    for number, column in listed.items():
        y = EDGE + (tallest - sum(room[c] for c in column)) // 2
        for code in column:
            found[code] = (EDGE + number * PITCH, y)
            y += room[code]
    return found


def _lanes(corner: Mapping[str, tuple[int, int]], through: Mapping[tuple[str, str], tuple[str, ...]]) -> dict[str, int]:
    """Where the lines of each box or stand-in turn: a lane of its own, so that lines of two never run as one."""
    sources = {place for (gate, _code), names in through.items() for place in (gate, *names)}
    columns: dict[int, list[str]] = {}
    for place in sorted(sources, key=lambda p: corner[p]):
        columns.setdefault(corner[place][0], []).append(place)
    found = {}
    for x, column in columns.items():
        step = min(LANE, LANES // len(column))
        for number, place in enumerate(column):
            found[place] = x + WIDE + 8 + number * step
    return found


def _path(stops: Sequence[tuple[int, int]], box: Box) -> str:
    """A line to a box's gate. stops: of its source and of each stand-in, the lane in which it turns, and the top."""
    (lane, top), *threads = stops
    y = top + HIGH // 2
    found = [f"M{(lane - EDGE) // PITCH * PITCH + EDGE + WIDE} {y}"]
    for next_lane, next_top in threads:
        found.append(_turn(lane, y, next_top + THREAD // 2))
        lane, y = next_lane, next_top + THREAD // 2
    found.append(_turn(lane, y, box.middle))
    return "".join([*found, f"H{box.x - 21 if box.node.waits else box.x}"])


def _turn(x: int, y: int, to: int) -> str:
    """Along to x, then up or down to another height, with round corners."""
    if y == to:
        return ""
    bend = min(ROUND, abs(to - y) // 2) * (1 if to > y else -1)
    return f"H{x - ROUND}Q{x} {y} {x} {y + bend}V{to - bend}Q{x} {to} {x + ROUND} {to}"


def _title(node: Node) -> tuple[str, ...]:
    """A title on two lines at most; on three where nothing stands below it."""
    most = 2 if node.word or node.mark else 3
    lines = wrap(node.title, LETTERS)
    if len(lines) <= most:
        return tuple(lines)
    return (*lines[: most - 1], _cut(" ".join(lines[most - 1 :]), LETTERS))


def _cut(text: str, letters: int = SAY_LETTERS) -> str:
    return text if len(text) <= letters else text[: letters - 1].rstrip(" ,") + "…"
