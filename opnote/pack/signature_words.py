"""A signature as it is said: who, as what, and when with the offset from UTC."""

from __future__ import annotations

from datetime import datetime

from opnote.pack.view import date_words
from opnote.record import Record, Signature


def moment_words(at: datetime) -> str:
    """The moment of a signature: "9 March 2026, 11:30 (UTC+01:00)"."""
    offset = f"{at:%z}"
    return f"{date_words(at)}, {at:%H:%M} (UTC{offset[:3]}:{offset[3:5]})"


def signature_words(signature: Signature) -> str:
    """Who signed, as what and when, for the line of the signature."""
    if not signature.is_whole:
        return f"changed after {signature.by} signed it, {moment_words(signature.at)}"
    role = f", {signature.role}" if signature.role else ""
    return f"{signature.by}{role}, {moment_words(signature.at)}"


def state_words(record: Record) -> str:
    """The state of the note of a signed case in one line, in the words of HL7 FHIR."""
    signature = record.signature
    assert signature is not None, "the case is not signed"
    role = f" as {signature.role}" if signature.role else ""
    signed = f"signed{role} by {signature.by} on {moment_words(signature.at)}"
    if not signature.is_whole:
        return f"Changed after it was {signed}: {signature.changed} is not what was signed."
    if not record.addenda:
        return f"Final: {signed}."
    last = record.addenda[-1]
    count = len(record.addenda)
    what = "an addendum" if count == 1 else f"{count} addenda, the last"
    return f"Amended: {signed}, with {what} by {last.by} on {moment_words(last.at)}."
