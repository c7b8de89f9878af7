"""The fifteen questions in order, each with where it is answered, or why it is not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

AHEAD = (7, 30, 60)
NO_ROTA = _("Not answered here: the register knows no rota and no working hours.")
NO_STAFF = _(
    "Not answered here: the register holds what family caregivers have shown. "
    "For staff there is only what they may assess."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One link to an answer."""

    title: Promise | str
    url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """number: as in `docs/questions.md`. ways: none where `instead` says why it is not answered."""

    number: int
    text: Promise
    ways: tuple[Way, ...] = ()
    instead: Promise | str = ""


def questions(today: date) -> list[Question]:
    board = reverse("board")
    members = Way(title=_("Members, and what they may assess"), url=reverse("members"))
    ahead = tuple(
        Way(title=_("In %(n)s days") % {"n": n}, url=_on_board(on=today + timedelta(days=n), show="attention"))
        for n in AHEAD
    )
    trouble = Way(title=_("Families that need attention, today"), url=_on_board(show="attention"))
    return [
        Question(
            number=1,
            text=_("Which families are below the team rule today? In 7, 30, 60 days?"),
            ways=(trouble, *ahead),
        ),
        Question(
            number=2,
            text=_("Which single people are the only cover?"),
            ways=(
                Way(title=_("Families with one person alone for the nights"), url=_on_board(show="single")),
                Way(title=_("A family, then “What if somebody is out?”"), url=board),
            ),
        ),
        Question(
            number=3,
            text=_("What lapses next, who can see it again, is a visit planned?"),
            ways=(
                Way(title=_("Families with a lapse within 30 days"), url=_on_board(within=30)),
                Way(title=_("What is planned"), url=reverse("families")),
                members,
            ),
        ),
        Question(
            number=4, text=_("Which nurse may be sent to which patient tonight?"), instead=NO_STAFF, ways=(members,)
        ),
        Question(number=5, text=_("Which shift has nobody both cleared and awake?"), instead=NO_ROTA),
        Question(
            number=6,
            text=_("Which patients had a device or order change, or a recheck asked for?"),
            ways=(
                _answered("rechecks"),
                Way(title=_("Families with a change not shown again yet"), url=_on_board(show="changed")),
            ),
        ),
        Question(
            number=7,
            text=_("Which checklists have a new edition, and what becomes of sign-offs on the older one?"),
            ways=(Way(title=_("Checklists: editions and what happens to older sign-offs"), url=reverse("programmes")),),
        ),
        Question(
            number=8,
            text=_("Which families came from elsewhere, with which evidence?"),
            ways=(_answered("outside"),),
        ),
        Question(
            number=9,
            text=_("Who watched while not cleared to? Such a demonstration moved nothing."),
            ways=(members,),
        ),
        Question(
            number=10,
            text=_("Which entries are late, from paper, corrected or disputed?"),
            ways=(_answered("entries"),),
        ),
        Question(
            number=11, text=_("Which emergencies were there, and was it talked over?"), ways=(_answered("incidents"),)
        ),
        Question(number=12, text=_("Which kits were checked last, when, by whom?"), ways=(_answered("kit"),)),
        Question(number=13, text=_("Who is on hold or withdrawn?"), ways=(_answered("holds"),)),
        Question(
            number=14,
            text=_("Which authorisations end soon, or have just ended?"),
            ways=(_answered("authorisations"),),
        ),
        Question(
            number=15,
            text=_("What would a surveyor find for this patient now?"),
            ways=(Way(title=_("A family: its page, its packet, its records"), url=reverse("families")),),
        ),
    ]


def _on_board(**asked: Any) -> str:
    """The board read from its stored lines, filtered so."""
    return f"{reverse('board')}?{urlencode(asked)}"


def _answered(slug: str) -> Way:
    return Way(title=TITLES[slug], url=reverse("answered", args=[slug]))


TITLES: dict[str, Promise] = {
    "entries": _("Entries late, from paper, corrected or decided about, in 90 days"),
    "incidents": _("Emergencies at home and their debriefings, in a year"),
    "kit": _("Checks of kit, equipment, home and papers, in 90 days"),
    "holds": _("Holds and withdrawals in force"),
    "authorisations": _("Authorisations whose last day is within 60 days"),
    "rechecks": _("Care plan entries and rechecks, in 90 days"),
    "outside": _("Evidence from outside and hand-overs, in a year"),
}

NOBODY: dict[str, Promise] = {
    "entries": _("No entry was late, from paper, corrected or decided about in the 90 days through %(day)s."),
    "incidents": _("No emergency at home was written down in the year through %(day)s."),
    "kit": _("No kit, equipment, home or papers were checked in the 90 days through %(day)s."),
    "holds": _("Nobody is on hold or withdrawn on %(day)s."),
    "authorisations": _("No authorisation has its last day within 60 days of %(day)s, before or after."),
    "rechecks": _("No care plan entry and no recheck was written down in the 90 days through %(day)s."),
    "outside": _("No evidence from outside and no hand-over was written down in the year through %(day)s."),
}
