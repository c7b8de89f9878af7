"""A family's whole record as one file. `docs/export-format.md` describes it; `competency.verify` reads it back."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from competency.verify import MisfitError, Report, check_export
from training.people.models import Family
from training.records.exported import entry_line, export_lines

__all__ = ["FileIsThereError", "entry_line", "export_lines", "refuse_if_there", "write_export"]


class FileIsThereError(Exception):
    """A file of this name is there, and nobody asked to replace it."""


def write_export(family: Family, to: Path, *, replace: bool) -> Report | MisfitError:
    """Write a family's file aside, check it as whoever receives it would, and give it its name.

    Returns what the check found: a record that does not fit is written as it stands. Raises FileIsThereError, and
    OSError where the file cannot be written; no half file is left behind.
    """
    refuse_if_there(to, replace=replace)
    handle, name = tempfile.mkstemp(prefix=".export-", dir=to.parent)  # for its owner's eyes alone
    aside = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            for line in export_lines(family):
                file.write(line)
            file.flush()
            os.fsync(file.fileno())
        found = _checked(aside)
        refuse_if_there(to, replace=replace)
        aside.replace(to)
    finally:
        aside.unlink(missing_ok=True)
    return found


def refuse_if_there(file: Path, *, replace: bool) -> None:
    if file.exists() and not replace:
        raise FileIsThereError(f"{file} is there already. Nothing was written; --replace writes over it.")


def _checked(file: Path) -> Report | MisfitError:
    try:
        with file.open("rb") as written:
            return check_export(written)
    except MisfitError as misfit:
        return misfit
