"""How far the signing of a case is, in a few words; light, as the list says it at the start."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from opnote.record import Record


def signed_word(record: Record) -> str:
    """The state of a signed case for lists and headings; "" of one that isn't signed."""
    if record.signature is None:
        return ""
    if not record.signature.is_whole:
        return "Changed after signing"
    if record.begun is not None:
        return "Signed, addendum begun"
    if record.addenda:
        count = len(record.addenda)
        return "Signed, with an addendum" if count == 1 else f"Signed, with {count} addenda"
    return "Signed"
