"""What one field can hold.

A field that was not filled holds UNSET, which is neither "no" nor "none": those are answers.
"""

from __future__ import annotations

import enum
import re
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final, TypeAlias


class Unset(enum.Enum):
    """The third value: nothing is recorded."""

    UNSET = "unset"

    def __repr__(self) -> str:
        return "UNSET"

    def __bool__(self) -> bool:
        raise TypeError("UNSET is neither true nor false; ask whether the value is recorded")


UNSET: Final = Unset.UNSET
NOT_EXAMINED: Final = "not_examined"
"""The third answer of a yes_no field: it was not looked at, which is not "no"."""

MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
"""The months in English whatever the computer speaks, which the calendar module doesn't promise."""

_QUANTITY = re.compile(r"\s*(-?[0-9]{1,12}(?:\.[0-9]{1,6})?)\s*([^\s0-9.].*?)\s*")


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount with its unit, such as 38 mm.

    Units: `unit` is the unit of `amount`, as the form declares it ("mm", "mmHg", "min", "degrees").
    """

    amount: int | float
    unit: str

    def __str__(self) -> str:
        return f"{number_text(self.amount)} {self.unit}"

    @classmethod
    def from_text(cls, text: str) -> Quantity | None:
        """Read "38 mm" as a case file holds it; None when the text is no amount with a unit.

        No measurement needs more than six decimals; more could not be written back as they were.
        """
        match = _QUANTITY.fullmatch(text)
        if match is None:
            return None
        return cls(number_from_text(match[1]), match[2])


Value: TypeAlias = bool | int | str | Quantity | date | time | datetime | tuple[str, ...]
"""What a field of any kind can hold; yes_no is a bool or NOT_EXAMINED, choices are a tuple."""


def number_from_text(text: str) -> int | float:
    """A whole number where the text is one, otherwise a decimal; raises ValueError."""
    return int(text) if re.fullmatch(r"-?\d+", text) else float(text)


def number_text(amount: int | float) -> str:
    """The shortest exact decimal of a number: 2.5, 38, 0.05; never 38.0 and never 1e-05."""
    if isinstance(amount, int) or amount.is_integer():
        return str(int(amount))
    return f"{amount:.10f}".rstrip("0")
