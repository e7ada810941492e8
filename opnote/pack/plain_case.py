"""A case file in order, read without a validator: the usual file, in a tenth of the time.

Only what is beyond doubt is taken. Whatever else a file holds, right or wrong, is left to the model
of the case file, which knows what to say about it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from opnote.pack.form import Field, Form
from opnote.pack.value_json import (
    ROW_ID,
    ValueProblem,
    day_from_json,
    moment_from_json,
    value_from_json,
)
from opnote.record import Due, Given, Leftover, Origin, Told, Value

MOST_ROWS = 200

_KEYS: Final = frozenset(
    (
        "format",
        "procedures",
        "editions",
        "values",
        "origins",
        "confirmed",
        "reasons",
        "facts",
        "unanswered",
        "due",
        "leftover",
        "given",
        "next_row",
    )
)


@dataclass(frozen=True, slots=True)
class Contents:
    """What a case file holds, as far as it can be told without looking at one part beside another.

    Shape: `values` and `rows` by concrete path, as in a record; rows with the ids of the file.
    """

    procedures: Sequence[str]
    values: Mapping[str, Value]
    rows: Mapping[str, tuple[str, ...]]
    origins: Mapping[str, Origin]
    confirmed: Sequence[str]
    reasons: Mapping[str, str]
    facts: Mapping[str, str]
    unanswered: Mapping[str, str]
    due: Mapping[str, Due]
    leftover: Mapping[str, Leftover]
    given: Mapping[str, Sequence[Given]]
    next_row: int


class _Doubtful(Exception):
    """Something that a file in order doesn't hold."""


def plain_contents(raw: Mapping[str, Any], form: Form) -> Contents | None:
    """The contents of a case file on this form; None for a file that needs a closer look."""
    try:
        return _contents(raw, form)
    except (_Doubtful, ValueProblem):
        return None


def _contents(raw: Mapping[str, Any], form: Form) -> Contents:
    _need(_KEYS.issuperset(raw) and type(raw.get("format")) is int and raw["format"] == 1)
    procedures = _texts(raw.get("procedures"))
    _need(bool(procedures) and set(procedures) <= set(form.procedures))
    _words(raw, "editions")
    next_row = raw.get("next_row", 1)
    _need(type(next_row) is int and next_row >= 1)
    values: dict[str, Value] = {}
    rows: dict[str, tuple[str, ...]] = {}
    told = _object(raw.get("values", {}))
    fields = [field for field in form.fields if not field.is_computed]
    _need({field.path for field in fields}.issuperset(told))
    # In the order of the form, whatever the order of the file.
    for field in fields:
        if field.path not in told:
            continue
        if field.kind == "rows":
            rows[field.path] = tuple(_rows(field, told[field.path], values))
        else:
            values[field.path] = value_from_json(told[field.path], field)
    return Contents(
        procedures,
        values,
        rows,
        {path: _origin(word) for path, word in _words(raw, "origins").items()},
        _texts(raw.get("confirmed", [])),
        _words(raw, "reasons"),
        _words(raw, "facts"),
        _words(raw, "unanswered"),
        {finding: _due(due) for finding, due in _object(raw.get("due", {})).items()},
        {path: _leftover(left) for path, left in _object(raw.get("leftover", {})).items()},
        {
            kind: [_given(each) for each in _list(times)]
            for kind, times in _object(raw.get("given", {})).items()
        },
        next_row,
    )


def _rows(table: Field, raw: object, values: dict[str, Value]) -> Iterator[str]:
    columns = [column for column in table.columns if not column.is_computed]
    known = {"id", *(column.name for column in columns)}
    found = _list(raw)
    _need(len(found) <= MOST_ROWS)
    for each in found:
        row = _object(each)
        name = row.get("id")
        _need(known.issuperset(row) and isinstance(name, str) and bool(ROW_ID.fullmatch(name)))
        for column in columns:
            if column.name in row:
                value = value_from_json(row[column.name], column)
                values[f"{table.path}.{name}.{column.name}"] = value
        yield str(name)


def _due(raw: object) -> Due:
    due = _object(raw)
    _need(due.keys() == {"at", "by"})
    return Due(moment_from_json(due["at"]), _text(due["by"]))


def _leftover(raw: object) -> Leftover:
    left = _object(raw)
    _need(left.keys() == {"value", "because", "edition"})
    return Leftover(left["value"], _text(left["because"]), _text(left["edition"]))


def _given(raw: object) -> Given:
    given = _object(raw)
    _need({"on", "edition"} <= given.keys() <= {"on", "edition", "said"})
    said = {path: _told(told) for path, told in _object(given.get("said", {})).items()}
    return Given(day_from_json(given["on"]), _text(given["edition"]), said)


def _told(raw: object) -> Told:
    told = _object(raw)
    _need(told.keys() == {"value", "words"})
    return Told(_text(told["value"]), _text(told["words"]))


def _origin(word: str) -> Origin:
    _need(word in list(Origin))
    return Origin(word)


def _words(raw: Mapping[str, Any], key: str) -> dict[str, str]:
    return {name: _text(words) for name, words in _object(raw.get(key, {})).items()}


def _object(raw: object) -> dict[str, Any]:
    _need(isinstance(raw, dict))
    assert isinstance(raw, dict)
    for key in raw:
        _text(key)
    return raw


def _list(raw: object) -> list[Any]:
    _need(isinstance(raw, list))
    assert isinstance(raw, list)
    return raw


def _texts(raw: object) -> list[str]:
    return [_text(each) for each in _list(raw)]


def _text(raw: object) -> str:
    _need(isinstance(raw, str))
    assert isinstance(raw, str)
    if not raw.isascii():
        try:
            raw.encode()
        except UnicodeEncodeError as error:
            # Half a letter, as `\\ud83d` alone is: the model says what is wrong.
            raise _Doubtful from error
    return raw


def _need(holds: bool) -> None:
    if not holds:
        raise _Doubtful
