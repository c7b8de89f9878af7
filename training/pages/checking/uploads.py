"""A file that is put in to be compared: read once, a piece at a time, and kept nowhere."""

from __future__ import annotations

import hashlib
from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, StopUpload

LARGEST = 20 * 1024 * 1024  # bytes
ZIP = b"PK\x03\x04"  # how such a file begins


class ReadFile(UploadedFile):
    """What is left of a file: its size and its SHA-256 in hex digits."""

    def __init__(self, name: str | None, size: int, digest: str) -> None:
        super().__init__(BytesIO(), name=name, size=size)
        self.digest = digest


class DigestOnly(FileUploadHandler):
    """Keeps no byte. A file that is too large is not read to its end; ``is_too_large`` then says so.

    is_zip: whether it begins as a zip does.
    """

    is_too_large = False
    is_zip = False

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self._sha256, self._read = hashlib.sha256(), 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        if not self._read and raw_data.startswith(ZIP):
            self.is_zip = True
        self._read += len(raw_data)
        if self._read > LARGEST:
            self.is_too_large = True
            raise StopUpload(connection_reset=True)
        self._sha256.update(raw_data)

    def file_complete(self, file_size: int) -> ReadFile:
        return ReadFile(self.file_name, file_size, self._sha256.hexdigest())
