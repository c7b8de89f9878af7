"""The log of a 24-hour stay: what is refused, who covered how many hours, where nobody did."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.cast import NOW, TODAY, show, write
from tests.training.kept import duty_body, end_body, keep, start_body, stepped_in_body
from tests.training.test_other_kinds import refused
from training.standing.file import open_file
from training.standing.stays import stays_of

TUE, WED, THU = "2026-05-12", "2026-05-13", "2026-05-14"


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def start(north):
    return keep(north.educator, north.family, "stay", **start_body())


@pytest.fixture
def log(north, start):
    """Write the next entry of the stay."""
    return lambda body: keep(north.educator, north.family, "stay", **body)


def duty(home, start, who, begins, ends):
    return duty_body(start, [getattr(home, name) for name in who.split()], begins, ends)


def stay(home):
    return stays_of(open_file(home.family).records, home.family.zone)[0]


def covered(home):
    names = {home.mother.case_id: "mother", home.father.case_id: "father"}
    return {names[who]: time / timedelta(hours=1) for who, time in stay(home).covered().items()}


def gaps(home, now=NOW):
    zone = home.family.zone
    return [(f"{a.astimezone(zone):%d %H:%M}", f"{b.astimezone(zone):%d %H:%M}") for a, b in stay(home).gaps(now)]


def test_a_stay_without_an_end_goes_on(north, start):
    assert (stay(north).ended, gaps(north)) == (None, [("12 09:00", "14 10:00")])


def test_hours_are_counted_for_each_on_duty(north, start, log):
    log(duty(north, start, "mother", (TUE, "09:00"), (TUE, "21:30")))
    log(duty(north, start, "father", (TUE, "21:00"), (WED, "09:00")))
    log(end_body(start))

    assert covered(north) == {"mother": 12.5, "father": 12}
    assert gaps(north) == []


def test_two_on_duty_together_are_each_counted_whole(north, start, log):
    log(duty(north, start, "mother father", (TUE, "09:00"), (TUE, "12:00")))

    assert covered(north) == {"mother": 3, "father": 3}


def test_a_gap_is_named(north, start, log):
    log(duty(north, start, "father", (TUE, "22:00"), (WED, "08:00")))
    log(duty(north, start, "mother", (TUE, "10:00"), (TUE, "21:15")))
    log(end_body(start))

    assert gaps(north) == [("12 09:00", "12 10:00"), ("12 21:15", "12 22:00"), ("13 08:00", "13 09:00")]


def test_a_longer_duty_hides_the_end_of_a_shorter_one(north, start, log):
    log(duty(north, start, "mother", (TUE, "09:00"), (WED, "09:00")))
    log(duty(north, start, "father", (TUE, "10:00"), (TUE, "11:00")))
    log(end_body(start))

    assert gaps(north) == []


def test_a_voided_entry_covers_nothing(north, start, log):
    made = log(duty(north, start, "mother", (TUE, "09:00"), (TUE, "21:00")))
    write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="wrong")

    assert covered(north) == {}
    assert made in stay(north).parts  # it stays visible


def test_a_voided_end_leaves_the_stay_open_for_another(north, start, log):
    made = log(end_body(start))
    write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="wrong")
    log(end_body(start, time="10:00"))

    assert stay(north).ended == datetime(2026, 5, 13, 8, tzinfo=UTC)


def test_the_night_the_clocks_change_is_an_hour_shorter(north):
    """29 March 2026 in Oslo: 02:00 is 03:00, so from nine to nine are 23 hours."""
    start = keep(north.educator, north.family, "stay", **start_body(on="2026-03-28"))
    body = duty(north, start, "mother", ("2026-03-28", "09:00"), ("2026-03-29", "09:00"))
    keep(north.educator, north.family, "stay", **body)

    assert covered(north) == {"mother": 23}


def test_each_time_staff_stepped_in_is_in_order(north, start, log):
    late = log(stepped_in_body(start, on=WED, time="03:00"))
    early = log(stepped_in_body(start))

    assert [r for _, r in stay(north).interventions] == [early, late]


@pytest.mark.parametrize(
    ("changes", "paths"),
    [
        ({"on": "2026-05-15"}, ["on"]),
        ({"time": "25:00"}, ["time"]),
        ({"place": ""}, ["place"]),
        ({"skill": "juggling"}, ["skill"]),
        ({"part": "middle"}, ["part"]),
    ],
)
def test_a_start_that_cannot_be_so_is_refused(north, changes, paths):
    assert refused(north.educator, north.family, "stay", **start_body(**changes)) == paths


@pytest.mark.parametrize(
    ("who", "begins", "ends", "paths"),
    [
        ("", (TUE, "09:00"), (TUE, "10:00"), ["who"]),
        ("mother mother", (TUE, "09:00"), (TUE, "10:00"), ["who"]),
        ("mother", (TUE, "08:59"), (TUE, "10:00"), ["time"]),
        ("mother", (TUE, "10:00"), (TUE, "10:00"), ["until_time"]),
        ("mother", (TUE, "10:00"), (TUE, "09:30"), ["until_time"]),
        ("mother", (TUE, "10:00"), ("soon", "11:00"), ["until_time"]),
        ("mother", (THU, "09:00"), (THU, "10:01"), ["until_time"]),
    ],
)
def test_a_duty_lies_within_the_stay(north, start, who, begins, ends, paths):
    assert refused(north.educator, north.family, "stay", **duty(north, start, who, begins, ends)) == paths


@pytest.mark.parametrize(
    ("who", "begins", "ends", "overlaps"),
    [
        ("mother", "11:59", "13:00", True),
        ("mother", "12:00", "13:00", False),
        ("mother", "09:30", "10:00", False),
        ("mother", "09:30", "10:01", True),
        ("mother father", "11:00", "11:30", True),
        ("father", "11:00", "11:30", False),
    ],
)
def test_nobody_is_on_duty_twice_at_once(north, start, log, who, begins, ends, overlaps):
    log(duty(north, start, "mother", (TUE, "10:00"), (TUE, "12:00")))
    body = duty(north, start, who, (TUE, begins), (TUE, ends))
    if overlaps:
        assert refused(north.educator, north.family, "stay", **body) == ["who"]
    else:
        assert log(body).data["who"] == body["who"]


@pytest.mark.parametrize(
    ("changes", "paths"),
    [
        ({"reason": ""}, ["reason"]),
        ({"by_whom": " "}, ["by_whom"]),
        ({"time": "08:59"}, ["time"]),
        ({"on": WED, "time": "09:00"}, None),
        ({"on": WED, "time": "09:01"}, ["time"]),
        ({"record": "x"}, ["record"]),
    ],
)
def test_staff_step_in_between_start_and_end(north, start, log, changes, paths):
    log(end_body(start))
    body = stepped_in_body(start, **changes)
    if paths:
        assert refused(north.educator, north.family, "stay", **body) == paths
    else:
        assert log(body).kind == "stay"


@pytest.mark.parametrize("time", ["09:00", "08:00"])
def test_an_end_comes_after_its_start(north, start, time):
    assert refused(north.educator, north.family, "stay", **end_body(start, on=TUE, time=time)) == ["time"]


def test_an_end_comes_after_everything_that_is_written(north, start, log):
    log(stepped_in_body(start))

    assert refused(north.educator, north.family, "stay", **end_body(start, on=TUE, time="22:14")) == ["time"]


def test_a_stay_ends_once(north, start, log):
    log(end_body(start))

    assert refused(north.educator, north.family, "stay", **end_body(start)) == ["record"]


def test_a_duty_does_not_reach_past_the_end(north, start, log):
    log(end_body(start))
    body = duty(north, start, "mother", (WED, "08:00"), (WED, "09:01"))

    assert refused(north.educator, north.family, "stay", **body) == ["until_time"]


def test_a_voided_stay_takes_no_more_entries(north, start):
    write(north.supervisor, north.family, "void", NOW, record=str(start.intent), reason="wrong")

    assert refused(north.educator, north.family, "stay", **end_body(start)) == ["record"]


def test_another_record_is_no_stay(north):
    shown = show(north, north.mother, "hands", TODAY)

    assert refused(north.educator, north.family, "stay", **end_body(shown)) == ["record"]


def test_a_stay_of_another_family_is_none_here(north, start):
    assert refused(north.educator, north.families[1], "stay", **end_body(start)) == ["record"]


def test_each_stay_has_its_own_log(north, start, log):
    other = keep(north.educator, north.family, "stay", **start_body(on=WED))
    log(stepped_in_body(start))

    found = stays_of(open_file(north.family).records, north.family.zone)
    assert [(s.start.number, len(s.parts)) for s in found] == [(other.number, 0), (start.number, 1)]
