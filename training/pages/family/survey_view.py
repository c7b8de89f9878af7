"""The survey file of a date, for whoever inspects. Taking it is a deed, and a closed file has one too."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponse

from training.documents.survey import Survey, render_survey, zip_survey
from training.documents.survey_of import survey_of
from training.log import writing as log
from training.pages.family.papers import FamilyPaper
from training.pages.templatetags.register import standing_word, verdict_word
from training.people.access import Right


class SurveyPdf(FamilyPaper):
    """Who was competent on ``?on=``, as known then and as known now."""

    right = Right.EXPORT
    logs_itself = True
    kind = "survey"
    name = "survey"
    of_closed = True
    render = staticmethod(render_survey)

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse | HttpResponse:
        answer = self.file_asked_for(request, **kwargs)
        log.deed(
            organisation=self.family.organisation,
            what="survey-taken",
            by=log.who(self.member),
            at=self.now,
            of=log.about(self.family),
            day=self.day.isoformat(),
        )
        return answer

    def file_asked_for(self, request: HttpRequest, **kwargs: Any) -> FileResponse | HttpResponse:
        return super().get(request, **kwargs)

    def value(self, known_at: datetime) -> Survey:
        return survey_of(self.picture, known_at=known_at, standing_word=standing_word, verdict_word=verdict_word)


class SurveyZip(SurveyPdf):
    """The same with its tables as CSV."""

    def file_asked_for(self, request: HttpRequest, **kwargs: Any) -> FileResponse:
        basis = self.basis(self.kind)
        survey = self.value(basis.known_at)
        number, pdf = self.sealed(survey, render_survey, basis)
        name = f"{self.file_name()} {number}.zip"
        file = BytesIO(zip_survey(survey, pdf))
        return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
