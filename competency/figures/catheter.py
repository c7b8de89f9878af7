"""How thick a suction catheter may be for a tube: a share of the tube's inner diameter, or of its area."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

SIZES_FR = (5, 6, 8, 10, 12, 14, 16, 18)
"""Sizes that catheters are commonly made in, in French gauge. Common practice, no source."""


class By(StrEnum):
    DIAMETER = "diameter"
    AREA = "area"


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterRule:
    """At most so many per cent of the tube's lumen, by diameter or by area; strictly_below leaves the limit out.

    Sources differ: AARC clinical practice guideline 2010, rec. 9: below 50 %; its 2022 abstract: below 50 %, while a
    digest of it gives 70 %; half of the area is 70.7 % of the diameter (Russian and others 2013).
    """

    by: By = By.DIAMETER
    per_cent: Fraction = Fraction(50)
    strictly_below: bool = False

    def allows(self, catheter_fr: Fraction, inner_mm: Fraction) -> bool:
        """Whether a catheter fits this rule. Compared exactly."""
        share = share_of_diameter(catheter_fr, inner_mm)
        if self.by is By.AREA:
            share *= share
        limit = self.per_cent / 100
        return share < limit if self.strictly_below else share <= limit

    def largest(self, inner_mm: Fraction, sizes: Iterable[int] = SIZES_FR) -> int | None:
        """The largest of these sizes, in French gauge, that fits a tube; None where not even the smallest does."""
        return max((fr for fr in sizes if self.allows(Fraction(fr), inner_mm)), default=None)


def outer_mm(catheter_fr: Fraction) -> Fraction:
    """A catheter's outer diameter in mm: French gauge is three times that (the definition)."""
    return catheter_fr / 3


def share_of_diameter(catheter_fr: Fraction, inner_mm: Fraction) -> Fraction:
    """A catheter's outer diameter as a share of the tube's inner diameter. inner_mm: above zero."""
    return outer_mm(catheter_fr) / inner_mm
