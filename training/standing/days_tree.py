"""All days there are as the nodes of one binary tree, so that "the span that contains a day" is an indexed look-up.

A span of days is kept under one node, its fork: the day inside it that is divisible by the highest power of two. The
nodes above a day are 22 at most, and a span that contains the day has its fork among them (or on the day itself). So
`node IN (those) AND first_day <= day AND last_day >= day` reads a few spans of each family, however many it has and
whichever day is asked for. Spans of one family never share a node, since they do not overlap.
"""

from __future__ import annotations

from datetime import date

LEVELS = date.max.toordinal().bit_length()


def fork(first: date, last: date) -> int:
    """The node under which the span from first through last, both whole days, is kept."""
    before, end = first.toordinal() - 1, last.toordinal()
    level = (before ^ end).bit_length() - 1
    return end >> level << level


def nodes_of(day: date) -> list[int]:
    """Every node under which a span that contains the day may be kept."""
    number = day.toordinal()
    lowest = (number & -number).bit_length() - 1  # the day's own level: what is below it has no part in it
    return [number >> level + 1 << level + 1 | 1 << level for level in range(lowest, LEVELS)]
