"""What a scanned label says: the columns of its row that it fills, or why it can't be read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from opnote.pack.pack import Pack
from opnote.pack.view import as_kind, row_in_hand
from opnote.record import UNSET, Record, Value, set_value

UNREAD = "nothing could be read; enter the date of the operation first, or type the label's parts"


@dataclass(frozen=True, slots=True)
class Scanned:
    """The values that a scan fills, by concrete path; `fault` says why there are none."""

    values: Mapping[str, Value]
    fault: str = ""


def scanned(pack: Pack, record: Record, path: str, text: str) -> Scanned:
    """Read a text scanned or pasted into a field of kind scan.

    `path` is that of the field in its row, `devices.r3.label`. The values don't include the text
    itself. Nothing is guessed: a label that can be read in two ways is a fault.
    """
    field = pack.field_at(path)
    rule = next((rule for rule in pack.rules if rule.field is field), None)
    if field is None or rule is None or not text.strip():
        return Scanned({})
    view = pack.view(set_value(path, text, field.label).apply(record))
    rows = row_in_hand(field, path)
    if rule.fault is not None:
        fault = rule.fault.run(view, rows)
        if fault is not UNSET:
            return Scanned({}, str(fault))
    row = path.rpartition(".")[0]
    values = {
        f"{row}.{column.name}": as_kind(value, column)
        for column, read in rule.fills
        if (value := read.run(view, rows)) is not UNSET
    }
    return Scanned(values) if values else Scanned({}, UNREAD)
