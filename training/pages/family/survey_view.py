"""The survey file of a date, for whoever inspects. Taking it is a deed, and a closed file has one too."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from django.http import FileResponse, HttpRequest

from training.documents.survey import Survey, render_survey, zip_survey
from training.documents.survey_of import survey_of
from training.log import writing as log
from training.pages.family.papers import FamilyPaper, hand_out
from training.pages.templatetags.register import standing_word, verdict_word
from training.people.access import Right


class SurveyPdf(FamilyPaper):
    """Who was competent on ``?on=``, as known then and as known now."""

    right = Right.EXPORT
    logs_itself = True
    name = "survey"

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse:
        answer = self.answer(self.survey())
        log.deed(
            organisation=self.family.organisation,
            what="survey-taken",
            by=log.who(self.member),
            at=self.now,
            of=log.about(self.family),
            day=self.day.isoformat(),
        )
        return answer

    def survey(self) -> Survey:
        return survey_of(self.picture, known_at=self.now, standing_word=standing_word, verdict_word=verdict_word)

    def answer(self, survey: Survey) -> FileResponse:
        return hand_out(render_survey(survey, self.size), self.file_name())


class SurveyZip(SurveyPdf):
    """The same with its tables as CSV."""

    def answer(self, survey: Survey) -> FileResponse:
        file = BytesIO(zip_survey(survey, self.size))
        name = f"{self.name} {self.day.isoformat()}.zip"
        return FileResponse(file, as_attachment=True, filename=name, content_type="application/zip")
