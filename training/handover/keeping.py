"""The file that was handed over, kept as it came: in records of its own chain, a piece each, which nothing changes.

The chain's id is the offer's. Its first record is the answer to the offer; the pieces follow.
"""

from __future__ import annotations

import hashlib
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from tempfile import SpooledTemporaryFile
from typing import IO

from django.db import connection

from competency.verify import MisfitError, NotAnExportError, check_export
from training.handover.models import Offer
from training.people.models import Organisation
from training.records.appending import append
from training.records.models import Record
from training.records.stored import check_chains, stored

PIECE = "received"
LONGEST = 256 * 1024  # bytes of a piece, but for a line that is longer by itself
IN_MEMORY = 8 * 1024 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What the checker found in a file that fits. head, count: of the family's chain."""

    sha256: str
    size: int
    pieces: int
    head: str
    count: int


def keep(lines: Iterable[bytes], *, offer: Offer, organisation: Organisation, head: str, at: datetime) -> Kept:
    """Write a file down piece by piece, inside the deed's transaction, and check it as whoever receives it would.

    Raises MisfitError where it does not fit, or does not hold ``head``; the transaction must then be given up.
    """
    whole, size, number = hashlib.sha256(), 0, 0
    with SpooledTemporaryFile(max_size=IN_MEMORY) as file:
        for number, piece in enumerate(_pieces(lines), start=1):
            whole.update(piece)
            size += len(piece)
            file.write(piece)
            append(
                organisation=organisation,
                chain=offer.public_id,
                kind=PIECE,
                body={"piece": number, "text": piece.decode()},
                intent=uuid.uuid5(offer.intent, f"{PIECE} {number}"),
                at=at,
            )
        chain = _checked(file, head)
    return Kept(sha256=whole.hexdigest(), size=size, pieces=number, head=chain[0], count=chain[1])


def _pieces(lines: Iterable[bytes]) -> Iterator[bytes]:
    waiting: list[bytes] = []
    length = 0
    for line in lines:
        if waiting and length + len(line) > LONGEST:
            yield b"".join(waiting)
            waiting, length = [], 0
        waiting.append(line)
        length += len(line)
    if waiting:
        yield b"".join(waiting)


def _checked(file: IO[bytes], head: str) -> tuple[str, int]:
    file.seek(0)
    family = check_export(file, head).chains[0]
    return family.head, family.count


def pieces_of(offer: Offer) -> Iterator[bytes]:
    """The file again, a piece at a time."""
    for record in Record.objects.of_chain(offer.public_id).filter(kind=PIECE).iterator(chunk_size=8):
        yield record.data["text"].encode()


def content_of(offer: Offer) -> bytes:
    return b"".join(pieces_of(offer))


def misfit_of(offer: Offer, *, sha256: str, head: str) -> str:
    """Why the kept file is not the one that was handed over; "" where everything fits.

    sha256, head: as the `handover` record notes them.
    """
    for _chain, misfit in check_chains(stored(connection, offer.public_id)):
        if misfit:
            return misfit
    whole = hashlib.sha256()
    with SpooledTemporaryFile(max_size=IN_MEMORY) as file:
        for piece in pieces_of(offer):
            whole.update(piece)
            file.write(piece)
        try:
            found, _count = _checked(file, head)
        except (MisfitError, NotAnExportError) as error:
            return str(error)
    if found != head or whole.hexdigest() != sha256:
        return "The file is another than the one whose digest was noted."
    return ""
