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
    "event": gettext_lazy("Emergency at home"),
    "comment": gettext_lazy("A caregiver’s own words"),
    "stay": gettext_lazy("24-hour stay"),
    "appointment": gettext_lazy("Appointment"),
    "agreement": gettext_lazy("Who may see what"),
    "told_card": gettext_lazy("A card the caregiver tells of, not seen"),
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
    "transcribed": gettext_lazy("From paper"),
    "stopped": gettext_lazy("Stopped"),
    "stop": gettext_lazy("Who stopped it, and why"),
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
    "teach_back": gettext_lazy("Taught back"),
    "interpreter": gettext_lazy("Interpreter"),
    "feels": gettext_lazy("The caregiver feels"),
    "part": gettext_lazy("What this is"),
    "who": gettext_lazy("Caregivers"),
    "until_on": gettext_lazy("Until"),
    "until_time": gettext_lazy("Until, at"),
    "by_whom": gettext_lazy("Who stepped in"),
    "happened": gettext_lazy("What happened"),
    "done": gettext_lazy("What was done"),
    "thanked": gettext_lazy("Thanked"),
    "debrief_on": gettext_lazy("Talked through on"),
    "debrief_by": gettext_lazy("Talked through by"),
    "debrief_said": gettext_lazy("What was said"),
    "said": gettext_lazy("In their own words"),
    "day": gettext_lazy("Planned for"),
    "at": gettext_lazy("Planned at"),
    "minutes": gettext_lazy("Length"),
    "skills": gettext_lazy("Skills"),
    "what": gettext_lazy("What"),
    "checks": gettext_lazy("Who checks"),
    "dated": gettext_lazy("Date of the card"),
    "agreed": gettext_lazy("Others in the family may see what they are ready for"),
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
    "feels": {"ready": gettext_lazy("“I feel ready”"), "not_yet": gettext_lazy("“not yet”")},
    "part": {
        "event": gettext_lazy("what happened"),
        "debrief": gettext_lazy("talked through afterwards"),
        "start": gettext_lazy("start"),
        "duty": gettext_lazy("on duty"),
        "intervention": gettext_lazy("staff stepped in"),
        "end": gettext_lazy("end"),
        "planned": gettext_lazy("planned"),
        "moved": gettext_lazy("moved"),
        "cancelled": gettext_lazy("cancelled"),
    },
}
INTERPRETERS = {
    "none_needed": gettext_lazy("none needed"),
    "in_person": gettext_lazy("in person"),
    "video": gettext_lazy("by video"),
    "phone": gettext_lazy("by phone"),
    "family_member": gettext_lazy("somebody of the family"),
}
STOPPED_BY = {
    "observer": gettext_lazy("the observer"),
    "second": gettext_lazy("the second observer"),
    "caregiver": gettext_lazy("the caregiver"),
    "patient": gettext_lazy("the patient"),
    "other": gettext_lazy("somebody else"),
}
# A late entry: the day it tells of and the day it was written.
LATE = {
    "demonstration": gettext_lazy("Seen %(on)s, recorded %(recorded)s."),
    "event": gettext_lazy("Happened %(on)s, recorded %(recorded)s."),
    "stay": gettext_lazy("Happened %(on)s, recorded %(recorded)s."),
    "": gettext_lazy("Of %(on)s, recorded %(recorded)s."),
}
KEPT_OUT = {
    "practice": gettext_lazy("Practice: it moves nothing."),
    "observer": gettext_lazy("Shown as practice: the observer was not qualified for this skill that day."),
    "edition": gettext_lazy("Does not count: on an edition no longer accepted."),
    "authorisation": gettext_lazy("Does not count: no authorisation that day."),
    "gate": gettext_lazy("Does not count toward a full sign-off: the gate was closed (%(gate)s)."),
    "no_edition": gettext_lazy("Does not count toward a full sign-off: no edition was in force when it began."),
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
