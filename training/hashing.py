"""How passwords are hashed: slow and large on purpose, and never so many at once that memory runs out."""

from __future__ import annotations

import threading
from typing import Any

from django.contrib.auth.hashers import Argon2PasswordHasher

AT_ONCE = 4
_turns = threading.BoundedSemaphore(AT_ONCE)


class Argon2InTurns(Argon2PasswordHasher):
    """Argon2id with 64 MiB, three passes, four lanes: the second recommended option of RFC 9106 (section 4).

    Every signature asks for the password, so many may be hashed at once. At most AT_ONCE are, in each process; the
    others wait some tenths of a second. A process so needs 256 MiB for it at most, however many people sign: Django's
    own figure, 100 MiB each, would be 3.2 GB for 32.
    """

    time_cost = 3
    memory_cost = 65536
    parallelism = 4

    def encode(self, password: str, salt: str) -> str:
        with _turns:
            return super().encode(password, salt)

    def verify(self, password: str, encoded: str) -> Any:
        with _turns:
            return super().verify(password, encoded)
