"""The types of the expression language, for the static check.

Every name in an expression or a wording has one of these before any case exists, which is what
lets a misspelt option or a comparison of millimetres with minutes be found when a pack is loaded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from opnote.pack.form import Field


@dataclass(frozen=True, slots=True)
class Text:
    """Any text."""

    def __str__(self) -> str:
        return "a text"


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a field's options."""

    path: str
    values: tuple[str, ...]

    def __str__(self) -> str:
        return f"the choice '{self.path}'"


@dataclass(frozen=True, slots=True)
class Choices:
    """Any number of a field's options."""

    path: str
    values: tuple[str, ...]

    def __str__(self) -> str:
        return f"the choices '{self.path}'"


@dataclass(frozen=True, slots=True)
class YesNo:
    """Yes, no or not examined; also the result of a comparison."""

    def __str__(self) -> str:
        return "yes or no"


@dataclass(frozen=True, slots=True)
class Number:
    """A number; an empty unit is a bare number, None fits any unit."""

    unit: str | None = ""

    def __str__(self) -> str:
        return f"a number of {self.unit}" if self.unit else "a number"


@dataclass(frozen=True, slots=True)
class Date:
    """A calendar date."""

    def __str__(self) -> str:
        return "a date"


@dataclass(frozen=True, slots=True)
class Time:
    """A clock time."""

    def __str__(self) -> str:
        return "a clock time"


@dataclass(frozen=True, slots=True)
class DateTime:
    """A date with a clock time."""

    def __str__(self) -> str:
        return "a date with a time"


@dataclass(frozen=True, slots=True)
class Picture:
    """A kept picture: it can be shown or asked for, and compared with nothing."""

    def __str__(self) -> str:
        return "a picture"


@dataclass(frozen=True, slots=True)
class Rows:
    """A table of the form."""

    field: Field

    def __str__(self) -> str:
        return f"the table '{self.field.path}'"


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table, directly or through a ref."""

    field: Field

    def __str__(self) -> str:
        return f"a row of '{self.field.path}'"


@dataclass(frozen=True, slots=True)
class Group:
    """A part of a path that is no field by itself: `tourniquet` of `tourniquet.used`."""

    prefix: str

    def __str__(self) -> str:
        return f"the group '{self.prefix}'"


Type: TypeAlias = (
    Text | Choice | Choices | YesNo | Number | Date | Time | DateTime | Picture | Rows | Row | Group
)


def type_of(field: Field, tables: Mapping[str, Field]) -> Type:
    """The type of a field's value; `tables` resolves what a ref refers to."""
    match field.kind:
        case "choice" | "grade":
            return Choice(field.path, tuple(option.value for option in field.options))
        case "choices":
            return Choices(field.path, tuple(option.value for option in field.options))
        case "yes_no":
            return YesNo()
        case "integer":
            return Number(field.unit)
        case "quantity":
            return Number(field.unit)
        case "date":
            return Date()
        case "time":
            return Time()
        case "datetime":
            return DateTime()
        case "picture":
            return Picture()
        case "rows":
            return Rows(field)
        case "ref":
            return Row(tables[field.refers_to])
        case _:
            return Text()
