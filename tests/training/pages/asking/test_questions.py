"""The fifteen questions: every link is walked, and what stands behind it answers."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils.html import escape

from tests.cast import NOW, TODAY, at, authorise, show, sign_off_suction, write
from training.log.models import Entry
from training.pages.asking import views
from training.pages.asking.questions import NOBODY, TITLES, questions
from training.people.models import Assignment, Organisation
from training.standing import entries_over
from training.standing.entries_over import ASKED
from training.standing.models import BoardSpan, Trouble


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def supervisor(north, signed_in):
    return signed_in(north.supervisor)


def lines(client, slug):
    return client.get(reverse("answered", args=[slug])).context["lines"]


def test_there_are_fifteen_in_order():
    assert [q.number for q in questions(TODAY)] == list(range(1, 16))


def test_each_is_answered_or_says_why_not():
    assert [q.number for q in questions(TODAY) if not q.ways and not q.instead] == []


def test_every_list_has_its_title():
    assert TITLES.keys() == ASKED.keys()


@pytest.mark.parametrize(
    ("slug", "said"),
    [
        ("entries", "No entry was late, from paper, corrected or decided about in the 90 days through 14 May 2026."),
        ("incidents", "No emergency at home was written down in the year through 14 May 2026."),
        ("kit", "No kit, equipment, home or papers were checked in the 90 days through 14 May 2026."),
        ("holds", "Nobody is on hold or withdrawn on 14 May 2026."),
        ("authorisations", "No authorisation has its last day within 60 days of 14 May 2026, before or after."),
        ("rechecks", "No care plan entry and no recheck was written down in the 90 days through 14 May 2026."),
        ("outside", "No evidence from outside and no hand-over was written down in the year through 14 May 2026."),
    ],
)
def test_an_empty_answer_says_what_was_asked_and_when(north, supervisor, slug, said):
    for family in north.families:
        write(north.supervisor, family, "closing", NOW, why="gone_home", on=TODAY.isoformat(), note="x")

    assert f'<p class="r-empty">{said}</p>' in supervisor.get(reverse("answered", args=[slug])).content.decode()


def test_every_list_has_its_empty_answer():
    assert NOBODY.keys() == ASKED.keys()


@pytest.mark.parametrize("role", ["supervisor", "administrator", "auditor"])
def test_every_link_leads_to_its_answer_in_two_taps(north, signed_in, role):
    client = signed_in(getattr(north, role))
    assert f'href="{reverse("questions")}"' in client.get(reverse("families")).content.decode()
    page = client.get(reverse("questions"))
    ways = [way for q in page.context["questions"] for way in q.ways]

    assert [way.url for way in ways if client.get(way.url).status_code != 200] == []
    assert all(f'href="{escape(way.url)}"' in page.content.decode() for way in ways)


def way_to(client, number, title):
    found = next(q for q in client.get(reverse("questions")).context["questions"] if q.number == number)
    return next(way.url for way in found.ways if str(way.title).startswith(title))


def test_the_only_cover_leads_to_the_families_with_one_person_for_the_nights(north, supervisor):
    first, second = north.families
    BoardSpan.objects.filter(family=first).update(single=True)
    BoardSpan.objects.filter(family=second).update(single=False)

    page = supervisor.get(way_to(supervisor, 2, "Families with one person")).content.decode()

    assert reverse("family", args=[first.public_id]) in page
    assert reverse("family", args=[second.public_id]) not in page


def test_below_the_team_rule_leaves_out_who_needs_nothing_and_keeps_exceptions(north, supervisor):
    first, second = north.families
    BoardSpan.objects.filter(family=first).update(rank=Trouble.EXCEPTION)
    BoardSpan.objects.filter(family=second).update(rank=Trouble.NONE)

    for title in ("Families that need attention", "In 30 days"):
        page = supervisor.get(way_to(supervisor, 1, title)).content.decode()
        assert reverse("family", args=[first.public_id]) in page
        assert reverse("family", args=[second.public_id]) not in page


def test_a_question_nobody_asks_is_not_found(supervisor):
    assert supervisor.get(reverse("answered", args=["weather"])).status_code == 404


def put_hold(home, through, on=TODAY):
    return write(home.supervisor, home.family, "hold", NOW, caregiver=home.mother.case_id, skill="suction",
                 on=on.isoformat(), through=through, reason="x")  # fmt: skip


@pytest.mark.parametrize(
    ("first", "through", "is_there"),
    [
        (TODAY, None, True),
        (TODAY, TODAY.isoformat(), True),
        (TODAY - timedelta(days=3), (TODAY - timedelta(days=1)).isoformat(), False),
        (TODAY + timedelta(days=1), None, False),
    ],
)
def test_a_hold_is_listed_while_it_is_in_force(north, supervisor, first, through, is_there):
    put_hold(north, through, first)

    assert bool(lines(supervisor, "holds")) is is_there


def withdraw(home, days_ago, skill="suction"):
    day = TODAY - timedelta(days=days_ago)
    write(home.supervisor, home.family, "withdrawal", at(day, 6), caregiver=home.mother.case_id, skill=skill,
          on=day.isoformat(), time="07:00", reason="x", cover="x")  # fmt: skip


def withdrawals(client):
    return [line["on"] for line in lines(client, "holds") if line["kind"] == "Withdrawal"]


def test_a_withdrawal_is_listed_until_the_skill_is_signed_off_again(north, supervisor):
    sign_off_suction(north, north.mother, TODAY - timedelta(days=20))
    withdraw(north, 10)
    show(north, north.mother, "suction", TODAY - timedelta(days=4))
    assert len(withdrawals(supervisor)) == 1

    show(north, north.mother, "suction", TODAY - timedelta(days=2))
    assert withdrawals(supervisor) == []


def test_what_was_shown_later_on_its_own_day_counts_for_the_new_sign_off(north, supervisor):
    show(north, north.mother, "suction", TODAY - timedelta(days=12))
    withdraw(north, 6)
    sign_off_suction(north, north.mother, TODAY - timedelta(days=4))

    assert withdrawals(supervisor) == []


def test_of_two_withdrawals_the_one_after_the_new_sign_off_stays(north, supervisor):
    withdraw(north, 10)
    sign_off_suction(north, north.mother, TODAY - timedelta(days=4))
    withdraw(north, 1)

    assert withdrawals(supervisor) == [TODAY - timedelta(days=1)]


def test_another_skill_or_caregiver_signed_off_ends_no_withdrawal(north, supervisor):
    withdraw(north, 10, "hands")
    sign_off_suction(north, north.mother, TODAY - timedelta(days=4))
    show(north, north.father, "hands", TODAY - timedelta(days=4))

    assert len(withdrawals(supervisor)) == 1


def test_a_hold_on_what_was_regained_does_not_bring_the_withdrawal_back(north, supervisor):
    withdraw(north, 10)
    sign_off_suction(north, north.mother, TODAY - timedelta(days=4))
    put_hold(north, None, TODAY - timedelta(days=4))

    assert [line["kind"] for line in lines(supervisor, "holds")] == ["Hold"]


def test_what_was_voided_is_not_listed(north, supervisor):
    hold = put_hold(north, None)
    write(north.supervisor, north.family, "void", NOW, record=str(hold.intent), reason="x")

    assert lines(supervisor, "holds") == []


@pytest.mark.parametrize(("days", "is_there"), [(-61, False), (-60, True), (0, True), (60, True), (61, False)])
def test_an_authorisation_near_its_last_day(north, supervisor, days, is_there):
    authorise(north, north.family, "emergency", TODAY - timedelta(days=70), TODAY + timedelta(days=days))

    assert bool(lines(supervisor, "authorisations")) is is_there


def test_an_entry_of_its_own_day_is_not_late(north, supervisor):
    show(north, north.mother, "hands", TODAY - timedelta(days=1))

    assert lines(supervisor, "entries") == []


def test_a_late_entry_is_listed_with_who_signed_it(north, supervisor):
    from tests.cast import demonstration

    body = demonstration(north.mother, "hands", TODAY - timedelta(days=3), north.educator)
    write(north.educator, north.family, "demonstration", NOW, **body)
    line = lines(supervisor, "entries")[0]

    assert (line["about"], line["by"]) == ("Hand hygiene", north.educator.signed_name)


def test_a_kit_s_last_check(north, supervisor):
    write(north.educator, north.family, "item", NOW, item="kit", on=TODAY.isoformat(), note="")

    assert lines(supervisor, "kit")[0]["about"] == "Emergency kit checked"


def test_it_names_many_families_by_number_in_the_log(north, supervisor):
    sign_off_suction(north, north.mother)
    put_hold(north, None)
    lines(supervisor, "holds")
    entry = Entry.objects.filter(kind=Entry.Kind.READ).last()

    assert (entry.words, entry.about_name) == ({"families": 1}, "")


def test_another_house_s_entries_are_not_there(cast, signed_in):
    put_hold(cast.north, None)

    assert lines(signed_in(cast.south.supervisor), "holds") == []


# However many there are --------------------------------------------------------------------------------------


@pytest.fixture
def busy(north):
    """Something that answers each question, and something beside it that does not."""
    sign_off_suction(north, north.mother, TODAY - timedelta(days=20))
    withdraw(north, 10)
    withdraw(north, 3, "hands")
    for days in (0, 1, 2):
        authorise(north, north.family, "emergency", TODAY - timedelta(days=70), TODAY + timedelta(days=days))
    hold = put_hold(north, None)
    write(north.supervisor, north.family, "void", NOW, record=str(hold.intent), reason="x")
    put_hold(north, None)
    show(north, north.mother, "suction", TODAY - timedelta(days=4))
    return north


@pytest.mark.parametrize("slug", ASKED)
@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_a_few_at_a_time_are_the_same(busy, supervisor, monkeypatch, slug, at_once):
    whole = lines(supervisor, slug)
    monkeypatch.setattr(entries_over, "AT_ONCE", at_once)

    assert lines(supervisor, slug) == whole
    assert slug not in ("holds", "authorisations") or len(whole) >= 3
    assert [line["on"] for line in whole] == sorted((line["on"] for line in whole), reverse=True)


def test_more_than_a_page_shows_are_told(busy, supervisor, monkeypatch):
    monkeypatch.setattr(entries_over, "AT_MOST", 2)
    page = supervisor.get(reverse("answered", args=["authorisations"]))

    assert (len(page.context["lines"]), page.context["more"], page.context["cut"]) == (2, True, 0)


def test_what_was_left_unread_is_said_and_nothing_is_denied(busy, supervisor, monkeypatch):
    for module in (entries_over, views):
        monkeypatch.setattr(module, "LOOKED_THROUGH", 1)
    put_hold(busy, TODAY.isoformat())
    there = supervisor.get(reverse("answered", args=["holds"]))
    monkeypatch.setattr(entries_over, "LOOKED_THROUGH", 0)
    none = supervisor.get(reverse("answered", args=["holds"])).content.decode()

    assert (len(there.context["lines"]), there.context["cut"]) == (1, 1)
    assert "Only the newest 1 entries" in there.content.decode()
    assert "Nobody is on hold" not in none
    assert "Older ones may belong here too" in none


@pytest.mark.parametrize("slug", ASKED)
def test_as_many_statements_for_two_families_as_for_one(busy, supervisor, slug, django_assert_max_num_queries):
    address = reverse("answered", args=[slug])
    with CaptureQueriesContext(connection) as asked:
        supervisor.get(address)
    _first, second = busy.families
    for days in (0, 1):
        authorise(busy, second, "emergency", TODAY - timedelta(days=70), TODAY + timedelta(days=days))

    with django_assert_max_num_queries(len(asked)):
        supervisor.get(address)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL reads so small a table whole")
def test_records_of_a_kind_are_read_in_the_index_s_order(busy, supervisor):
    with CaptureQueriesContext(connection) as asked:
        supervisor.get(reverse("answered", args=["kit"]))
    reads = [query["sql"] for query in asked if '"kind" = ' in query["sql"] and "LIMIT" in query["sql"]]
    with connection.cursor() as cursor:
        plans = [cursor.execute(f"EXPLAIN QUERY PLAN {sql}").fetchall() for sql in reads]

    assert len(plans) == 2
    assert all("record_by_kind" in str(plan) and "TEMP B-TREE" not in str(plan) for plan in plans)


def test_who_sees_assigned_families_only_finds_nothing_of_the_others(busy, signed_in):
    Organisation.objects.filter(pk=busy.organisation.pk).update(assigned_only=True)
    educator = signed_in(busy.educator)
    assert len(lines(educator, "holds")) == 3  # assigned, since they wrote in it
    Assignment.objects.filter(member=busy.educator).update(until=F("since"))

    assert lines(educator, "holds") == []
