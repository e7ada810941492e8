"""What the model of a case file says is wrong, in words for people."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError

from opnote.pack.case_model import CaseIn, DueIn, GivenIn, LeftoverIn
from opnote.pack.form import Form
from opnote.pack.problem import did_you_mean


def lines_of(error: ValidationError, raw: Mapping[str, Any], form: Form) -> Iterator[str]:
    """What is wrong with a case file, a line for each, with the place and the remedy."""
    known = [field.path for field in form.fields]
    computed = {field.path for field in form.every_field() if field.is_computed}
    columns = {f.path: [c.name for c in f.columns] for f in form.fields if f.kind == "rows"}
    for item in error.errors():
        place = item["loc"]
        if place[:1] != ("values",):
            yield _outside_values(item)
            continue
        path = path_words(place[1:], raw) or "values"
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


_PARTS: Mapping[str, type[BaseModel]] = {"leftover": LeftoverIn, "due": DueIn, "given": GivenIn}


def _outside_values(item: Any) -> str:
    """A mistake in a part of the file beside its values."""
    place = item["loc"]
    where = ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
    last = str(place[-1]) if place else ""
    match item["type"]:
        case "extra_forbidden" if len(place) == 1:
            near = did_you_mean(last, CaseIn.model_fields)
            return f"{where}: a case file has no such part; {near or 'take it away'}"
        case "extra_forbidden":
            known = _PARTS.get(str(place[0]), CaseIn).model_fields
            return f"{where}: there is no such entry; {did_you_mean(last, known)}"
        case "missing":
            return f"{where}: is missing; add it"
        case "value":
            return f"{where}: {item['msg']}"
        case "string_type":
            return f"{where}: {json.dumps(item['input'], default=str)} is not a text; use quotes"
        case "dict_type" | "model_type" | "model_attributes_type":
            return f"{where}: is no group of entries; write {{}} for none, or leave it out"
        case "list_type":
            return f"{where}: is no list; write [] for none, or leave it out"
        case "enum" | "literal_error":
            expected = str(item.get("ctx", {}).get("expected", ""))
            known_words = expected.replace(" or ", ", ").replace("'", "").split(", ")
            near = did_you_mean(str(item["input"]), known_words)
            return f"{where}: '{item['input']}' is not known here; {near or f'use {expected}'}"
        case "int_type" | "int_parsing" | "int_from_float" | "greater_than_equal":
            return f"{where}: {item['input']!r} is no number of a row; write a whole number from 1"
    message = str(item["msg"])
    return f"{where}: {message[:1].lower()}{message[1:]}"


def path_words(place: Sequence[int | str], raw: Mapping[str, Any]) -> str:
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
