"""The backup file: a zip of a manifest and the database, which the manifest's digest covers."""

from __future__ import annotations

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

FORMAT = "register-backup-1"
MANIFEST, DATABASE = "manifest.json", "database"
LARGEST_MANIFEST = 1_000_000  # bytes
_BLOCK = 1024 * 1024


class DamagedBackupError(Exception):
    """The file is no backup, or not what was written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manifest:
    """What a backup says of itself.

    migrations: the applied ones, as "app.name". chains, records, heads: how many there are, and a digest over the head
    of every chain. sha256: of the database inside.
    """

    vendor: str
    made_at: str
    migrations: list[str]
    chains: int
    records: int
    heads: str
    sha256: str


def write_archive(to: Path, manifest: Manifest, database: Path) -> None:
    """Write the file, for its owner's eyes alone, and see it on the disk."""
    handle = os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(MANIFEST, json.dumps({"format": FORMAT, **asdict(manifest)}, indent=1))
            archive.write(database, DATABASE)
        file.flush()
        os.fsync(file.fileno())


def read_archive(file: Path, to: Path | None = None) -> Manifest:
    """Read a backup through and check its digest; with ``to``, put the database inside it there.

    Raises DamagedBackupError, and OSError where the file cannot be read at all.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            if sorted(archive.namelist()) != [DATABASE, MANIFEST]:
                raise DamagedBackupError("it does not hold a manifest and a database")
            manifest = _manifest(archive)
            with archive.open(DATABASE) as inside:
                found = _copied(inside, to)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, ValueError) as error:
        raise DamagedBackupError(f"it is no backup, or was damaged: {error}") from error
    if found != manifest.sha256:
        raise DamagedBackupError("the database in it is not the one its manifest speaks of")
    return manifest


def _manifest(archive: zipfile.ZipFile) -> Manifest:
    with archive.open(MANIFEST) as inside:
        data = json.loads(inside.read(LARGEST_MANIFEST))
    if not isinstance(data, dict) or data.pop("format", None) != FORMAT:
        raise DamagedBackupError(f"its manifest is not of the format {FORMAT}")
    try:
        manifest = Manifest(**data)
    except TypeError as error:
        raise DamagedBackupError("its manifest does not have the keys it should") from error
    if not _is_sound(manifest):
        raise DamagedBackupError("its manifest does not have the values it should")
    return manifest


def _is_sound(manifest: Manifest) -> bool:
    texts = (manifest.vendor, manifest.made_at, manifest.heads, manifest.sha256)
    lists: Any = manifest.migrations
    return (
        all(isinstance(text, str) for text in texts)
        and all(type(number) is int for number in (manifest.chains, manifest.records))
        and isinstance(lists, list)
        and all(isinstance(name, str) for name in lists)
    )


def _copied(inside: IO[bytes], to: Path | None) -> str:
    """The digest of what was read, and written where it is wanted."""
    whole = hashlib.sha256()
    if to is None:
        for block in _blocks(inside):
            whole.update(block)
    else:
        with to.open("xb") as out:
            for block in _blocks(inside):
                whole.update(block)
                out.write(block)
            out.flush()
            os.fsync(out.fileno())
    return whole.hexdigest()


def _blocks(file: IO[bytes]) -> Iterator[bytes]:
    while block := file.read(_BLOCK):
        yield block


def digest_of_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
