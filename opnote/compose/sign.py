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
from opnote.record import Record, Signature
from opnote.record.seal import signed

_ROLES: Final = (("author.supervisor", "supervisor"), ("author.name", "author"))
"""Who may sign as what; whoever is both signs as the author."""


def sign(
    pack: Pack, record: Record, by: str, at: datetime, side: str, pictures: PictureSource
) -> Record:
    """The record of a case under a signature, with its note as it is now.

    `by` signs at `at`, which knows its offset from UTC, after `side` was entered once more.
    """
    names = {str(record.values.get(path)): role for path, role in _ROLES}
    aside = pack.view(record).put_aside()
    unsealed = Signature(by, names.get(by, ""), at, side, aside, "", "", "")
    under = replace(record, signature=unsealed)
    view = pack.view(under)
    note = compose(pack, view, assess(pack, view), NOTE, pictures)
    kept = json.dumps(note_json(note, under))
    return signed(record, case_json(record, pack.form), replace(unsealed, note=kept))
