"""The forms of a demonstration: how it begins, one step, the words for next time, the signature."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.records import Result
from training.pages.forms import DeedForm, SignedForm
from training.pages.recording import words
from training.people.models import Caregiver, Member
from training.standing import drafts
from training.standing.drafts import NoNumberError, Row, number_typed, observes_themself
from training.standing.file import FamilyFile
from training.standing.questions import FamilyOn, written


class DayInput(forms.DateInput):
    def __init__(self) -> None:
        super().__init__(attrs={"type": "date"}, format="%Y-%m-%d")


class StartForm(DeedForm):
    """Assessment or practice first: each is a button of its own, so neither is ever chosen beforehand."""

    purpose = forms.ChoiceField(
        choices=list(words.PURPOSES.items()),
        widget=forms.HiddenInput,
        error_messages={"required": gettext_lazy("Choose assessment or practice.")},
    )
    setting = forms.ChoiceField(
        label=gettext_lazy("Seen on"), choices=list(words.SETTINGS.items()), widget=forms.RadioSelect
    )
    role = forms.ChoiceField(label=gettext_lazy("The caregiver"), choices=list(words.ROLES.items()))
    mode = forms.ChoiceField(label=gettext_lazy("You watch"), choices=list(words.MODES.items()))
    place = forms.ChoiceField(label=gettext_lazy("Where"), choices=list(words.PLACES.items()))
    on = forms.DateField(label=gettext_lazy("Day"), widget=DayInput)
    time = forms.TimeField(label=gettext_lazy("Time"), widget=forms.TimeInput(attrs={"type": "time"}, format="%H:%M"))
    time_shown = forms.CharField(required=False, max_length=5, widget=forms.HiddenInput)
    began = forms.DateField(
        label=gettext_lazy("First day, for a stay over several days (optional)"), required=False, widget=DayInput
    )
    second = forms.ChoiceField(label=gettext_lazy("Somebody else watches too (optional)"), required=False)

    def __init__(
        self, *args: Any, file: FamilyFile, caregiver: Caregiver, skill: str, by: Member, now: datetime, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.file = file
        self.caregiver = caregiver
        self.skill = skill
        self.by = by
        self.local = now.astimezone(file.family.zone)
        self.others = {m.observer_id: m for m in drafts.may_watch_too(by, caregiver, self.local.date())}
        self.fields["second"].choices = [("", _("nobody")), *((code, m.signed_name) for code, m in self.others.items())]
        self.edition: int | None = None
        self.warnings: list[str] = []

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if observes_themself(self.by, self.caregiver):
            self.add_error(None, _("You cannot observe yourself. Name another observer."))
        if "on" in data:
            self._check_day(data["on"], data.get("time"))
        if data.get("began"):
            self._check_began(data["began"], data.get("on"))
        if not self.errors:
            self._check_gate(data)
        return data

    @property
    def moment(self) -> str:
        """The time to record: the one typed, or this very second where the time shown was left as it was.

        Two attempts within a minute would otherwise have no order, and the first may open the gate of the second.
        """
        time, shown = self.cleaned_data["time"], self.cleaned_data["time_shown"]
        is_now = self.cleaned_data["on"] == self.local.date() and f"{time:%H:%M}" == shown
        return f"{self.local:%H:%M:%S}" if is_now else f"{time:%H:%M}"

    def _check_day(self, on: date, time: Any) -> None:
        history = self.file.history()
        skill = history.known.programme.skills[self.skill]
        edition = skill.in_force(on)
        first = history.known.first_day
        if on > self.local.date():
            self.add_error("on", _("%(day)s lies ahead: it is not that day yet where the patient is.") % _day(on))
        elif on == self.local.date() and time is not None and time > self.local.time():
            late = {"time": f"{time:%H:%M}"}
            self.add_error("time", _("%(time)s lies ahead: it is not that late yet where the patient is.") % late)
        elif first is None:
            self.add_error("on", _("There is no care plan yet. A demonstration needs one on its day."))
        elif on < first:
            days = {**_day(on), "first": written(first)}
            self.add_error(
                "on", _("%(day)s is before the care plan’s first day, %(first)s. Choose another day.") % days
            )
        elif edition is None:
            days = {**_day(on), "first": written(skill.editions[0].in_force_from)}
            self.add_error(
                "on", _("%(day)s is before the first edition’s first day, %(first)s. Choose another day.") % days
            )
        else:
            self.edition = edition.number

    def _check_began(self, began: date, on: date | None) -> None:
        first = self.file.history().known.first_day
        if on is not None and began >= on:
            self.add_error("began", _("A stay over several days begins before its last day, %(day)s.") % _day(on))
        elif first is not None and began < first:
            self.add_error("began", _("It lies before the care plan’s first day, %(day)s.") % _day(first))

    def _check_gate(self, data: dict[str, Any]) -> None:
        """Closed today, nothing is assessed on the patient; what was done on an earlier day is kept, and said."""
        if (data["purpose"], data["setting"]) != ("assessment", "patient"):
            return
        day = data["began"] or data["on"]
        closed = words.gates_closed(FamilyOn(self.file, day), self.caregiver, self.skill)
        if closed and day == self.local.date():
            self.add_error("setting", " ".join(closed))
        elif closed:
            words_ = {**_day(day), "gates": " ".join(closed)}
            self.warnings.append(
                _("On %(day)s: %(gates)s A pass is kept, and does not count toward a full sign-off.") % words_
            )


def _day(day: date) -> dict[str, str]:
    return {"day": written(day)}


class StepForm(forms.Form):
    """One step's result, a button each, and its number where it is measured."""

    result = forms.ChoiceField(
        widget=forms.HiddenInput,
        error_messages={
            "required": gettext_lazy("Choose a result."),
            "invalid_choice": gettext_lazy("Choose one of the results shown."),
        },
    )
    value = forms.CharField(
        required=False,
        max_length=20,
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )

    def __init__(self, *args: Any, row: Row, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.row = row
        self.fields["result"].choices = [(r.value, r.value) for r in Result if self._may_be(r)]
        measure = row.step.measure
        if measure is None:
            del self.fields["value"]
        else:
            self.fields["value"].label = _("Measured, in %(unit)s") % {"unit": measure.unit}
            self.fields["value"].help_text = words.limits(measure)

    def _may_be(self, result: Result) -> bool:
        return result is not Result.NOT_APPLICABLE or self.row.step.may_skip

    def clean_value(self) -> str:
        typed = self.cleaned_data["value"]
        try:
            return number_typed(typed) if typed else ""
        except NoNumberError:
            raise forms.ValidationError(
                _("“%(typed)s” is no number. Write one such as 12 or 7.5."), params={"typed": typed}
            ) from None

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        needs_number = self.row.step.measure is not None and data.get("result") == Result.INDEPENDENT
        if needs_number and data.get("value") == "":
            self.add_error("value", _("Step %(number)s needs a number: it is measured.") % {"number": self.row.number})
        return data


class StopForm(forms.Form):
    """Who stopped an attempt, and a line why; for whose sake is a button each."""

    stopped_by = forms.ChoiceField(label=gettext_lazy("Who stopped it"), required=False)
    why = forms.CharField(label=gettext_lazy("What happened (optional)"), max_length=300, required=False)

    def __init__(self, *args: Any, by: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["stopped_by"].choices = by


class WordsForm(forms.Form):
    """What is kept besides the results: the line for next time, who stopped it, teach-back, interpreter, a note."""

    reteach_line = forms.CharField(
        label=gettext_lazy("Agreed for next time"),
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        error_messages={"required": gettext_lazy("Write one line: what you look at together before the next time.")},
    )
    reteach_on = forms.DateField(label=gettext_lazy("Shown again on (optional)"), required=False, widget=DayInput)
    stopped_by = forms.ChoiceField(label=gettext_lazy("Who stopped it"))
    why = forms.CharField(label=gettext_lazy("What happened (optional)"), max_length=300, required=False)
    feels = forms.ChoiceField(choices=[*words.FEELS.items()], required=False, widget=forms.RadioSelect)
    teach_back = forms.CharField(
        label=gettext_lazy("Teach-back, in their own words (optional)"),
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    interpreter = forms.ChoiceField(
        label=gettext_lazy("Interpreter (optional)"),
        required=False,
        choices=[("", gettext_lazy("not stated")), *words.INTERPRETERS.items()],
    )
    language = forms.CharField(
        label=gettext_lazy("Language"),
        max_length=60,
        required=False,
        error_messages={"required": gettext_lazy("Write the language it was interpreted into.")},
    )
    note = forms.CharField(
        label=gettext_lazy("Note (optional)"), max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(
        self, *args: Any, day: date, is_asked: bool, is_due: bool, stopped_by: list[tuple[str, str]], **kwargs: Any
    ) -> None:
        """is_asked: something went wrong; is_due: so wrong that a line has to be agreed.

        stopped_by: who can have stopped it; empty where nobody did.
        """
        super().__init__(*args, **kwargs)
        self.day = day
        self.fields["reteach_line"].required = is_due
        self.fields["stopped_by"].choices = stopped_by
        self.fields["interpreter"].help_text = words.FAMILY_INTERPRETER
        if not is_due:
            self.fields["reteach_line"].label = _("Agreed for next time (optional)")
        if not is_asked:
            del self.fields["reteach_line"], self.fields["reteach_on"]
        if not stopped_by:
            del self.fields["stopped_by"], self.fields["why"]

    @property
    def has_more_to_see(self) -> bool:
        """Whether one of the fields that are folded away holds something, or is refused."""
        return any(
            self[name].value() or self[name].errors for name in ("teach_back", "interpreter", "language", "note")
        )

    def clean_reteach_on(self) -> date | None:
        on = self.cleaned_data["reteach_on"]
        if on is not None and not self.day <= on <= self.day + timedelta(days=366):
            raise forms.ValidationError(
                _("Choose a day from %(day)s on, within a year."), params={"day": written(self.day)}
            )
        return on

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("reteach_on") and not data.get("reteach_line") and "reteach_line" not in self.errors:
            self.add_error("reteach_line", self.fields["reteach_line"].error_messages["required"])
        if data.get("interpreter") not in (None, "", "none_needed") and not data.get("language"):
            self.add_error("language", self.fields["language"].error_messages["required"])
        if data.get("interpreter") in ("", "none_needed"):
            data["language"] = ""
        return data


class SignForm(SignedForm):
    """The password again. The draft is the intent, so the form carries none."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["intent"]
