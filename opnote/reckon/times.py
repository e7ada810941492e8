"""Spans between clock times and dates, doses and tourniquets, ages, and dates to come."""

from __future__ import annotations

import calendar
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import pairwise
from typing import Literal, TypeVar

_DAY_MIN = 24 * 60

MomentT = TypeVar("MomentT", time, datetime)
"""A clock time, or a moment with its date and zone; spans take two of the same."""

DoseTiming = Literal["in_window", "too_early", "too_late"]


@dataclass(frozen=True, slots=True)
class DoseWindow:
    """How long before a mark (incision, inflation) a dose has to start or to be finished.

    Units: minutes before the mark; both ends belong to the window. Shape: `source` says where the
    window is published. Raises: ValueError: the window is empty.
    """

    most_min: int
    least_min: int = 0
    source: str = ""

    def __post_init__(self) -> None:
        """Refuse an empty window."""
        if self.most_min < self.least_min:
            raise ValueError(f"no window from {self.most_min} to {self.least_min} min before")


@dataclass(frozen=True, slots=True)
class Tourniquet:
    """The inflations of one cuff and the breaks between them, in their order.

    Units: minutes.
    """

    inflations_min: tuple[int, ...]
    breaks_min: tuple[int, ...]

    @property
    def total_min(self) -> int:
        """Time under pressure in all, breaks left out. Units: minutes."""
        return sum(self.inflations_min)

    def short_breaks_min(self, least_min: int) -> tuple[int, ...]:
        """Give the breaks that were shorter than the limb needs to reperfuse. Units: minutes."""
        return tuple(each for each in self.breaks_min if each < least_min)

    def longest_min(self, least_break_min: int = 0) -> int:
        """Give the longest time under pressure that no break of sufficient length divides.

        A break that is too short doesn't start the count again, and isn't counted itself.

        Units: minutes.

        >>> Tourniquet((120, 30), (10,)).longest_min(15)
        150
        >>> Tourniquet((120, 30), (15,)).longest_min(15)
        120
        """
        longest = span = 0
        for i, inflation in enumerate(self.inflations_min):
            is_fresh = i == 0 or self.breaks_min[i - 1] >= least_break_min
            span = inflation if is_fresh else span + inflation
            longest = max(longest, span)
        return longest


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


def readings_of(clock: datetime, zone: tzinfo) -> tuple[datetime, ...]:
    """Give the moments that a date and clock time without a zone can mean in a zone.

    One as a rule; none in the hour that the change to summer time skips; two, the earlier first,
    in the hour that comes twice when it ends. Which of two is meant only a person can say.

    Raises: ValueError: the clock time has a zone already.

    >>> from zoneinfo import ZoneInfo
    >>> len(readings_of(datetime(2026, 10, 25, 1, 30), ZoneInfo("Europe/London")))
    2
    """
    if clock.tzinfo is not None:
        raise ValueError(f"{clock.isoformat()} has a zone already")
    first, second = (clock.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if not _exists(first):
        return ()
    return (first,) if first.utcoffset() == second.utcoffset() else (first, second)


def dose_lead_min(dose: MomentT, mark: MomentT) -> int:
    """Count the minutes from a dose to the mark it has to come before; negative if after it.

    The dose's start is measured to the incision; its end to the inflation of a cuff nearer to the
    heart than the wound.

    Units: minutes. Raises: ValueError: as `minutes_elapsed`.
    Source: ASHP/IDSA/SIS/SHEA 2013; National Surgical Infection Prevention Project 2004.

    >>> dose_lead_min(time(8, 0), time(8, 45))
    45
    """
    return _minutes(dose, mark)


def dose_timing(
    drug_class: str, dose: MomentT, mark: MomentT, windows: Mapping[str, DoseWindow]
) -> DoseTiming | None:
    """Tell whether a dose came in the window of its class of drug; None for a class without one.

    Units: minutes, in `windows` by class. Raises: ValueError: as `minutes_elapsed`.
    Source: each window carries its own.

    >>> windows = {"glycopeptide": DoseWindow(120), "cephalosporin": DoseWindow(60)}
    >>> dose_timing("cephalosporin", time(7, 30), time(8, 45), windows)
    'too_early'
    """
    window = windows.get(drug_class)
    if window is None:
        return None
    lead = dose_lead_min(dose, mark)
    if lead > window.most_min:
        return "too_early"
    return "too_late" if lead < window.least_min else "in_window"


def tourniquet(inflations: Sequence[tuple[MomentT, MomentT]]) -> Tourniquet:
    """Reckon the times of one cuff from its inflations (up, down), given in their order.

    Units: minutes. Raises: ValueError: a deflation before its inflation, an inflation before the
    last deflation, or as `minutes_elapsed`.

    >>> cuff = tourniquet([(time(9, 0), time(11, 0)), (time(11, 10), time(11, 40))])
    >>> cuff.total_min, cuff.breaks_min
    (150, (10,))
    """
    under = tuple(_minutes(up, down) for up, down in inflations)
    pauses = tuple(_minutes(before[1], after[0]) for before, after in pairwise(inflations))
    if any(span < 0 for span in under):
        raise ValueError("a deflation comes before its inflation")
    if any(span < 0 for span in pauses):
        raise ValueError("an inflation comes before the deflation that precedes it")
    return Tourniquet(under, pauses)


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


def _minutes(start: time | datetime, end: time | datetime) -> int:
    if isinstance(start, time) and isinstance(end, time):
        return minutes_between(start, end)
    if isinstance(start, datetime) and isinstance(end, datetime):
        return minutes_elapsed(start, end)
    raise ValueError("a clock time and a moment with a date can't be compared")


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
