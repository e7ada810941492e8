"""Spans between clock times and dates, changes of the clocks, ages, and dates to come."""

from __future__ import annotations

import calendar
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

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


def minutes_elapsed(start: datetime, end: datetime) -> int:
    """Count the minutes that passed from one moment to another, whatever the clocks did.

    Where the clocks went forward in between, an hour on them didn't happen; where they went back,
    one happened twice. Negative when `end` was before `start`. Seconds are dropped.

    Units: minutes. Raises: ValueError: a moment has no zone, or its clock time was skipped by
    the change to summer time.

    >>> from zoneinfo import ZoneInfo
    >>> london = ZoneInfo("Europe/London")
    >>> start = datetime(2026, 3, 29, 0, 30, tzinfo=london)
    >>> minutes_elapsed(start, datetime(2026, 3, 29, 2, 30, tzinfo=london))
    60
    """
    # Two moments of one zone are subtracted by their clocks, so both go to UTC first.
    span = _in_utc(end) - _in_utc(start)
    return span // timedelta(minutes=1)


def minutes_after(moment: datetime, day: date, clock: time) -> int:
    """Count the minutes from a clock time on a day to a moment; negative if the moment is earlier.

    All three are read on one clock, as in a note that names no zone.

    Units: minutes.

    >>> minutes_after(datetime(2026, 3, 9, 10, 30), date(2026, 3, 9), time(8, 40))
    110
    """
    start = datetime.combine(day, clock)
    return (moment.replace(tzinfo=None, second=0, microsecond=0) - start) // timedelta(minutes=1)


def clock_shift_min(day: date, start: time, end: time, zone: str) -> int:
    """Count the minutes by which the clocks of a zone were changed between two clock times.

    60 where an hour was skipped in between, -60 where one came twice, 0 on every other day. The
    earlier of two readings is taken where a clock time came twice.

    Units: minutes. Shape: `zone` is a name of the IANA time zone database. Raises: ValueError: no
    such zone, or a clock time that was skipped.

    >>> clock_shift_min(date(2026, 3, 29), time(0, 30), time(2, 30), "Europe/London")
    60
    """
    try:
        clock = ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError) as error:
        raise ValueError(f"no time zone '{zone}'") from error
    span = minutes_between(start, end)
    first = datetime.combine(day, start)
    last = first + timedelta(minutes=span)
    return span - minutes_elapsed(first.replace(tzinfo=clock), last.replace(tzinfo=clock))


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


def _in_utc(moment: datetime) -> datetime:
    if moment.utcoffset() is None:
        raise ValueError(f"{moment.isoformat()} has no zone")
    if not _exists(moment):
        raise ValueError(f"{moment.isoformat()} was skipped by the change to summer time")
    return moment.astimezone(UTC).replace(second=0, microsecond=0)


def _exists(moment: datetime) -> bool:
    """Tell whether the clocks of the moment's zone ever showed it."""
    there_and_back = moment.astimezone(UTC).astimezone(moment.tzinfo)
    return there_and_back.replace(tzinfo=None) == moment.replace(tzinfo=None)
