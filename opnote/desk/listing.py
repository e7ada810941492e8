"""A theatre list from another program as cases to be: which column is what, and what can't be read.

Free of Qt. Nothing is written here: `records` gives what would be made.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, time
from typing import Final

from opnote.archive.table import Row, Table
from opnote.assess.assess import contradictions
from opnote.desk.entry import ORDER, PATIENT_NAME, SIDE
from opnote.desk.reading import (
    EMPTY,
    Bounds,
    Reading,
    day_words,
    read_date,
    read_integer,
    read_time,
)
from opnote.pack.form import Field
from opnote.pack.heading import bare_words
from opnote.pack.pack import Pack
from opnote.pack.value_json import ValueProblem, value_from_json, value_to_json
from opnote.record import UNSET, Origin, Record, Value, set_values

DAY: Final = "operation.date"
BORN: Final = "patient.born"
IDENTIFIERS: Final = ("patient.number", "patient.nhs_number")

MADE: Final = "will be made"
MEND: Final = "to mend"
TWICE: Final = "there already"
LEFT_OUT: Final = "left out"
NAMELESS: Final = "no name yet"

_SHORTEST_WITHIN: Final = 4
"""Shorter names than this are looked for as whole headings only."""

_NUMERIC: Final = re.compile(r"(\d{1,2})\s*[/.\- ]\s*(\d{1,2})\s*[/.\- ]\s*(\d{2}|\d{4})\.?")
_MIDNIGHT: Final = re.compile(r"(?:T|\s+)00:00(?::00(?:\.0+)?)?Z?$")
_CLOCK_12: Final = re.compile(r"(\d{1,2})(?:[:.](\d{2}))?(?::\d{2})?\s*([ap])\.?m\.?", re.I)
_NAMED: Final = re.compile(r"(\d{1,2})[\s.\-]*([A-Za-z]{3,9})[\s.,\-]*(\d{2}|\d{4})")
_NAME_FIRST: Final = re.compile(r"([A-Za-z]{3,9})\.?\s*(\d{1,2}),?\s+(\d{4})")
_ISO: Final = re.compile(r"\d{4}-\d{1,2}-\d{1,2}")
_SECONDS: Final = re.compile(r"(\d{1,2}:\d{2}):\d{2}")


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that keeps a row from being made: its place in the table, and one line about it.

    `column` is -1 where it is the row as a whole.
    """

    row: int
    column: int
    message: str


@dataclass(slots=True)
class _Line:
    """A row with what a person has decided about it."""

    number: int
    place: int
    cells: list[str]
    is_left_out: bool = False
    without: set[int] = field(default_factory=set)


@dataclass(frozen=True, slots=True)
class Made:
    """A row as a case: which row, a name for its file, and its record."""

    row: int
    stem: str
    record: Record


class Listing:
    """The rows of a list, the field of each column, and what is understood of them.

    Rows and columns are counted from 0 here; messages call a row as the spreadsheet does.
    """

    def __init__(
        self,
        table: Table,
        pack: Pack,
        today: date,
        *,
        month_first: bool = False,
        known: Sequence[tuple[str, Record]] = (),
    ) -> None:
        """Match the columns; `known` are the cases of the folder by the names of their files."""
        self._table = table
        self.pack = pack
        self.today = today
        self._known = known
        self.targets: tuple[Field, ...] = tuple(f for f in pack.form.fields if f.listed_as)
        self.month_first = month_first
        self.day: date | None = None
        """The date of all rows when no column holds one."""
        self.has_heading = _is_heading(table.rows[0], self.targets)
        self.fields: list[Field | None] = []
        self._lines: list[_Line] = []
        self._checked: dict[tuple[tuple[str, Value], ...], tuple[tuple[str, str], ...]] = {}
        self._readings: list[list[Reading]] = []
        self._troubles: list[Trouble] = []
        self._twins: dict[int, str] = {}
        self._begin()

    def _begin(self) -> None:
        rows = self._table.rows[1:] if self.has_heading else self._table.rows
        self._lines = [_Line(r.number, i, list(r.cells)) for i, r in enumerate(rows, 1)]
        self.fields = [None] * self._table.width
        if self.has_heading:
            self.fields = list(_matched(self._table.rows[0].cells, self.targets))
        self._settle()

    # What a person changes

    def set_heading(self, has_heading: bool) -> None:
        """Say whether the first row names the columns; what was decided before begins anew."""
        self.has_heading = has_heading
        self._begin()

    def set_month_first(self, month_first: bool) -> None:
        """Say which of two numbers of a date is the month."""
        self.month_first = month_first
        self._settle()

    def set_day(self, day: date | None) -> None:
        """Give the date of the list, where no column holds it."""
        self.day = day
        self._settle()

    def set_known(self, known: Sequence[tuple[str, Record]]) -> None:
        """The cases of the folder have changed."""
        self._known = known
        self._settle()

    def set_field(self, column: int, path: str) -> None:
        """Send a column to a field, "" to none; only a text takes more than one column."""
        chosen = next((f for f in self.targets if f.path == path), None)
        if chosen is not None and chosen.kind != "text":
            self.fields = [None if f is chosen else f for f in self.fields]
        self.fields[column] = chosen
        for line in self._lines:
            line.without.discard(column)
        self._settle()

    def set_text(self, row: int, column: int, text: str) -> None:
        """Mend a cell."""
        self._lines[row].cells[column] = text
        self._lines[row].without.discard(column)
        self._settle()

    def make_without(self, row: int, column: int) -> None:
        """Make a row without the value of a cell."""
        self._lines[row].without.add(column)
        self._settle()

    def leave_out(self, row: int, is_left_out: bool = True) -> None:
        """Leave a row out, or take it in again."""
        self._lines[row].is_left_out = is_left_out
        self._settle()

    def drop(self, rows: Sequence[int]) -> None:
        """Take rows away that were made."""
        self._lines = [line for row, line in enumerate(self._lines) if row not in rows]
        self._settle()

    # What is understood

    @property
    def row_count(self) -> int:
        """How many rows there are, without the heading."""
        return len(self._lines)

    @property
    def column_count(self) -> int:
        """How many columns there are."""
        return self._table.width

    def number(self, row: int) -> int:
        """What the spreadsheet calls a row."""
        return self._lines[row].number

    def text(self, row: int, column: int) -> str:
        """What stands in a cell."""
        return self._lines[row].cells[column]

    def heading(self, column: int) -> str:
        """What the list calls a column."""
        text = " ".join(self._table.rows[0].cells[column].split()) if self.has_heading else ""
        return text or f"Column {column + 1}"

    def understood(self, row: int, column: int) -> str:
        """A cell as it was understood, in words; as it stands where it isn't used or read."""
        reading = self._readings[row][column]
        if column in self._lines[row].without:
            return ""
        if reading.value is UNSET:
            return self.text(row, column)
        return reading.understood or str(reading.value)

    def is_without(self, row: int, column: int) -> bool:
        """True when a row is made without the value of a cell."""
        return column in self._lines[row].without

    def troubles(self, row: int | None = None) -> list[Trouble]:
        """What must be mended or decided, of one row or of all."""
        return [t for t in self._troubles if row in (None, t.row)]

    def trouble_at(self, row: int, column: int) -> str:
        """What is wrong with a cell; "" when nothing is."""
        found = (t.message for t in self._troubles if (t.row, t.column) == (row, column))
        return next(found, "")

    def state(self, row: int) -> str:
        """What becomes of a row: MADE, MEND, TWICE, LEFT_OUT or NAMELESS."""
        if self._lines[row].is_left_out:
            return LEFT_OUT
        if row in self._twins:
            return TWICE
        if self.troubles(row):
            return MEND
        return MADE if self.names_people else NAMELESS

    def about(self, row: int) -> str:
        """What keeps a row from being made, in one line; "" when it will be made."""
        state = self.state(row)
        if state == LEFT_OUT:
            return f"row {self.number(row)}: left out"
        if state == TWICE:
            return f"row {self.number(row)}: {self._twins[row]}"
        return next((trouble.message for trouble in self.troubles(row)), "")

    def count(self, state: str) -> int:
        """How many rows are in a state."""
        return sum(self.state(row) == state for row in range(self.row_count))

    def count_without(self, path: str) -> int:
        """How many of the rows that will be made say nothing of a field."""
        rows = (row for row in range(self.row_count) if self.state(row) == MADE)
        return sum(path not in self._values(row) for row in rows)

    def unused(self) -> list[str]:
        """The headings of the columns that go nowhere."""
        return [self.heading(c) for c, found in enumerate(self.fields) if found is None]

    @property
    def needs_day(self) -> bool:
        """True when no column holds the date of the operation."""
        return all(found is None or found.path != DAY for found in self.fields)

    @property
    def names_people(self) -> bool:
        """True when a column says whose operation each is."""
        paths = {found.path for found in self.fields if found is not None}
        return bool(paths & {PATIENT_NAME, *IDENTIFIERS})

    def made(self) -> list[Made]:
        """What would be made now: a record for each row with nothing to mend."""
        found = []
        for row in range(self.row_count):
            if self.state(row) != MADE:
                continue
            values = self._values(row)
            day, order = values.get(DAY), values.get(ORDER, self._lines[row].place)
            name = values.get(PATIENT_NAME) or next(
                (values[path] for path in IDENTIFIERS if path in values), "case"
            )
            # In the order of the day, as the folder is listed by the names of its files.
            parts = ("" if day is None else str(day), f"{order:02}", str(name))
            record = set_values(values, "Read from a list", Origin.LISTED).apply(
                self.pack.new_record()
            )
            found.append(Made(row, " ".join(part for part in parts if part), record))
        return found

    # How it is read

    def _settle(self) -> None:
        self._readings = [
            [self._read(line.cells[c], found) for c, found in enumerate(self.fields)]
            for line in self._lines
        ]
        self._troubles = [
            trouble for row in range(self.row_count) for trouble in self._row_troubles(row)
        ]
        self._twins = dict(self._find_twins())

    def _read(self, text: str, found: Field | None) -> Reading:
        return EMPTY if found is None else read_cell(text, found, self.today, self.month_first)

    def _values(self, row: int) -> dict[str, Value]:
        values: dict[str, Value] = {}
        for column, found in enumerate(self.fields):
            value = self._readings[row][column].value
            if found is None or value is UNSET or column in self._lines[row].without:
                continue
            earlier = values.get(found.path)
            values[found.path] = value if earlier is None else f"{earlier} {value}"
        if self.needs_day and self.day is not None:
            values[DAY] = self.day
        return values

    def _row_troubles(self, row: int) -> Iterator[Trouble]:
        line = self._lines[row]
        if line.is_left_out:
            return
        for column, reading in enumerate(self._readings[row]):
            if reading.problem and column not in line.without:
                yield self._trouble(row, column, reading.problem)
        values = self._values(row)
        if self.names_people and not {PATIENT_NAME, *IDENTIFIERS} & values.keys():
            words = "no name and no number of the patient; write one, or leave the row out"
            yield Trouble(row, -1, f"row {line.number}: {words}")
        for path, words in self._contradictions(values):
            columns = [c for c, f in enumerate(self.fields) if f is not None and f.path == path]
            yield self._trouble(row, columns[0] if columns else -1, words)

    def _trouble(self, row: int, column: int, words: str) -> Trouble:
        where = f"row {self.number(row)}"
        if column >= 0:
            where = f'{where}, "{self.heading(column)}"'
        return Trouble(row, column, f"{where}: {words}")

    def _contradictions(self, values: dict[str, Value]) -> tuple[tuple[str, str], ...]:
        """What the form says can't be so in these values: identifiers, dates."""
        key = tuple(values.items())
        if key not in self._checked:
            record = set_values(values, "").apply(self.pack.new_record())
            self._checked[key] = tuple(
                (next((path for path in f.fields if path in values), ""), f.message)
                for f in contradictions(self.pack, self.pack.view(record))
            )
        return self._checked[key]

    def _find_twins(self) -> Iterator[tuple[int, str]]:
        """Rows that are the same operation as a case of the folder or as a row before."""
        seen = [(_Operation.of(r.values), f"there is {name} already") for name, r in self._known]
        for row in range(self.row_count):
            if self._lines[row].is_left_out:
                continue
            operation = _Operation.of(self._values(row))
            there = next((words for other, words in seen if operation.is_same(other)), "")
            if there:
                yield row, f"the same patient, date and side; {there}, so it is not made"
            else:
                seen.append((operation, f"row {self.number(row)} has it already"))


@dataclass(frozen=True, slots=True)
class _Operation:
    """What tells two operations apart: who, when, which side."""

    people: frozenset[tuple[str, str]]
    day: object
    side: object

    @classmethod
    def of(cls, values: Mapping[str, Value]) -> _Operation:
        """The operation of a case's values: by its identifiers, else by name and birth."""
        people = {
            (path, bare_words(str(values[path])).replace(" ", ""))
            for path in IDENTIFIERS
            if path in values
        }
        if not people and PATIENT_NAME in values:
            people = {(PATIENT_NAME, f"{bare_words(str(values[PATIENT_NAME]))} {values.get(BORN)}")}
        return cls(frozenset(people), values.get(DAY), values.get(SIDE))

    def is_same(self, other: _Operation) -> bool:
        """True when it is one operation, as far as can be told; an unknown side tells nothing."""
        return (
            bool(self.people & other.people)
            and self.day == other.day
            and (self.side == other.side or None in (self.side, other.side))
        )


def read_cell(text: str, target: Field, today: date, month_first: bool) -> Reading:
    """What a cell of a list says for a field; the problem says what is wrong and what helps."""
    bare = " ".join(text.split())
    if not bare:
        return EMPTY
    match target.kind:
        case "date":
            reading = _read_day(bare, today, month_first)
            if target.path != DAY and isinstance(reading.value, date) and reading.value > today:
                words = f"{bare} is read as {reading.understood}, which is still to come"
                reading = Reading(problem=f"{words}; write the year in full")
        case "time":
            reading = _read_clock(bare)
        case "integer":
            bounds = Bounds(target.least, target.most, target.unit)
            reading = read_integer(bare.rstrip("."), bounds)
            if reading.problem:
                reading = Reading(problem=f"{bare}: {reading.problem}")
        case "choice":
            reading = _read_option(bare, target)
        case _:
            reading = Reading(bare)
    if reading.value is UNSET:
        return reading
    try:
        value_from_json(value_to_json(reading.value), target)
    except ValueProblem as error:
        return Reading(problem=f"{error.message}; {error.remedy}")
    return reading


def _read_day(bare: str, today: date, month_first: bool) -> Reading:
    """A day with its year: what leaves a part of it open is not guessed."""
    example = "1990-02-28 or 2/28/1990" if month_first else "1990-02-28 or 28/2/1990"
    text = _MIDNIGHT.sub("", bare)
    numeric = _NUMERIC.fullmatch(text)
    if numeric is not None:
        first, second, year = numeric.groups()
        day, month = (second, first) if month_first else (first, second)
        reading = read_date(f"{day}/{month}/{year}", today)
        if reading.value is UNSET:
            other = read_date(f"{month}/{day}/{year}", today)
            if isinstance(other.value, date):
                order = "the month" if month_first else "the day"
                swap = "take the tick from" if month_first else "tick"
                return Reading(
                    problem=f"{bare} is no date with {order} first; write it as "
                    f'{other.value.isoformat()}, or {swap} "Month before day"'
                )
    elif named := _NAMED.fullmatch(text):
        reading = read_date(" ".join(named.groups()), today)
    elif named := _NAME_FIRST.fullmatch(text):
        reading = read_date(f"{named[2]} {named[1]} {named[3]}", today)
    elif _ISO.fullmatch(text):
        reading = read_date(text, today)
    else:
        return Reading(problem=f"{bare} is no date with its year; write it as {example}")
    if not isinstance(reading.value, date):
        return Reading(problem=f"{bare} is no date; write it as {example}")
    return Reading(reading.value, day_words(reading.value))


def _read_clock(bare: str) -> Reading:
    twelve = _CLOCK_12.fullmatch(bare)
    text = _SECONDS.sub(r"\1", bare)
    if twelve is not None and 1 <= int(twelve[1]) <= 12:
        hour = int(twelve[1]) % 12 + (12 if twelve[3].lower() == "p" else 0)
        text = f"{hour}:{twelve[2] or '00'}"
    reading = read_time(text, time()) if text[:1].isdigit() else EMPTY
    if reading.value is UNSET:
        return Reading(problem=f"{bare} is no time of day; write it as 8:40 or 13:05")
    return reading


def _read_option(bare: str, target: Field) -> Reading:
    words = bare_words(bare)
    for refused, advice in target.listed_never.items():
        if words == bare_words(refused):
            return Reading(problem=f"{bare} is no answer here; {advice}")
    for option in target.options:
        names = (option.value.replace("_", " "), option.label, option.said, *option.listed_as)
        if words in map(bare_words, names):
            return Reading(option.value, option.label)
    labels = ", ".join(option.label for option in target.options)
    return Reading(problem=f"{bare} is none of its answers; write one of: {labels}")


def _is_heading(row: Row, targets: Sequence[Field]) -> bool:
    """True when a row names columns: two of them, or one in a row without a digit."""
    names = {bare_words(name) for target in targets for name in target.listed_as}
    count = sum(bare_words(cell) in names for cell in row.cells)
    return count > 1 or (count == 1 and not any(mark.isdigit() for mark in "".join(row.cells)))


def _matched(headings: Sequence[str], targets: Sequence[Field]) -> Iterator[Field | None]:
    """The field of each column by its heading: the exact names first, then those within it."""
    words = [bare_words(heading) for heading in headings]
    exact = [next((t for t in targets if w in map(bare_words, t.listed_as)), None) for w in words]
    taken: list[Field] = []
    for column, heading in enumerate(words):
        found = exact[column]
        if found is None:
            found = _named_within(heading, targets)
            found = None if found in exact else found
        if found is not None and found.kind != "text" and found in taken:
            found = None
        if found is not None:
            taken.append(found)
        yield found


def _named_within(heading: str, targets: Sequence[Field]) -> Field | None:
    """The field whose longest name stands within a heading as whole words."""
    found: tuple[int, Field | None] = (0, None)
    for target in targets:
        for name in map(bare_words, target.listed_as):
            within = f" {name} " in f" {heading} "
            if within and len(name) >= _SHORTEST_WITHIN and len(name) > found[0]:
                found = (len(name), target)
    return found[1]
