"""The seal of a signed case: what it covers, how it is worked out, and what may still be added.

A seal is a SHA-256 digest and no secret: it shows that a file was changed by accident, by a
careless hand or by a program, and says nothing about who signed. Whoever forges a file can seal it
anew, and can take the whole signature, or the last addendum, away.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from opnote.record.edit import Edit
from opnote.record.record import Record
from opnote.record.signature import (
    ADDENDA,
    BEGUN,
    SIGNATURE,
    SIGNED_PARTS,
    Addendum,
    BegunAddendum,
    Signature,
)

_NOT_SEALED: Final = frozenset((*SIGNED_PARTS, "format", "next_row"))
_SIGNED_REFUSED: Final = "This note is signed; what is to be added is an addendum."
_CHANGED_REFUSED: Final = "This case was changed after it was signed; restore its file from a copy."


def canonical(content: Any) -> bytes:
    """JSON with its keys in order and nothing between its signs, so that equal content is equal.

    Source: the idea of RFC 8785; here numbers stay as they were written, and every sign beyond
    ASCII is written by its number.
    """
    return json.dumps(content, sort_keys=True, separators=(",", ":"), allow_nan=False).encode()


def sealed_content(case: Mapping[str, Any], put_aside: Collection[str]) -> dict[str, Any]:
    """What the note was made from: the parts of a case file without what was put aside.

    A part that is empty is as good as absent, so that a part which comes with a later opnote
    doesn't break an older seal.
    """
    parts = ((name, part) for name, part in case.items() if name not in _NOT_SEALED)
    kept = {name: _without(part, name, frozenset(put_aside)) for name, part in parts}
    return {name: part for name, part in kept.items() if part not in ({}, [])}


def _without(part: Any, name: str, put_aside: frozenset[str]) -> Any:
    if isinstance(part, dict):
        return {
            path: _rows_without(each, path, put_aside) if name == "values" else each
            for path, each in part.items()
            if not _is_aside(path, put_aside)
        }
    if name == "confirmed" and isinstance(part, list):
        return sorted(path for path in map(str, part) if not _is_aside(path, put_aside))
    return part


def _rows_without(value: Any, table: str, put_aside: frozenset[str]) -> Any:
    """The rows of a table without the cells that were put aside."""
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        return value
    return [
        {
            name: cell
            for name, cell in row.items()
            if f"{table}.{row.get('id')}.{name}" not in put_aside
        }
        for row in value
    ]


def _is_aside(path: str, put_aside: frozenset[str]) -> bool:
    return path in put_aside or any(path.startswith(f"{aside}.") for aside in put_aside)


def seal_of(case: Mapping[str, Any], signature: Mapping[str, Any]) -> str:
    """The seal over the parts of a case file and its signature. Shape: 64 hexadecimal digits."""
    told = {name: part for name, part in signature.items() if name != "seal"}
    sealed = {"case": sealed_content(case, signature.get("put_aside", ())), "signature": told}
    return hashlib.sha256(canonical(sealed)).hexdigest()


def addendum_seal(before: str, addendum: Mapping[str, Any]) -> str:
    """The seal of an addendum over the seal before it. Shape: 64 hexadecimal digits."""
    told = {name: part for name, part in addendum.items() if name != "seal"}
    return hashlib.sha256(canonical({"after": before, "addendum": told})).hexdigest()


def what_changed(case: Mapping[str, Any]) -> str:
    """What of a signed case file doesn't match its seal: "the note", "addendum 2"; "" for all does.

    `case` is the file's JSON, of which signature and addenda have their shape.
    """
    signature = case[SIGNATURE]
    before = signature["seal"]
    if seal_of(case, signature) != before:
        return "the note"
    for number, addendum in enumerate(case.get(ADDENDA, ()), start=1):
        if addendum_seal(before, addendum) != addendum["seal"]:
            return f"addendum {number}"
        before = addendum["seal"]
    return ""


def signature_json(signature: Signature) -> dict[str, Any]:
    """A signature as a case file holds it."""
    return {
        "by": signature.by,
        "role": signature.role,
        "at": signature.at.isoformat(timespec="seconds"),
        "side": signature.side,
        "put_aside": list(signature.put_aside),
        "note": json.loads(signature.note),
        "seal": signature.seal,
    }


def addendum_json(addendum: Addendum) -> dict[str, Any]:
    """An addendum as a case file holds it."""
    return {
        "by": addendum.by,
        "at": addendum.at.isoformat(timespec="seconds"),
        "text": addendum.text,
        "seal": addendum.seal,
    }


def signed(record: Record, case: Mapping[str, Any], signature: Signature) -> Record:
    """The record under a signature, sealed.

    `case` is the JSON of the record's case file; `signature` says the rest, its note included.
    """
    parts = {name: part for name, part in case.items() if name not in SIGNED_PARTS}
    content = json.dumps(parts, ensure_ascii=False)
    seal = seal_of(parts, signature_json(signature))
    return replace(record, signature=replace(signature, content=content, seal=seal))


def with_addendum(record: Record, by: str, at: datetime, text: str) -> Record:
    """A signed record with one more addendum, sealed to what came before; none is then begun."""
    assert record.signature is not None, "only a signed note is added to"
    before = record.addenda[-1].seal if record.addenda else record.signature.seal
    draft = Addendum(by, at, text, "")
    sealed = replace(draft, seal=addendum_seal(before, addendum_json(draft)))
    return replace(record, addenda=(*record.addenda, sealed), begun=None)


def begin_addendum(by: str, text: str) -> Edit:
    """Write on at an addendum that is not signed yet."""
    begun = BegunAddendum(by, text) if by.strip() or text.strip() else None
    return Edit("the addendum", (), lambda r: replace(r, begun=begun), key=BEGUN)


def closed(record: Record) -> str:
    """Why none of a record's answers can be changed, in a line for people; "" when they can."""
    if record.signature is None:
        return ""
    return _SIGNED_REFUSED if record.signature.is_whole else _CHANGED_REFUSED


def refusal(old: Record, new: Record) -> str:
    """Why a change of a record can't be made, in a line for people; "" when it can.

    Of a signed case only the addendum that is being written can change.
    """
    signature = old.signature
    if signature is not None and signature.is_whole and replace(new, begun=old.begun) == old:
        return ""
    return closed(old)
