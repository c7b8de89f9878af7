"""The lines of an exported file. `docs/export-format.md` describes them; `competency.verify` reads them back."""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable, Iterator

from django.db import connection

from competency.chain import canonical
from competency.chain_reading import Entry
from competency.verify import CHAINS, FORMAT
from training.people.models import Family, Organisation
from training.records.appending import head_of
from training.records.stored import stored


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
