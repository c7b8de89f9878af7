"""The form a paper checklist is typed into: who saw it and when, every choice and result, the words, who types."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from django import forms
from django.forms import BoundField
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import RefusedError, as_seconds
from competency.programme import Edition, Role, Step
from competency.records import Result
from training.pages.forms import SignedForm
from training.pages.recording import words
from training.pages.setup.fields import ClockField, DayField, say_optional
from training.pages.templatetags.register import STEP_WORDS
from training.people.models import Caregiver, Member
from training.standing.drafts import STOPPED_BY, VALUELESS, NoNumberError, number_typed, observes_themself
from training.standing.file import FamilyFile
from training.standing.models import Draft
from training.standing.questions import written

OBSERVERS = ("lead", "second")


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperRow:
    """One step as it stands in the table. value, second_value: where it is measured."""

    step: Step
    number: int
    text: str
    only: str
    limits: str
    lead: BoundField
    second: BoundField
    value: BoundField | None
    second_value: BoundField | None

    @property
    def radios(self) -> list[tuple[str, Any]]:
        """A radio button for each column; None where a step may not be skipped."""
        offered = {str(radio.data["value"]): radio for radio in self.lead}
        return [(str(STEP_WORDS[result]), offered.get(result.value)) for result in Result]

    @property
    def problems(self) -> list[str]:
        fields = (self.lead, self.value, self.second, self.second_value)
        return [problem for field in fields if field is not None for problem in field.errors]


class PaperForm(SignedForm):
    """Everything on the paper. Nothing is chosen beforehand: it is copied, not judged.

    A step without a cross after a stop was not seen; anywhere else a missing cross is refused. What stands at a step
    that does not apply is left out, and ``left_out`` names it.
    """

    saw = forms.ChoiceField(label=gettext_lazy("Who watched, and filled it in"))
    on = DayField(label=gettext_lazy("Day seen"))
    time = ClockField(label=gettext_lazy("Time"))
    began = DayField(label=gettext_lazy("First day, of a stay over several days"), required=False)
    purpose = forms.ChoiceField(
        label=gettext_lazy("Chosen before the first step"), choices=[*words.PURPOSES.items()], widget=forms.RadioSelect
    )
    setting = forms.ChoiceField(label=gettext_lazy("Seen on"), widget=forms.RadioSelect)
    role = forms.ChoiceField(
        label=gettext_lazy("The caregiver"), choices=[*words.ROLES.items()], widget=forms.RadioSelect
    )
    mode = forms.ChoiceField(label=gettext_lazy("Watched"), choices=[*words.MODES.items()], widget=forms.RadioSelect)
    place = forms.ChoiceField(label=gettext_lazy("Where"), choices=[*words.PLACES.items()], widget=forms.RadioSelect)
    second = forms.ChoiceField(label=gettext_lazy("Second observer, with a sheet of their own"), required=False)
    stopped = forms.ChoiceField(
        label=gettext_lazy("Stopped"),
        required=False,
        choices=[
            ("", gettext_lazy("no")),
            ("patient", gettext_lazy("for the patient’s condition")),
            ("caregiver", gettext_lazy("for safety")),
        ],
        widget=forms.RadioSelect,
    )
    stop_by = forms.ChoiceField(label=gettext_lazy("Who stopped it"), required=False)
    stop_why = forms.CharField(label=gettext_lazy("What happened"), max_length=300, required=False)
    feels = forms.ChoiceField(
        label=gettext_lazy("The caregiver says"),
        required=False,
        choices=[("", gettext_lazy("nothing crossed")), *words.FEELS.items()],
        widget=forms.RadioSelect,
    )
    teach_back = forms.CharField(label=gettext_lazy("Teach-back, in their own words"), max_length=1000, required=False)
    interpreter = forms.ChoiceField(
        label=gettext_lazy("Interpreter"),
        required=False,
        choices=[("", gettext_lazy("nothing crossed")), *words.INTERPRETERS.items()],
    )
    language = forms.CharField(label=gettext_lazy("Language interpreted into"), max_length=60, required=False)
    reteach_line = forms.CharField(label=gettext_lazy("Agreed for next time"), max_length=300, required=False)
    reteach_on = DayField(label=gettext_lazy("To be shown again on"), required=False)
    note = forms.CharField(
        label=gettext_lazy("Note"), max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    document = forms.CharField(
        label=gettext_lazy("Document number on the paper"),
        max_length=40,
        required=False,
        help_text=gettext_lazy("At the foot of each page, such as 7K3M-PQ9X-2DFA."),
    )

    def __init__(
        self,
        *args: Any,
        file: FamilyFile,
        caregiver: Caregiver,
        skill: str,
        edition: Edition,
        by: Member,
        observers: Iterable[Member],
        now: datetime,
        is_signing: bool,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.file, self.caregiver, self.skill, self.edition = file, caregiver, skill, edition
        self.by, self.now = by, now
        self.observers = {m.observer_id: m for m in observers}
        self.steps: tuple[Step, ...] | None = None
        self._offer()
        say_optional(self)
        for name in {"password", "second_factor"} & set(self.fields):
            self.fields[name].required = is_signing
        for step in edition.steps:
            self._add_step(step)
        self.prove_last()

    def _offer(self) -> None:
        people = [(code, m.signed_name) for code, m in self.observers.items()]
        self.fields["saw"].choices = [("", _("Choose")), *people]
        self.fields["second"].choices = [("", _("nobody")), *people]
        patient = self.file.family.patient_called
        settings = [(code, patient if code == "patient" else title) for code, title in words.SETTINGS.items()]
        self.fields["setting"].choices = settings
        called = {"caregiver": self.caregiver.called, "patient": patient}
        stoppers = [(code, called.get(code, str(words.STOPPED_BY[code]))) for code in STOPPED_BY]
        self.fields["stop_by"].choices = [("", _("not written")), *stoppers]

    def _add_step(self, step: Step) -> None:
        results = [(r.value, STEP_WORDS[r]) for r in Result if step.may_skip or r is not Result.NOT_APPLICABLE]
        number = self.numbers[step.code]
        for whose in OBSERVERS:
            name = _field(whose, step.code)
            label = _("Step %(number)s") if whose == "lead" else _("Step %(number)s, second observer")
            widget = forms.RadioSelect() if whose == "lead" else forms.Select()
            nothing = [] if whose == "lead" else [("", "–")]
            self.fields[name] = forms.ChoiceField(
                label=label % {"number": number}, required=False, choices=[*nothing, *results], widget=widget
            )
            if step.measure is not None:
                unit = {"number": number, "unit": step.measure.unit}
                self.fields[f"{name}-value"] = forms.CharField(
                    label=_("Step %(number)s, measured in %(unit)s") % unit,
                    required=False,
                    max_length=20,
                    widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "size": 6}),
                )

    @cached_property
    def numbers(self) -> Mapping[str, int]:
        return {step.code: number for number, step in enumerate(self.edition.steps, 1)}

    # Checking ---------------------------------------------------------------------------------------------

    def clean_password(self) -> str:
        if not self.cleaned_data["password"] and not self.fields["password"].required:
            return ""
        checked = super().clean_password()
        self.proves = self.fields["password"].required  # a code is used up by signing, not by looking
        return checked

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if observes_themself(self.by, self.caregiver):
            self.add_error(None, _("You cannot type in what you showed yourself. Ask a colleague."))
        self._check_when(data.get("on"), data.get("time"), data.get("began"))
        self._check_observers(data)
        self._check_words(data)
        if not {"on", "time", "role"} & set(self.errors):
            self.steps = self._steps_of(data)
            self.typed = {whose: self._check_results(whose, data) for whose in self._whose(data)}
        return data

    def _steps_of(self, data: Mapping[str, Any]) -> tuple[Step, ...]:
        seconds = as_seconds(f"{data['time']:%H:%M}")
        facts = self.file.history().known.scoring_facts.facts(data["on"], seconds, self.now)
        return self.edition.steps_for(data["role"], facts)

    def _check_when(self, on: date | None, at: time | None, began: date | None) -> None:
        local = self.now.astimezone(self.file.family.zone)
        first = self.file.history().known.first_day
        if on is None:
            return
        said = {"day": written(on), "edition": self.edition.number, "begins": written(self.edition.in_force_from)}
        if on > local.date():
            self.add_error("on", _("%(day)s lies ahead: it is not that day yet where the patient is.") % said)
        elif on == local.date() and at is not None and at > local.time():
            late = {"time": f"{at:%H:%M}"}
            self.add_error("time", _("%(time)s lies ahead: it is not that late yet where the patient is.") % late)
        elif first is None:
            self.add_error("on", _("There is no care plan yet. A demonstration needs one on its day."))
        elif on < first:
            days = {**said, "first": written(first)}
            self.add_error("on", _("%(day)s is before the care plan’s first day, %(first)s.") % days)
        elif on < self.edition.in_force_from:
            self.add_error("on", _("%(day)s is before the first day of edition %(edition)s, %(begins)s.") % said)
        if began is not None and began >= on:
            self.add_error("began", _("A stay over several days begins before its last day, %(day)s.") % said)
        elif began is not None and first is not None and began < first:
            days = {"day": written(first)}
            self.add_error("began", _("It lies before the care plan’s first day, %(day)s.") % days)

    def _check_observers(self, data: Mapping[str, Any]) -> None:
        for name in ("saw", "second"):
            member, on = self.observers.get(data.get(name, "")), data.get("on")
            if member is None:
                continue
            said = {"name": member.signed_name, "day": written(on) if on else ""}
            if observes_themself(member, self.caregiver):
                self.add_error(name, _("%(name)s is the caregiver. Nobody observes themself.") % said)
            elif on and (on < member.from_day or (member.through and member.through < on)):
                self.add_error(name, _("%(name)s was no member here on %(day)s.") % said)
        if data.get("second") and data.get("second") == data.get("saw"):
            self.add_error("second", _("The second observer is somebody else than the first."))

    def _check_words(self, data: Mapping[str, Any]) -> None:
        on, again = data.get("on"), data.get("reteach_on")
        if again and not data.get("reteach_line"):
            self.add_error("reteach_line", _("Write the line that was agreed for that day."))
        if again and on and again < on:
            self.add_error("reteach_on", _("It lies before the day seen, %(day)s.") % {"day": written(on)})
        if not data.get("stopped") and (data.get("stop_by") or data.get("stop_why")):
            self.add_error(
                "stopped", _("Somebody stopped it, or something happened: choose for whose sake it stopped.")
            )
        if data.get("stop_by") == "second" and not data.get("second"):
            self.add_error("stop_by", _("No second observer is named."))
        if data.get("interpreter") not in (None, "", "none_needed") and not data.get("language"):
            self.add_error("language", _("Write the language it was interpreted into."))

    # The results ------------------------------------------------------------------------------------------

    def _whose(self, data: Mapping[str, Any]) -> Iterator[str]:
        yield "lead"
        if data.get("second"):
            yield "second"
        elif any(data.get(_field("second", step.code)) for step in self.edition.steps):
            self.add_error("second", _("There are results of a second observer. Name who that was, or clear them."))

    def _check_results(self, whose: str, data: Mapping[str, Any]) -> dict[str, Any]:
        """What one observer's sheet says of the steps that apply, as a draft keeps it."""
        steps = self.steps or ()
        crossed = [step.code for step in steps if data.get(_field(whose, step.code))]
        last = max((self.numbers[code] for code in crossed), default=0)
        typed: dict[str, Any] = {}
        for step in steps:
            name, number = _field(whose, step.code), self.numbers[step.code]
            result = data.get(name, "")
            if not result and data.get("stopped") and number > last and name not in self.errors:
                result = Result.NOT_SEEN.value
            if not result and name not in self.errors:
                self.add_error(name, _("Step %(number)s has no result. Choose one.") % {"number": number})
            value = self._number(name, step, result, data)
            typed[step.code] = {"result": result, "value": value} if value else result
        return typed

    def _number(self, name: str, step: Step, result: str, data: Mapping[str, Any]) -> str:
        """The value of a measured step as a draft keeps it; empty where there is none, or where it is refused."""
        text, said = (data.get(f"{name}-value") or "").strip(), {"number": self.numbers[step.code]}
        if not text:
            if step.measure is not None and result == Result.INDEPENDENT:
                self.add_error(f"{name}-value", _("Step %(number)s needs a number: it is measured.") % said)
            return ""
        if result in VALUELESS:
            self.add_error(f"{name}-value", _("Step %(number)s was not seen, so it has no number. Clear it.") % said)
            return ""
        try:
            return number_typed(text)
        except NoNumberError:
            said["typed"] = text
            self.add_error(
                f"{name}-value", _("Step %(number)s: “%(typed)s” is no number. Write one such as 12 or 7.5.") % said
            )
            return ""

    # What is shown and signed -----------------------------------------------------------------------------

    @property
    def rows(self) -> list[PaperRow]:
        """The steps of the table: those that apply to either role on the day, and any that something was typed at."""
        applies = self._either_role()
        return [self._row(step) for step in self.edition.steps if step.code in applies or self._is_typed(step)]

    def _either_role(self) -> set[str]:
        on, at = self.cleaned("on"), self.cleaned("time")
        day = on or self.now.astimezone(self.file.family.zone).date()
        seconds = as_seconds(f"{at:%H:%M}") if at else 24 * 3600 - 1
        facts = self.file.history().known.scoring_facts.facts(day, seconds, self.now)
        return {step.code for role in Role for step in self.edition.steps_for(role, facts)}

    def cleaned(self, name: str) -> Any:
        return getattr(self, "cleaned_data", {}).get(name)

    def _is_typed(self, step: Step) -> bool:
        return any(self[_field(whose, step.code)].value() for whose in OBSERVERS)

    def _row(self, step: Step) -> PaperRow:
        told = self.file.words.step(self.skill, self.edition.number, step.code)
        lead, second = _field("lead", step.code), _field("second", step.code)
        only = words.ROLES[next(iter(step.roles))] if step.roles and len(step.roles) == 1 else ""
        return PaperRow(
            step=step,
            number=self.numbers[step.code],
            text=told["text"],
            only=_("Only where the caregiver %(role)s.") % {"role": only} if only else "",
            limits=words.limits(step.measure) if step.measure else "",
            lead=self[lead],
            second=self[second],
            value=self[f"{lead}-value"] if step.measure else None,
            second_value=self[f"{second}-value"] if step.measure else None,
        )

    @property
    def left_out(self) -> list[int]:
        """The numbers of steps at which something was typed, though they do not apply."""
        applies = {step.code for step in self.steps or ()}
        return [self.numbers[s.code] for s in self.edition.steps if s.code not in applies and self._is_typed(s)]

    def draft(self) -> Draft:
        """What was typed, as a draft that is never stored: it is judged like any other."""
        data = self.cleaned_data
        saw = self.observers[data["saw"]]
        return Draft(author=saw, caregiver=self.caregiver, intent=data["intent"], data=self._body(data, saw))

    def _body(self, data: Mapping[str, Any], saw: Member) -> dict[str, Any]:
        body: dict[str, Any] = {
            **{key: data[key] for key in ("purpose", "setting", "role", "mode", "place")},
            "on": data["on"].isoformat(),
            "time": f"{data['time']:%H:%M}",
            "skill": self.skill,
            "edition": self.edition.number,
            "observers": [saw.observer_id],
            "results": self.typed["lead"],
            "second": {"observer": data["second"], "results": self.typed["second"]} if data["second"] else None,
            "stopped": data["stopped"] or None,
            "began": data["began"].isoformat() if data["began"] else None,
            "transcribed": {
                "saw": saw.signed_name,
                "saw_id": saw.observer_id,
                "typed": self.by.signed_name,
                "from": data["document"].strip(),
            },
        }
        return {**body, **{key: value for key, value in self._words(data) if value}}

    def _words(self, data: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
        again = data["reteach_on"]
        if data["stopped"]:
            yield "stop", {"by": data["stop_by"] or "observer", "why": data["stop_why"]}
        if data["reteach_line"]:
            yield "reteach", {"line": data["reteach_line"], "on": again.isoformat() if again else None}
        if data["interpreter"]:
            language = "" if data["interpreter"] == "none_needed" else data["language"]
            yield "interpreter", {"kind": data["interpreter"], "language": language}
        yield from ((key, data[key]) for key in ("note", "teach_back", "feels"))

    def refuse_record(self, refusal: RefusedError) -> None:
        """Put what the rules refuse at the field it names."""
        for problem in refusal.problems:
            key, _sep, code = problem.path.partition(".")
            name = _field("lead", code) if key == "results" else {"observers[0]": "saw"}.get(key, key)
            message = problem.message[:1].upper() + problem.message[1:] + "."
            if name in self.fields:
                self.add_error(name, message)
            else:
                self.add_error(None, f"{problem.path}: {problem.message}.")


def _field(whose: str, code: str) -> str:
    """The name of a step's field: one for each observer."""
    return f"{whose}-{code}"
