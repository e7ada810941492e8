"""A case file: the JSON of one record, validated by a pydantic model built from the form.

A file of the same edition must fit the form exactly. With another edition, what no longer fits is
kept as a leftover with the reason, so that nothing entered is ever lost.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from opnote.pack.form import Field as FormField
from opnote.pack.form import Form
from opnote.pack.pack import Pack
from opnote.pack.plain_case import Contents, plain_contents
from opnote.pack.problem import did_you_mean
from opnote.pack.value_json import value_to_json
from opnote.record import Due, Given, Leftover, Origin, Record, Told, Value

if TYPE_CHECKING:
    from pydantic import ValidationError

FORMAT = 1
"""The version of the case file itself, apart from the editions of the forms."""


class RecordError(Exception):
    """A case file that can't be used; `lines` says why, one line each."""

    def __init__(self, lines: Sequence[str]) -> None:
        self.lines = tuple(lines)
        super().__init__("\n".join(self.lines))


# Reading


def read_case(
    text: str, name: str, pack_for: Callable[[Sequence[str]], Pack]
) -> tuple[Record, Pack]:
    """Read a case file.

    `name` is how messages call it; `pack_for` loads the pack of the procedures that it names.
    Raises: RecordError, every line naming the place and the remedy; PackError from `pack_for`.
    """
    raw = _json_object(text, name)
    if raw.get("format") != FORMAT:
        raise RecordError(
            [
                f"{name}: format: {raw.get('format')!r} is not a format that this opnote reads; "
                f"it reads format {FORMAT}"
            ]
        )
    procedures = raw.get("procedures")
    if not (
        isinstance(procedures, list) and procedures and all(isinstance(p, str) for p in procedures)
    ):
        raise RecordError(
            [f'{name}: procedures: must be a list of names; write ["meniscal_repair"]']
        )
    pack = pack_for(tuple(dict.fromkeys(procedures)))
    editions = raw.get("editions")
    editions = editions if isinstance(editions, dict) else {}
    other = ", ".join(
        f"{part} {editions[part]}"
        for part, edition in pack.form.editions.items()
        if editions.get(part, edition) != edition
    )
    leftover: dict[str, Leftover] = {}
    contents = None
    if other:
        leftover = _set_aside(raw, pack, other)
    else:
        contents = plain_contents(raw, pack.form)
    if contents is None:
        contents = _validated(raw, name, pack.form)
    return _record(contents, pack, name, leftover), pack


def case_schema(form: Form) -> dict[str, Any]:
    """The JSON Schema of a case file on this form."""
    # Late, as pydantic takes longer to load than a case file that needs none of its messages.
    from opnote.pack.case_model import case_schema

    return case_schema(form)


def _validated(raw: dict[str, Any], name: str, form: Form) -> Contents:
    """The contents of a file that is not plain, or all that is wrong with it."""
    # Late, as in `case_schema`.
    from pydantic import ValidationError

    from opnote.pack.case_model import case_model

    try:
        case: Any = case_model(form).model_validate(raw)
    except ValidationError as error:
        raise RecordError([f"{name}: {line}" for line in _lines(error, raw, form)]) from error
    values: dict[str, Value] = {}
    rows: dict[str, tuple[str, ...]] = {}
    by_alias = {info.alias: key for key, info in type(case.values).model_fields.items()}
    for field in form.fields:
        key = by_alias.get(field.path)
        if key is None or key not in case.values.model_fields_set:
            continue
        value = getattr(case.values, key)
        if field.kind != "rows":
            values[field.path] = value
            continue
        rows[field.path] = tuple(row.id for row in value)
        for row in value:
            for column_key, info in type(row).model_fields.items():
                if info.alias and column_key in row.model_fields_set:
                    values[f"{field.path}.{row.id}.{info.alias}"] = getattr(row, column_key)
    return Contents(
        case.procedures,
        values,
        rows,
        case.origins,
        case.confirmed,
        case.reasons,
        case.facts,
        case.unanswered,
        {finding: Due(booked.at, booked.by) for finding, booked in case.due.items()},
        {p: Leftover(x.value, x.because, x.edition) for p, x in case.leftover.items()},
        {
            kind: [
                Given(
                    each.on,
                    each.edition,
                    {path: Told(told.value, told.words) for path, told in each.said.items()},
                )
                for each in times
            ]
            for kind, times in case.given.items()
        },
        case.next_row,
    )


def _json_object(text: str, name: str) -> dict[str, Any]:
    try:
        raw = json.loads(
            text.removeprefix("\ufeff"), parse_constant=_no_constant, object_pairs_hook=_no_twins
        )
    except json.JSONDecodeError as error:
        what = error.msg[:1].lower() + error.msg[1:]
        raise RecordError(
            [f"{name}:{error.lineno}: not valid JSON: {what}; restore the file from a copy"]
        ) from error
    except RecursionError as error:
        raise RecordError([f"{name}: not a case file: it is nested too deeply"]) from error
    except ValueError as error:
        raise RecordError([f"{name}: not a case file: {error}"]) from error
    if not isinstance(raw, dict):
        raise RecordError([f"{name}: not a case file: it holds no JSON object"])
    return raw


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object of the file; of two values under one name, neither may be dropped unseen."""
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twin = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"'{twin}' is there twice; keep one of them")
    return found


def _set_aside(raw: dict[str, Any], pack: Pack, edition: str) -> dict[str, Leftover]:
    """Take out of `raw` the values that don't fit this edition; gives them with the reason."""
    # Late, as in `case_schema`.
    from pydantic import ValidationError

    from opnote.pack.case_model import case_model

    leftover: dict[str, Leftover] = {}
    model = case_model(pack.form)
    while True:
        try:
            model.model_validate(raw)
            break
        except ValidationError as error:
            found = [item for item in error.errors() if item["loc"][:1] == ("values",)]
            places = [item["loc"][1:] for item in found]
            if not places or any(not place for place in places):
                return leftover  # something else is wrong as well; reading says what
            reasons = {_removable(item["loc"][1:]): str(item["msg"]) for item in found}
            # Cells before rows, and rows from the back: an index names the row that it named.
            cells = [place for place in reasons if len(place) != _ROW_DEPTH]
            for place in cells or sorted(reasons, reverse=True):
                _take_out(raw, place, reasons[place], edition, leftover)
    _set_lost_references_aside(raw, pack, edition, leftover)
    return leftover


_ROW_DEPTH = 2
"""Parts of the place of a row: its table and its number."""


def _removable(place: tuple[int | str, ...]) -> tuple[int | str, ...]:
    """What can be taken out to mend a place: without its id, a row can't stay."""
    return place[:_ROW_DEPTH] if place[_ROW_DEPTH:] == ("id",) else place


def _set_lost_references_aside(
    raw: dict[str, Any], pack: Pack, edition: str, leftover: dict[str, Leftover]
) -> None:
    """A row that this edition has no place for takes with it what referred to it."""
    values = raw.get("values", {})
    for table, columns in pack.references.items():
        known = {row["id"] for row in values.get(table, ())}
        for path in columns:
            holder, _, name = path.rpartition(".")
            for index, row in enumerate(values.get(holder, ())):
                if name in row and row[name] not in known:
                    because = f"the row '{row[name]}' of '{table}' is no longer there"
                    _take_out(raw, (holder, index, name), because, edition, leftover)


def _take_out(
    raw: dict[str, Any],
    place: Sequence[int | str],
    because: str,
    edition: str,
    leftover: dict[str, Leftover],
) -> None:
    path = _path_words(place, raw)
    holder: Any = raw["values"]
    for part in place[:-1]:
        holder = holder[part]
    try:
        value = holder.pop(place[-1])
    except (KeyError, IndexError, AttributeError):
        return
    if because == "Extra inputs are not permitted":
        because = "the form has no such field"
    # What an earlier edition left over at the same path stays as well.
    earlier = raw.get("leftover")
    taken = {*leftover, *(earlier if isinstance(earlier, dict) else ())}
    free = (path, *(f"{path} ({number})" for number in range(2, len(taken) + 3)))
    leftover[next(key for key in free if key not in taken)] = Leftover(value, because, edition)


def _lines(error: ValidationError, raw: Mapping[str, Any], form: Form) -> Iterator[str]:
    known = [field.path for field in form.fields]
    computed = {field.path for field in form.every_field() if field.is_computed}
    columns = {f.path: [c.name for c in f.columns] for f in form.fields if f.kind == "rows"}
    for item in error.errors():
        place = item["loc"]
        if place[:1] != ("values",):
            where = ".".join(str(part) for part in place)
            message = str(item["msg"])
            yield f"{where}: {message[:1].lower()}{message[1:]}"
            continue
        path = _path_words(place[1:], raw) or "values"
        declared = ".".join(str(part) for part in place[1:] if not isinstance(part, int))
        if declared in computed:
            yield f"{path}: is worked out by opnote; take it out of the file"
        elif item["type"] == "extra_forbidden":
            names = columns.get(str(place[1]), known) if len(place) > 2 else known
            near = did_you_mean(str(place[-1]), names)
            yield f"{path}: the form has no such field" + (f"; {near}" if near else "")
        elif item["type"] == "value":
            yield f"{path}: {item['msg']}"
        elif place[-1] == "id":
            yield f'{path}: give each row an id of its own, such as "r1"'
        elif item["type"] == "list_type":
            yield f"{path}: is no list of rows; write [] for none, or leave it out"
        else:
            message = str(item["msg"])
            yield f"{path}: {message[:1].lower()}{message[1:]}"


def _path_words(place: Sequence[int | str], raw: Mapping[str, Any]) -> str:
    """A place in the values as a path: the number of a row becomes its id where it has one."""
    words: list[str] = []
    holder: Any = raw.get("values")
    for part in place:
        try:
            holder = holder[part]
        except (KeyError, IndexError, TypeError):
            holder = None
        if isinstance(part, int):
            row = holder.get("id") if isinstance(holder, dict) else None
            words.append(row if isinstance(row, str) else f"row {part + 1}")
        else:
            words.append(str(part))
    return ".".join(words)


def _record(case: Contents, pack: Pack, name: str, leftover: Mapping[str, Leftover]) -> Record:
    values, rows = case.values, case.rows
    lines = [*_row_faults(values, rows, pack), *_origin_faults(case.origins, values, pack)]
    if lines:
        raise RecordError([f"{name}: {line}" for line in lines])
    used = max((int(row[1:]) for ids in rows.values() for row in ids), default=0)
    return Record(procedures=tuple(dict.fromkeys(case.procedures))).with_changes(
        editions=dict(pack.form.editions),
        values=dict(values),
        rows=dict(rows),
        origins={p: o for p, o in case.origins.items() if p in values and o is not Origin.TYPED},
        confirmed=frozenset(case.confirmed) & values.keys(),
        reasons=dict(case.reasons),
        facts=dict(case.facts),
        unanswered=dict(case.unanswered),
        due=dict(case.due),
        given={kind: tuple(map(_sealed, times)) for kind, times in case.given.items()},
        leftover={**case.leftover, **leftover},
        next_row=max(case.next_row, used + 1),
    )


def _sealed(given: Given) -> Given:
    return Given(given.on, given.edition, MappingProxyType(dict(given.said)))


def _row_faults(
    values: Mapping[str, Value], rows: Mapping[str, tuple[str, ...]], pack: Pack
) -> Iterator[str]:
    seen: dict[str, str] = {}
    for table, ids in rows.items():
        for row in ids:
            if row in seen:
                yield f"{table}.{row}: the row id '{row}' is there twice; give each row its own"
            seen[row] = table
    for table, ids in rows.items():
        for column in pack.fields[table].columns:
            if column.kind != "ref":
                continue
            for row in ids:
                path = f"{table}.{row}.{column.name}"
                target = values.get(path)
                if target is not None and target not in rows.get(column.refers_to, ()):
                    yield (
                        f"{path}: '{column.refers_to}' has no row '{target}'; "
                        "name one that is there"
                    )


def _origin_faults(
    origins: Mapping[str, Origin], values: Mapping[str, Value], pack: Pack
) -> Iterator[str]:
    """What must come from a person at this case can't have come from elsewhere.

    The day's list may hold whose operation it is; it is confirmed before signing.
    """
    for path, origin in origins.items():
        field = pack.field_at(path)
        if field is None or path not in values:
            continue
        if origin is Origin.COMPUTED:
            yield f"origins.{path}: a typed value can't be computed; take the line away"
        elif field.never_preset and origin in (Origin.PRESET, Origin.CARRIED_OVER):
            yield f"origins.{path}: can't be {origin}; a person enters it; take the line away"


# Writing


def case_text(record: Record, form: Form) -> str:
    """The case file of a record, in the order of the form."""
    values: dict[str, Any] = {}
    for field in form.fields:
        if field.kind == "rows":
            if field.path in record.rows:
                values[field.path] = [
                    _row_json(record, field, row) for row in record.rows[field.path]
                ]
        elif field.path in record.values:
            values[field.path] = value_to_json(record.values[field.path])
    case: dict[str, Any] = {
        "format": FORMAT,
        "procedures": list(record.procedures),
        "editions": dict(record.editions),
        "values": values,
        "origins": {path: str(origin) for path, origin in record.origins.items()},
        "confirmed": sorted(record.confirmed),
        "reasons": dict(record.reasons),
        "facts": dict(record.facts),
        "unanswered": dict(record.unanswered),
        "due": {
            finding: {"at": due.at.isoformat(timespec="minutes"), "by": due.by}
            for finding, due in record.due.items()
        },
        "given": {
            kind: [
                {
                    "on": given.on.isoformat(),
                    "edition": given.edition,
                    "said": {
                        path: {"value": told.value, "words": told.words}
                        for path, told in given.said.items()
                    },
                }
                for given in times
            ]
            for kind, times in record.given.items()
        },
        "leftover": {
            path: {"value": left.value, "because": left.because, "edition": left.edition}
            for path, left in record.leftover.items()
        },
        "next_row": record.next_row,
    }
    return json.dumps(case, ensure_ascii=False, indent=1) + "\n"


def _row_json(record: Record, table: FormField, row: str) -> dict[str, Any]:
    result: dict[str, Any] = {"id": row}
    for column in table.columns:
        value = record.values.get(f"{table.path}.{row}.{column.name}")
        if value is not None:
            result[column.name] = value_to_json(value)
    return result
