"""What of a record counts: hidden fields left out, computed fields worked out.

Checks and wordings read this view and never the record itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, TypeAlias
from unicodedata import category

from opnote.pack.expression import Expression, Rows
from opnote.pack.form import Field
from opnote.record import NOT_EXAMINED, UNSET, Quantity, Record
from opnote.record.value import MONTHS, number_text


@dataclass(frozen=True, slots=True)
class Rule:
    """When a field is shown and required, and how it is worked out, compiled."""

    field: Field
    shown_when: Expression | None = None
    required_when: Expression | None = None
    computed: Expression | None = None
    fills: tuple[tuple[Field, Expression], ...] = ()
    fault: Expression | None = None


Layout: TypeAlias = Sequence[tuple[Rule, Sequence[Rule]]]
"""The rules in the order of the form, each with those of its columns."""


class View:
    """The effective values of one snapshot on one form.

    Shape: `values` maps concrete paths to visible recorded or computed values, `rows` the paths of
    visible tables to their row ids, `hidden` the paths that don't exist in this case.
    """

    __slots__ = ("_concrete", "_layout", "_texts", "hidden", "record", "rows", "values")

    def __init__(self, record: Record, rules: Sequence[Rule], layout: Layout) -> None:
        """Work the view out; `rules` stand in the order of their dependence."""
        self.record = record
        self.values: dict[str, Any] = {}
        self.rows: dict[str, tuple[str, ...]] = {}
        self.hidden: set[str] = set()
        self._layout = layout
        self._concrete: dict[str, Rule] | None = None
        self._texts: tuple[str, ...] | None = None
        for rule in rules:
            if not rule.field.table:
                self._settle(rule, rule.field.path, {})
                continue
            table, name = rule.field.table, rule.field.name
            for row in self.rows.get(table, ()):
                self._settle(rule, f"{table}.{row}.{name}", {rule.field.each: row})

    def _settle(self, rule: Rule, path: str, rows: Rows) -> None:
        if rule.shown_when is not None and rule.shown_when.run(self, rows) is not True:
            self.hidden.add(path)
            return
        if rule.field.kind == "rows":
            found = self.record.rows.get(path)
            if found is not None:
                self.rows[path] = found
            return
        if rule.computed is None:
            value = self.record.values.get(path, UNSET)
        else:
            value = as_kind(rule.computed.run(self, rows), rule.field)
        if value is not UNSET and not _is_blank(value):
            self.values[path] = value

    def is_recorded(self, path: str) -> bool:
        """True when a visible field holds a value, or a visible table was answered."""
        return path in self.values or path in self.rows

    def is_hidden(self, path: str) -> bool:
        """True when the field doesn't exist in this case; a column of an absent table too."""
        return path in self.hidden or path not in self.concrete

    @property
    def concrete(self) -> Mapping[str, Rule]:
        """Every path that exists or could be filled in this case, hidden ones included.

        They stand in the order of the form, a table's columns row by row.
        """
        if self._concrete is None:
            self._concrete = dict(self._walk())
        return self._concrete

    @property
    def texts(self) -> tuple[str, ...]:
        """The paths of all free text that is recorded, in the order of the form."""
        if self._texts is None:
            self._texts = tuple(
                path
                for path, rule in self.concrete.items()
                if rule.field.kind in ("text", "prose") and path in self.values
            )
        return self._texts

    def text_column(self, path: str, column: str) -> str:
        """A column of the table of free text, for the text at a path."""
        if column == "words":
            return str(self.values[path])
        field = self.concrete[path].field
        return field.path if column == "path" else field.label

    def _walk(self) -> Iterator[tuple[str, Rule]]:
        for rule, columns in self._layout:
            path = rule.field.path
            yield path, rule
            for row in self.rows.get(path, ()):
                for column in columns:
                    yield f"{path}.{row}.{column.field.name}", column

    def is_required(self, path: str) -> bool:
        """True when the visible field must be answered in this case."""
        rule = self.concrete.get(path)
        if rule is None or path in self.hidden or rule.computed is not None:
            return False
        if rule.field.required:
            return True
        when = rule.required_when
        return when is not None and when.run(self, row_in_hand(rule.field, path)) is True

    def put_aside(self) -> tuple[str, ...]:
        """Paths that hold a value in the record but are hidden now: kept, never said."""
        return tuple(
            path
            for path in (*self.record.values, *self.record.rows)
            if path not in self.values
            and path not in self.rows
            and not _is_blank(self.record.values.get(path))
        )

    def said(self, path: str) -> str:
        """The value at a path as words; "" when nothing is recorded."""
        rule = self.concrete.get(path)
        value = self.values.get(path, UNSET)
        return "" if rule is None or value is UNSET else words_of(value, rule.field)


_INVISIBLE = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp", "Zs"))


def _is_blank(value: Any) -> bool:
    """True for a text without a visible character: with it, nothing was recorded."""
    return isinstance(value, str) and all(category(mark) in _INVISIBLE for mark in value)


def row_in_hand(field: Field, path: str) -> Rows:
    """The row that a concrete path of a column stands in."""
    if not field.table:
        return {}
    return {field.each: path[len(field.table) + 1 :].partition(".")[0]}


def as_kind(value: Any, field: Field) -> Any:
    """A computed result as a value of the field's kind, with its unit and decimals."""
    if value is UNSET or isinstance(value, bool | str | date | time | datetime):
        return value
    if field.decimals is not None:
        value = round(value + 0.0, field.decimals)
    if field.kind == "integer":
        return round(value)
    return Quantity(value, field.unit) if field.kind == "quantity" else value


_SAID_UNITS: Mapping[str, tuple[str, str]] = {
    "min": ("minute", "minutes"),
    "degrees": ("degree", "degrees"),
    "days": ("day", "days"),
    "weeks": ("week", "weeks"),
    "months": ("month", "months"),
    "years": ("year", "years"),
    "hours": ("hour", "hours"),
    "%": ("per cent", "per cent"),
}


def date_words(day: date) -> str:
    """A date in full: 9 March 2026."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def quantity_words(amount: int | float, unit: str) -> str:
    """A number with its unit as it stands in a sentence: 38 mm, 1 week, 6 weeks."""
    singular, plural = _SAID_UNITS.get(unit, (unit, unit))
    return f"{number_text(amount)} {singular if amount == 1 else plural}".rstrip()


def and_list(items: Sequence[str]) -> str:
    """Words as a list: "a, b and c"; "a; b; and c, or d" where one could be taken for several."""
    if len(items) < 2:
        return "".join(items)
    if any(sign in item for item in items for sign in (", ", "; ", " and ")):
        return f"{'; '.join(items[:-1])}; and {items[-1]}"
    return f"{', '.join(items[:-1])} and {items[-1]}"


def words_of(value: Any, field: Field) -> str:
    """A value as it stands in a sentence."""
    if isinstance(value, Quantity):
        return quantity_words(value.amount, value.unit)
    if isinstance(value, bool):
        return field.said_yes if value else field.said_no
    if isinstance(value, datetime):
        return f"{date_words(value)}, {value:%H:%M}"
    if isinstance(value, date):
        return date_words(value)
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, tuple):
        return and_list([_said_option(item, field) for item in value])
    if isinstance(value, int | float):
        return quantity_words(value, field.unit)
    if field.kind == "yes_no" and value == NOT_EXAMINED:
        return "not examined"
    return _said_option(str(value), field)


def _said_option(value: str, field: Field) -> str:
    option = field.option(value)
    return value if option is None else option.said
