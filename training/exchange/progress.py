"""How far a long command is, on one line of standard error."""

from __future__ import annotations

import time

from django.core.management.base import OutputWrapper

WIDTH = 30
_EVERY = 0.1  # seconds between two drawings


class Progress:
    """A bar where somebody watches a terminal; elsewhere a line for each tenth of the way."""

    def __init__(self, total: int, what: str, stream: OutputWrapper) -> None:
        self.total, self.what, self.stream = max(total, 1), what, stream
        self.done = 0
        self._watched = stream.isatty()
        self._drawn = -1.0

    def step(self, *_seen: object, of: int = 1) -> None:
        """So many more are done."""
        before, self.done = self.done, self.done + of
        whole = self.done == self.total
        if self._watched:
            now = time.monotonic()
            if whole or now - self._drawn >= _EVERY:
                self._drawn = now
                filled = min(WIDTH, WIDTH * self.done // self.total)
                self._write(f"\r[{'#' * filled}{' ' * (WIDTH - filled)}] {self._words()}")
        elif whole or self.done * 10 // self.total != before * 10 // self.total:
            self._write(f"{self._words()}\n")

    def end(self) -> None:
        if self._watched and self.done:
            self._write("\n")

    def _words(self) -> str:
        return f"{self.done} of {self.total} {self.what}"

    def _write(self, text: str) -> None:
        self.stream.write(text, str, ending="")  # as it is, not in the colour of an error
        self.stream.flush()
