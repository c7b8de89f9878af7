"""The stay's log on the screen: opened, written on, closed, and added up."""

from __future__ import annotations

import re

import pytest

from tests.cast import NOW, write
from tests.training.kept import duty_body, end_body, keep, start_body, stepped_in_body
from tests.training.pages.setup.acts import count, errors, last, of, send

TUE, WED = "2026-05-12", "2026-05-13"


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def start(north):
    return keep(north.educator, north.family, "stay", **start_body(skill="suction"))


@pytest.fixture
def post(north, signed_in):
    return lambda page, more=None, role="educator", **fields: send(
        signed_in(getattr(north, role)), of(north.family, page, **(more or {})), **fields
    )


@pytest.fixture
def text(north, signed_in):
    def get(start, role="educator", whole=False):
        answer = signed_in(getattr(north, role)).get(of(north.family, "stay", number=start.number))
        body = answer.content.decode()
        return body if whole else re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))

    return get


def test_a_stay_is_opened_and_leads_to_its_log(north, post):
    answer = post("stay-new", on=TUE, time="09:00", place="Ward 3")
    made = last(north.family)

    assert (made.data["part"], made.data["place"], made.data["skill"]) == ("start", "Ward 3", None)
    assert answer.url == of(north.family, "stay", number=made.number)


def test_a_whole_day_is_written_down_as_it_happens(north, start, post, text):
    named = {"number": start.number}
    who = {"who": [north.mother.case_id], "on": TUE, "time": "09:00", "until_on": TUE, "until_time": "21:30"}
    post("stay-duty", named, **who)
    post("stay-help", named, on=TUE, time="22:15", reason="The oxygen fell.", by_whom="A nurse")
    answer = post("stay-end", named, on=WED, time="09:00")

    assert answer.url == of(north.family, "stay", number=start.number)
    assert [r.data["part"] for r in type(start).objects.of_chain(north.family.public_id).filter(kind="stay")] == [
        "start",
        "duty",
        "intervention",
        "end",
    ]
    assert "Ended 13 May 2026, 09:00, after 24 hours." in text(start)
    assert f"{north.mother.full_name} 12 hours 30 minutes" in text(start)
    assert "11 hours 30 minutes : from 12 May, 21:30 to 13 May, 09:00." in text(start)
    assert "Staff stepped in 1 time." in text(start)
    assert "Staff stepped in: The oxygen fell. (A nurse)" in text(start)


def test_the_next_duty_starts_at_the_first_gap(north, start, signed_in):
    keep(north.educator, north.family, "stay", **duty_body(start, [north.mother], (TUE, "09:00"), (TUE, "15:00")))
    form = signed_in(north.educator).get(of(north.family, "stay-duty", number=start.number)).context["form"]

    assert (str(form["on"].value()), f"{form['time'].value():%H:%M}") == (TUE, "15:00")
    assert (str(form["until_on"].value()), f"{form['until_time'].value():%H:%M}") == ("2026-05-14", "10:00")


def test_an_overlap_stands_at_its_field(north, start, post):
    body = duty_body(start, [north.mother], (TUE, "09:00"), (TUE, "15:00"))
    keep(north.educator, north.family, "stay", **body)
    again = {k: body[k] for k in ("who", "on", "time", "until_on", "until_time")}

    assert list(errors(post("stay-duty", {"number": start.number}, **again))) == ["who"]


def test_a_gap_is_none_where_somebody_was_always_there(north, start, text):
    keep(north.educator, north.family, "stay", **duty_body(start, [north.mother], (TUE, "09:00"), (WED, "09:00")))
    keep(north.educator, north.family, "stay", **end_body(start))

    assert "No gap: somebody was on duty all the time." in text(start)


def test_its_demonstration_is_recorded_for_who_was_on_duty_once_it_ended(north, start, text):
    keep(north.educator, north.family, "stay", **duty_body(start, [north.mother], (TUE, "09:00"), (WED, "09:00")))
    assert "/start/" not in text(start, whole=True)
    keep(north.educator, north.family, "stay", **end_body(start))
    address = (
        f"people/{north.mother.public_id}/skills/suction/start/?began=2026-05-12&amp;on=2026-05-13&amp;time=09%3A00"
    )

    assert address in text(start, whole=True)
    assert str(north.father.public_id) not in text(start, whole=True)


def test_a_stay_for_no_skill_leads_to_no_demonstration(north, text):
    start = keep(north.educator, north.family, "stay", **start_body())
    keep(north.educator, north.family, "stay", **duty_body(start, [north.mother], (TUE, "09:00"), (WED, "09:00")))
    keep(north.educator, north.family, "stay", **end_body(start))

    assert "/start/" not in text(start, whole=True)


def test_a_voided_entry_is_marked_in_the_log(north, start, text):
    made = keep(north.educator, north.family, "stay", **stepped_in_body(start))
    write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="Another night")

    assert "VOIDED" in text(start)
    assert "Staff stepped in 0 times." in text(start)


def test_a_late_entry_of_the_log_carries_both_dates(north, start, text):
    keep(north.educator, north.family, "stay", **stepped_in_body(start))

    assert "12 May 2026, 22:15 recorded 14 May 2026" in text(start)


def test_an_auditor_reads_and_is_offered_nothing(north, start, text):
    assert "Ward 3" in text(start, "auditor")
    assert "/duty/" not in text(start, "auditor", whole=True)


@pytest.mark.parametrize("page", ["stay-duty", "stay-help", "stay-end"])
def test_nothing_is_entered_into_a_voided_stay(north, start, post, page):
    write(north.supervisor, north.family, "void", NOW, record=str(start.intent), reason="Another family")

    assert post(page, {"number": start.number}).status_code == 404


@pytest.mark.parametrize("number", [1, 999])
def test_another_record_is_no_stay(north, signed_in, number):
    assert signed_in(north.educator).get(of(north.family, "stay", number=number)).status_code == 404


@pytest.mark.parametrize("page", ["stay", "stay-duty"])
def test_a_stay_of_another_family_is_not_found(north, start, signed_in, page):
    assert signed_in(north.educator).get(of(north.families[1], page, number=start.number)).status_code == 404


def test_the_list_names_every_stay(north, start, signed_in):
    keep(north.educator, north.family, "stay", **start_body(on=WED))
    answer = signed_in(north.auditor).get(of(north.family, "stays")).content.decode()

    assert [n in answer for n in ("Began 12 May 2026, 09:00", "Began 13 May 2026, 09:00", "It goes on.")] == [True] * 3


def test_a_record_of_it_leads_to_the_whole_stay(north, start, signed_in):
    made = keep(north.educator, north.family, "stay", **stepped_in_body(start))
    answer = signed_in(north.auditor).get(of(north.family, "record", number=made.number)).content.decode()

    assert of(north.family, "stay", number=start.number) in answer


def test_a_family_s_page_leads_to_the_stay_that_goes_on(north, start, signed_in):
    client = signed_in(north.educator)
    assert of(north.family, "stay", number=start.number) in client.get(of(north.family, "family")).content.decode()
    keep(north.educator, north.family, "stay", **end_body(start))
    assert of(north.family, "stay", number=start.number) not in client.get(of(north.family, "family")).content.decode()


def test_who_may_not_record_enters_none(north, start, post):
    before = count(north.family)

    assert post("stay-end", {"number": start.number}, role="auditor", on=WED, time="09:00").status_code == 403
    assert count(north.family) == before
