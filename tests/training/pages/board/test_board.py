"""The board: who sees it, its sentence, its groups, its filter, the lapses ahead."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests.cast import TODAY, make_family, show, sign_off_suction
from tests.factories import MemberFactory, OrganisationFactory
from tests.training.pages.family.conftest import put
from tests.training.pages.family.test_family_page import squeezed
from training.pages.board.lapses import Lapse
from training.pages.board.lines import Line
from training.pages.board.weeks import weeks
from training.standing.folding import folded
from training.standing.models import BoardSpan

ROLES = ("educator", "supervisor", "administrator", "auditor")


@pytest.fixture
def board(cast, signed_in):
    def get(query="", role="supervisor", whole=False):
        answer = signed_in(getattr(cast.north, role)).get("/board/" + query)
        assert answer.status_code == 200
        text = answer.content.decode()
        return text if whole else squeezed(text)

    return get


@pytest.fixture
def search(cast, signed_in):
    """Look for a name from the page's form, on the date of the page, and read what is shown then."""

    def post(name, query="", whole=False):
        answer = signed_in(cast.north.supervisor).post("/board/" + query, {"q": name}, follow=True)
        post.address = answer.redirect_chain[-1][0]
        text = answer.content.decode()
        return text if whole else squeezed(text)

    return post


def make_ready(home, family, day=date(2026, 5, 1)):
    """One caregiver who holds everything, and both items; the kit's check holds thirty days."""
    mother = family.caregivers.get(called="Marit")
    sign_off_suction(home, mother, day)
    for skill in ("hands", "emergency"):
        show(home, mother, skill, day)
    show(home, mother, "tube_change", day, time="10:00")
    for by in ("caregiver", "educator"):
        put(home.educator, family, "signature", day, caregiver=mother.case_id, skill="emergency", on=str(day), by=by)
    put(
        home.educator, family, "certificate", day, caregiver=mother.case_id, skill="cpr_card", on=str(day), through=None
    )
    for item in ("kit", "papers"):
        put(home.educator, family, "item", day, item=item, on=str(day))


@pytest.mark.parametrize("role", ROLES)
def test_every_role_looks_at_it(board, role):
    assert "need attention on this date" in board(role=role)


def test_somebody_without_a_place_finds_nothing(cast, signed_in):
    assert signed_in(cast.stranger).get("/board/").status_code == 404


def test_a_visitor_signs_in_first(cast, client):
    assert client.get("/board/").status_code == 302


def test_it_holds_only_our_own_families(board):
    text = board()

    assert "Okonjo-Lind" in text
    assert "Abara-Voss" not in text


def test_its_sentence_comes_first(board):
    assert "2 of 2 families need attention on this date." in board()


def test_one_family_needs_attention(cast, board):
    make_ready(cast.north, cast.north.families[1], date(2026, 5, 1))

    assert "1 of 2 families need attention on this date. 1 more would within 30 days." in board()


def test_what_would_fall_says_when_and_why(cast, board):
    make_ready(cast.north, cast.north.families[1])

    assert "Would need it within 30 days 1 family Ready Quist" in board()
    assert "From 1 June 2026, if nothing more happens: Emergency kit checked" in board()


def test_thirty_one_days_before_nothing_is_needed_yet(cast, board):
    make_ready(cast.north, cast.north.families[1])

    assert "Nothing needed on this date 1 family Ready Quist" in board("?on=2026-05-01")
    assert "Would need it within 30 days 1 family Ready Quist" in board("?on=2026-05-02")


def test_a_past_date_is_answered_for(cast, board):
    make_ready(cast.north, cast.north.families[1])

    assert "2 of 2 families need attention" in board("?on=2026-04-30")


def test_a_row_says_why_and_how_far_the_team_is(board):
    assert "Team, Emergency kit checked, Papers" in board()
    assert "0 of 1 one full" in board()


def test_an_exception_stands_beside_the_verdict(cast, board):
    north = cast.north
    put(north.supervisor, north.family, "exception", TODAY, missing="team", from_=str(TODAY),
        through=str(TODAY), by=north.supervisor.observer_id, reason="Night nurse covers")  # fmt: skip

    assert f"Exception for “Team” by {north.supervisor.signed_name} through 14 May 2026: Night nurse covers" in board()


def test_an_exception_is_printed_with_the_board(cast, signed_in):
    north = cast.north
    put(north.supervisor, north.family, "exception", TODAY, missing="team", from_=str(TODAY),
        through=str(TODAY), by=north.supervisor.observer_id, reason="Night nurse covers")  # fmt: skip
    page = signed_in(north.supervisor).get(reverse("board")).content.decode()

    assert "<small>Exception for “Team”" in page  # and not for the screen alone


def test_without_a_care_plan_a_family_needs_attention(cast, board, search):
    family = make_family(cast.north, "Fresh", "New")

    assert "No care plan yet" in search("fresh", "?on=2026-03-01")
    assert family.name in board()


def test_no_families_yet(db, now, signed_in):
    member = MemberFactory(organisation=OrganisationFactory(), role="supervisor")
    text = squeezed(signed_in(member).get("/board/").content.decode())

    assert "No families yet. A family starts with its patient and a first care plan." in text


def test_paper_has_initials_only(board):
    text = board(whole=True)

    assert '<b class="r-print-only">O. L.</b>' in text
    assert '<body class="r-wide">' in text


# Filter


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ("okonjo", True),
        ("OKONJO-LIND", True),
        ("ïlsé", True),  # the patient, with accents nobody typed
        ("joram", True),
        ("nobody", False),
        ("", True),
    ],
)
def test_a_name_is_found(cast, search, query, found):
    assert ("Ilse Okonjo-Lind" in search(query)) is found


@pytest.mark.parametrize(
    ("one", "other"), [("Élodie", "elodie"), ("STRASSE", "straße"), ("O’Neil", "o'neil"), ("Nguyễn", "NGUYEN")]
)
def test_letters_are_compared_without_case_and_accents(one, other):
    assert folded(one) == folded(other)


@pytest.mark.parametrize(
    ("show", "okonjo", "quist"),
    [
        ("", True, True),
        ("attention", True, False),
        ("not_ready", True, False),
        ("ready", False, True),
        ("falls", False, True),
        ("ready_by_exception", False, False),
        ("nonsense", True, True),
    ],
)
def test_a_verdict_is_asked_for(cast, board, show, okonjo, quist):
    make_ready(cast.north, cast.north.families[1])
    text = board(f"?show={show}")

    assert ("Ilse Okonjo-Lind" in text, "Peder Quist" in text) == (okonjo, quist)


def test_the_sentence_is_about_all_whatever_is_shown(search):
    text = search("quist")

    assert "2 of 2 families need attention" in text
    assert "1 of 2 families are shown." in text


def test_what_was_asked_is_kept_with_the_date(search):
    text = search("quist", "?on=2026-05-20", whole=True)

    assert 'name="q" value="quist"' in text
    assert 'action="/board/?on=2026-05-20"' in text
    assert search.address.startswith("/board/?on=2026-05-20&asked=")


def test_what_was_asked_is_not_read_as_markup(search):
    assert "<script>x" not in search("<script>x", whole=True)


def test_a_name_stands_in_no_address(search):
    search("quist")

    assert "quist" not in search.address


def test_going_back_shows_what_was_asked_before(cast, search, signed_in):
    search("quist")
    before = search.address
    search("okonjo")
    text = signed_in(cast.north.supervisor).get(before).content.decode()

    assert 'name="q" value="quist"' in text


def test_the_board_by_itself_shows_every_family(search, board):
    search("quist")

    assert "Ilse Okonjo-Lind" in board()


def test_another_session_learns_nothing_from_the_address(cast, search, client):
    search("quist")
    client.logout()
    client.force_login(cast.north.educator.user)

    assert 'value="quist"' not in client.get(search.address).content.decode()


# Lapses


def test_a_lapse_stands_in_its_week_with_its_people(cast, board):
    sign_off_suction(cast.north, cast.north.mother, TODAY - timedelta(days=10))
    text = board("?on=2026-10-20", whole=True)

    assert "Week of 2 November: 1" in text
    assert "5 Nov: Suctioning, Marit Okonjo-Lind," in squeezed(text)


def test_no_lapses_is_said(board):
    assert "No lapses in these thirteen weeks." in board()


def lapse(day, down=False):
    return Lapse(family=None, caregiver=None, skill=None, day=day, takes_down=down)


@pytest.mark.parametrize(
    ("day", "week"),
    [
        (date(2026, 5, 10), None),
        (date(2026, 5, 11), 0),
        (date(2026, 5, 17), 0),
        (date(2026, 5, 18), 1),
        (date(2026, 8, 9), 12),
        (date(2026, 8, 10), None),
    ],
)
def test_weeks_begin_on_monday(day, week):
    found = [i for i, w in enumerate(weeks([lapse(day)], TODAY)) if w.lapses]

    assert found == ([] if week is None else [week])


def test_what_takes_a_family_down_stands_first():
    found = weeks([lapse(TODAY), lapse(TODAY + timedelta(days=1), down=True)], TODAY)

    assert [post.sole for post in found[0].posts] == [True, False]


@pytest.mark.parametrize("on", ["0001-01-01", "9999-12-31", "2026-02-30", "x"])
def test_any_date_is_answered(board, on):
    assert "All families" in board(f"?on={on}")


# Cost


def test_it_asks_a_fixed_number_of_questions(cast, signed_in):
    client = signed_in(cast.north.supervisor)
    client.get("/board/")  # the programme's words are read once
    counts = []
    for name in ("Third", "Fourth", "Fifth"):
        with CaptureQueriesContext(connection) as asked:
            client.get("/board/")
        counts.append(len(asked))
        make_family(cast.north, name, "Ilse")

    assert counts == [counts[0]] * 3


def test_somebody_who_left_lapses_no_more(cast, board):
    north = cast.north
    sign_off_suction(north, north.mother, TODAY - timedelta(days=10))
    assert "5 Nov 2026 Suctioning · Marit" in board()
    mother = north.mother
    mother.through = TODAY
    mother.save(update_fields=["through"])

    assert "5 Nov 2026 Suctioning" not in board()


def test_initials_of_any_name(cast):
    family = cast.north.family
    family.name = "van der Straaten-O’Neil 李"
    line = Line(BoardSpan(family=family), TODAY, None, [], [])

    assert line.family_initials == "V. D. S. O. N. 李."
