"""What of a record counts: hidden fields left out, computed fields worked out.

Checks and wordings read this view and never the record itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any, TypeAlias
from unicodedata import category
from weakref import ReferenceType, ref

from opnote.pack.compiled import Expression, Rows
from opnote.pack.form import Field
from opnote.record import NOT_EXAMINED, UNSET, Quantity, Record
from opnote.record.value import MONTHS, number_text


@dataclass(frozen=True, slots=True)
class Rule:
    """When a field is shown and required, and how it is worked out, compiled.

    `reads` are the fields that what stands in the field depends on: its table's, and those of
    `shown_when` and `computed`.
    """

    field: Field
    shown_when: Expression | None = None
    required_when: Expression | None = None
    computed: Expression | None = None
    fills: tuple[tuple[Field, Expression], ...] = ()
    fault: Expression | None = None
    reads: frozenset[str] = frozenset()


Layout: TypeAlias = Sequence[tuple[Rule, Sequence[Rule]]]
"""The rules in the order of the form, each with those of its columns."""


class View:
    """The effective values of one snapshot on one form.

    Shape: `values` maps concrete paths to visible recorded or computed values, `rows` the paths of
    visible tables to their row ids, `hidden` the paths that don't exist in this case. None of them
    has an order; `concrete` has that of the form.
    """

    __slots__ = (
        "__weakref__",
        "_changed",
        "_concrete",
        "_layout",
        "_rules",
        "_texts",
        "hidden",
        "record",
        "rows",
        "values",
    )

    def __init__(
        self, record: Record, rules: Sequence[Rule], layout: Layout, before: View | None = None
    ) -> None:
        """Work the view out; `rules` stand in the order of their dependence.

        `before` is a view of the same rules: what can't have changed since is taken from it.
        """
        self.record = record
        self._rules = rules
        self.values: dict[str, Any] = {}
        self.rows: dict[str, tuple[str, ...]] = {}
        self.hidden: set[str] = set()
        self._layout = layout
        self._concrete: dict[str, Rule] | None = None
        self._texts: tuple[str, ...] | None = None
        # The view that this one followed, which may go, and what has changed from it to this one.
        self._changed: tuple[ReferenceType[View], frozenset[str]] | None = None
        if before is not None and before._rules is rules:
            self._follow(before)
            return
        for rule in rules:
            self._settle_everywhere(rule)

    def _settle_everywhere(self, rule: Rule) -> None:
        if not rule.field.table:
            self._settle(rule, rule.field.path, {})
            return
        table, name = rule.field.table, rule.field.name
        for row in self.rows.get(table, ()):
            self._settle(rule, f"{table}.{row}.{name}", {rule.field.each: row})

    def _follow(self, before: View) -> None:
        """Settle only the fields that were entered anew or depend on one that has changed."""
        entered = before._entered_otherwise(self.record)
        self.values.update(before.values)
        self.rows.update(before.rows)
        self.hidden.update(before.hidden)
        changed: set[str] = set()
        for rule in self._rules:
            path = rule.field.path
            if path not in entered and changed.isdisjoint(rule.reads):
                continue
            for place in before._places(rule):
                self.values.pop(place, None)
                self.rows.pop(place, None)
                self.hidden.discard(place)
            self._settle_everywhere(rule)
            # A new row changes its columns even where they are as empty as those of no row.
            if rule.field.table in changed or not self._is_all_as(rule, before):
                changed.add(path)
        if self.rows == before.rows:
            self._concrete = before._concrete
        self._changed = (ref(before), frozenset(changed))

    def _entered_otherwise(self, record: Record) -> set[str]:
        """The fields of this view for which another record holds something else."""
        mine = self.record
        paths = {
            *differing(mine.values, record.values),
            *differing(mine.rows, record.rows),
        }
        # What has no place in this view stands in rows that are absent from it: should they come,
        # then their table has changed.
        return {self.concrete[path].field.path for path in paths if path in self.concrete}

    def _places(self, rule: Rule) -> Sequence[str]:
        field = rule.field
        if not field.table:
            return (field.path,)
        return [f"{field.table}.{row}.{field.name}" for row in self.rows.get(field.table, ())]

    def _is_all_as(self, rule: Rule, before: View) -> bool:
        # Each place is looked at, so that none keeps an equal value in the place of the same one.
        return [self._is_as(place, before) for place in self._places(rule)].count(False) == 0

    def _is_as(self, path: str, before: View) -> bool:
        """True when a path holds what it held; the very same value then stays."""
        old = before.values.get(path, UNSET)
        if path in self.values and is_same(self.values[path], old):
            self.values[path] = old
        return (
            self.values.get(path, UNSET) is old
            and self.rows.get(path) == before.rows.get(path)
            and (path in self.hidden) is (path in before.hidden)
        )

    def changed_since(self, before: View) -> frozenset[str]:
        """The fields that hold something else than in another view of the same form, or are
        hidden in one of the two; a table when its rows have changed, with all its columns."""
        if before is self:
            return frozenset()
        if self._changed is not None and self._changed[0]() is before:
            return self._changed[1]
        paths = {
            *differing(before.values, self.values),
            *differing(before.rows, self.rows),
            *(before.hidden ^ self.hidden),
        }
        changed = set()
        for path in paths:
            rule = self.concrete.get(path) or before.concrete[path]
            changed.add(rule.field.path)
            changed.update(column.path for column in rule.field.columns)
        return frozenset(changed)

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


def differing(before: Mapping[str, Any], after: Mapping[str, Any]) -> Iterator[str]:
    """The keys whose values are not the same in two mappings, or that one of them lacks."""
    if before is after:
        return
    for key, value in after.items():
        old = before.get(key, UNSET)
        if old is not value and not is_same(old, value):
            yield key
    yield from before.keys() - after.keys()


def is_same(one: Any, other: Any) -> bool:
    """True when two values can't be told apart by anything that reads them.

    Stricter than equality, for which yes is 1 and 5 mm is 5.0 mm.
    """
    if one.__class__ is not other.__class__:
        return False
    if one.__class__ is Quantity and one.amount.__class__ is not other.amount.__class__:
        return False
    return bool(one == other)


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
