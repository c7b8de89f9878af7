"""The register's marks as black shapes: a skill is a post, a family is two. Always beside their word.

Measures are those of the drawings the pages use: 20 by 20 for a standing, 42 by 32 for a verdict, y downwards.
"""

from __future__ import annotations

from typing import NamedTuple

from reportlab.pdfgen.canvas import Canvas

Points = tuple[tuple[float, float], ...]


class Stroke(NamedTuple):
    points: Points
    width: float = 1.5
    dash: tuple[float, float] | None = None


class Mark(NamedTuple):
    width: float
    height: float
    fills: tuple[Points, ...] = ()
    strokes: tuple[Stroke, ...] = ()


def _box(x: float, y: float, width: float, height: float) -> Points:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


GROUND = Stroke(((1, 18.25), (19, 18.25)))
FAMILY_GROUND = Stroke(((0, 31), (42, 31)), 2)


def _standing(*shapes: Points | Stroke) -> Mark:
    fills = tuple(shape for shape in shapes if not isinstance(shape, Stroke))
    return Mark(20, 20, fills, tuple(shape for shape in shapes if isinstance(shape, Stroke)))


def _verdict(*shapes: Points | Stroke) -> Mark:
    return _standing(*shapes, FAMILY_GROUND)._replace(width=42, height=32)


CAP = Stroke(((7, 1.75), (13, 1.75), (13, 5.25), (7, 5.25), (7, 1.75)))
HOLLOW_TOP = Stroke(((7, 10.5), (7, 1.75), (13, 1.75), (13, 10.5)))
DOTTED_POST = Stroke(((7, 17.5), (7, 1.75), (13, 1.75), (13, 17.5)), dash=(2.1, 1.7))
MISSING_POST = Stroke(((26.25, 30), (26.25, 4.9), (32.25, 4.9), (32.25, 30)), 1.75, (3, 2.4))

MARKS = {
    "signed_off": _standing(_box(6.25, 1, 7.5, 16.5), GROUND),
    "awaiting": _standing(_box(6.25, 8, 7.5, 9.5), CAP, GROUND),
    "in_training": _standing(_box(6.25, 9.75, 7.5, 7.75), HOLLOW_TOP, GROUND),
    "not_started": _standing(DOTTED_POST, GROUND),
    "held": _standing(_box(6.25, 1, 7.5, 5.75), _box(6.25, 12.75, 7.5, 4.75), _box(1, 8.25, 18, 3), GROUND),
    "lapsed": _standing(((1.75, 17.5), (9.5, 2), (17.5, 2), (9.75, 17.5)), GROUND),
    "withdrawn": _standing(
        Stroke(((5.5, 4), (14.5, 13)), 2.5),
        Stroke(((14.5, 4), (5.5, 13)), 2.5),
        Stroke(((1, 18.25), (6.5, 18.25))),
        Stroke(((13.5, 18.25), (19, 18.25))),
    ),
    "not_required": _standing(Stroke(((1, 18.25), (19, 18.25)), 1.75, (2, 2))),
    "on_pause": _standing(_box(5, 3, 3.5, 14.5), _box(11.5, 3, 3.5, 14.5), GROUND),
    "ready": _verdict(_box(9, 4, 7.5, 26), _box(25.5, 4, 7.5, 26)),
    "ready_by_exception": _verdict(_box(9, 4, 7.5, 26), _box(22.5, 4, 7.5, 26), Stroke(((31, 10), (39.5, 30.5)), 2.6)),
    "not_ready": _verdict(_box(9, 4, 7.5, 26), MISSING_POST),
    "box": _standing(Stroke(((3, 3), (17, 3), (17, 17), (3, 17), (3, 3)), 1.2)),  # to be crossed by hand
    "critical": _standing(_box(4.5, 2, 3, 16), _box(11, 2, 3, 16)),  # the double rule that closes an account
}


def draw_mark(canvas: Canvas, name: str, x: float, y: float, height: float) -> None:
    """Draw a mark in black with its lower left corner at ``x``, ``y``, in points."""
    mark = MARKS[name]
    canvas.saveState()
    canvas.translate(x, y + height)
    canvas.scale(height / mark.height, -height / mark.height)
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    for points in mark.fills:
        _trace(canvas, points, fill=True)
    for stroke in mark.strokes:
        canvas.setLineWidth(stroke.width)
        canvas.setDash(*(list(stroke.dash),) if stroke.dash else ())
        _trace(canvas, stroke.points, fill=False)
    canvas.restoreState()


def _trace(canvas: Canvas, points: Points, *, fill: bool) -> None:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if fill:
        path.close()
    canvas.drawPath(path, stroke=int(not fill), fill=int(fill))
