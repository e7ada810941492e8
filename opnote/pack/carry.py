"""What one case of the day takes over from the one before: the people and the room.

Which fields are carried over is the form's to say (`carry = true`). What was carried over is
unconfirmed, and nothing that was typed or listed is touched.
"""

from __future__ import annotations

from collections.abc import Iterator

from opnote.pack.form import Field
from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.record import Edit, Origin, Record, Value, add_row, set_value
from opnote.record.record import NEEDS_CONFIRMATION

_DAY = "operation.date"


def is_begun(record: Record) -> bool:
    """True when a person has entered or confirmed anything in a case."""
    if record.confirmed or record.unanswered or record.reasons or record.due or record.given:
        return True
    if any(record.origin(path) not in NEEDS_CONFIRMATION for path in record.values):
        return True
    return any(
        not any(path.startswith(f"{table}.{row}.") for path in record.values)
        for table, rows in record.rows.items()
        for row in rows or ("",)
    )


def is_of_the_same_day(one: Record, other: Record) -> bool:
    """True when both cases have a date, and it is the same."""
    return _DAY in one.values and one.values[_DAY] == other.values.get(_DAY)


def carry_over(pack: Pack, last: View, record: Record, label: str) -> Edit | None:
    """Fill what the form carries over from the case before, as one step; None when nothing is.

    A field that holds a value, was answered "not recorded, because ...", or doesn't exist in the
    new case stays as it is; so does a table that has any row.
    """
    view = pack.view(record)
    steps: list[Edit] = []
    for field in pack.form.fields:
        path = field.path
        if view.is_hidden(path) or path in record.unanswered:
            continue
        if field.kind == "rows":
            if path not in record.rows:
                steps += [
                    add_row(path, label, cells, origins=dict.fromkeys(cells, Origin.CARRIED_OVER))
                    for cells in _carried_rows(field, last)
                ]
        elif field.carry and path not in record.values and path in last.values:
            steps.append(set_value(path, last.values[path], label, Origin.CARRIED_OVER))
    if not steps:
        return None

    def apply(now: Record) -> Record:
        for step in steps:
            now = step.apply(now)
        return now

    filled = apply(record)
    new = [path for path in filled.values if path not in record.values]
    return Edit(label, (*new, *(path for path in filled.rows if path not in record.rows)), apply)


def _carried_rows(table: Field, last: View) -> Iterator[dict[str, Value]]:
    """The carried columns of each row; a row in which they are all empty is no row."""
    for row in last.rows.get(table.path, ()):
        cells = {
            column.name: last.values[path]
            for column in table.columns
            if column.carry and (path := f"{table.path}.{row}.{column.name}") in last.values
        }
        if cells:
            yield cells
