"""The log's sentences. An unknown code or view is its own word."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from training.documents.record_labels import KINDS
from training.log.models import Entry

DEEDS: Mapping[str, Promise] = {
    "programme": gettext_lazy("Published a programme"),
    "edition": gettext_lazy("Published an edition: %(skill)s"),
    "rules": gettext_lazy("Published sets, team rules and items"),
    "qualification": gettext_lazy("Stated what %(member)s may assess: %(skill)s"),
    "qualification-ended": gettext_lazy("Ended what %(member)s may assess: %(skill)s"),
    "member-added": gettext_lazy("Gave %(member)s a place as %(role)s"),
    "member-changed": gettext_lazy("Changed the place of %(member)s: %(change)s"),
    "account-removed": gettext_lazy("Took the account away from %(caregiver)s: %(reason)s"),
    "account-unlocked": gettext_lazy("Lifted the lock of %(member)s: %(reason)s"),
    "account-reset": gettext_lazy("Gave a link for a new password to %(member)s: %(reason)s"),
    "account-second_factor": gettext_lazy("Took the second factor of %(member)s off: %(reason)s"),
    "account-closed": gettext_lazy("Closed the account of %(member)s: %(reason)s"),
    "account-reopened": gettext_lazy("Opened the account of %(member)s again: %(reason)s"),
    "second-factor-required": gettext_lazy("Every member needs a second factor from now on"),
    "second-factor-free": gettext_lazy("No second factor is required of members any more"),
    "educators-see-assigned": gettext_lazy("Educators see only the families assigned to them from now on"),
    "educators-see-all": gettext_lazy("Educators see every family from now on"),
    "assigned": gettext_lazy("Let %(member)s work with this family"),
    "unassigned": gettext_lazy("Ended that %(member)s works with this family"),
    "opened-in-emergency": gettext_lazy("Opened this family for a day in an emergency: %(reason)s"),
    "invitation-made": gettext_lazy("Made an invitation for %(caregiver)s"),
    "invitation-withdrawn": gettext_lazy("Withdrew the invitation of %(caregiver)s"),
    "invitation-used": gettext_lazy("Used the invitation and has an account here"),
    "handover-code-changed": gettext_lazy("Changed the hand-over code"),
    "rechecked-many": gettext_lazy("Asked to see again: %(records)s rechecks in %(families)s families"),
    "family-exported": gettext_lazy("Took the family’s whole record as a file"),
    "survey-taken": gettext_lazy("Took the survey file of %(day)s"),
    "board-exported": gettext_lazy("Took the list of families as a file"),
    "log-exported": gettext_lazy("Took this log as a file"),
}
ACCESS: Mapping[str, Promise] = {
    "signed-in": gettext_lazy("Signed in"),
    "signed-out": gettext_lazy("Signed out"),
    "sign-in-failed": gettext_lazy("A password or code did not fit, at signing in or at signing"),
    "locked-out": gettext_lazy("Locked out after too many that did not fit"),
    "password-changed": gettext_lazy("Changed their password"),
    "password-reset": gettext_lazy("Set a new password with a link"),
    "signed-out-everywhere": gettext_lazy("Signed out everywhere"),
    "second-factor-on": gettext_lazy("Set up a second factor"),
    "second-factor-off": gettext_lazy("Took their second factor off"),
    "recovery-codes-new": gettext_lazy("Made new recovery codes"),
    "passkey-added": gettext_lazy("Added a passkey"),
    "passkey-off": gettext_lazy("Took a passkey off"),
    "reset-link": gettext_lazy("Made a link for a new password for %(member)s, on the server"),
    "reset-link-factor-off": gettext_lazy(
        "Made a link for a new password for %(member)s and took their second factor off, on the server"
    ),
}
VIEWS: Mapping[str, Promise] = {
    "family": gettext_lazy("the family page"),
    "skill": gettext_lazy("a skill of a caregiver"),
    "records": gettext_lazy("the list of records"),
    "record": gettext_lazy("a record"),
    "packet": gettext_lazy("the packet"),
    "family-copy": gettext_lazy("the family’s copy"),
    "emergency-sheet": gettext_lazy("the emergency sheet"),
    "caregiver-record": gettext_lazy("a caregiver’s record, printed"),
    "remaining-skills": gettext_lazy("a caregiver’s remaining-skills sheet"),
    "handover-packet": gettext_lazy("the hand-over packet"),
    "handover-received": gettext_lazy("the hand-over packet of the other organisation’s file"),
    "blank-checklist": gettext_lazy("a checklist to print"),
    "bedside-pack": gettext_lazy("what a device takes to the bedside"),
    "start": gettext_lazy("the start of a demonstration"),
    "stays": gettext_lazy("the 24-hour stays"),
    "stay": gettext_lazy("a 24-hour stay"),
    "mine-family": gettext_lazy("their own page"),
    "mine-records": gettext_lazy("their own records"),
    "mine-emergency-sheet": gettext_lazy("the emergency sheet"),
    "mine-remaining-skills": gettext_lazy("their remaining-skills sheet"),
    "members": gettext_lazy("the members"),
    "programmes": gettext_lazy("the programmes"),
    "programme": gettext_lazy("a programme"),
    "checklist": gettext_lazy("a checklist"),
    "log": gettext_lazy("the log"),
}


def sentence(entry: Entry, skills: Mapping[str, str] | None = None) -> str:
    """What was done or looked at, in words. skills: what skills are called, where that is known."""
    if entry.kind == Entry.Kind.ACCESS:
        return str(ACCESS.get(entry.what, entry.what)) % _Filled(entry.words)
    return _read(entry) if entry.kind == Entry.Kind.READ else _deed(entry, skills or {})


def _read(entry: Entry) -> str:
    if entry.what == "board":
        count = entry.words.get("families", 0)
        return ngettext("Looked at a list of %(n)s family", "Looked at a list of %(n)s families", count) % {"n": count}
    if entry.what == "draft":
        return _("Looked at a draft of theirs")
    return _("Looked at %(what)s") % {"what": VIEWS.get(entry.view, entry.view.replace("-", " "))}


def _deed(entry: Entry, skills: Mapping[str, str]) -> str:
    template = DEEDS.get(entry.what)
    code = entry.words.get("skill", "")
    skill = skills.get(code, code)
    if template is not None:
        return str(template) % _Filled(entry.words | ({"skill": skill} if skill else {}))
    about = ", ".join(filter(None, [entry.words.get("caregiver"), skill]))
    kind = str(KINDS.get(entry.what, entry.what))
    return _("Signed: %(kind)s (%(about)s)") % {"kind": kind, "about": about} if about else _("Signed: %s") % kind


class _Filled(dict[str, str]):
    """A word an older entry lacks is a dash."""

    def __missing__(self, name: str) -> str:
        return "–"
