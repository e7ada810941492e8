"""One value between a case file and the record: what the field's kind allows, and nothing else."""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Callable
from datetime import date, datetime, time
from typing import Any, TypeVar

from opnote.pack.form import Field
from opnote.pack.problem import did_you_mean
from opnote.record import NOT_EXAMINED, Quantity, Value
from opnote.record.value import number_text

MOST_CHARACTERS = 100_000
"""A longer text in one field is refused: no part of a note is that long."""

_LONGEST_QUOTED = 60
"""Characters of a wrong value that a message repeats."""

MomentT = TypeVar("MomentT", date, time, datetime)

PICTURE_NAME = re.compile(r"[0-9a-f]{64}\.jpg")
"""The name of a kept picture: the SHA-256 of its bytes, and its ending."""

ROW_ID = re.compile(r"r[1-9][0-9]{0,8}")
"""The id of a row: its number is never given out again in the case."""
YEARS = range(1900, 2101)
"""The years in which a person can be born, injured, operated on and reviewed."""
DayT = TypeVar("DayT", bound=date)
# Written in one way only: a time without its minutes, or a date without its time, would be guessed
# at, and seconds or a time zone would be lost when the case is saved.
_DATE = r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
_TIME = r"[0-9]{2}:[0-9]{2}"


class ValueProblem(Exception):
    """A value that its field can't hold, with the remedy."""

    def __init__(self, message: str, remedy: str) -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


def value_from_json(raw: Any, field: Field) -> Value:
    """The value of a field from its JSON form.

    Raises: ValueProblem for a wrong type, an unknown option, a wrong unit, an impossible date, or a
    number outside the field's hard limits.
    """
    match field.kind:
        case "prose" | "scan":
            return _text(raw)
        case "text" | "person":
            return _one_line(_text(raw))
        case "choice" | "grade":
            return _option(raw, field)
        case "choices":
            return _options(raw, field)
        case "yes_no":
            if isinstance(raw, bool):
                return raw
            if field.examined and raw == NOT_EXAMINED:
                return NOT_EXAMINED
            answers = f'true, false or "{NOT_EXAMINED}"' if field.examined else "true or false"
            raise ValueProblem(f"{_quoted(raw)} is no answer here", f"write {answers}")
        case "integer":
            if isinstance(raw, bool) or not isinstance(raw, int):
                raise ValueProblem(f"{_quoted(raw)} is not a whole number", _as_integer(raw))
            return int(_within(raw, field))
        case "quantity":
            return _quantity(raw, field)
        case "date":
            return day_from_json(raw)
        case "time":
            return _parsed(
                raw, _TIME, time.fromisoformat, "time", 'hours and minutes, such as "08:40"'
            )
        case "datetime":
            return moment_from_json(raw)
        case "picture":
            if isinstance(raw, str) and PICTURE_NAME.fullmatch(raw):
                return raw
            raise ValueProblem(
                f"{_quoted(raw)} is no picture that opnote keeps", "bring it in with the window"
            )
        case "ref":
            if isinstance(raw, str) and ROW_ID.fullmatch(raw):
                return raw
            raise ValueProblem(f"{_quoted(raw)} is no row", 'write the id of a row, such as "r1"')
    raise AssertionError(f"a field of kind {field.kind} holds no single value")


def value_to_json(value: Value) -> Any:
    """The JSON form of a value."""
    if isinstance(value, Quantity):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat(timespec="minutes")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return value.isoformat(timespec="minutes")
    return list(value) if isinstance(value, tuple) else value


def _quoted(raw: Any) -> str:
    """A value of a case file as a message names it: as it stands there, and not at length."""
    text = json.dumps(raw, ensure_ascii=False, default=str)
    # Half a letter, as `\ud83d` alone is, can't be shown on a screen.
    text = text.encode(errors="backslashreplace").decode()
    return text if len(text) <= _LONGEST_QUOTED else f"{text[:_LONGEST_QUOTED]}..."


def _text(raw: Any) -> str:
    if not isinstance(raw, str):
        raise ValueProblem(f"{_quoted(raw)} is not a text", "put it in quotes")
    if len(raw) > MOST_CHARACTERS:
        raise ValueProblem(
            f"the text has {len(raw)} characters", f"keep it under {MOST_CHARACTERS}"
        )
    if any("\ud800" <= mark <= "\udfff" for mark in raw):
        raise ValueProblem("the text holds half a character", "type it anew")
    return raw


def _one_line(text: str) -> str:
    if "\n" in text or "\r" in text:
        raise ValueProblem("the text holds a line break", "write it on one line")
    return text


def _option(raw: Any, field: Field) -> str:
    values = [option.value for option in field.options]
    if raw not in values:
        raise ValueProblem(f"has no option {_quoted(raw)}", did_you_mean(str(raw), values))
    return str(raw)


def _options(raw: Any, field: Field) -> tuple[str, ...]:
    if not isinstance(raw, list | tuple) or not raw:
        raise ValueProblem(
            f"{_quoted(raw)} is no list of options", 'write a list such as ["a", "b"]'
        )
    chosen = [_option(item, field) for item in raw]
    if len(set(chosen)) < len(chosen):
        raise ValueProblem("an option is there twice", "keep one")
    alone = [value for value in chosen if value in field.exclusive]
    if alone and len(chosen) > 1:
        raise ValueProblem(f"'{alone[0]}' can't stand beside others", "keep one of them")
    return tuple(option.value for option in field.options if option.value in chosen)


def _quantity(raw: Any, field: Field) -> Quantity:
    example = f"write a number and {field.unit}"
    found = Quantity.from_text(raw) if isinstance(raw, str) else None
    if found is None or found.unit[0] in ",.":
        remedy = _as_quantity(raw, field.unit) or example
        raise ValueProblem(f"{_quoted(raw)} is no number with a unit", remedy)
    if found.unit != field.unit:
        raise ValueProblem(f"{_quoted(raw)} is in {found.unit}, not in {field.unit}", example)
    _within(found.amount, field)
    return found


def _as_integer(raw: Any) -> str:
    """How this very number is written, where there is one."""
    if isinstance(raw, str) and re.fullmatch(r"\s*-?[0-9]+\s*", raw):
        return f"write {raw.strip()} without quotes"
    if isinstance(raw, float) and raw.is_integer():
        return f"write {int(raw)}"
    return "write a whole number without quotes"


_NUMBER_AND_UNIT = re.compile(r"\s*(-?[0-9]+)(?:([.,])([0-9]+))?\s*(\D*?)\s*")


def _as_quantity(raw: Any, unit: str) -> str:
    """How this very amount is written, where it can be told; "" otherwise."""
    if isinstance(raw, int | float) and not isinstance(raw, bool):
        return f'write it with its unit in quotes, "{number_text(raw)} {unit}"'
    found = _NUMBER_AND_UNIT.fullmatch(raw) if isinstance(raw, str) else None
    if found is None or found[4] not in ("", unit):
        return ""
    if found[2] is None:
        return f'write "{found[1]} {unit}"'
    if found[2] == "," and len(found[3]) == 3:
        return ""  # "1,250" may be a thousand and more, or a little over one
    use = "use a point: " if found[2] == "," else ""
    return f'{use}write "{found[1]}.{found[3]} {unit}"'


def _within(amount: int | float, field: Field) -> int | float:
    unit = f" {field.unit}" if field.unit else ""
    if field.least is not None and amount < field.least:
        raise ValueProblem(
            f"{number_text(amount)}{unit} is less than {number_text(field.least)}{unit}",
            "check the number",
        )
    if field.most is not None and amount > field.most:
        raise ValueProblem(
            f"{number_text(amount)}{unit} is more than {number_text(field.most)}{unit}",
            "check the number",
        )
    return amount


def day_from_json(raw: Any) -> date:
    """A date, such as "2026-03-09". Raises: ValueProblem."""
    example = 'year-month-day, such as "2026-03-09"'
    return _in_years(raw, _parsed(raw, _DATE, date.fromisoformat, "date", example))


def moment_from_json(raw: Any) -> datetime:
    """A date with a time, such as "2026-03-09T08:40". Raises: ValueProblem."""
    form = f"{_DATE}T{_TIME}"
    example = 'year-month-day, T, hours and minutes, such as "2026-03-09T08:40"'
    read = datetime.fromisoformat
    return _in_years(raw, _parsed(raw, form, read, "date with a time", example))


def _in_years(raw: Any, day: DayT) -> DayT:
    if day.year not in YEARS:
        raise ValueProblem(f"{_quoted(raw)} lies outside 1900 to 2100", "correct the year")
    return day


def _parsed(
    raw: Any, form: str, read: Callable[[str], MomentT], name: str, example: str
) -> MomentT:
    if isinstance(raw, str) and re.fullmatch(form, raw):
        with contextlib.suppress(ValueError):
            return read(raw)
    raise ValueProblem(f"{_quoted(raw)} is no {name}", f"write {example}")
