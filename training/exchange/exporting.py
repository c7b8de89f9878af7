"""A family's whole record as one file. `docs/export-format.md` describes it; `competency.verify` reads it back."""

from __future__ import annotations

import hashlib
import os
import tempfile
import uuid
from collections.abc import Iterable, Iterator
from pathlib import Path

from django.db import connection

from competency.chain import canonical
from competency.chain_reading import Entry
from competency.verify import CHAINS, FORMAT, MisfitError, Report, check_export
from training.people.models import Family, Organisation
from training.records.appending import head_of
from training.records.stored import stored


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


def export_lines(family: Family) -> Iterator[bytes]:
    """The lines of the file: what it is, every record of its chains as far as they are now, and its own digest."""
    whole = hashlib.sha256()
    for line in _counted_lines(family):
        whole.update(line)
        yield line
    yield canonical({"end": FORMAT, "sha256": whole.hexdigest()}) + b"\n"


def _counted_lines(family: Family) -> Iterator[bytes]:
    programme = family.enrolment.programme
    owners = (family.organisation, programme.organisation, family.organisation)
    chains = (family.public_id, programme.public_id, family.organisation.public_id)
    last = [head_of(chain)[0] for chain in chains]
    yield _first_line(family, chains, owners)
    for chain, through in zip(chains, last, strict=True):
        for entry in stored(connection, chain):
            if entry.number <= through:  # later ones were recorded while this is being written
                yield entry_line(entry)


def _first_line(family: Family, chains: Iterable[uuid.UUID], owners: Iterable[Organisation]) -> bytes:
    rows = [
        {"what": what, "chain": str(chain), "organisation": str(owner.public_id)}
        for what, chain, owner in zip(CHAINS, chains, owners, strict=True)
    ]
    whose = {"family": str(family.public_id), "organisation": str(family.organisation.public_id)}
    return canonical({"format": FORMAT, **whose, "chains": rows}) + b"\n"


def entry_line(entry: Entry) -> bytes:
    """One record as a line. Bytes that are no text, which no deed writes, are shown escaped and will not fit."""
    data = {name: getattr(entry, name) for name in Entry.__slots__}
    return canonical({**data, "body": entry.body.decode("utf-8", "backslashreplace")}) + b"\n"
