"""The documents of a signed case: in their state, the note as it was signed and what was added."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from opnote.compose.clean import printable
from opnote.compose.document import (
    PATIENT_DOCUMENTS,
    Block,
    Document,
    Heading,
    Paragraph,
    Run,
    Status,
)
from opnote.compose.kept_note import note_from
from opnote.compose.photograph import PictureSource
from opnote.pack.signature_words import moment_words, state_words
from opnote.record import Record

NOTE: Final = "note"
"""The document that is signed; the others say what it says."""
_LATER: Final = (
    "Composed after the note was signed, with another edition of the forms than it was signed with."
)


def in_its_state(document: Document, record: Record, pictures: PictureSource) -> Document:
    """A document that was composed from a signed case, in the state that it has.

    The note is the one that was signed, with its addenda. A letter or a card is as final as the
    note that it is made from; what a patient reads has a state of its own. After a change that the
    seal doesn't cover nothing is final any more, and every document says so.
    """
    signature = record.signature
    assert signature is not None, "the case is not signed"
    state = state_words(record)
    if not signature.is_whole:
        blocks = _with_caution(document.blocks, state)
        return replace(
            document, status=Status.PRELIMINARY, state=state, is_changed=True, blocks=blocks
        )
    if document.kind in PATIENT_DOCUMENTS:
        return document
    status = Status.AMENDED if record.addenda else Status.FINAL
    if document.kind != NOTE:
        blocks = document.blocks
        if not _is_of_its_edition(record):
            # In the text, as the line of the state has no room for it at the foot of a page.
            blocks = _with_caution(blocks, _LATER)
        return replace(document, status=status, state=f"From the note. {state}", blocks=blocks)
    if signature.note:
        try:
            document = note_from(signature.note, NOTE, pictures)
        except (LookupError, TypeError, ValueError):
            # Sealed by another program. What it was made from is what was signed all the same.
            state = f"{state} Its words are those of today's wording."
    blocks = (*document.blocks, *_addenda(record))
    return replace(document, status=status, state=state, blocks=blocks)


def _is_of_its_edition(record: Record) -> bool:
    """Whether the forms are still of the edition with which the note was signed."""
    assert record.signature is not None, "the case is not signed"
    editions = json.loads(record.signature.content).get("editions", {})
    return bool(editions == dict(record.editions))


def _with_caution(blocks: Sequence[Block], words: str) -> tuple[Block, ...]:
    """The blocks with a framed line under the title, on paper and on the screen."""
    caution = Paragraph("caution.0", ((Run(words),),), "caution")
    return (*blocks[:1], caution, *blocks[1:])


def _addenda(record: Record) -> Iterator[Block]:
    """What was added, under a heading of its own, each with its author and its time."""
    if record.addenda:
        heading = "Addendum" if len(record.addenda) == 1 else "Addenda"
        yield Heading("addenda.0", 2, (Run(heading),))
    for number, addendum in enumerate(record.addenda, start=1):
        who = f"{number}. Added by {addendum.by} on {moment_words(addendum.at)}"
        yield Heading(f"addenda.{number}", 3, (Run(printable(who)),))
        yield Paragraph(f"addenda.{number}.text", ((Run(addendum.text),),))
