"""A surgeon's usual practice: what is done alike in most cases, filled in for a person to confirm.

The form says which questions it may hold (`preset`); what must come from a person at this case,
such as a side, a finding, a count or a medicine, never is one of them. A practice is a JSON file
that can be read and edited:

    {"format": 1, "name": "Miss Q. Larkspindle", "procedures": ["meniscal_repair"],
     "values": {"setup.position": "supine_flat"},
     "rows": {"stitches": {"body": {"technique": "inside_out"}}}}

`rows` holds, for a table, what a row gets once the column that decides (`preset_by`) is answered.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from opnote.pack.form import Field
from opnote.pack.pack import Pack
from opnote.pack.plan import fill_empty, plan_paths
from opnote.pack.problem import did_you_mean
from opnote.pack.value_json import ValueProblem, value_from_json, value_to_json
from opnote.pack.view import View
from opnote.record import Edit, Record, Value
from opnote.record.atomic import write_atomically
from opnote.record.record import Origin

FORMAT: Final = 1
LABEL: Final = "filling in the usual practice"
SUFFIX: Final = ".json"
_MOST_BYTES: Final = 1024 * 1024


class PracticeError(Exception):
    """A practice that can't be read or kept; one line with the file and the remedy."""


@dataclass(frozen=True, slots=True)
class Practice:
    """What is usual for one surgeon.

    Shape: `values` maps a path to its value; `rows` maps a table to the answer of the column that
    decides, and that to the columns which it fills.
    """

    name: str
    procedures: tuple[str, ...]
    values: Mapping[str, Value]
    rows: Mapping[str, Mapping[str, Mapping[str, Value]]]

    @property
    def size(self) -> int:
        """How many answers it holds."""
        inside = sum(len(columns) for by in self.rows.values() for columns in by.values())
        return len(self.values) + inside


def practice_of(pack: Pack, view: View, name: str) -> Practice:
    """What of a case may be usual; a segment with rows of two kinds gives the first."""
    plans = plan_paths(pack)
    values = {
        field.path: view.values[field.path]
        for field in pack.form.fields
        if _may_be_usual(field, plans) and field.path in view.values
    }
    rows: dict[str, dict[str, dict[str, Value]]] = {}
    for table in pack.form.fields:
        if not table.preset_by:
            continue
        for row in view.rows.get(table.path, ()):
            deciding = view.values.get(f"{table.path}.{row}.{table.preset_by}")
            columns = {
                column.name: view.values[path]
                for column in table.columns
                if column.preset and (path := f"{table.path}.{row}.{column.name}") in view.values
            }
            if isinstance(deciding, str) and columns:
                rows.setdefault(table.path, {}).setdefault(deciding, columns)
    return Practice(name, view.record.procedures, values, rows)


def fill_in(practice: Practice, pack: Pack) -> Edit:
    """Fill what is empty with what is usual, to be confirmed; one step."""

    def apply(record: Record) -> Record:
        wanted: dict[str, Value] = dict(practice.values)
        for table in practice.rows:
            for row in record.rows.get(table, ()):
                wanted |= _of_row(practice, pack, record, table, row)
        return fill_empty(record, wanted, pack, LABEL)

    return Edit(LABEL, tuple(practice.values), apply)


def follow(practice: Practice, pack: Pack, old: View, new: View) -> Edit | None:
    """What is usual for the questions that a change has brought up; None when there are none.

    A row gets what is usual once its deciding column is answered; another answer replaces what
    the earlier one filled and nobody confirmed. What a person has cleared stays clear.
    """
    came_up = any(path in old.hidden and path not in new.hidden for path in practice.values)
    # What is hidden still may come up by one of the others; of the rest nothing is filled.
    wanted = {p: value for p, value in practice.values.items() if came_up and p in old.hidden}
    replaced: list[str] = []
    for table in practice.rows:
        for row in new.rows.get(table, ()):
            usual = _of_row(practice, pack, new.record, table, row)
            deciding = f"{table}.{row}.{pack.fields[table].preset_by}"
            if new.record.value(deciding) != old.record.value(deciding):
                replaced += [path for path in usual if _is_standing_preset(new.record, path)]
                wanted |= usual
            else:
                came = {p for p in usual if p in old.hidden and p not in new.hidden}
                wanted |= {path: usual[path] for path in came}
    if not wanted:
        return None

    def apply(record: Record) -> Record:
        emptied = record.with_changes(
            values={p: value for p, value in record.values.items() if p not in replaced},
            origins={p: origin for p, origin in record.origins.items() if p not in replaced},
        )
        return fill_empty(emptied, wanted, pack, LABEL)

    return Edit(LABEL, tuple(wanted), apply)


def _of_row(
    practice: Practice, pack: Pack, record: Record, table: str, row: str
) -> dict[str, Value]:
    deciding = record.values.get(f"{table}.{row}.{pack.fields[table].preset_by}")
    usual = practice.rows[table].get(deciding, {}) if isinstance(deciding, str) else {}
    return {f"{table}.{row}.{column}": value for column, value in usual.items()}


def _is_standing_preset(record: Record, path: str) -> bool:
    return record.origin(path) is Origin.PRESET and record.is_unconfirmed(path)


def _may_be_usual(field: Field, plans: frozenset[str]) -> bool:
    return field.preset or (
        field.path in plans and not field.never_preset and not field.is_computed
    )


# Files


def practices_in(folder: Path) -> list[Path]:
    """The files of the practices that are kept, by name."""
    return sorted(folder.glob(f"*{SUFFIX}")) if folder.is_dir() else []


def practice_text(practice: Practice) -> str:
    """The file of a practice, for people to read."""
    content = {
        "format": FORMAT,
        "name": practice.name,
        "procedures": list(practice.procedures),
        "values": {path: value_to_json(value) for path, value in practice.values.items()},
        "rows": {
            table: {
                deciding: {column: value_to_json(value) for column, value in columns.items()}
                for deciding, columns in by.items()
            }
            for table, by in practice.rows.items()
        },
    }
    return json.dumps(content, ensure_ascii=False, indent=2) + "\n"


def keep_practice(practice: Practice, path: Path) -> None:
    """Write a practice into its file.

    Raises: PracticeError.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(path, practice_text(practice).encode())
    except OSError as error:
        raise PracticeError(f"{path} can't be written ({error.strerror})") from error


def name_in(path: Path) -> str:
    """Whose practice a file holds; its own name when it can't be read."""
    try:
        name = _content(path).get("name")
    except PracticeError:
        name = None
    return name if isinstance(name, str) and name else path.stem


def read_practice(path: Path, pack: Pack) -> tuple[Practice, tuple[str, ...]]:
    """A practice, and one line for each of its answers that the form can't take.

    Raises: PracticeError when nothing of the file can be used.
    """
    content = _content(path)
    if content.get("format") != FORMAT:
        raise PracticeError(f"{path}: 'format' is not {FORMAT}; write \"format\": {FORMAT}")
    faults: list[str] = []
    plans = plan_paths(pack)
    allowed = {f.path: f for f in pack.form.fields if _may_be_usual(f, plans)}
    reader = _Reader(path, pack, faults)
    values = dict(reader.values(_mapping(content, "values", path), allowed, "values.", ""))
    rows: dict[str, dict[str, dict[str, Value]]] = {}
    for table, by in _mapping(content, "rows", path).items():
        field = pack.fields.get(table)
        if field is None or not field.preset_by or not isinstance(by, dict):
            tables = [f.path for f in pack.form.fields if f.preset_by]
            faults.append(f"{path}: rows.{table} can't be usual; {did_you_mean(table, tables)}")
            continue
        deciding = next(column for column in field.columns if column.name == field.preset_by)
        columns = {column.name: column for column in field.columns if column.preset}
        for answer, given in by.items():
            at = f"rows.{table}.{answer}"
            if deciding.option(answer) is None or not isinstance(given, dict):
                known = [option.value for option in deciding.options]
                faults.append(f"{path}: {at} is no answer; {did_you_mean(answer, known)}")
                continue
            found = dict(reader.values(given, columns, f"{at}.", f"{table}."))
            rows.setdefault(table, {})[answer] = found
    name = content.get("name")
    practice = Practice(
        name if isinstance(name, str) and name else path.stem,
        tuple(pack.form.procedures),
        values,
        rows,
    )
    return practice, tuple(faults)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads the answers of one file, and notes those that can't be taken."""

    path: Path
    pack: Pack
    faults: list[str]

    def values(
        self, given: Mapping[str, Any], allowed: Mapping[str, Field], at: str, table: str
    ) -> Iterator[tuple[str, Value]]:
        """The answers that their fields can hold, by name."""
        for name, raw in given.items():
            field = allowed.get(name)
            if field is None:
                if f"{table}{name}" in self.pack.fields:
                    words = "is never usual; take it out: a person answers it at each case"
                else:
                    words = f"is no question; {did_you_mean(name, allowed) or 'take it out'}"
                self.faults.append(f"{self.path}: {at}{name} {words}")
                continue
            try:
                yield name, value_from_json(raw, field)
            except ValueProblem as error:
                remedy = f"; {error.remedy}" if error.remedy else ""
                self.faults.append(f"{self.path}: {at}{name}: {error.message}{remedy}")


def _mapping(content: Mapping[str, Any], key: str, path: Path) -> Mapping[str, Any]:
    found = content.get(key, {})
    if not isinstance(found, dict):
        raise PracticeError(f"{path}: '{key}' holds no answers; write \"{key}\": {{...}}")
    return found


def _content(path: Path) -> Mapping[str, Any]:
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise PracticeError(f"{path} is too large for a practice; choose another file")
        found = json.loads(path.read_text("utf-8"))
    except OSError as error:
        raise PracticeError(f"{path} can't be read ({error.strerror})") from error
    except (ValueError, RecursionError) as error:
        raise PracticeError(f"{path} is no JSON ({error}); mend it or keep it anew") from error
    if not isinstance(found, dict):
        raise PracticeError(f"{path} holds no practice; keep it anew from a case")
    return found
