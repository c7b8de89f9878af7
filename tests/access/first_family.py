"""The family that has everything: a record of every kind, each text with a token of its own."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

from tests.access.side import ABOUT_FATHER, AUTHOR, FATHER, MOTHER, STAFF, Side, token
from tests.cast import ALL_ALONE, NOW, TODAY, authorise, show, write
from tests.training.kept import appointment_body, comment_body, duty_body, event_body, keep, start_body, stepped_in_body
from training.invitations import deeds as invitations
from training.people.access import assign
from training.people.models import Caregiver
from training.standing import deeds, drafts
from training.standing.models import Draft
from training.standing.pauses import pause


def make_first_family(side: Side) -> None:
    """A record of every kind, each text with its own token; a void, a dispute, drafts, an invitation, a stay."""
    home, family = side.home, side.families[1]
    mother, father = side.people["mother 1"], side.people["father 1"]
    mine, his, kept = {"caregiver": mother.case_id}, {"caregiver": father.case_id}, side.records

    def say(eyes: str = STAFF) -> str:
        return token(side.letter, 1, eyes)

    day = {"on": "2026-05-10"}
    failed = {**ALL_ALONE["suction"], "s01": "prompted"}
    kept["signed"] = show(home, mother, "hands", TODAY - timedelta(days=40), note=say())
    kept["voided"] = show(home, mother, "hands", TODAY - timedelta(days=41), note=say())
    kept["void"] = write(home.educator, family, "void", NOW, record=str(kept["voided"].intent), reason=say())
    for days in (12, 10):
        show(home, mother, "suction", TODAY - timedelta(days=days))
        show(home, father, "suction", TODAY - timedelta(days=days))
    kept["his"] = show(
        home, father, "suction", TODAY, results=failed, reteach={"line": say(FATHER), "on": None}, note=say(ABOUT_FATHER),
        teach_back=say(FATHER),
    )  # fmt: skip
    seconds = {
        "observer": home.supervisor.observer_id,
        "results": {"s01": "prompted", "s02": "independent", "s03": "independent"},
    }
    kept["disputed"] = show(home, mother, "tube_change", TODAY - timedelta(days=1), second=seconds, note=say())
    kept["gated"] = show(home, mother, "tube_change", TODAY - timedelta(days=3))
    kept["awaiting"] = show(home, mother, "emergency", TODAY - timedelta(days=6))
    for body, eyes in ((mine, STAFF), (his, ABOUT_FATHER)):
        write(home.supervisor, family, "hold", NOW, **body, **day, skill="emergency", through=None, reason=say(eyes))
        write(home.supervisor, family, "recheck", NOW, **body, **day, skill="suction", reason=f"{say(eyes)} incident")
        write(
            home.supervisor, family, "withdrawal", NOW, **body, **day, skill="hands", reason=say(eyes), cover=say(eyes)
        )
    gated = show(home, mother, "tube_change", TODAY - timedelta(days=2))
    kept["override"] = write(home.supervisor, family, "override", NOW, **mine, record=str(gated.intent), reason=say())
    kept["own hold"] = pause(caregiver=mother, intent=uuid.uuid4(), at=NOW)
    excepted = {"from": "2026-05-10", "through": "2026-06-01", "by": home.supervisor.observer_id, "reason": say()}
    kept["exception"] = deeds.record(
        family=family,
        kind="exception",
        body={"missing": "team", **excepted},
        by=home.supervisor,
        intent=uuid.uuid4(),
        at=NOW,
    )
    write(home.educator, family, "item", NOW, item="kit", **day, note=say())
    for body, eyes in ((mine, STAFF), (his, ABOUT_FATHER)):
        write(home.educator, family, "certificate", NOW, **body, **day, skill="cpr_card", through=None, note=say(eyes))
    write(
        home.supervisor, family, "accepted", NOW, **his, skill="tube_change", on="2026-05-11", last_day="2026-06-01",
        organisation=say(ABOUT_FATHER), how=say(ABOUT_FATHER),
    )  # fmt: skip
    kept["event"] = keep(home.educator, family, "event", **event_body(mother, happened=say(), done=say()))
    keep(home.educator, family, "event", **event_body(father, happened=say(ABOUT_FATHER), done=say(ABOUT_FATHER)))
    keep(mother, family, "comment", **comment_body(mother, kept["signed"], said=say(MOTHER)))
    keep(father, family, "comment", **comment_body(father, kept["his"], said=say(FATHER)))
    stay = kept["stay"] = keep(home.educator, family, "stay", **start_body(place=say()))
    keep(home.educator, family, "stay", **duty_body(stay, [mother], ("2026-05-12", "09:00"), ("2026-05-12", "21:00")))
    keep(home.educator, family, "stay", **stepped_in_body(stay, reason=say(), by_whom=say()))
    kept["appointment"] = keep(
        home.educator, family, "appointment", **appointment_body(mother, what=say(MOTHER), place=say(MOTHER))
    )
    keep(
        home.educator,
        family,
        "appointment",
        **appointment_body(father, what=say(FATHER), place=say(FATHER), day="2026-05-22"),
    )
    keep(
        father, family, "told_card", **his, skill="cpr_card", dated="2026-05-01", through=None, note=say(FATHER),
        on=TODAY.isoformat(),
    )  # fmt: skip
    keep(
        home.educator,
        family,
        "outside_evidence",
        caregiver=father.case_id,
        evidence=say(ABOUT_FATHER),
        says=say(ABOUT_FATHER),
        **day,
    )
    authorise(home, family, "suction", date(2026, 4, 1))
    side.draft, side.second_draft = _draft(side, mother, say(AUTHOR)), _draft(side, father, say(AUTHOR))
    assign(member=home.educator, family=family, at=NOW)
    invitations.invite(caregiver=side.people["father 2"], by=home.educator, intent=uuid.uuid4(), now=NOW)
    write(
        home.supervisor,
        side.families[3],
        "closing",
        NOW,
        why="moved",
        on=TODAY.isoformat(),
        note=token(side.letter, 3, STAFF),
    )


def _draft(side: Side, caregiver: Caregiver, said: str) -> Draft:
    """One that has begun: its first step is answered, a second observer is named, a note is written."""
    data = drafts.beginning(
        purpose="assessment", on=TODAY, time="09:30", skill="suction", edition=1, setting="patient", role="lead",
        mode="in_person", place="hospital", observer=side.home.educator, began=None, second=side.home.supervisor,
    )  # fmt: skip
    data = {**data, "results": {"s01": "independent"}, "note": said}
    return drafts.start(author=side.home.educator, caregiver=caregiver, data=data, intent=uuid.uuid4(), at=NOW)
