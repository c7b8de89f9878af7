"""SQLite: copied by its own online backup, swapped in by name while nobody else can have it open."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from training.exchange.backups.refusing import InUseError, RefusedRestoreError

_BESIDE = ("-journal", "-wal", "-shm")
_PROCESSES = Path("/proc")


def copy(source: Path, to: Path) -> None:
    """A copy of one moment, also while others write: SQLite's own backup, in one step, then read through."""
    address = f"{source.resolve().as_uri()}?mode=rw"  # rw: one that is not there is not made
    try:
        with (
            closing(sqlite3.connect(address, uri=True, timeout=60)) as there,
            closing(sqlite3.connect(to)) as here,
        ):
            there.backup(here)
            here.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as error:
        raise RefusedRestoreError(f"SQLite says: {error}") from error
    refuse_unsound(to)


def refuse_unsound(database: Path) -> None:
    """Raises RefusedRestoreError unless SQLite finds the whole file in order."""
    try:
        with closing(sqlite3.connect(database)) as here:
            found = here.execute("PRAGMA integrity_check(1)").fetchone()[0]
    except sqlite3.DatabaseError as error:
        found = str(error)
    if found != "ok":
        raise RefusedRestoreError(f"SQLite finds the database damaged: {found}")


def refuse_in_use(target: Path) -> None:
    if target.exists():
        with _alone_with(target):
            pass


def swap_in(new: Path, target: Path, kept: Path) -> bool:
    """Give the new database the old one's name; the old one is kept under another. False where there was none.

    Both happen under SQLite's exclusive lock on the old one, so that nobody is in the middle of anything.
    """
    if not target.exists():
        os.link(new, target)  # fails where somebody made one meanwhile
        _seen_on_disk(target.parent)
        return False
    with _alone_with(target):
        shutil.copymode(target, new)
        os.link(target, kept)
        for ending in _BESIDE:  # left by a crash; they belong to the old one, and must not be applied to the new
            beside = Path(f"{target}{ending}")
            if beside.exists():
                beside.replace(f"{kept}{ending}")
        new.replace(target)
        holders = _holders(kept)
        if holders:  # came meanwhile, and waits for the lock: what it would write must not go to the old one
            kept.replace(target)
            raise InUseError(f"process {holders[0]} has the database open")
        _seen_on_disk(target.parent)
    return True


@contextmanager
def _alone_with(database: Path) -> Iterator[None]:
    """Hold the exclusive lock. Raises InUseError. A file that is no database any more can only be looked at."""
    holders = _holders(database)
    if holders:
        raise InUseError(f"process {holders[0]} has the database open")
    with closing(sqlite3.connect(database, timeout=1, isolation_level=None)) as here:
        try:
            here.execute("PRAGMA journal_mode=DELETE")  # empties a write-ahead log, which needs everybody else gone
            here.execute("BEGIN EXCLUSIVE")
        except sqlite3.OperationalError as error:
            raise InUseError(f"SQLite says: {error}") from error
        except sqlite3.DatabaseError:
            pass  # damaged: restoring is what helps
        yield


def _holders(database: Path) -> list[int]:
    """Other processes that have the file open, as far as this system and this user can tell."""
    wanted = database.stat()
    found = []
    for process in _PROCESSES.glob("[0-9]*"):
        if int(process.name) != os.getpid() and _has_open(process, wanted):
            found.append(int(process.name))
    return found


def _has_open(process: Path, wanted: os.stat_result) -> bool:
    try:
        return any(_is_same(handle, wanted) for handle in (process / "fd").iterdir())
    except OSError:
        return False  # gone, or another user's


def _is_same(handle: Path, wanted: os.stat_result) -> bool:
    try:
        return os.path.samestat(handle.stat(), wanted)
    except OSError:
        return False


def _seen_on_disk(folder: Path) -> None:
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
