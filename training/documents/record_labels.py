"""What the kinds, keys and values of records are called. An unknown key or value is its own word."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy

from training.curriculum.sentences import KINDS as ATTEMPTS

KINDS = {
    "demonstration": gettext_lazy("Demonstration"),
    "certificate": gettext_lazy("Card"),
    "accepted": gettext_lazy("Sign-off taken over"),
    "signature": gettext_lazy("Signature"),
    "hold": gettext_lazy("Hold"),
    "recheck": gettext_lazy("Recheck"),
    "withdrawal": gettext_lazy("Withdrawal"),
    "resolution": gettext_lazy("Resolution"),
    "override": gettext_lazy("Override"),
    "care_plan": gettext_lazy("Care plan entry"),
    "authorisation": gettext_lazy("Authorisation"),
    "item": gettext_lazy("Item"),
    "exception": gettext_lazy("Exception"),
    "void": gettext_lazy("Void"),
    "family": gettext_lazy("Family"),
    "caregiver": gettext_lazy("Caregiver"),
}

LABELS = {
    "caregiver": gettext_lazy("Caregiver"),
    "skill": gettext_lazy("Skill"),
    "edition": gettext_lazy("Edition"),
    "purpose": gettext_lazy("Purpose"),
    "setting": gettext_lazy("Setting"),
    "role": gettext_lazy("Role"),
    "mode": gettext_lazy("Seen"),
    "place": gettext_lazy("Place"),
    "observers": gettext_lazy("Observers, the lead first"),
    "stopped": gettext_lazy("Stopped"),
    "began": gettext_lazy("Began"),
    "on": gettext_lazy("On"),
    "time": gettext_lazy("At"),
    "from": gettext_lazy("From"),
    "through": gettext_lazy("Through"),
    "last_day": gettext_lazy("Last day there"),
    "organisation": gettext_lazy("Organisation"),
    "by": gettext_lazy("By"),
    "reason": gettext_lazy("Reason"),
    "cover": gettext_lazy("Cover"),
    "record": gettext_lazy("About"),
    "take": gettext_lazy("Stands"),
    "prescriber": gettext_lazy("Prescriber"),
    "item": gettext_lazy("Item"),
    "missing": gettext_lazy("Missing"),
    "name": gettext_lazy("Full name"),
    "called": gettext_lazy("Called"),
    "relation": gettext_lazy("To the patient"),
    "born": gettext_lazy("Born"),
    "is_patient": gettext_lazy("Is the patient"),
    "sets": gettext_lazy("Sets"),
    "zone": gettext_lazy("Time zone"),
    "note": gettext_lazy("Note"),
    "issuer": gettext_lazy("Issued by"),
}
VALUES: Mapping[str, Mapping[str, Any]] = {
    **ATTEMPTS,
    "purpose": {"assessment": gettext_lazy("assessment"), "practice": gettext_lazy("practice")},
    "stopped": {
        "patient": gettext_lazy("for the patient’s condition"),
        "caregiver": gettext_lazy("for safety"),
    },
    "by": {"caregiver": gettext_lazy("the caregiver"), "educator": gettext_lazy("the educator")},
    "take": {
        "lead": gettext_lazy("the lead observer’s results"),
        "second": gettext_lazy("the second observer’s results"),
    },
}
KEPT_OUT = {
    "practice": gettext_lazy("Practice: it moves nothing."),
    "observer": gettext_lazy("Shown as practice: the observer was not qualified for this skill that day."),
    "edition": gettext_lazy("Does not count: on an edition no longer accepted."),
    "authorisation": gettext_lazy("Does not count: no authorisation that day."),
    "gate": gettext_lazy("Does not count toward a full sign-off: the gate was closed (%(gate)s)."),
}
FOLLOWED = {
    "signed_off": gettext_lazy("It completed the sign-off."),
    "awaits_signatures": gettext_lazy("It completed what is needed; signatures are awaited."),
    "renewed": gettext_lazy("It renewed the sign-off."),
    "closed_recheck": gettext_lazy("It closed the recheck."),
    "opened_recheck": gettext_lazy("It opened a recheck."),
    "wait_ended": gettext_lazy("It ended the wait for signatures."),
}
MOVES_NOTHING = {
    "incomplete": gettext_lazy("Incomplete: it moves nothing."),
    "disputed": gettext_lazy("Two observers differ: it moves nothing until it is resolved."),
}
