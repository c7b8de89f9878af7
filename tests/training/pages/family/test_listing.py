"""The list of families from what is stored: each on its own today, a page at a time, at a fixed cost."""

from __future__ import annotations

import uuid
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from competency.readiness import Verdict
from tests.cast import NOW, TODAY, make_family, show, sign_off_suction, write
from tests.factories import MemberFactory, OrganisationFactory
from tests.training.kept import appointment_body, keep
from tests.training.pages.board.test_board import make_ready
from tests.training.pages.family.conftest import put
from tests.training.pages.family.test_family_page import squeezed
from tests.training.pages.handover.conftest import code, offer, south, taken  # noqa: F401 - fixtures
from tests.training.standing.test_waiting import emptied, older
from training.log.models import Entry
from training.pages.family import views
from training.pages.family.listing import Listing
from training.people.models import Family
from training.people.reminding import is_watched
from training.standing import deeds, pauses
from training.standing.cache import refresh
from training.standing.file import open_file
from training.standing.questions import FamilyOn

APART = ("Pacific/Kiritimati", "Europe/Oslo", "Pacific/Pago_Pago")  # at 10:30 in UTC it is three dates there
THREE_DATES = datetime(2026, 5, 14, 10, 30, tzinfo=UTC)


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def get(north, signed_in):
    def ask(address="/families/", who=None):
        return signed_in(who or north.educator).get(address)

    return ask


def names(answer):
    return [row.family.name for row in answer.context["rows"]]


def listed(home, now=NOW, **asked):
    return Listing(home.educator, now, **{"closed": False, **asked}).lines(0, 100)


def close(home, family, on=TODAY):
    write(home.supervisor, family, "closing", NOW, why="moved", on=on.isoformat(), note="")


# What is said is what each file says


def nothing_more(home, taken):  # noqa: F811
    pass


def much_happened(home, taken):  # noqa: F811
    sign_off_suction(home, home.mother)
    show(home, home.father, "hands", TODAY - timedelta(days=2))
    put(home.supervisor, home.family, "exception", TODAY, missing="item:papers", from_=str(TODAY),
        through=str(TODAY + timedelta(days=5)), reason="Sent by post", by=home.supervisor.observer_id)  # fmt: skip


def one_would_fall(home, taken):  # noqa: F811
    make_ready(home, home.families[1])


def one_is_excepted(home, taken):  # noqa: F811
    for missing in ("team", "item:kit", "item:papers"):
        put(home.supervisor, home.family, "exception", TODAY, missing=missing, from_=str(TODAY),
            through=str(TODAY), by=home.supervisor.observer_id, reason="Night nurse covers")  # fmt: skip


def one_is_on_pause(home, taken):  # noqa: F811
    make_ready(home, home.families[1])
    mother = home.families[1].caregivers.get(called="Marit")
    pauses.pause(caregiver=mother, intent=uuid.uuid4(), at=NOW)


def one_has_no_plan(home, taken):  # noqa: F811
    deeds.open_family(
        programme=home.programme, name="Anew", patient_name="Ilse Anew", patient_called="Ilse", patient_born=None,
        time_zone="Europe/Oslo", by=home.educator, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip


def one_is_closed(home, taken):  # noqa: F811
    sign_off_suction(home, home.mother)
    close(home, home.family)


def one_is_handed_over(home, taken):  # noqa: F811
    sign_off_suction(home, home.mother)
    taken()


HAPPENED = [
    nothing_more, much_happened, one_would_fall, one_is_excepted, one_is_on_pause, one_has_no_plan, one_is_closed,
    one_is_handed_over,
]  # fmt: skip


def at_length(family, now):
    """What there is to say of a family on its own today, worked out from its file."""
    day = family.today(now)
    if not is_watched(family, day):
        return (family.name, day, None, None, [], [], [], [])
    picture = FamilyOn(open_file(family), day)
    readiness = picture.history.readiness.line
    falls = next((s.start for s in readiness if s.start > day and s.value is not Verdict.READY), None)
    near = picture.verdict is Verdict.READY and falls is not None and (falls - day).days <= 30
    missing = FamilyOn(open_file(family), falls).missing if near and not picture.missing else picture.missing
    span = picture.verdict_span
    return (
        family.name,
        day,
        picture.verdict,
        span.start if span and span.value else None,
        [m.title for m in missing] if picture.verdict else [],
        [m.exception.data["reason"] for m in missing if m.exception] if picture.verdict else [],
        lapses(family, picture, day),
        [p.caregiver for p in pauses.pauses_of(picture.records, day)],
    )


def lapses(family, picture, day):
    """Who lapses in what on the next day on which somebody does."""
    found = [
        (span.start, caregiver.called, skill)
        for caregiver in family.caregivers.all()
        for skill in open_file(family).rules.skills
        for span in picture.line(caregiver, skill)
        if span.value == "lapsed" and span.start > day
    ]
    return sorted(one for one in found if one[0] == min(found)[0])


def in_short(row):
    """The same from the row of the page."""
    return (
        row.family.name,
        row.day,
        row.verdict,
        row.since if row.is_watched else None,
        [m.title for m in row.missing],
        [x.reason for x in row.exceptions],
        sorted((x.day, x.caregiver.called, x.skill.code) for x in row.lapses),
        row.span.paused,
    )


@pytest.mark.parametrize("happened", HAPPENED)
@pytest.mark.parametrize("days", [0, 19, 200])
def test_each_line_says_what_its_file_says(north, taken, happened, days):  # noqa: F811
    happened(north, taken)
    now = NOW + timedelta(days=days)
    families = Family.objects.filter(organisation=north.organisation).order_by("name")

    assert [in_short(row) for row in listed(north, now, closed=True)] == [at_length(f, now) for f in families]


# Its own today


@pytest.fixture
def apart(north):
    """Three families that have three dates at once; each stops being ready with its own 1 June."""
    found = []
    for zone in APART:
        family = make_family(north, zone.rpartition("/")[2], "Ilse")
        make_ready(north, Family.objects.get(pk=family.pk))
        Family.objects.filter(pk=family.pk).update(time_zone=zone)
        found.append(Family.objects.get(pk=family.pk))
        refresh(open_file(found[-1]))
    return found


@pytest.mark.parametrize(("day", "ready"), [(31, [False, True, True]), (32, [False, False, True]), (33, [False] * 3)])
def test_each_family_is_told_on_its_own_date(north, apart, day, ready):
    now = THREE_DATES + timedelta(days=day - 14)
    rows = {row.family.name: row for row in listed(north, now)}
    own = [rows[family.name] for family in apart]

    assert [row.day for row in own] == [date(2026, 5, 1) + timedelta(days=n) for n in (day, day - 1, day - 2)]
    assert [row.verdict is Verdict.READY for row in own] == ready
    assert [in_short(row) for row in own] == [at_length(family, now) for family in apart]


@pytest.mark.parametrize("minutes", [-1, 0])
def test_the_date_turns_at_midnight_where_the_family_is(north, apart, minutes):
    midnight = datetime(2026, 6, 1, 11, tzinfo=UTC) + timedelta(minutes=minutes)  # in Pago Pago
    row = next(row for row in listed(north, midnight) if row.family == apart[2])

    assert (row.day, row.is_not_ready) == ((date(2026, 6, 1), True) if minutes == 0 else (date(2026, 5, 31), False))


def test_each_is_listed_and_counted_once_whatever_the_date(north, apart):
    listing = Listing(north.educator, THREE_DATES, closed=False)

    assert sorted(row.family.pk for row in listing.lines(0, 100)) == sorted(
        Family.objects.filter(organisation=north.organisation).values_list("pk", flat=True)
    )
    assert (listing.number, listing.waiting) == (5, 0)


def test_one_closes_with_its_own_date(north, apart):
    for family in apart:
        Family.objects.filter(pk=family.pk).update(closed_on=TODAY, closed_why="moved")
        refresh(open_file(Family.objects.get(pk=family.pk)))
    listing = Listing(north.educator, THREE_DATES, closed=False)

    assert {row.family.name for row in listing.lines(0, 100)} == {"Pago_Pago", "Okonjo-Lind", "Quist"}
    assert (listing.number, listing.closed_count) == (3, 2)


# Pages


def test_a_page_at_a_time_by_name(north, get, monkeypatch):
    monkeypatch.setattr(views, "PAGE", 2)
    for name in ("östby", "Abel", "Zell"):
        make_family(north, name, "Ilse")
    close(north, north.families[1])
    pages = [get(f"/families/?page={n}") for n in ("1", "2", "3", "x")]

    assert [names(p) for p in pages] == [
        ["Abel", "Okonjo-Lind"],
        ["östby", "Zell"],
        ["östby", "Zell"],
        ["Abel", "Okonjo-Lind"],
    ]
    assert [("Earlier families" in t, "More families" in t) for t in (p.content.decode() for p in pages[:2])] == [
        (False, True), (True, False)
    ]  # fmt: skip
    assert "4 families" in squeezed(pages[1].content.decode())
    assert "Page 2 of 2" in squeezed(pages[1].content.decode())


def test_the_next_page_keeps_the_closed_ones(north, get, monkeypatch):
    monkeypatch.setattr(views, "PAGE", 1)
    close(north, north.families[1])
    first = get("/families/?closed=yes")

    assert 'href="/families/?closed=yes&amp;page=2"' in first.content.decode()
    assert names(get("/families/?closed=yes&page=2")) == ["Quist"]
    assert 'rel="next"' not in get().content.decode()


def test_two_of_one_name_stand_on_one_page_each(north, get, monkeypatch):
    monkeypatch.setattr(views, "PAGE", 1)
    twin = make_family(north, "Quist", "Ilse")
    shown = [get(f"/families/?page={n}").context["rows"][0].family for n in (1, 2, 3)]

    assert shown == [north.family, north.families[1], twin]


def test_what_is_planned_is_told_of_the_page_and_says_so(north, get, monkeypatch):
    keep(north.educator, north.families[1], "appointment", **appointment_body(north.families[1].caregivers.first()))
    whole = squeezed(get().content.decode())
    monkeypatch.setattr(views, "PAGE", 1)
    first, second = (squeezed(get(f"/families/?page={n}").content.decode()) for n in (1, 2))

    assert "Next together 21 May, 10:00 Tube change" in whole
    assert "Next together, with the families on this page" in first
    assert "Nothing is planned with the families on this page." in first
    assert "Appointments with other families are on the other pages of this list. 21 May, 10:00 Tube change" in second


def test_a_look_at_a_page_is_logged_with_its_families(north, get, monkeypatch):
    monkeypatch.setattr(views, "PAGE", 1)
    get()
    entry = Entry.objects.order_by("-pk")[0]

    assert (entry.view, entry.words) == ("families", {"families": 1})


# Closed, handed over, not worked out


def test_one_that_was_handed_over_says_so_and_lapses_no_more(north, get, taken):  # noqa: F811
    sign_off_suction(north, north.mother)
    taken()
    text = squeezed(get().content.decode())

    assert "Okonjo-Lind Ilse Okonjo-Lind Handed over Handed over to" in text
    assert "Suctioning" not in text


def test_only_their_own_are_listed_and_counted(north, get):
    north.organisation.assigned_only = True
    north.organisation.save()
    north.family.assignments.update(until=NOW)
    answer = get()

    assert names(answer) == ["Quist"]
    assert (answer.context["number"], answer.context["waiting"]) == (1, 0)


@pytest.mark.parametrize("left", [older, emptied])
def test_one_that_waits_is_announced(north, get, left):
    left(north.family)

    assert "1 family is not worked out yet and may be missing here." in squeezed(get().content.decode())


def test_nothing_worked_out_is_no_empty_list(north, get):
    emptied(*north.families)
    text = squeezed(get().content.decode())

    assert "2 families are not worked out yet and may be missing here." in text
    assert "No families yet" not in text
    assert "No family is open now" not in text


def test_nobody_s_families(db, now, get):
    answer = get(who=MemberFactory(organisation=OrganisationFactory()))

    assert (names(answer), answer.context["waiting"]) == ([], 0)


# Cost


def queries(client, address):
    client.get(address)
    with CaptureQueriesContext(connection) as asked:
        client.get(address)
    return len(asked)


def copies(home, first, last):
    """As many more families with a file each; every third would fall, and has an appointment."""
    for n in range(first, last):
        family = make_family(home, f"Copy {n:05}", "Ilse")
        if n % 3 == 0:
            family = Family.objects.get(pk=family.pk)
            make_ready(home, family)
            keep(home.educator, family, "appointment", **appointment_body(family.caregivers.first()))


def test_the_same_number_of_questions_with_10_and_60_families(north, signed_in):
    client = signed_in(north.educator)
    addresses = ("/families/", "/families/?closed=yes")
    copies(north, 0, 8)
    few = [queries(client, address) for address in addresses]
    copies(north, 8, 58)
    many = [queries(client, address) for address in (*addresses, "/families/?page=2")]

    assert many == [*few, few[0]]


def test_three_dates_at_once_cost_as_much_as_one(north, signed_in):
    make_family(north, "Third", "Ilse")
    with time_machine.travel(THREE_DATES, tick=False):
        client = signed_in(north.educator)
        one = queries(client, "/families/")
        for zone, name in zip(APART, ("Okonjo-Lind", "Quist", "Third"), strict=True):
            Family.objects.filter(organisation=north.organisation, name=name).update(time_zone=zone)

        assert queries(client, "/families/") == one > 0
