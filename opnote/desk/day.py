"""From one case of the day to the next: what is carried over, and which is still unfinished."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from opnote.desk.entry import PATIENT_NAME
from opnote.desk.theatre_list import Entry

if TYPE_CHECKING:
    from opnote.desk.desk import OpenCase

CARRIED = "carrying over from the last case"
"""The step of undo that takes back what was carried over."""


class Day:
    """Remembers the case that was last worked on, and which cases were looked at since."""

    def __init__(self) -> None:
        self._last: OpenCase | None = None
        self._begun: set[Path | None] = set()

    def leave(self, case: OpenCase) -> None:
        """Another case is about to be shown."""
        from opnote.pack.carry import is_begun

        if is_begun(case.session.record):
            self._last = case

    def begin(self, case: OpenCase) -> str:
        """Carry people and room over into a case of the same day that is shown for the first time.

        Gives the words that tell what was done; "" when nothing was.
        """
        from opnote.pack.carry import carry_over, is_begun, is_of_the_same_day

        if case.path in self._begun:
            return ""
        self._begun.add(case.path)
        session, last = case.session, self._last
        if last is None or last is case or is_begun(session.record):
            return ""
        if not is_of_the_same_day(last.session.record, session.record):
            return ""
        edit = carry_over(session.pack, last.session.state.view, session.record, CARRIED)
        if edit is None:
            return ""
        session.apply(edit)
        view = session.state.view
        fields = (session.pack.field_at(path) for path in edit.paths if path in view.values)
        labels = [
            session.pack.fields[field.table].row_label if field.table else field.label
            for field in fields
            if field is not None
        ]
        name = last.session.record.values.get(PATIENT_NAME) or "the last case"
        what = ", ".join(dict.fromkeys(labels))
        return f"Carried over from the case of {name}: {what}. Confirm each; Undo takes it back."


def next_unfinished(entries: Sequence[Entry], here: Path | None) -> Path | None:
    """The next case of the list that is not ready, from here on and round; None for no other."""
    at = next((index for index, entry in enumerate(entries) if entry.path == here), -1)
    around = [*entries[at + 1 :], *entries[: max(0, at)]]
    return next((entry.path for entry in around if entry.lacks and not entry.is_ready), None)


def finished_words(entries: Sequence[Entry], here: Path | None) -> str:
    """Why there is no other case to go to."""
    is_last = any(e.path == here and e.lacks and not e.is_ready for e in entries)
    count = sum(entry.is_signed for entry in entries)
    state = "ready" if not count else "signed" if count == len(entries) else "ready or signed"
    words = f"Every case of this list is {state}."
    if is_last:
        words = "No other case of this list is unfinished: this is the last one."
    to_sign = sum(entry.is_ready and not entry.is_signed for entry in entries)
    if to_sign:
        words += f" Still to be signed: {to_sign}."
    unread = sum(not entry.lacks for entry in entries)
    if unread:
        noun = "case is" if unread == 1 else "cases are"
        words = f"No other case is unfinished, but {unread} {noun} not read."
    return words
