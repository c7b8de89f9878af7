"""Writers in one SQLite file take turns, in the order they came.

SQLite has no queue: who finds the file locked asks again some ten times a second, and among many who ask some have
bad luck for longer than anybody should wait. So writers wait here first: within a process in the order they came,
between processes for a lock on a file beside the database, which the kernel lifts when its holder dies. That only
decides who asks SQLite next; what keeps the data whole is still SQLite's own lock.
"""

from __future__ import annotations

import fcntl
import os
import threading
import time
from collections import deque

ENDING = "-turn"  # of the file beside the database
ASK_AGAIN = 0.002  # seconds between two looks at the lock of the other processes
LET_OTHERS = 3 * ASK_AGAIN  # how long the next of the same process holds back, so that another one comes in between


class Line:
    """Those of this process who want to write in one file."""

    def __init__(self, path: str) -> None:
        self._path = path
        self._guard = threading.Lock()
        self._waiting: deque[threading.Event] = deque()
        self._is_taken = False
        self._file: int | None = None

    def take(self, seconds: float) -> bool:
        """Wait for the turn; False where it did not come within so many seconds. Raises OSError without the file."""
        until = time.monotonic() + seconds
        if not self._come_first(until):
            return False
        is_ours = False
        try:
            is_ours = self._lock_out_others(until)
        finally:
            if not is_ours:
                self._call_next()
        return is_ours

    def give(self) -> None:
        """End the turn. Whoever waited longest is next."""
        if self._file is not None:
            fcntl.flock(self._file, fcntl.LOCK_UN)
        self._call_next()

    def close(self) -> None:
        """Let go of the file, as a forked process must: it would share its parent's lock."""
        if self._file is not None:
            os.close(self._file)

    def _come_first(self, until: float) -> bool:
        with self._guard:
            if not self._is_taken:
                self._is_taken = True
                return True
            called = threading.Event()
            self._waiting.append(called)
        if called.wait(until - time.monotonic()):
            time.sleep(LET_OTHERS)
            return True
        with self._guard:
            if called.is_set():
                return True
            self._waiting.remove(called)
        return False

    def _call_next(self) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().set()
            else:
                self._is_taken = False

    def _lock_out_others(self, until: float) -> bool:
        if self._file is None:
            self._file = _open_beside(self._path)
        while True:
            try:
                fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                if time.monotonic() > until:
                    return False
                time.sleep(ASK_AGAIN)
            else:
                return True


def _open_beside(path: str) -> int:
    """The file that is locked, with the owner and the permissions of the database, as SQLite's own are."""
    like = os.stat(path)
    file = os.open(f"{path}{ENDING}", os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, like.st_mode & 0o777)
    if os.geteuid() == 0:  # a command run by root must not lock the site out
        os.fchown(file, like.st_uid, like.st_gid)
    return file


_lines: dict[str, Line] = {}
_guard = threading.Lock()


def line_for(path: str) -> Line:
    """The line of this process for a database file."""
    with _guard:
        return _lines.setdefault(path, Line(path))


def _forget() -> None:
    global _guard
    for line in _lines.values():
        line.close()
    _lines.clear()
    _guard = threading.Lock()


os.register_at_fork(after_in_child=_forget)
