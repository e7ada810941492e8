"""A case file: the JSON of one record, validated by a pydantic model built from the form.

A file of the same edition must fit the form exactly. With another edition, what no longer fits is
kept as a leftover with the reason, so that nothing entered is ever lost.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from opnote.pack.bookkeeping import Entries, faults_of
from opnote.pack.form import Field as FormField
from opnote.pack.form import Form
from opnote.pack.pack import Pack
from opnote.pack.plain_case import Contents, plain_contents
from opnote.pack.value_json import value_to_json
from opnote.record import Due, Given, Leftover, Origin, Record, Told, Value
from opnote.record.signature import SIGNED_PARTS

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
    if raw.get("format") != FORMAT or isinstance(raw["format"], bool):
        raise RecordError([f"{name}: {_format_fault(raw)}"])
    procedures = raw.get("procedures")
    if not (
        isinstance(procedures, list) and procedures and all(isinstance(p, str) for p in procedures)
    ):
        raise RecordError(
            [f'{name}: procedures: must be a list of names; write ["meniscal_repair"]']
        )
    signed = _signed(raw, name)
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
    record = _record(contents, pack, name, leftover, other)
    return (replace(record, **signed) if signed else record), pack


def _signed(raw: dict[str, Any], name: str) -> dict[str, Any]:
    """The signature with what follows it, taken out of the file; nothing when it isn't signed.

    The seal is looked at before anything else is: over the file as it was written.
    """
    if raw.keys().isdisjoint(SIGNED_PARTS):
        return {}
    # Late, as most cases aren't signed.
    from opnote.pack.signed_case import signed_faults, signed_parts

    faults = signed_faults(raw)
    if faults:
        raise RecordError([f"{name}: {fault}" for fault in faults])
    signed = signed_parts(raw)
    for part in SIGNED_PARTS:
        raw.pop(part, None)
    return signed


def case_schema(form: Form) -> dict[str, Any]:
    """The JSON Schema of a case file on this form."""
    # Late, as pydantic takes longer to load than a case file that needs none of its messages.
    from opnote.pack.case_model import case_schema

    return case_schema(form)


def _validated(raw: dict[str, Any], name: str, form: Form) -> Contents:
    """The contents of a file that is not plain, or all that is wrong with it."""
    # Late, as in `case_schema`.
    from pydantic import ValidationError

    from opnote.pack.case_faults import lines_of
    from opnote.pack.case_model import case_model

    try:
        case: Any = case_model(form).model_validate(raw)
    except ValidationError as error:
        raise RecordError([f"{name}: {line}" for line in lines_of(error, raw, form)]) from error
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


def _format_fault(raw: Mapping[str, Any]) -> str:
    if "format" not in raw:
        return f'format: is missing; add "format": {FORMAT}'
    given = raw["format"]
    if isinstance(given, str) and given.strip() == str(FORMAT):
        return f"format: {json.dumps(given)} is a text; write {FORMAT} without quotes"
    said = json.dumps(given, ensure_ascii=False)
    return f"format: {said} is not a format that this opnote reads; it reads format {FORMAT}"


_JSON_FAULTS: Mapping[str, tuple[str, str]] = {
    "Expecting ',' delimiter": ("a comma is missing before this place", "put one in"),
    "Expecting ':' delimiter": ("a colon is missing before this place", "put one in"),
    "Expecting property name enclosed in double quotes": (
        "a name in double quotes is missing here",
        "take the comma before it away, or write the name",
    ),
    "Illegal trailing comma before end of object": (
        "a comma stands before the end of the braces",
        "take it away",
    ),
    "Illegal trailing comma before end of array": (
        "a comma stands before the end of the brackets",
        "take it away",
    ),
    "Expecting value": ("a value is missing here", "write one, or take the name before it away"),
    "Unterminated string starting at": ("these quotes are never closed", "close them"),
    "Invalid control character at": ("a text goes on over a line break", "write it on one line"),
    "Extra data": ("something stands after the end of the case", "take it away"),
}
"""What the reader of JSON says, and what helps."""


def _syntax_fault(error: json.JSONDecodeError, text: str) -> str:
    if not text.strip():
        return "1: the file is empty; restore it from a copy"
    if error.pos >= len(text.rstrip()):
        where = f"{error.lineno}:{error.colno}"
        return f"{where}: not valid JSON: the file ends too early; restore it from a copy"
    plain = error.msg[:1].lower() + error.msg[1:]
    what, remedy = _JSON_FAULTS.get(error.msg, (plain, "restore the file from a copy"))
    return f"{error.lineno}:{error.colno}: not valid JSON: {what}; {remedy}"


def _json_object(text: str, name: str) -> dict[str, Any]:
    try:
        raw = json.loads(
            text.removeprefix("\ufeff"), parse_constant=_no_constant, object_pairs_hook=_no_twins
        )
    except json.JSONDecodeError as error:
        raise RecordError([f"{name}:{_syntax_fault(error, text)}"]) from error
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
    # Late, as in `case_schema`.
    from opnote.pack.case_faults import path_words

    path = path_words(place, raw)
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


def _record(
    case: Contents, pack: Pack, name: str, leftover: Mapping[str, Leftover], edition: str
) -> Record:
    """The record of a validated file; `edition` names another edition that wrote it, or is ""."""
    values, rows = case.values, case.rows
    lines = [*_row_faults(values, rows, pack), *_origin_faults(case.origins, values, pack)]
    if lines:
        raise RecordError([f"{name}: {line}" for line in lines])
    kept, aside = _bookkeeping(case, rows, pack, edition, name)
    leftover = {**leftover, **aside}
    used = max((int(row[1:]) for ids in rows.values() for row in ids), default=0)
    return Record(procedures=tuple(dict.fromkeys(case.procedures))).with_changes(
        editions=dict(pack.form.editions),
        values=dict(values),
        rows=dict(rows),
        origins={p: o for p, o in kept.origins.items() if p in values and o is not Origin.TYPED},
        confirmed=kept.confirmed & values.keys(),
        reasons=dict(kept.reasons),
        facts=dict(case.facts),
        unanswered=dict(kept.unanswered),
        due=dict(kept.due),
        given={
            kind: tuple(sorted(map(_sealed, times), key=lambda given: given.on))
            for kind, times in case.given.items()
        },
        leftover={**case.leftover, **leftover},
        next_row=max(case.next_row, used + 1),
    )


def _bookkeeping(
    case: Contents,
    rows: Mapping[str, tuple[str, ...]],
    pack: Pack,
    edition: str,
    name: str,
) -> tuple[Entries, dict[str, Leftover]]:
    """What stands beside the values and holds, and what another edition had that doesn't.

    Raises: RecordError when a file of this edition holds what doesn't.
    """
    entries = Entries(
        rows,
        case.unanswered,
        frozenset(case.confirmed),
        case.origins,
        case.reasons,
        case.due,
    )
    faults = list(faults_of(entries, pack))
    if faults and not edition:
        raise RecordError([f"{name}: {fault}" for fault in faults])
    aside: dict[str, Leftover] = {}
    for fault in faults:
        if fault.part in ("confirmed", "origins"):
            continue  # how a value came to be is nothing without the value, which is kept itself
        held = getattr(case, fault.part)[fault.name]
        if fault.part == "due":
            held = {"at": held.at.isoformat(timespec="minutes"), "by": held.by}
        free = f"{fault.part}.{fault.name}"
        while free in case.leftover or free in aside:
            free += " (again)"
        aside[free] = Leftover(held, fault.because, edition)
    gone = {(fault.part, fault.name) for fault in faults}

    def staying(part: str) -> dict[str, Any]:
        return {k: held for k, held in getattr(case, part).items() if (part, k) not in gone}

    kept = Entries(
        rows,
        staying("unanswered"),
        frozenset(path for path in case.confirmed if ("confirmed", path) not in gone),
        staying("origins"),
        staying("reasons"),
        staying("due"),
    )
    return kept, aside


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
    """The case file of a record, in the order of the form; of a signed one as it was signed."""
    return json.dumps(case_json(record, form), ensure_ascii=False, indent=1) + "\n"


def case_json(record: Record, form: Form) -> dict[str, Any]:
    """The case file of a record before it is made a text."""
    if record.signature is not None:
        # Late, as most cases aren't signed.
        from opnote.pack.signed_case import signed_case

        return signed_case(record)
    values: dict[str, Any] = {}
    for field in form.fields:
        if field.kind == "rows":
            if field.path in record.rows:
                values[field.path] = [
                    _row_json(record, field, row) for row in record.rows[field.path]
                ]
        elif field.path in record.values:
            values[field.path] = value_to_json(record.values[field.path])
    return {
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


def _row_json(record: Record, table: FormField, row: str) -> dict[str, Any]:
    result: dict[str, Any] = {"id": row}
    for column in table.columns:
        value = record.values.get(f"{table.path}.{row}.{column.name}")
        if value is not None:
            result[column.name] = value_to_json(value)
    return result
