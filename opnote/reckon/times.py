"""Spans between clock times and dates, ages, and dates to come."""

from __future__ import annotations

import calendar
from datetime import date, time, timedelta

_DAY_MIN = 24 * 60


def minutes_between(start: time, end: time) -> int:
    """Count the minutes from one clock time to another, across midnight where that is nearer.

    Negative when `end` was before `start`. The result lies above -720 and up to 720: of the two
    readings of a pair of clock times the shorter is meant, so 23:40 to 00:20 is 40 and 08:50 to
    08:45 is -5. Spans of more than 12 hours can't be told from clock times alone. Seconds are
    dropped, as on a theatre clock.

    Units: minutes.

    >>> minutes_between(time(23, 40), time(0, 20)), minutes_between(time(8, 50), time(8, 45))
    (40, -5)
    """
    span = (_minute_of_day(end) - _minute_of_day(start)) % _DAY_MIN
    return span if span <= _DAY_MIN // 2 else span - _DAY_MIN


def days_between(start: date, end: date) -> int:
    """Count the days from one date to another; negative when `end` is earlier.

    Units: days.

    >>> days_between(date(2026, 2, 25), date(2026, 3, 9))
    12
    """
    return (end - start).days


def age_years(born: date, on: date) -> int:
    """Give the age in completed years on a date.

    Someone born on 29 February turns a year older on 1 March of a common year, as in English law
    (from memory).

    Units: years. Raises: ValueError: the date is before the birth.

    >>> age_years(date(2001, 2, 14), date(2026, 3, 9))
    25
    """
    if on < born:
        raise ValueError(f"{on.isoformat()} is before the birth on {born.isoformat()}")
    return on.year - born.year - ((on.month, on.day) < (born.month, born.day))


def date_after(start: date, *, days: int = 0, weeks: int = 0, months: int = 0) -> date:
    """Give the date that is so many calendar months, then weeks and days, after another.

    A month end that doesn't exist becomes the last day of that month: one month after 31 January
    is 28 or 29 February. Negative numbers count backwards.

    Units: as named. Raises: ValueError: the result lies outside the years 1 to 9999.

    >>> date_after(date(2026, 1, 31), months=1)
    datetime.date(2026, 2, 28)
    >>> date_after(date(2026, 3, 9), weeks=6)
    datetime.date(2026, 4, 20)
    """
    count = start.year * 12 + start.month - 1 + months
    year, month = count // 12, count % 12 + 1
    if not date.min.year <= year <= date.max.year:
        raise ValueError(f"no calendar for the year {year}")
    day = min(start.day, calendar.monthrange(year, month)[1])
    try:
        return date(year, month, day) + timedelta(days=days, weeks=weeks)
    except OverflowError:
        raise ValueError("no calendar for a date that far away") from None


def _minute_of_day(clock: time) -> int:
    return clock.hour * 60 + clock.minute
