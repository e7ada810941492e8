"""The signature and the addenda of a case file: read, and written as they were read."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final

from opnote.record import Addendum, BegunAddendum, Record, Signature
from opnote.record.seal import addendum_json, signature_json, what_changed
from opnote.record.signature import ADDENDA, BEGUN, SIGNATURE, SIGNED_PARTS

_COPY: Final = "restore the file from a copy"
_NO_MOMENT: Final = "is no time with its offset from UTC"
_SIGNATURE_SHAPE: Final[Mapping[str, type]] = {
    "by": str,
    "role": str,
    "at": str,
    "side": str,
    "put_aside": list,
    "note": dict,
    "seal": str,
}
_ADDENDUM_SHAPE: Final[Mapping[str, type]] = {"by": str, "at": str, "text": str, "seal": str}
_BEGUN_SHAPE: Final[Mapping[str, type]] = {"by": str, "text": str}
_KINDS: Final[Mapping[type, str]] = {str: "text", list: "list", dict: "group of entries"}


def signed_faults(raw: Mapping[str, Any]) -> list[str]:
    """What is wrong with the shape of the signature and what follows it, a line for each."""
    return list(_faults(raw))


def _faults(raw: Mapping[str, Any]) -> Iterator[str]:
    if SIGNATURE not in raw:
        part = next(part for part in SIGNED_PARTS if part in raw)
        yield f"{part}: is there without a signature that it follows; {_COPY}"
        return
    yield from _shape_faults(SIGNATURE, raw[SIGNATURE], _SIGNATURE_SHAPE)
    addenda = raw.get(ADDENDA, [])
    if not isinstance(addenda, list):
        yield f"{ADDENDA}: is no list; {_COPY}"
        return
    for number, addendum in enumerate(addenda, start=1):
        yield from _shape_faults(f"{ADDENDA}.{number}", addendum, _ADDENDUM_SHAPE)
    if BEGUN in raw:
        yield from _shape_faults(BEGUN, raw[BEGUN], _BEGUN_SHAPE)


def _shape_faults(where: str, part: object, shape: Mapping[str, type]) -> Iterator[str]:
    if not isinstance(part, dict):
        yield f"{where}: is no group of entries; {_COPY}"
        return
    for name, kind in shape.items():
        if name not in part:
            yield f"{where}.{name}: is missing; {_COPY}"
        elif not isinstance(part[name], kind):
            yield f"{where}.{name}: is no {_KINDS[kind]}; {_COPY}"
        elif kind is list and not all(isinstance(each, str) for each in part[name]):
            yield f"{where}.{name}: holds what is no text; {_COPY}"
        elif name == "at" and (fault := _moment_fault(part[name])):
            yield f"{where}.at: {part[name]!r} {fault}; {_COPY}"
    for name in part.keys() - shape.keys():
        yield f"{where}.{name}: there is no such entry; {_COPY}"


def _moment_fault(text: str) -> str:
    """What is wrong with the time of a signature; "" for one that is written again as it was."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return _NO_MOMENT
    if moment.tzinfo is None:
        return _NO_MOMENT
    # The seal covers the time as it is written: in another form it would no longer match.
    usual = moment.isoformat(timespec="seconds")
    return "" if text == usual else f"is not written as opnote writes this time, {usual}"


def signed_parts(raw: Mapping[str, Any]) -> dict[str, Any]:
    """The signature, addenda and begun addendum as the parts of a record; their shape is right."""
    told = raw[SIGNATURE]
    content = {name: part for name, part in raw.items() if name not in SIGNED_PARTS}
    begun = raw.get(BEGUN)
    return {
        "signature": Signature(
            told["by"],
            told["role"],
            datetime.fromisoformat(told["at"]),
            told["side"],
            tuple(map(str, told["put_aside"])),
            json.dumps(told["note"]),
            json.dumps(content, ensure_ascii=False),
            told["seal"],
            what_changed(raw),
        ),
        "addenda": tuple(
            Addendum(each["by"], datetime.fromisoformat(each["at"]), each["text"], each["seal"])
            for each in raw.get(ADDENDA, ())
        ),
        "begun": None if begun is None else BegunAddendum(begun["by"], begun["text"]),
    }


def signed_case(record: Record) -> dict[str, Any]:
    """The case file of a signed record: all but an addendum exactly as it was signed."""
    assert record.signature is not None, "the case is not signed"
    case: dict[str, Any] = json.loads(record.signature.content)
    case[SIGNATURE] = signature_json(record.signature)
    case[ADDENDA] = [addendum_json(addendum) for addendum in record.addenda]
    if record.begun is not None:
        case[BEGUN] = {"by": record.begun.by, "text": record.begun.text}
    return case
