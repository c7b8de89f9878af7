"""What is written down about a failure: where it happened, never what was being said about whom."""

from __future__ import annotations

import logging
import traceback
from types import TracebackType
from typing import Any

from django.http import HttpRequest
from django.views.debug import SafeExceptionReporterFilter

_ExcInfo = tuple[type[BaseException], BaseException, TracebackType | None] | tuple[None, None, None]


class WithoutWords(logging.Formatter):
    """A traceback as files, lines and kinds of errors. An error's own words may repeat a row or a form, so they go."""

    def format(self, record: logging.LogRecord) -> str:
        """Another handler may have left its own traceback in the record; it is not ours to repeat."""
        left, record.exc_text = record.exc_text, None
        try:
            return super().format(record)
        finally:
            record.exc_text = left

    def formatException(self, ei: _ExcInfo) -> str:  # noqa: N802 - logging's name
        told = traceback.TracebackException(*ei, compact=True) if ei[0] else None
        lines: list[str] = []
        while told is not None:
            lines[:0] = ["Traceback:\n", *told.stack.format(), f"{told.exc_type.__qualname__}\n"]
            told = told.__cause__ or told.__context__
        return "".join(lines).rstrip()


class ReportsWithoutWords(SafeExceptionReporterFilter):
    """Django's report of an error, on a debugging site or by mail, without what was sent and without variables."""

    def get_post_parameters(self, request: HttpRequest | None) -> dict[str, Any]:
        return {}

    def get_traceback_frame_variables(self, request: HttpRequest | None, tb_frame: Any) -> list[Any]:
        return []
