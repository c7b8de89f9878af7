"""Two tabs that edit and one that signs, in any order over one draft: what was signed is what was shown."""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass
from html import unescape
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule, run_state_machine_as_test

from tests.cast import Cast
from tests.factories import PASSWORD
from training.pages.recording import words
from training.pages.templatetags.register import STEP_WORDS
from training.records.models import Record
from training.standing.models import Draft
from training.standing.signing import shown_digest

SCREENS = {1: "s01", 2: "s03"}
LISTED = ("s02", "s04", "s06")
NUMBERS = {"s01": 1, "s02": 2, "s03": 3, "s04": 4, "s06": 6}
RESULTS = st.sampled_from(["independent", "prompted", "omitted", "not_seen"])
WHICH_TAB = st.integers(0, 1)
SAID = {"note": "n", "teach_back": "t", "reteach_line": "r", "why": "w", "language": "l"}


@dataclass
class Screen:
    """What stood on the signer's screen: the text without its markup, a line a step, and the form's digest."""

    digest: str
    text: str
    steps: dict[int, str]


def read_screen(html: str) -> Screen:
    rows = re.findall(r'<tr><th scope="row">(\d+)</th>(.*?)</tr>', html, re.DOTALL)
    return Screen(
        digest=re.search(r'name="shown" value="([0-9a-f]{64})"', html)[1],
        text=plain(html),
        steps={int(number): plain(rest) for number, rest in rows},
    )


def plain(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def words_of_results(body: dict[str, Any], number: int, code: str) -> list[str]:
    """What has to stand in a step's row for this record: each observer's word and number, the lead's first."""
    found = []
    for results in (body["results"], *([body["second"]["results"]] if body["second"] else [])):
        seen = results[code]
        result, value = (seen["result"], seen["value"]) if isinstance(seen, dict) else (seen, None)
        found.append(str(STEP_WORDS[result]))
        found += [f"{float(value):.10g} s"] if value is not None else []
    return found


def words_around(body: dict[str, Any]) -> list[str]:
    """What else has to stand on the page for this record."""
    stop, reteach, interpreter = (body.get(key) or {} for key in ("stop", "reteach", "interpreter"))
    stopped = {
        None: "",
        "patient": "Stopped for the patient’s sake.",
        "caregiver": "Stopped: it was not safe to go on.",
    }
    return [
        stopped[body["stopped"]],
        stop.get("why", ""),
        reteach.get("line", ""),
        interpreter.get("language", ""),
        *(body.get(key, "") for key in ("note", "teach_back")),
        str(words.FEELS[body["feels"]]) if "feels" in body else "",
        str(words.PURPOSES[body["purpose"]]).capitalize() + ":",
    ]


class OneDraft(RuleBasedStateMachine):
    """Each tab posts what its page would. The clock stands still; the database is put back after each run."""

    cast: Cast

    def __init__(self) -> None:
        super().__init__()
        self.undo = transaction.atomic()
        self.undo.__enter__()
        self.home = self.cast.north
        self.tabs = [Client(), Client(), Client()]
        for tab in self.tabs:
            tab.force_login(self.home.educator.user)
        self.intent = uuid.uuid4()
        self.screens: list[Screen] = []
        self.signed_with: dict[uuid.UUID, Screen] = {}
        self.said = 0
        self.begin(tab=0, purpose="assessment")
        if self.is_there():
            self.everything_alone(tab=0)

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.undo.__exit__(None, None, None)

    # Where things are ---------------------------------------------------------------------------------------

    def url(self, name: str = "draft", **more: Any) -> str:
        return reverse(name, kwargs={"draft": self.intent, **more})

    def is_there(self) -> bool:
        return Draft.objects.filter(intent=self.intent).exists()

    def records(self) -> list[Record]:
        """What was signed of the drafts of this run."""
        kept = Record.objects.of_chain(self.home.family.public_id)
        return list(kept.filter(intent__in=[*self.signed_with, self.intent]))

    @property
    def is_signed(self) -> bool:
        return any(record.intent == self.intent for record in self.records())

    def something(self) -> str:
        """Words that were never said before, so that they are found only where they were kept."""
        self.said += 1
        return f"words <{self.said}> & more."

    # Two who edit -------------------------------------------------------------------------------------------

    @rule(tab=WHICH_TAB, purpose=st.sampled_from(["assessment", "practice"]))
    def begin(self, tab: int, purpose: str) -> None:
        who = {"family": self.home.family.public_id, "caregiver": self.home.mother.public_id, "skill": "suction"}
        sent = {"setting": "patient", "role": "lead", "mode": "in_person", "place": "hospital", "on": "2026-05-14"}
        self.tabs[tab].post(
            reverse("start", kwargs=who), {**sent, "time": "09:30", "purpose": purpose, "intent": str(self.intent)}
        )

    @rule(tab=WHICH_TAB)
    def everything_alone(self, tab: int) -> None:
        for place in SCREENS:
            self.step(tab, place, "independent", 8, "lead")
        self.all_others_alone(tab, "lead")

    @rule(tab=WHICH_TAB, place=st.sampled_from([*SCREENS]), result=RESULTS, value=st.integers(1, 14),
          whose=st.sampled_from(["lead", "lead", "second"]))  # fmt: skip
    def step(self, tab: int, place: int, result: str, value: int, whose: str) -> None:
        name = "draft-step" if whose == "lead" else "draft-second-step"
        self.tabs[tab].post(self.url(name, place=place), {"result": result, "value": str(value)})

    @rule(tab=WHICH_TAB, code=st.sampled_from(LISTED), result=RESULTS)
    def step_of_the_list(self, tab: int, code: str, result: str) -> None:
        self.tabs[tab].post(self.url("draft-rest") + f"?step={code}", {"result": result})

    @rule(tab=WHICH_TAB, whose=st.sampled_from(["lead", "second"]))
    def all_others_alone(self, tab: int, whose: str) -> None:
        name = "draft-rest" if whose == "lead" else "draft-second-rest"
        self.tabs[tab].post(self.url(name), {"all": "alone"})

    @rule(tab=WHICH_TAB, whose=st.sampled_from(["patient", "caregiver", "nobody"]), code=st.sampled_from([*NUMBERS]))
    def stop(self, tab: int, whose: str, code: str) -> None:
        self.tabs[tab].post(self.url("draft-stop") + f"?at={code}", {"whose": whose, "why": self.something()})

    @rule(tab=WHICH_TAB, feels=st.sampled_from(["", "ready", "not_yet"]))
    def words(self, tab: int, feels: str) -> None:
        said = {key: self.something() for key in SAID}
        self.tabs[tab].post(
            self.url(),
            {**said, "feels": feels, "interpreter": "phone", "stopped_by": "caregiver", "keep": "yes"},
        )

    @rule(tab=WHICH_TAB, who=st.sampled_from(["supervisor", "auditor", "nobody"]))
    def somebody_else_watched(self, tab: int, who: str) -> None:
        observer = who if who == "nobody" else getattr(self.home, who).observer_id
        self.tabs[tab].post(self.url("draft-second"), {"observer": observer})
        if who != "nobody":
            for place in SCREENS:
                self.step(tab, place, "independent", 9, "second")
            self.all_others_alone(tab, "second")

    @rule(tab=WHICH_TAB, is_meant=st.sampled_from([False, False, False, True]))
    def throw_away(self, tab: int, is_meant: bool) -> None:
        if is_meant:
            self.tabs[tab].post(self.url("draft-discard"))
        else:
            self.tabs[tab].get(self.url("draft-discard"))

    @precondition(lambda self: not self.is_there())
    @rule()
    def begin_anew(self) -> None:
        """After a signature or a draft thrown away; the signer's old screens stay open."""
        self.intent = uuid.uuid4()
        self.begin(tab=0, purpose="assessment")
        self.everything_alone(tab=0)

    # One who signs ------------------------------------------------------------------------------------------

    @rule()
    def look(self) -> None:
        answer = self.tabs[2].get(self.url("draft-sign"))
        if answer.status_code == 200 and "shown" in answer.context:
            self.screens.append(read_screen(answer.content.decode()))

    @precondition(lambda self: self.screens)
    @rule(back=st.integers(0, 2))
    def sign_what_was_seen(self, back: int) -> None:
        """With the newest screen or an older one, as a tab left open would."""
        self.sign(self.screens[-1 - min(back, len(self.screens) - 1)])

    @rule(place=st.sampled_from([*SCREENS]), result=RESULTS, whose=st.sampled_from(["lead", "second", "words"]))
    def sign_while_another_edits(self, place: int, result: str, whose: str) -> None:
        self.look()
        if whose == "words":
            self.words(0, "ready")
        else:
            self.step(0, place, result, 10, whose)
        if self.screens:
            self.sign(self.screens[-1])

    def sign(self, screen: Screen) -> None:
        was_signed = self.is_signed
        answer = self.tabs[2].post(self.url("draft-sign"), {"password": PASSWORD, "shown": screen.digest})
        if self.is_signed and not was_signed:
            self.signed_with[self.intent] = screen
        elif answer.status_code == 200:
            self.screens.append(read_screen(answer.content.decode()))

    @rule()
    def look_and_sign(self) -> None:
        self.look()
        if self.screens:
            self.sign(self.screens[-1])

    # Always -------------------------------------------------------------------------------------------------

    @invariant()
    def there_is_one_record_or_none(self) -> None:
        assert sorted(record.intent for record in self.records()) == sorted(self.signed_with)
        assert not (self.is_signed and self.is_there())

    @invariant()
    def what_was_signed_is_what_was_shown(self) -> None:
        for record in self.records():
            body, screen = record.data, self.signed_with[record.intent]
            assert body["shown"] == screen.digest
            text = {key: value for key, value in body.items() if key not in ("signed", "shown")}
            assert shown_digest(text) == screen.digest
            assert screen.steps.keys() == {NUMBERS[code] for code in body["results"]}
            for code in body["results"]:
                row, at = screen.steps[NUMBERS[code]], 0
                for word in words_of_results(body, NUMBERS[code], code):
                    at = row.index(word, at) + len(word)  # each observer's, in this order
            for said in words_around(body):
                assert said in screen.text

    @invariant()
    def nothing_stood_there_that_is_not_signed(self) -> None:
        for record in self.records():
            kept = str(record.data)
            for said in re.findall(r"words <\d+> & more\.", self.signed_with[record.intent].text):
                assert said in kept


@pytest.mark.parametrize("runs", [25, pytest.param(1_000, marks=pytest.mark.long)])
def test_what_was_signed_is_what_was_shown(bedside, cast, runs):
    machine = type("OneDraft", (OneDraft,), {"cast": cast})
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=runs,
            stateful_step_count=20,
            deadline=None,
            suppress_health_check=[*HealthCheck],
        ),
    )


def test_the_machine_does_sign(bedside, cast):
    """Else it would prove nothing."""
    machine = type("OneDraft", (OneDraft,), {"cast": cast})()
    try:
        machine.somebody_else_watched(0, "supervisor")
        machine.words(1, "ready")
        machine.look_and_sign()
        machine.what_was_signed_is_what_was_shown()

        assert machine.signed_with
    finally:
        machine.teardown()
