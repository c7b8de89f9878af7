"""Files that are read to their end while the request asks.

Once it has been answered nobody is asking, and the database would show nothing of what is left.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterable
from typing import IO

IN_MEMORY = 4_000_000  # bytes; a longer file waits on the disk, unnamed


def whole_file(pieces: Iterable[bytes]) -> IO[bytes]:
    """All of it, ready to be read from the start; whoever sends it closes it."""
    file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - the answer closes it
    file.writelines(pieces)
    file.seek(0)
    return file
