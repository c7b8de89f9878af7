"""What every address answers to whom: the whole table of access, as data.

Each row: the address's name, its kind, and the statuses at home of a GET and of a POST with nothing in it, for educator,
supervisor, administrator, auditor; one status where all four get the same. The kind says what everybody else gets:

OBJECT        names something of an organisation: 404 to everybody else, as if it had never been
RIGHT_FIRST   the same, but whoever lacks the right is told so before anything is looked for, whatever the id
METHOD_FIRST  the same, but a post is refused before anything is looked for, whatever the id
PLACE         names nothing: another organisation's staff get what their own role gets, of their own organisation
OWN           a caregiver's own: theirs alone
MINE, HOME    lead each to what is theirs
ACCOUNT       everybody's own account
DOOR, ANYBODY are there before anybody is known

403: a colleague without the right. 405: not this way. A visitor and a closed account are led to sign in (302).
"""

from __future__ import annotations

from tests.access.asking import AT_HOME, CAREGIVERS, ELSEWHERE

OBJECT, RIGHT_FIRST, METHOD_FIRST, PLACE = "object", "right first", "method first", "place"
OWN, MINE, HOME, ACCOUNT, DOOR, ANYBODY = "own", "mine", "home", "account", "door", "anybody"

# fmt: off
ROWS = [
    ("home", HOME, "302", "405"),
    ("sign-in", DOOR, "302", "302"),
    ("sign-in-code", ANYBODY, "302", "302"),
    ("sign-out", ANYBODY, "405", "302"),
    ("place", ACCOUNT, "200", "404"),
    ("stay-signed-in", ANYBODY, "200", "200"),
    ("new-password", ANYBODY, "410", "410"),
    ("account", ACCOUNT, "200", "405"),
    ("account-password", ACCOUNT, "200", "200"),
    ("second-factor", ACCOUNT, "200", "200"),
    ("second-factor-off", ANYBODY, "302", "302"),
    ("recovery-codes", ANYBODY, "302", "302"),
    ("passkey-new", ANYBODY, "302", "302"),
    ("passkey-keep", ACCOUNT, "405", "302"),
    ("passkey-off", ACCOUNT, "405", "302"),
    ("member-account", RIGHT_FIRST, "403 403 200 403", "403 403 200 403"),
    ("second-factor-required", PLACE, "403 403 200 403", "403 403 200 403"),
    ("sign-out-everywhere", ACCOUNT, "405", "302"),
    ("families", PLACE, "200", "405"),
    ("family", OBJECT, "200", "405"),
    ("skill", OBJECT, "200", "405"),
    ("records", OBJECT, "200", "405"),
    ("record", OBJECT, "200", "405"),
    ("family-export", OBJECT, "403 200 200 200", "403 405 405 405"),
    ("packet", OBJECT, "200", "405"),
    ("family-copy", OBJECT, "200", "405"),
    ("emergency-sheet", OBJECT, "200", "405"),
    ("caregiver-record", OBJECT, "200", "405"),
    ("remaining-skills", OBJECT, "200", "405"),
    ("survey", OBJECT, "403 200 200 200", "403 405 405 405"),
    ("survey-zip", OBJECT, "403 200 200 200", "403 405 405 405"),
    ("start", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("blank-checklist", OBJECT, "200", "405"),
    ("transcribe", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("drafts-sign", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("draft", RIGHT_FIRST, "200 404 403 403", "200 404 403 403"),
    ("draft-step", RIGHT_FIRST, "200 404 403 403", "200 404 403 403"),
    ("draft-rest", RIGHT_FIRST, "200 404 403 403", "200 404 403 403"),
    ("draft-second", RIGHT_FIRST, "200 404 403 403", "404 404 403 403"),
    ("draft-second-step", RIGHT_FIRST, "200 404 403 403", "200 404 403 403"),
    ("draft-second-rest", RIGHT_FIRST, "200 404 403 403", "200 404 403 403"),
    ("draft-stop", RIGHT_FIRST, "200 404 403 403", "200 404 403 403"),
    ("draft-sign", RIGHT_FIRST, "302 404 403 403", "302 404 403 403"),
    ("draft-discard", RIGHT_FIRST, "200 404 403 403", "302 404 403 403"),
    ("bedside", ANYBODY, "200", "405"),
    ("bedside-worker", ANYBODY, "200", "405"),
    ("bedside-pack", OBJECT, "200 200 403 403", "405 405 403 403"),
    ("bedside-token", PLACE, "200 200 403 403", "405 405 403 403"),
    ("bedside-arrive", PLACE, "405 405 403 403", "400 400 403 403"),
    ("bedside-unlock", PLACE, "405 405 403 403", "403"),
    ("board", PLACE, "200", "302"),
    ("questions", PLACE, "200", "405"),
    ("answered", PLACE, "200", "405"),
    ("board-csv", PLACE, "403 200 200 200", "403 405 405 405"),
    ("board-xlsx", PLACE, "403 200 200 200", "403 405 405 405"),
    ("board-save", PLACE, "405 405 405 403", "302 302 302 403"),
    ("board-forget", PLACE, "405 405 405 403", "302 302 302 403"),
    ("programmes", PLACE, "200", "405"),
    ("programme", METHOD_FIRST, "200", "405"),
    ("checklist", METHOD_FIRST, "200", "405"),
    ("programme-map", METHOD_FIRST, "200", "405"),
    ("caregiver-map", OBJECT, "200", "405"),
    ("mine-map", OWN, "200", "405"),
    ("programme-new", PLACE, "200 200 200 403", "200 200 200 403"),
    ("writing", OBJECT, "200 200 200 403", "405 405 405 403"),
    ("programme-copy", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("publish", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("skill-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("edition-begin", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("editions", OBJECT, "200", "405"),
    ("compare", OBJECT, "200", "405"),
    ("edition-draft", OBJECT, "200 200 200 403", "405 405 405 403"),
    ("edition-words", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("edition-when", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("edition-standard", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("step-move", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("step-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("step-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("edition-throw-away", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("edition-follow", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("rules-follow", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("rules-begin", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("rules-draft", OBJECT, "200 200 200 403", "405 405 405 403"),
    ("rules-throw-away", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("set-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("set-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("way-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("way-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("rule-item-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("rule-item-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("facts-begin", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("facts-draft", OBJECT, "200 200 200 403", "405 405 405 403"),
    ("facts-follow", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("facts-throw-away", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("notice-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("fact-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("fact-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("check-tube", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("check-catheter", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("check-spares", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("range-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("range-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("mine", MINE, "302", "405"),
    ("mine-family", OWN, "200", "405"),
    ("mine-records", OWN, "200", "405"),
    ("mine-emergency-sheet", OWN, "200", "405"),
    ("mine-remaining-skills", OWN, "200", "405"),
    ("mine-say", OWN, "200", "200"),
    ("mine-pause", OWN, "405", "400"),
    ("mine-go-on", OWN, "405", "400"),
    ("mine-card", OWN, "405", "400"),
    ("mine-kit", OWN, "405", "400"),
    ("mine-agree", OWN, "405", "400"),
    ("mine-sign", OWN, "200", "200"),
    ("check", ANYBODY, "200", "200"),
    ("check-number", ANYBODY, "200", "405"),
    ("join", ANYBODY, "200", "200"),
    ("join-you", ANYBODY, "302", "302"),
    ("join-new", ANYBODY, "302", "302"),
    ("join-have", ANYBODY, "302", "302"),
    ("family-new", PLACE, "200 200 200 403", "200 200 200 403"),
    ("family-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("caregiver-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("caregiver-edit", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("caregiver-access", OBJECT, "200 200 200 403", "405 405 405 403"),
    ("caregiver-invite", OBJECT, "405 405 405 403", "400 400 400 403"),
    ("caregiver-invite-withdraw", OBJECT, "405 405 405 403", "302 302 302 403"),
    ("caregiver-detach", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("care-plan-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("authorisation-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("item-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("certificate-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("signature-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("exception-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("hold-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("recheck-observer", PLACE, "403 200 403 403", "403 200 403 403"),
    ("recheck-device", PLACE, "403 200 403 403", "403 200 403 403"),
    ("recheck-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("withdrawal-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("accepted-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("void-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("resolution-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("override-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("pause-end", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("event-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("debrief-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("stays", OBJECT, "200", "405"),
    ("stay-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("stay", OBJECT, "200", "405"),
    ("stay-duty", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("stay-help", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("stay-end", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("appointment-new", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("appointment-move", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("appointment-cancel", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("members", PLACE, "200", "405"),
    ("member-new", PLACE, "403 403 200 403", "403 403 200 403"),
    ("qualify-many", PLACE, "403 200 200 403", "403 200 200 403"),
    ("member-edit", RIGHT_FIRST, "403 403 200 403", "403 403 200 403"),
    ("qualify", OBJECT, "403 200 200 403", "403 200 200 403"),
    ("qualification-end", OBJECT, "403 200 200 403", "403 200 200 403"),
    ("who-works", OBJECT, "200", "403 404 404 403"),
    ("open-now", OBJECT, "404", "404"),
    ("who-sees", PLACE, "403 403 200 403", "403 403 200 403"),
    ("log", PLACE, "403 403 200 200", "403 403 302 302"),
    ("log-csv", PLACE, "403 403 200 200", "403 403 405 405"),
    ("offer-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("offer-withdraw", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("offers", PLACE, "200 200 403 403", "405 405 403 403"),
    ("offer", OBJECT, "200 200 403 403", "405 405 403 403"),
    ("offer-accept", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("offer-decline", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("handover-code", PLACE, "403 200 200 403", "403 302 302 403"),
    ("handover", OBJECT, "200", "405"),
    ("handover-care-plan", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("handover-take-over", OBJECT, "200 200 403 403", "200 200 403 403"),
    ("handover-records", OBJECT, "200", "405"),
    ("handover-record", OBJECT, "200", "405"),
    ("handover-file", OBJECT, "200", "405"),
    ("handover-packet", OBJECT, "200", "405"),
    ("handover-received", OBJECT, "200", "405"),
    ("closing-new", OBJECT, "200 200 200 403", "200 200 200 403"),
    ("reopening-new", OBJECT, "403 200 403 403", "403 200 403 403"),
    ("outside-evidence-new", OBJECT, "200 200 200 403", "200 200 200 403"),
]
# fmt: on

TABLE = {name: (kind, {"GET": get, "POST": post}) for name, kind, get, post in ROWS}
NOT_KNOWN = ("visitor", "closed")
NO_PLACE = ("stranger", "gone", "ended")


def expected(name: str, method: str, actor: str) -> int:
    """The status of this cell."""
    kind, statuses = TABLE[name]
    own = at_home(statuses[method], actor.split()[0])
    if kind == ANYBODY:
        return own
    if actor in NOT_KNOWN:
        return 200 if kind == DOOR else 302
    return _of_known(kind, method, actor, own)


def at_home(statuses: str, role: str) -> int:
    several = statuses.split()
    return int(several[AT_HOME.index(role)]) if role in AT_HOME and len(several) > 1 else int(several[0])


def _of_known(kind: str, method: str, actor: str, own: int) -> int:
    """Of somebody signed in."""
    if kind in (ACCOUNT, DOOR):
        return own
    if kind == HOME:
        return 404 if method == "GET" and actor in NO_PLACE else own
    if kind == MINE:
        return own if method == "POST" or actor in (*CAREGIVERS, "caregiver elsewhere") else 404
    if kind == OWN:
        return own if actor == "mother" else 404
    if actor in AT_HOME:
        return own
    return _elsewhere(kind, method, own) if actor in ELSEWHERE else 404


def _elsewhere(kind: str, method: str, own: int) -> int:
    """Of another organisation's staff, asking for what is not theirs."""
    if kind == PLACE:
        return own
    if (kind == RIGHT_FIRST and own == 403) or (kind == METHOD_FIRST and method == "POST"):
        return own
    return 404
