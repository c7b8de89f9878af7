"""What the set-up forms are made of: days, times, words, choices, and the base of every signed entry."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from typing import Any, ClassVar

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.pages.forms import SignedForm
from training.standing.questions import FamilyOn

EVERY = "*"  # the choice "every skill", which a record writes as null
_BOUNDS = gettext_lazy("Write a day between 1900 and 2199.")


class DayField(forms.DateField):
    """A whole day, typed as the date field of a browser sends it."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs["widget"] = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        kwargs["error_messages"] = {
            "invalid": gettext_lazy("Write the day as year-month-day, such as 2026-05-14."),
            **kwargs.get("error_messages", {}),
        }
        kwargs["validators"] = [
            MinValueValidator(date(1900, 1, 1), _BOUNDS),
            MaxValueValidator(date(2199, 12, 31), _BOUNDS),
        ]
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)


class ClockField(forms.TimeField):
    """Hours and minutes where the patient is."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs["widget"] = forms.TimeInput(attrs={"type": "time"}, format="%H:%M")
        kwargs["error_messages"] = {"invalid": gettext_lazy("Write the time as hours and minutes, such as 09:05.")}
        super().__init__(**kwargs)


def words_field(label: Promise, *, required: bool = True, help_text: Promise | str = "") -> forms.CharField:
    """A few sentences."""
    return forms.CharField(
        label=label,
        required=required,
        max_length=2000,
        help_text=help_text,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


def iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def clock(at: time | None) -> str | None:
    return at.strftime("%H:%M") if at else None


def say_optional(form: forms.Form) -> None:
    """What may be left out says so in its label; nothing else marks it."""
    for field in form.fields.values():
        plain = isinstance(field, forms.BooleanField | forms.MultipleChoiceField)
        if not field.required and not plain and not field.widget.is_hidden:
            field.label = _("%(label)s (optional)") % {"label": field.label}


def in_order(form: forms.Form, first: str, last: str) -> None:
    """Say it at the later day's field when the two days are the wrong way round."""
    begin, end = form.cleaned_data.get(first), form.cleaned_data.get(last)
    if begin and end and end < begin:
        form.add_error(last, _("This day is before the first one."))


class EntryForm(SignedForm):
    """One signed entry. A subclass declares its fields, names the record's keys that are called otherwise here, and
    gives the body.

    A field ``caregiver`` gets the family's caregivers to choose from, a field ``skill`` the programme's skills.
    """

    places: ClassVar[Mapping[str, str]] = {"from": "from_day"}
    days: ClassVar[tuple[str, str]] = ("from_day", "through")
    every: ClassVar[bool] = False

    def __init__(self, *args: Any, picture: FamilyOn, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.picture = picture
        self.now = now.astimezone(picture.family.zone)
        if "caregiver" in self.fields:
            self.choose("caregiver", ((c.case_id, c.full_name) for c in picture.caregivers))
        if "skill" in self.fields:
            every = [(EVERY, _("Every skill"))] if self.every else []
            self.choose("skill", [*every, *((code, picture.words.skill(code).title) for code in self.skills())])
        for name, value in (("on", picture.day), ("from_day", picture.day), ("time", self.now.time())):
            if name in self.fields:
                self.initial.setdefault(name, value)
        say_optional(self)

    def choose(self, name: str, choices: Iterable[tuple[str, Any]]) -> None:
        """Offer these, with none chosen yet where there are several."""
        found = list(choices)
        self.fields[name].choices = found if len(found) == 1 else [("", _("Choose")), *found]

    @property
    def nothing_to_choose(self) -> bool:
        """Whether a choice that has to be made offers nothing."""
        return any(
            field.required and not any(value for value, _label in field.choices)
            for field in self.fields.values()
            if isinstance(field, forms.ChoiceField)
        )

    def skills(self) -> Iterable[str]:
        """The codes a field ``skill`` offers."""
        return self.picture.history.known.programme.skills

    def clean(self) -> dict[str, Any]:
        in_order(self, *self.days)
        return self.cleaned_data

    def body(self) -> dict[str, Any]:
        """What the record will say, but for the signature."""
        raise NotImplementedError

    def skill_or_every(self) -> str | None:
        chosen = self.cleaned_data["skill"]
        return None if chosen == EVERY else chosen
