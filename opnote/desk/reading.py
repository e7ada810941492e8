"""What a person types, as values: numbers with comma or dot, days, clock times. Free of Qt."""

from __future__ import annotations

import enum
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

from opnote.pack.value_json import YEARS
from opnote.record import UNSET, Quantity, Unset, Value
from opnote.record.value import MONTHS, number_text

_NUMBER: Final = re.compile(r"([+-]?)(\d+)(?:[.,](\d+))?")
_MAY_BE_THOUSANDS: Final = re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}")
_LEAP: Final = re.compile(r"([+-])\s*(\d{1,4})\s*([dwmy])")
_NUMERIC_DAY: Final = re.compile(
    r"(\d{1,2})\s*[/.\- ]\s*(\d{1,2})(?:\s*[/.\- ]\s*(\d{2}|\d{4}))?\.?"
)
_ISO_DAY: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_NAMED_DAY: Final = re.compile(r"(\d{1,2})\.?\s*([^\W\d_]{3,12})\.?(?:\s*,?\s*(\d{2}|\d{4}))?")
_NAMED_MONTH_FIRST: Final = re.compile(
    r"([^\W\d_]{3,12})\.?\s*(\d{1,2})(?:\s*,\s*(\d{2}|\d{4})|\s+(\d{4}))?"
)
_CLOCK: Final = re.compile(r"(\d{1,2})\s*[:.h]\s*(\d{2})|(\d{1,2})(\d{2})|(\d{1,2})h?")
_YEARS_AHEAD: Final = 10


@dataclass(frozen=True, slots=True)
class Reading:
    """What was understood of a text.

    `value` is UNSET for an empty text and for one that can't be read; `problem` then says why and
    what to write. `understood` is the value in words where the text leaves it open.
    """

    value: Value | Unset = UNSET
    understood: str = ""
    problem: str = ""


class Order(enum.Enum):
    """In which order somebody writes the numbers of a date."""

    DAY_FIRST = "day"
    MONTH_FIRST = "month"
    YEAR_FIRST = "year"


@dataclass(frozen=True, slots=True)
class Habits:
    """How numbers and days are written where this computer is.

    Comma and dot are both read everywhere; `decimal` is the one that is shown. `months`,
    `short_months` and `day_names` (Monday first) are shown, and read besides the English ones.
    `day_mark` stands after the number of a day that its month follows.
    """

    order: Order = Order.DAY_FIRST
    decimal: str = "."
    months: tuple[str, ...] = MONTHS
    short_months: tuple[str, ...] = tuple(month[:3] for month in MONTHS)
    day_names: tuple[str, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    day_mark: str = ""


USUAL: Final = Habits()


@dataclass(frozen=True, slots=True)
class Bounds:
    """The hard limits of a number. Units: both in `unit`."""

    least: float | None = None
    most: float | None = None
    unit: str = ""


EMPTY: Final = Reading()


def read_integer(text: str, bounds: Bounds, habits: Habits = USUAL) -> Reading:
    """A whole number."""
    number, problem = _number(text, bounds, habits)
    if number is None:
        return Reading(problem=problem)
    if not float(number).is_integer():
        return Reading(problem="a whole number, such as 4")
    return Reading(int(number))


def read_quantity(text: str, bounds: Bounds, habits: Habits = USUAL) -> Reading:
    """A number in the field's unit; the unit may be typed too."""
    bare = text.strip()
    if bounds.unit and bare.lower().endswith(bounds.unit.lower()):
        bare = bare[: -len(bounds.unit)].rstrip()
    number, problem = _number(bare, bounds, habits)
    if number is None:
        return Reading(problem=problem)
    understood = ""
    if ("." if habits.decimal == "," else ",") in bare:
        understood = f"{number_words(number, habits)} {bounds.unit}".rstrip()
    return Reading(Quantity(number, bounds.unit), understood)


def _number(text: str, bounds: Bounds, habits: Habits) -> tuple[int | float | None, str]:
    """The number, or None with the reason; an empty text has neither."""
    bare = text.strip().replace("\N{MINUS SIGN}", "-")
    if not bare:
        return None, ""
    if re.fullmatch(r"[+-]?\d{1,3}([.,]\d{3})+[.,]\d+|[+-]?\d{1,3}( \d{3})+([.,]\d+)?", bare):
        return None, "write it without thousands marks"
    match = _NUMBER.fullmatch(bare)
    if match is None:
        return None, "not a number"
    sign, whole, fraction = match.groups()
    if _MAY_BE_THOUSANDS.fullmatch(f"{whole}.{fraction}"):
        # A thousand to one reader and one to another: never guessed.
        decimals = _plain_decimals(fraction.rstrip("0") or "0")
        either = f"{sign}{whole}{fraction}, or {sign}{whole}{habits.decimal}{decimals}"
        return None, f"it may mean two numbers; write {either}"
    number: int | float = int(whole) if fraction is None else float(f"{whole}.{fraction}")
    if sign == "-":
        number = -number
    unit = f" {bounds.unit}" if bounds.unit else ""
    if bounds.least is not None and number < bounds.least:
        return None, f"{number_words(bounds.least, habits)}{unit} at least"
    if bounds.most is not None and number > bounds.most:
        return None, f"{number_words(bounds.most, habits)}{unit} at most"
    return number, ""


def _plain_decimals(decimals: str) -> str:
    """Decimals that nobody takes for thousands: of three there are four."""
    return f"{decimals}0" if len(decimals) == 3 else decimals


def number_words(number: int | float, habits: Habits = USUAL) -> str:
    """A number with the decimal mark that is usual here: 2.5, 2,5."""
    return number_text(number).replace(".", habits.decimal)


def read_date(text: str, today: date, habits: Habits = USUAL) -> Reading:
    """A day: "today", "-12d", "9/3/26" in the usual order, "9 mar 2026", "2026-03-09".

    Where the year is written first, numbers alone are read in that order only.
    """
    bare = " ".join(text.lower().split())
    if not bare:
        return EMPTY
    day = _day(bare, today, habits)
    if day is None:
        return Reading(problem=f'not a date; write it as {EXAMPLES[habits.order]}, "today" or -12d')
    return Reading(day, day_words(day, habits))


EXAMPLES: Final = {
    Order.DAY_FIRST: "9/3/26",
    Order.MONTH_FIRST: "3/9/26",
    Order.YEAR_FIRST: "2026-03-09",
}


def _day(bare: str, today: date, habits: Habits) -> date | None:
    named = {"today": 0, "t": 0, "now": 0, "yesterday": -1, "tomorrow": 1}
    if bare in named:
        return today + timedelta(days=named[bare])
    if match := _LEAP.fullmatch(bare):
        return _leapt(today, int(match[1] + match[2]), match[3])
    if match := _ISO_DAY.fullmatch(bare):
        return _calendar(int(match[1]), int(match[2]), int(match[3]))
    if match := _NUMERIC_DAY.fullmatch(bare):
        if habits.order is Order.YEAR_FIRST:
            return None  # with the year in front they write either of the others first
        first, second = int(match[1]), int(match[2])
        if habits.order is Order.MONTH_FIRST:
            first, second = second, first
        return _calendar(_year(match[3], today), second, first)
    if match := _NAMED_DAY.fullmatch(bare):
        return _named(match[1], match[2], match[3], today, habits)
    if match := _NAMED_MONTH_FIRST.fullmatch(bare):
        return _named(match[2], match[1], match[3] or match[4], today, habits)
    return None


def _named(day: str, month: str, year: str | None, today: date, habits: Habits) -> date | None:
    """A day whose month is named, in English or as it is usual here; None when two fit."""
    wanted = folded(month)
    known = [
        (folded(name), number)
        for names in (MONTHS, habits.months, habits.short_months)
        for number, name in enumerate(names, 1)
    ]
    # A whole name goes before the beginning of a longer one, as some languages have both.
    found = {number for name, number in known if name == wanted} or {
        number for name, number in known if name.startswith(wanted)
    }
    return _calendar(_year(year, today), found.pop(), int(day)) if len(found) == 1 else None


def _leapt(today: date, count: int, unit: str) -> date | None:
    if unit in "dw":
        return _in_calendar(today, count * (7 if unit == "w" else 1))
    months = today.year * 12 + today.month - 1 + count * (12 if unit == "y" else 1)
    for day in range(today.day, today.day - 4, -1):
        found = _calendar(months // 12, months % 12 + 1, day)
        if found is not None:
            return found
    return None


def _in_calendar(today: date, days: int) -> date | None:
    try:
        found = today + timedelta(days=days)
    except OverflowError:
        return None
    return found if found.year in YEARS else None


def _calendar(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day) if year in YEARS else None
    except ValueError:
        return None


def _year(text: str | None, today: date) -> int:
    """The year meant: this one when left out, and of two digits never one far ahead."""
    if text is None:
        return today.year
    year = int(text)
    if len(text) == 4:
        return year
    century = today.year // 100 * 100
    return century + year - (100 if century + year > today.year + _YEARS_AHEAD else 0)


def read_time(text: str, now: time) -> Reading:
    """A time of day: "840", "8:40", "08.40", "8", "now" or "n"."""
    bare = text.strip().lower()
    if not bare:
        return EMPTY
    if bare in ("now", "n"):
        found: time | None = now.replace(second=0, microsecond=0)
    else:
        found = _clock(bare)
    if found is None:
        return Reading(problem="not a time; write it as 840 or 8:40")
    return Reading(found, f"{found:%H:%M}")


def is_whole_time(text: str) -> bool:
    """True for a time that no further digit could make another: 8:40, 840, 1015; not 101."""
    bare = text.strip()
    if not bare[-1:].isdecimal() or _clock(bare) is None:
        return False
    return len(bare) > 2 and all(_clock(f"{bare}{digit}") is None for digit in "0123456789")


def _clock(bare: str) -> time | None:
    match = _CLOCK.fullmatch(bare)
    if match is None:
        return None
    hour = match[1] or match[3] or match[5]
    minute = match[2] or match[4] or "0"
    try:
        return time(int(hour), int(minute))
    except ValueError:
        return None


def read_datetime(text: str, now: datetime, habits: Habits = USUAL) -> Reading:
    """A day and a time: "today 840", "9/3/26 8:40", "now" or "n"; a time alone is today's."""
    bare = text.strip().lower()
    if not bare:
        return EMPTY
    if bare in ("now", "n"):
        found = now.replace(second=0, microsecond=0)
        return Reading(found, moment_words(found, habits))
    day_text, _, clock_text = bare.rpartition(" ")
    clock = _clock(clock_text)
    day = _day(day_text.rstrip(","), now.date(), habits) if day_text else now.date()
    if clock is None or day is None:
        example = EXAMPLES[habits.order]
        words = f'not a day with a time; write it as "today 17:30" or {example} 17:30'
        return Reading(problem=words)
    found = datetime.combine(day, clock)
    return Reading(found, moment_words(found, habits))


def day_words(day: date, habits: Habits = USUAL) -> str:
    """A day as the form shows what it understood: Mon 9 March 2026, Mon March 9, 2026."""
    return f"{habits.day_names[day.weekday()]} {_written(day, habits.months, habits)}"


def date_words(day: date, habits: Habits = USUAL) -> str:
    """A day in full, without its name: 9 March 2026, March 9, 2026."""
    return _written(day, habits.months, habits)


def moment_words(moment: datetime, habits: Habits = USUAL) -> str:
    """A day with its time: Mon 9 March 2026, 17:30."""
    return f"{day_words(moment, habits)}, {moment:%H:%M}"


def text_of(value: Value | Unset, habits: Habits = USUAL) -> str:
    """A value as it stands in its box; reading it again gives the same value."""
    if value is UNSET:
        return ""
    if isinstance(value, Quantity):
        text = number_text(value.amount)
        text = f"{text}0" if _MAY_BE_THOUSANDS.fullmatch(text) else text
        return text.replace(".", habits.decimal)
    if isinstance(value, datetime):
        return f"{_short_day(value, habits)} {value:%H:%M}"
    if isinstance(value, date):
        return _short_day(value, habits)
    if isinstance(value, time):
        return f"{value:%H:%M}"
    return str(value)


def _short_day(day: date, habits: Habits) -> str:
    if habits.order is Order.YEAR_FIRST:
        return f"{day.year:04}-{day.month:02}-{day.day:02}"
    return _written(day, habits.short_months, habits)


def _written(day: date, months: Sequence[str], habits: Habits) -> str:
    month = months[day.month - 1]
    if habits.order is Order.MONTH_FIRST:
        return f"{month} {day.day}, {day.year}"
    return f"{day.day}{habits.day_mark} {month} {day.year}"


def folded(text: str) -> str:
    """A text for searching: lower case, accents off."""
    return text.casefold().translate(_ACCENTS)


_ACCENTS: Final = str.maketrans(
    "àáâãäåçèéêëìíîïñòóôõöøùúûüýÿßœæ", "aaaaaaceeeeiiiinoooooouuuuyysoa"
)
