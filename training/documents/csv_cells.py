"""Cells of a CSV file, for spreadsheets: text stays text."""

from __future__ import annotations

# the wide ones too: spreadsheets read them as the narrow
_BEGINS_A_FORMULA = (
    "=",
    "+",
    "-",
    "@",
    "\t",
    "\r",
    "\n",
    "＝",
    "＋",
    "－",
    "＠",
)


def csv_cell(value: object) -> str:
    """A value as a cell that no spreadsheet runs: what begins like a formula gets an apostrophe before it."""
    text = "" if value is None else str(value)
    return f"'{text}" if text.lstrip(" \u00a0").startswith(_BEGINS_A_FORMULA) else text
