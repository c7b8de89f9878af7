"""Tubes: which sizes are possible, and which spares are at hand."""

from __future__ import annotations

from fractions import Fraction

HALF_MM = Fraction(1, 2)


class BadTubeError(ValueError):
    """Sizes that no tube can have."""


def check_tube(inner_mm: Fraction | None, outer_mm: Fraction | None) -> None:
    """Raises BadTubeError where a size is not above zero, or the outside is no wider than the inside."""
    for what, size in (("inner", inner_mm), ("outer", outer_mm)):
        if size is not None and size <= 0:
            raise BadTubeError(f"the {what} diameter is not above zero")
    if inner_mm is not None and outer_mm is not None and outer_mm <= inner_mm:
        raise BadTubeError("the outer diameter is not above the inner diameter")


def spares(inner_mm: Fraction, step: Fraction = HALF_MM) -> tuple[Fraction, Fraction]:
    """Inner diameters in mm of the spare tubes at hand: the same size, and one size smaller.

    Source: a children's hospital's emergency kit list (Minnesota); New South Wales Agency for Clinical Innovation,
    tracheostomy emergencies. step: how far two sizes lie apart; half a millimetre is common practice, no source.
    """
    return inner_mm, inner_mm - step
