"""Calendar arithmetic, against published validity rules and an independent calendar (python-dateutil)."""

from datetime import date

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from competency.dates import LAST, BadPeriodError, Period, add_months, birthday, edges, month_end, next_day


@pytest.mark.parametrize(
    ("source", "start", "period", "last_day"),
    [
        ("14 CFR 61.57, facts 5.41", date(2024, 1, 1), "P90D", date(2024, 3, 31)),
        ("14 CFR 61.57, facts 5.41", date(2023, 1, 1), "P90D", date(2023, 4, 1)),
        ("14 CFR 61.57, facts 5.41", date(2024, 6, 15), "P90D", date(2024, 9, 13)),
        ("14 CFR 61.57, facts T32", date(2023, 12, 1), "P90D", date(2024, 2, 29)),
        ("American Red Cross card, facts 5.31", date(2024, 1, 3), "P2Y", date(2026, 1, 3)),
        ("American Red Cross card, facts 5.31", date(2024, 2, 29), "P2Y", date(2026, 2, 28)),
        ("twelve weeks, facts 5.55", date(2024, 11, 30), "P12W", date(2025, 2, 22)),
        ("42 CFR 484.80 (h)(1), facts W4", date(2024, 2, 20), "P14D", date(2024, 3, 5)),
        ("42 CFR 484.80 (h)(1), facts W4", date(2025, 2, 20), "P14D", date(2025, 3, 6)),
        ("42 CFR 484.80 (h)(2), facts W5", date(2024, 1, 10), "P60D", date(2024, 3, 10)),
        ("42 CFR 484.80 (h)(2), facts W5", date(2025, 1, 10), "P60D", date(2025, 3, 11)),
        ("42 CFR 418.76, facts 5.2 worked", date(2022, 2, 28), "P24M", date(2024, 2, 28)),
    ],
)
def test_a_period_ends_where_its_source_says(source, start, period, last_day):
    assert Period.parse(period).after(start) == last_day, source


@pytest.mark.parametrize(
    ("source", "start", "last_day"),
    [
        ("American Heart Association card, facts T29", date(2024, 1, 3), date(2026, 1, 31)),
        ("American Heart Association card, facts 5.30", date(2024, 1, 31), date(2026, 1, 31)),
        ("American Heart Association card, facts 5.30", date(2024, 2, 29), date(2026, 2, 28)),
        ("American Heart Association card, facts 5.30", date(2026, 10, 5), date(2028, 10, 31)),
        ("American Heart Association card, facts 5.30", date(2016, 6, 10), date(2018, 6, 30)),
        ("14 CFR 61.56 flight review, facts 5.40", date(2022, 3, 15), date(2024, 3, 31)),
        ("14 CFR 61.56 flight review, facts 5.40", date(2022, 2, 1), date(2024, 2, 29)),
        ("14 CFR 61.56 flight review, facts 5.40", date(2023, 12, 31), date(2025, 12, 31)),
    ],
)
def test_two_years_to_the_end_of_the_month(source, start, last_day):
    assert month_end(Period.parse("P2Y").after(start)) == last_day, source


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.integers(0, 240), st.integers(0, 800))
def test_periods_agree_with_an_independent_calendar(start, months, days):
    assert Period(months, days).after(start) == start + relativedelta(months=months, days=days)


@given(st.dates(date(1900, 1, 1), date(2200, 1, 1)), st.integers(1, 50))
def test_every_period_above_zero_leads_on(start, n):
    assert Period(months=n).after(start) > start
    assert Period(days=n).after(start) > start


def test_months_are_counted_from_the_original_day_never_from_a_clipped_one():
    assert Period.parse("P1M").then(Period.parse("P1M")).after(date(2025, 1, 31)) == date(2025, 3, 31)


def test_a_year_counted_four_times_reaches_the_leap_day_again():
    assert add_months(date(2024, 2, 29), 48) == date(2028, 2, 29)


@pytest.mark.parametrize(
    "text", ["", "P", "30D", "P-1D", "P1.5M", "PT1H", "P1D1M", "p1d", "P1Y2W3", "P999Y", "P99999D", " P1D"]
)
def test_what_is_no_period_is_refused(text):
    with pytest.raises(BadPeriodError) as refusal:
        Period.parse(text)

    assert str(refusal.value) in (
        f"{text!r} is no period such as P30D, P3M or P1Y",
        f"{text!r} is longer than 200 years",
    )


@pytest.mark.parametrize("text", ["P200Y1M", "P201Y", "P2401M", "P73001D", "P9999W9999D"])
def test_more_than_200_years_is_refused(text):
    with pytest.raises(BadPeriodError) as refusal:
        Period.parse(text)

    assert str(refusal.value) == f"{text!r} is longer than 200 years"


@pytest.mark.parametrize(
    ("text", "period"), [("P200Y", Period(2400)), ("P73000D", Period(0, 73_000)), ("P9999W", Period(0, 69_993))]
)
def test_200_years_are_read(text, period):
    assert Period.parse(text) == period


@pytest.mark.parametrize(
    ("period", "is_zero"), [(Period(), True), (Period(1), False), (Period(0, 1), False), (Period(1, 1), False)]
)
def test_a_period_of_nothing(period, is_zero):
    assert period.is_zero is is_zero


@pytest.mark.parametrize(
    ("start", "period", "last_day"),
    [
        (date(2025, 1, 31), Period(1, 1), date(2025, 3, 1)),
        (date(2025, 12, 31), Period(2), date(2026, 2, 28)),
        (date(2025, 11, 30), Period(1), date(2025, 12, 30)),
        (date(2025, 12, 1), Period(1), date(2026, 1, 1)),
        (date(2025, 1, 29), Period(1), date(2025, 2, 28)),
        (date(2025, 1, 28), Period(1), date(2025, 2, 28)),
        (date(2025, 3, 29), Period(1), date(2025, 4, 29)),
        (date(2025, 1, 1), Period(), date(2025, 1, 1)),
        (date(9999, 12, 30), Period(0, 1), LAST),
        (date(9999, 12, 30), Period(0, 2), LAST),
        (date(9999, 11, 30), Period(1), date(9999, 12, 30)),
        (date(9999, 12, 1), Period(1), LAST),
    ],
)
def test_months_first_then_days(start, period, last_day):
    assert period.after(start) == last_day


@pytest.mark.parametrize(
    ("first", "more", "both"), [(Period(1, 2), Period(3, 4), Period(4, 6)), (Period(), Period(0, 1), Period(0, 1))]
)
def test_two_periods_together(first, more, both):
    assert first.then(more) == both


@pytest.mark.parametrize(
    ("day", "last"),
    [
        (date(2024, 2, 1), date(2024, 2, 29)),
        (date(2025, 2, 28), date(2025, 2, 28)),
        (date(2025, 12, 5), date(2025, 12, 31)),
    ],
)
def test_the_last_day_of_a_month(day, last):
    assert month_end(day) == last


@pytest.mark.parametrize(
    ("intervals", "days"),
    [
        ([], []),
        ([(date(2025, 1, 1), None)], [date(2025, 1, 1)]),
        ([(date(2025, 1, 1), date(2025, 1, 31))], [date(2025, 1, 1), date(2025, 2, 1)]),
        ([(date(2025, 1, 1), LAST)], [date(2025, 1, 1)]),
        (
            [(date(2025, 1, 5), date(2025, 1, 5)), (date(2025, 1, 1), None)],
            [date(2025, 1, 5), date(2025, 1, 6), date(2025, 1, 1)],
        ),
    ],
)
def test_the_days_on_which_something_begins_or_is_over(intervals, days):
    assert list(edges(intervals)) == days


def test_the_next_day():
    assert [next_day(date(2024, 2, 28)), next_day(date(2024, 12, 31))] == [date(2024, 2, 29), date(2025, 1, 1)]


@pytest.mark.parametrize(
    ("text", "months", "days"), [("P1Y6M", 18, 0), ("P2W", 0, 14), ("P1M10D", 1, 10), ("P0D", 0, 0)]
)
def test_periods_are_read(text, months, days):
    assert Period.parse(text) == Period(months, days)


@pytest.mark.parametrize(
    ("born", "age", "day"),
    [
        (date(2008, 2, 29), 18, date(2026, 2, 28)),
        (date(2008, 2, 29), 20, date(2028, 2, 29)),
        (date(2008, 5, 14), 18, date(2026, 5, 14)),
    ],
)
def test_a_birthday(born, age, day):
    assert birthday(born, age) == day


def test_the_calendar_ends_and_nothing_breaks():
    assert next_day(LAST) == LAST
    assert Period.parse("P200Y").after(date(9900, 1, 1)) == LAST
    assert Period.parse("P30D").after(LAST) == LAST
