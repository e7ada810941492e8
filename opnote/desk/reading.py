"""What a person types, as values: numbers with comma or dot, days, clock times. Free of Qt."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final

from opnote.record import UNSET, Quantity, Unset, Value
from opnote.record.value import MONTHS, number_text

_DAY_NAMES: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_NUMBER: Final = re.compile(r"([+-]?)(\d+)(?:[.,](\d+))?")
_MAY_BE_THOUSANDS: Final = re.compile(r"[+-]?[1-9]\d{0,2}\.\d{3}")
_LEAP: Final = re.compile(r"([+-])\s*(\d{1,4})\s*([dwmy])")
_NUMERIC_DAY: Final = re.compile(
    r"(\d{1,2})\s*[/.\- ]\s*(\d{1,2})(?:\s*[/.\- ]\s*(\d{2}|\d{4}))?\.?"
)
_ISO_DAY: Final = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_NAMED_DAY: Final = re.compile(r"(\d{1,2})\.?\s*([a-z]{3,9})\.?(?:\s*,?\s*(\d{2}|\d{4}))?")
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


@dataclass(frozen=True, slots=True)
class Bounds:
    """The hard limits of a number. Units: both in `unit`."""

    least: float | None = None
    most: float | None = None
    unit: str = ""


EMPTY: Final = Reading()


def read_integer(text: str, bounds: Bounds) -> Reading:
    """A whole number."""
    number, problem = _number(text, bounds)
    if number is None:
        return Reading(problem=problem)
    if not float(number).is_integer():
        return Reading(problem="a whole number, such as 4")
    return Reading(int(number))


def read_quantity(text: str, bounds: Bounds) -> Reading:
    """A number in the field's unit; the unit may be typed too."""
    bare = text.strip()
    if bounds.unit and bare.lower().endswith(bounds.unit.lower()):
        bare = bare[: -len(bounds.unit)].rstrip()
    number, problem = _number(bare, bounds)
    if number is None:
        return Reading(problem=problem)
    understood = ""
    if "," in bare:
        understood = f"{number_text(number)} {bounds.unit}".rstrip()
    return Reading(Quantity(number, bounds.unit), understood)


def _number(text: str, bounds: Bounds) -> tuple[int | float | None, str]:
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
        either = f"{sign}{whole}{fraction}, or {sign}{whole}.{decimals}"
        return None, f"it may mean two numbers; write {either}"
    number: int | float = int(whole) if fraction is None else float(f"{whole}.{fraction}")
    if sign == "-":
        number = -number
    unit = f" {bounds.unit}" if bounds.unit else ""
    if bounds.least is not None and number < bounds.least:
        return None, f"{number_text(bounds.least)}{unit} at least"
    if bounds.most is not None and number > bounds.most:
        return None, f"{number_text(bounds.most)}{unit} at most"
    return number, ""


def _plain_decimals(decimals: str) -> str:
    """Decimals that nobody takes for thousands: of three there are four."""
    return f"{decimals}0" if len(decimals) == 3 else decimals


def read_date(text: str, today: date) -> Reading:
    """A day: "today", "-12d", "9/3/26" (day before month), "9 mar 2026", "2026-03-09"."""
    bare = " ".join(text.lower().split())
    if not bare:
        return EMPTY
    day = _day(bare, today)
    if day is None:
        return Reading(problem='not a date; write it as 9/3/26, "today" or -12d')
    return Reading(day, day_words(day))


def _day(bare: str, today: date) -> date | None:
    named = {"today": 0, "t": 0, "yesterday": -1, "tomorrow": 1}
    if bare in named:
        return today + timedelta(days=named[bare])
    if match := _LEAP.fullmatch(bare):
        return _leapt(today, int(match[1] + match[2]), match[3])
    if match := _ISO_DAY.fullmatch(bare):
        return _calendar(int(match[1]), int(match[2]), int(match[3]))
    if match := _NUMERIC_DAY.fullmatch(bare):
        return _calendar(_year(match[3], today), int(match[2]), int(match[1]))
    if match := _NAMED_DAY.fullmatch(bare):
        months = [i for i, name in enumerate(MONTHS, 1) if name.lower().startswith(match[2])]
        if len(months) == 1:
            return _calendar(_year(match[3], today), months[0], int(match[1]))
    return None


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
        return today + timedelta(days=days)
    except OverflowError:
        return None


def _calendar(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
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
    """A time of day: "840", "8:40", "08.40", "8", "now"."""
    bare = text.strip().lower()
    if not bare:
        return EMPTY
    if bare == "now":
        found: time | None = now.replace(second=0, microsecond=0)
    else:
        found = _clock(bare)
    if found is None:
        return Reading(problem="not a time; write it as 840 or 8:40")
    return Reading(found, f"{found:%H:%M}")


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


def read_datetime(text: str, now: datetime) -> Reading:
    """A day and a time: "today 840", "9/3/26 8:40", "now"; a time alone is today's."""
    bare = text.strip().lower()
    if not bare:
        return EMPTY
    if bare == "now":
        found = now.replace(second=0, microsecond=0)
        return Reading(found, moment_words(found))
    day_text, _, clock_text = bare.rpartition(" ")
    clock = _clock(clock_text)
    day = _day(day_text.rstrip(","), now.date()) if day_text else now.date()
    if clock is None or day is None:
        return Reading(problem='not a day with a time; write it as "today 17:30" or 9/3/26 17:30')
    found = datetime.combine(day, clock)
    return Reading(found, moment_words(found))


def day_words(day: date) -> str:
    """A day as the form shows what it understood: Mon 9 March 2026."""
    return f"{_DAY_NAMES[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def moment_words(moment: datetime) -> str:
    """A day with its time: Mon 9 March 2026, 17:30."""
    return f"{day_words(moment)}, {moment:%H:%M}"


def text_of(value: Value | Unset) -> str:
    """A value as it stands in its box; reading it again gives the same value."""
    if value is UNSET:
        return ""
    if isinstance(value, Quantity):
        text = number_text(value.amount)
        return f"{text}0" if _MAY_BE_THOUSANDS.fullmatch(text) else text
    if isinstance(value, datetime):
        return f"{_short_day(value)} {value:%H:%M}"
    if isinstance(value, date):
        return _short_day(value)
    if isinstance(value, time):
        return f"{value:%H:%M}"
    return str(value)


def _short_day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1][:3]} {day.year}"


def folded(text: str) -> str:
    """A text for searching: lower case, accents off."""
    return text.casefold().translate(_ACCENTS)


_ACCENTS: Final = str.maketrans(
    "àáâãäåçèéêëìíîïñòóôõöøùúûüýÿßœæ", "aaaaaaceeeeiiiinoooooouuuuyysoa"
)
