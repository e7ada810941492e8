"""A case as the theatre list shows it: whose it is, when it comes, and what it still lacks."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time
from itertools import islice
from typing import TYPE_CHECKING, Final

from opnote.desk.library import ReadCase
from opnote.desk.signed_word import signed_word
from opnote.desk.theatre_list import DRAFT_WAITING, Entry

if TYPE_CHECKING:
    from opnote.desk.session import State

PATIENT_NAME: Final = "patient.name"
SIDE: Final = "side"
ORDER: Final = "listed.order"
TIME: Final = "listed.time"

_MOST_NAMED = 6
"""What is open is named up to so many; the rest is counted."""

_LONGEST = 70


def entry_of(read: ReadCase, state: State, *, is_saved: bool) -> Entry:
    """A case with its present state; `is_saved` is false when its file doesn't hold all of it."""
    # Late: the list is on screen before packs are imported.
    from opnote.pack.carry import is_begun

    record = state.record
    name = record.values.get(PATIENT_NAME)
    side = record.values.get(SIDE)
    field = state.pack.fields.get(SIDE)
    option = field.option(str(side)) if field is not None and side is not None else None
    count = len(state.assessment.open)
    words = f"{count} open" if count else "ready"
    lacks = f"{words}: {_named(list(islice(lacking(state), _MOST_NAMED)), count)}"
    lacks = lacks if count else words
    signed = signed_word(record)
    if signed:
        words = lacks = f"{signed[:1].lower()}{signed[1:]}"
    elif not is_begun(record):
        words, lacks = "not begun", f"not begun, {lacks}"
    order, at = record.values.get(ORDER), record.values.get(TIME)
    draft = ""
    if read.draft is not None:
        draft = DRAFT_WAITING
    elif not is_saved:
        draft = "kept as a draft"
    return Entry(
        read.path,
        str(name) if name else read.path.stem.replace("_", " "),
        str(side) if side else "",
        option.label if option is not None else "",
        words,
        lacks,
        "" if order is None else str(order),
        f"{at:%H:%M}" if isinstance(at, time) else "",
        draft,
        is_ready=not count or bool(signed),
        is_signed=bool(signed),
    )


def lacking(state: State) -> Iterator[str]:
    """What stands between a case and its signature, each in a few plain words."""
    from opnote.assess.assess import label_of

    for finding in state.assessment.open:
        kind, _, path = finding.id.partition(":")
        field = state.pack.field_at(path) if kind in ("gap", "confirm") else None
        if field is None:
            yield _short(finding.fact.rstrip("."))
            continue
        label = label_of(field, path, state.view)
        label = label if label[:2].isupper() else label[:1].lower() + label[1:]
        yield f"{label} to confirm" if kind == "confirm" else label


def _named(parts: list[str], count: int) -> str:
    named = ", ".join(parts)
    return f"{named} and {count - len(parts)} more" if count > len(parts) else named


def _short(text: str) -> str:
    if len(text) <= _LONGEST:
        return text
    return f"{text[:_LONGEST].rpartition(' ')[0]} \N{HORIZONTAL ELLIPSIS}"
