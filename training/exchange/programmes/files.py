"""The bytes of a programme file. What they mean is `training/curriculum/programme_file.py`'s business."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from competency.fields import Problem
from training.curriculum.programme_yaml import LARGEST_FILE, FileRefusedError, refuse_if_large


class FileIsThereError(Exception):
    """A file of this name is there, and nobody asked to replace it."""


def text_of(path: Path) -> str:
    """A file's text. Raises FileRefusedError where it is too large, before it is read, or is no UTF-8; OSError else."""
    refuse_if_large(path.stat().st_size)
    with path.open("rb") as file:
        found = file.read(LARGEST_FILE + 1)  # a pipe has no size beforehand
    refuse_if_large(len(found))
    try:
        return found.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = found.count(b"\n", 0, error.start) + 1
        raise FileRefusedError([Problem("$", "is no UTF-8 text")], [line]) from error


def write_whole(text: str, to: Path, *, replace: bool) -> None:
    """Write beside the file and give it its name at the end, so that no half file is ever there."""
    if to.exists() and not replace:
        raise FileIsThereError(f"{to} is there already. Nothing was written; --replace writes over it.")
    handle, name = tempfile.mkstemp(prefix=".programme-", dir=to.parent)
    aside = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode())
            file.flush()
            os.fsync(file.fileno())
        aside.chmod(0o644)  # a checklist is no secret, unlike a family's export
        aside.replace(to)
    finally:
        aside.unlink(missing_ok=True)
