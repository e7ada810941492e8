"""Signing: the note is composed once more, kept as it is, and sealed with what it was made from."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from typing import Final

from opnote.assess import assess
from opnote.compose.compose import compose
from opnote.compose.kept_note import note_json
from opnote.compose.photograph import PictureSource
from opnote.compose.signed import NOTE
from opnote.pack.case import case_json
from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.reckon.person import same_name
from opnote.record import Record, Signature
from opnote.record.seal import signed
from opnote.record.signature import AUTHOR, SUPERVISOR

_ROLES: Final = (("author.name", AUTHOR), ("author.supervisor", SUPERVISOR))
"""Who may sign as what; whoever is both signs as the author."""
_SIDE: Final = "side"


def sign(
    pack: Pack, record: Record, by: str, at: datetime, side: str, pictures: PictureSource
) -> Record:
    """The record of a case under a signature, with its note as it is now.

    `by` signs at `at`, which knows its offset from UTC, after `side` was entered once more.
    Raises: ValueError: the case is signed, `side` is not what it records ("" for nothing), or
        something in it is open.
    """
    if record.signature is not None:
        raise ValueError("the case is signed already")
    asked = pack.view(record)
    if side != str(asked.values.get(_SIDE, "")):
        raise ValueError("the side is not that of the case")
    assessment = assess(pack, asked)
    if assessment.open:
        raise ValueError(f"something is open: {assessment.open[0].message}")
    unsealed = Signature(by, _role_of(by, asked), at, side, asked.put_aside(), "", "", "")
    under = replace(record, signature=unsealed)
    view = pack.view(under, asked)
    note = compose(pack, view, assess(pack, view, assessment), NOTE, pictures)
    kept = json.dumps(note_json(note, under))
    return signed(record, case_json(record, pack.form), replace(unsealed, note=kept))


def _role_of(by: str, view: View) -> str:
    """As what somebody signs; "" for somebody else, or when the name could be either of two."""
    names = {role: name for path, role in _ROLES if isinstance(name := view.values.get(path), str)}
    meant = [role for role, name in names.items() if same_name(by, name)]
    # Two of one family may be told apart only by how exactly it is written.
    roles = [role for role in meant if names[role] == by] or meant
    if len(roles) > 1 and not same_name(*(names[role] for role in roles)):
        return ""
    return roles[0] if roles else ""
