"""What members may assess: many at once, its end, its history; and what an attempt becomes by it."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest
from django.urls import reverse

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, show
from tests.training.pages.setup.acts import errors, said, send
from training.log.models import Entry
from training.people.models import Member
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def client(cast, client):
    client.force_login(cast.north.administrator.user)
    return client


def stated(home):
    return [r for r in Record.objects.of_chain(home.organisation.public_id) if r.kind == "qualification"]


def many(client, who, skills, **changes):
    fields = {"members": [m.observer_id for m in who], "skills": skills, "from_day": "2026-05-01", **changes}
    return send(client, reverse("qualify-many"), **fields)


def end(client, record, **changes):
    fields = {"last_day": "2026-05-10", "reason": "Moved to another ward", **changes}
    return send(client, end_address(record), **fields)


def end_address(record):
    return reverse("qualification-end", args=[record.data["observer"], record.number])


def counts(home, made):
    return FamilyOn(open_file(home.family), TODAY).judged(made).counts


# Many at once


def test_each_member_and_skill_is_a_record_under_one_signature(cast, client):
    home = cast.north
    before = len(stated(home))
    many(client, [home.auditor, home.administrator], ["hands", "suction"], through="2026-12-31")
    made = stated(home)[before:]

    assert {(r.data["observer"], r.data["skill"]) for r in made} == {
        (m.observer_id, skill) for m in (home.auditor, home.administrator) for skill in ("hands", "suction")
    }
    assert {tuple(r.data["signed"]["together"]) for r in made} == {tuple(str(r.intent) for r in made)}
    assert {(r.data["from"], r.data["through"]) for r in made} == {("2026-05-01", "2026-12-31")}


def test_the_same_post_twice_is_the_same_records(cast, client):
    intent = str(uuid.uuid4())
    many(client, [cast.north.auditor], ["hands", "suction"], intent=intent)
    after = len(stated(cast.north))
    many(client, [cast.north.auditor], ["hands", "suction"], intent=intent)

    assert len(stated(cast.north)) == after


def test_every_skill_holds_the_others(cast, client):
    before = len(stated(cast.north))
    many(client, [cast.north.auditor], ["*", "hands"])

    assert [r.data["skill"] for r in stated(cast.north)[before:]] == [None]


def test_each_is_in_the_log_by_name(cast, client):
    many(client, [cast.north.auditor], ["hands", "suction"])
    words = [e.words for e in Entry.objects.filter(what="qualification").order_by("-pk")[:2]]

    assert {w["skill"] for w in words} == {"hands", "suction"}
    assert {w["member"] for w in words} == {cast.north.auditor.signed_name}


def test_it_says_who_may_now_assess_what(cast, client):
    answer = many(client, [cast.north.auditor, cast.north.administrator], ["hands"])

    assert said(answer).startswith("From 1 May 2026 these may assess Hand hygiene: ")
    assert cast.north.auditor.signed_name in said(answer)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"members": None}, "members"),
        ({"skills": None}, "skills"),
        ({"skills": ["nothing"]}, "skills"),
        ({"through": "2026-04-01"}, "through"),
        ({"password": "wrong"}, "password"),
    ],
)
def test_a_bad_one_writes_nothing(cast, client, changes, field):
    before = len(stated(cast.north))
    fields = {"skills": ["hands"], **changes}
    answer = many(client, [cast.north.auditor], **fields)

    assert (list(errors(answer)), len(stated(cast.north))) == ([field], before)


def test_nobody_of_another_house_is_named(cast, client):
    assert list(errors(many(client, [cast.south.educator], ["hands"]))) == ["members"]


def test_who_has_left_is_no_choice(cast, client):
    Member.objects.filter(pk=cast.north.auditor.pk).update(through=TODAY - timedelta(days=1))

    assert list(errors(many(client, [cast.north.auditor], ["hands"]))) == ["members"]


@pytest.mark.parametrize(
    ("role", "status"), [("educator", 403), ("supervisor", 200), ("administrator", 200), ("auditor", 403)]
)
def test_who_may(cast, client, role, status):
    record = stated(cast.north)[0]
    client.force_login(getattr(cast.north, role).user)

    assert {client.get(reverse("qualify-many")).status_code, client.get(end_address(record)).status_code} == {status}


@pytest.mark.parametrize(("role", "is_led"), [("supervisor", False), ("administrator", True)])
def test_only_who_may_open_the_account_is_led_there(cast, client, role, is_led):
    client.force_login(getattr(cast.north, role).user)
    other = cast.north.educator.public_id
    read = client.get(reverse("qualify", args=[other])).content.decode()

    assert (reverse("member-account", args=[other]) in read) is is_led


# Its end


def test_what_was_assessed_through_the_last_day_stays_and_later_is_practice(cast, client):
    home = cast.north
    before = show(home, home.mother, "hands", date(2026, 5, 10))
    later = show(home, home.father, "hands", date(2026, 5, 11))
    end(client, stated(home)[0])

    assert (counts(home, before), counts(home, later)) == (True, False)


def test_it_is_a_void_with_the_reason_and_what_still_holds(cast, client):
    home = cast.north
    first = stated(home)[0]
    end(client, first)
    void, rest = list(Record.objects.of_chain(home.organisation.public_id))[-2:]

    assert (void.kind, void.data["record"], void.data["reason"]) == ("void", str(first.intent), "Moved to another ward")
    assert {k: rest.data[k] for k in ("observer", "skill", "from", "through")} == {
        "observer": first.data["observer"],
        "skill": None,
        "from": first.data["from"],
        "through": "2026-05-10",
    }


def test_a_last_day_before_the_first_leaves_nothing_of_it(cast, client):
    home = cast.north
    made = show(home, home.mother, "hands", TODAY - timedelta(days=2))
    before = len(stated(home))
    end(client, stated(home)[0], last_day="2024-12-31")

    assert (len(stated(home)), counts(home, made)) == (before, False)


def test_the_same_end_twice_is_one(cast, client):
    first, intent = stated(cast.north)[0], str(uuid.uuid4())
    answers = [end(client, first, intent=intent).status_code for _ in range(2)]

    assert answers == [302, 302]
    assert Record.objects.filter(chain=cast.north.organisation.public_id, kind="void").count() == 1


def test_what_has_ended_is_not_ended_again(cast, client):
    first = stated(cast.north)[0]
    end(client, first)
    answer = end(client, first, last_day="2026-05-12")

    assert errors(answer)["last_day"] == ["This statement has ended already."]
    assert client.get(end_address(first)).status_code == 404


def test_the_deed_refuses_it_too(cast):
    home = cast.north
    words = {"qualification": stated(home)[0], "last_day": TODAY, "reason": "x", "by": home.supervisor, "at": NOW}
    deeds.end_qualification(intent=uuid.uuid4(), **words)
    with pytest.raises(RefusedError):
        deeds.end_qualification(intent=uuid.uuid4(), **words)


def test_it_does_not_become_longer_by_an_end(cast, client):
    end(client, stated(cast.north)[0])
    answer = end(client, stated(cast.north)[-1], last_day="2026-06-01")

    assert errors(answer)["last_day"] == ["It ends on 10 May 2026 already. State a longer one anew."]


def test_another_house_s_statement_is_not_found(cast, client):
    assert end(client, stated(cast.south)[0]).status_code == 404


# Its history


def test_the_member_s_page_tells_what_was_stated_and_what_became_of_it(cast, client):
    end(client, stated(cast.north)[0])
    found = client.get(reverse("qualify", args=[cast.north.educator.public_id])).context["history"]

    assert [(s.through, s.voided.reason if s.voided else None) for s in found] == [
        (date(2026, 5, 10), None),
        (None, "Moved to another ward"),
    ]
    assert found[1].voided.by == cast.north.administrator.signed_name


def test_the_list_of_members_tells_what_holds(cast, client):
    end(client, stated(cast.north)[0])
    rows = client.get(reverse("members")).context["rows"]
    (row,) = [r for r in rows if r["member"] == cast.north.educator]

    assert [s.through for s in row["statements"]] == [date(2026, 5, 10)]


# A form that was used before


def test_a_form_used_before_says_nothing_of_what_it_did_not_write(cast, client):
    """Back, another skill, sent again: nobody may read that somebody may assess what no record says."""
    intent = str(uuid.uuid4())
    many(client, [cast.north.auditor], ["hands"], intent=intent)
    after = len(stated(cast.north))
    answer = many(client, [cast.north.auditor], ["suction"], intent=intent)

    assert (answer.url, len(stated(cast.north))) == (reverse("qualify-many"), after)
    assert "Nothing was signed now" in said(answer)
    assert client.get(answer.url).context["form"]["intent"].value() != intent


@pytest.mark.parametrize("whose", ["family", "organisation"])
def test_what_another_record_was_signed_with_signs_nothing(cast, client, whose):
    home = cast.north
    chain = home.family.public_id if whose == "family" else home.organisation.public_id
    taken = str(Record.objects.of_chain(chain).first().intent)
    before = len(stated(home))
    stating = many(client, [home.auditor], ["suction"], intent=taken)
    ending = end(client, stated(home)[1], intent=taken)

    assert [a.url for a in (stating, ending)] == [reverse("qualify-many"), end_address(stated(home)[1])]
    assert "Nothing was signed now" in said(stating)
    assert "Nothing was signed now" in said(ending)
    assert len(stated(home)) == before
    assert not Record.objects.of_chain(home.organisation.public_id).filter(kind="void").exists()
