"""Properties of spans between clock times and dates."""

import calendar
from datetime import date, time, timedelta

from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.times import age_years, date_after, days_between, minutes_between

CLOCKS = st.builds(time, st.integers(0, 23), st.integers(0, 59))
DATES = st.dates(date(1900, 1, 1), date(2100, 12, 31))


@given(CLOCKS, CLOCKS)
def test_minutes_turn_their_sign_with_their_ends(start: time, end: time) -> None:
    there, back = minutes_between(start, end), minutes_between(end, start)
    # Half a day is as far in both directions, and is counted forwards.
    assert back == (720 if there == 720 else -there)


@given(CLOCKS, CLOCKS)
def test_minutes_lead_from_one_time_to_the_other(start: time, end: time) -> None:
    span = minutes_between(start, end)
    minute = (start.hour * 60 + start.minute + span) % 1440
    assert time(minute // 60, minute % 60) == end
    assert -720 < span <= 720


@given(DATES, st.integers(-2000, 2000))
def test_days_between_undoes_date_after(start: date, days: int) -> None:
    assert days_between(start, date_after(start, days=days)) == days


@given(DATES, st.integers(-600, 600))
def test_months_keep_the_day_or_end_their_month(start: date, months: int) -> None:
    after = date_after(start, months=months)
    assert (after.year * 12 + after.month) - (start.year * 12 + start.month) == months
    is_month_end = date_after(after, days=1).month != after.month
    assert after.day == start.day or (after.day < start.day and is_month_end)


def birthday_in(year: int, born: date) -> date:
    """1 March stands in for the birthday that a common year doesn't have."""
    has_day = (born.month, born.day) != (2, 29) or calendar.isleap(year)
    return born.replace(year=year) if has_day else date(year, 3, 1)


@given(DATES | st.just(date(1996, 2, 29)), st.integers(1, 110))
def test_age_grows_on_the_birthday(born: date, years: int) -> None:
    birthday = birthday_in(born.year + years, born)
    assert age_years(born, birthday) == years
    assert age_years(born, birthday - timedelta(days=1)) == years - 1
