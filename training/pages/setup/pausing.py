"""The end of a caregiver's own pause, signed by a member who has talked with them."""

from __future__ import annotations

from functools import cached_property

from django.http import Http404
from django.shortcuts import get_object_or_404
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.pages.setup.deed import DeedView
from training.pages.setup.fields import EntryForm, words_field
from training.people.access import Right
from training.records.models import Record
from training.standing.pauses import end_pause
from training.standing.pausing import Pause, pauses_of


class EndForm(EntryForm):
    reason = words_field(gettext_lazy("What you talked about"), help_text=gettext_lazy("Staff read it."))
    places = {"record": "reason"}


class EndPause(DeedView):
    """Whoever may put a hold may end a pause. The days of the pause stay in the record."""

    asks = frozenset({Right.DECIDE, Right.RECORD, Right.SET_UP})
    kind = "void"
    form_class = EndForm
    title = gettext_lazy("The end of a pause")
    lead = gettext_lazy(
        "They asked for this pause themself. End it once you have talked with them and they would like to go on. From "
        "today on nothing of it is on hold; the days until then stay in the record as a pause."
    )
    button = gettext_lazy("Sign the end of the pause")
    from_address = ()

    @cached_property
    def pause(self) -> Pause:
        found = (p for p in pauses_of(self.file.records, self.today) if p.record.number == self.kwargs["number"])
        if (pause := next(found, None)) is None:
            raise Http404
        return pause

    def check_allowed(self) -> None:
        super().check_allowed()
        if self.written_before() is None:
            _found = self.pause

    def write(self, form: EndForm) -> Record:
        people = self.family.caregivers.select_related("family")
        return end_pause(
            record=self.pause.record,
            caregiver=get_object_or_404(people, public_id=self.pause.caregiver),
            reason=form.cleaned_data["reason"],
            by=self.member,
            intent=form.cleaned_data["intent"],
            at=self.now,
        )

    def said_done(self, made: Record) -> str:
        return _("The pause is over.")
