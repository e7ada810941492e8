"""One open case: its present record, its history, and who wants to hear of changes. Free of Qt."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.record import Edit, Record

if TYPE_CHECKING:
    from opnote.assess import Assessment
    from opnote.compose import Composed
    from opnote.compose.document import Document
    from opnote.compose.photograph import PictureSource

MERGE_PAUSE_S = 1.0
"""Edits of one field that follow one another faster than this are one step of undo."""


@dataclass(frozen=True, slots=True)
class Change:
    """What a session tells its listeners: the records before and after, the paths, and by whom.

    `by` is the widget that asked for the change, which already shows it; None for undo and redo.
    """

    old: Record
    new: Record
    paths: frozenset[str]
    by: object | None


@dataclass(frozen=True, slots=True)
class _Step:
    record: Record
    label: str
    paths: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Kept:
    """What was last worked out of a case, for the next state to take over what holds."""

    view: View | None = None
    assessment: Assessment | None = None
    documents: Mapping[str, Composed] = field(default_factory=dict)


class State:
    """A record with everything that follows from it, each worked out once and when asked for.

    What follows from a record is the same with and without a state before it; with one it comes
    sooner.
    """

    def __init__(
        self,
        pack: Pack,
        record: Record,
        pictures: PictureSource | None = None,
        before: State | None = None,
    ) -> None:
        self.pack = pack
        self.record = record
        self._pictures = pictures
        # Not the state itself: each would hold on to all before it.
        self._before = _Kept() if before is None or before.pack is not pack else before._kept()
        self._documents: dict[str, Composed] = {}

    def _kept(self) -> _Kept:
        # Documents may be written on a worker meanwhile: looking at a copy is safe.
        return _Kept(
            self.__dict__.get("view", self._before.view),
            self.__dict__.get("assessment", self._before.assessment),
            {**self._before.documents, **self._documents.copy()},
        )

    @cached_property
    def view(self) -> View:
        """What of the record counts."""
        return self.pack.view(self.record, self._before.view)

    @cached_property
    def assessment(self) -> Assessment:
        """The findings and the score against each standard."""
        # Late, as what composes documents: the first page can be typed into before they are loaded.
        from opnote.assess import assess

        return assess(self.pack, self.view, self._before.assessment)

    def document(self, kind: str) -> Document:
        """One document of the case: "note", "risk_sheet" and so on."""
        from opnote.compose import composed
        from opnote.compose.photograph import no_pictures

        if kind not in self._documents:
            self._documents[kind] = composed(
                self.pack,
                self.view,
                self.assessment,
                kind,
                self._before.documents.get(kind),
                self._pictures or no_pictures,
            )
        return self._documents[kind].document


class Session:
    """Holds the record of one case; widgets show it and ask it for changes."""

    def __init__(
        self,
        pack: Pack,
        record: Record,
        clock: Callable[[], float] = time.monotonic,
        is_saved: bool = True,
        pictures: PictureSource | None = None,
    ) -> None:
        """Begin with a record; `is_saved` is false when it stands in no case file.

        `follow` may be set to add to each change what follows from it, as part of its step;
        `refused` to hear, in a line for people, of each change that a signed case doesn't take.
        """
        self.pack = pack
        self._pictures = pictures
        self.state = State(pack, record, pictures)
        self._clock = clock
        self._listeners: list[Callable[[Change], None]] = []
        self._past: list[_Step] = []
        self._future: list[_Step] = []
        self._merge_key: tuple[str, int] | None = None
        self._last_edit = float("-inf")
        self._saved: Record | None = record if is_saved else None
        self.follow: Callable[[State, State], Edit | None] | None = None
        self.refused: Callable[[str], None] | None = None

    @property
    def record(self) -> Record:
        """The case as it is now."""
        return self.state.record

    def subscribe(self, listener: Callable[[Change], None]) -> None:
        """Have a function called after each change."""
        self._listeners.append(listener)

    def apply(self, edit: Edit, by: object | None = None) -> None:
        """Make a change; edits of one field by one widget in quick succession are one step."""
        old = self.record
        new = edit.apply(old)
        if new == old or self._refuses(old, new):
            return
        now = self._clock()
        key = None if edit.key is None else (edit.key, id(by))
        merges = (
            key is not None
            and key == self._merge_key
            and now - self._last_edit < MERGE_PAUSE_S
            and bool(self._past)
        )
        if merges and new == self._past[-1].record:
            # Typed and taken back at once: no step is left, and it is the same record again.
            new = self._past.pop().record
            key = None
        elif not merges:
            self._past.append(_Step(old, edit.label, frozenset(edit.paths)))
        self._merge_key, self._last_edit = key, now
        self._future.clear()
        paths = frozenset(edit.paths)
        state = self._state_of(new)
        follow = self.follow if new.signature is None else None
        following = None if follow is None else follow(self.state, state)
        if following is not None:
            state = self._state_of(following.apply(new))
            paths |= frozenset(following.paths)
        self._move(state, paths, by)

    def _refuses(self, old: Record, new: Record) -> bool:
        """True, and it says so, for a change that a signed case doesn't take."""
        if old.signature is None:
            return False
        # Late, as most cases aren't signed.
        from opnote.record.seal import refusal

        words = refusal(old, new)
        if words and self.refused is not None:
            self.refused(words)
        return bool(words)

    def take(self, record: Record) -> None:
        """The case was written with a signature or an addendum: no step leads back before that."""
        self._past.clear()
        self._future.clear()
        self._merge_key = None
        self._saved = record
        self._move(self._state_of(record), frozenset(), None)

    def end_merging(self) -> None:
        """The focus went elsewhere: the next edit is a step of its own."""
        self._merge_key = None

    @property
    def undo_label(self) -> str | None:
        """What undo would take back; None when there is nothing."""
        return self._past[-1].label if self._past else None

    @property
    def redo_label(self) -> str | None:
        """What redo would bring back; None when there is nothing."""
        return self._future[-1].label if self._future else None

    def undo(self) -> frozenset[str]:
        """Take the last step back; gives the paths that it had touched."""
        return self._step(self._past, self._future)

    def redo(self) -> frozenset[str]:
        """Bring back what was undone; gives the paths that it touches."""
        return self._step(self._future, self._past)

    def _step(self, source: list[_Step], target: list[_Step]) -> frozenset[str]:
        if not source or self._refuses(self.record, source[-1].record):
            return frozenset()
        step = source.pop()
        target.append(_Step(self.record, step.label, step.paths))
        self._merge_key = None
        self._move(self._state_of(step.record), step.paths, None)
        return step.paths

    def _state_of(self, record: Record) -> State:
        return State(self.pack, record, self._pictures, self.state)

    def _move(self, state: State, paths: frozenset[str], by: object | None) -> None:
        old = self.record
        self.state = state
        change = Change(old, state.record, paths, by)
        for listener in self._listeners:
            listener(change)

    @property
    def is_saved(self) -> bool:
        """True when the record is the one last written to the case file."""
        return self.record is self._saved

    def mark_saved(self) -> None:
        """The present record stands in the case file."""
        self._saved = self.record
