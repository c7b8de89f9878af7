"""A family's whole record as a file, as `manage.py export_family` writes it."""

from __future__ import annotations

import tempfile
from typing import Any

from django.http import FileResponse, HttpRequest

from training.exchange.exporting import export_lines
from training.log import writing as log
from training.pages.views import FamilyView
from training.people.access import Right

IN_MEMORY = 4_000_000  # bytes; a longer file waits on the disk, unnamed


class ExportFamily(FamilyView):
    """`python -m competency.verify FILE` checks it without the site. Taking it is a deed."""

    right = Right.EXPORT
    logs_itself = True

    def get(self, request: HttpRequest, family: Any) -> FileResponse:
        log.deed(
            organisation=self.family.organisation,
            what="family-exported",
            by=log.who(self.member),
            at=self.now,
            of=log.about(self.family),
        )
        file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - the answer closes it
        file.writelines(export_lines(self.family))
        file.seek(0)
        name = f"{self.family.public_id}.jsonl"
        return FileResponse(file, as_attachment=True, filename=name, content_type="application/jsonl")
