"""Nothing is lost: case files, the drafts beside them, and what is said when one can't be kept."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, QThreadPool, QTimer

from opnote.desk.entry import PATIENT_NAME
from opnote.desk.held_cases import HeldCases
from opnote.desk.job import Job
from opnote.desk.library import CaseProblem, Library, ReadCase, clock_words
from opnote.desk.notice import Action, Notices

if TYPE_CHECKING:
    from opnote.desk.desk import OpenCase
    from opnote.desk.window import Window
    from opnote.record import Record

DRAFT_MS: Final = 500
"""The longest time that something typed is not yet on disk."""

NOT_KEPT: Final = "not kept: "
"""Begins the subjects of the notices that a case can't be kept, one for each case."""


class Keeping(QObject):
    """Writes case files when asked, and drafts by itself, soon after each change.

    Drafts are written beside the window, as a folder on a network may take its time and nobody is
    to wait for it while typing. Whatever else is done with files comes after the draft that is
    being written, and one that was still to come is then not written any more.
    """

    def __init__(self, window: Window, held: HeldCases, notices: Notices) -> None:
        super().__init__(window)
        self._window = window
        self._held = held
        self._notices = notices
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(DRAFT_MS)
        self._soon.timeout.connect(self._write_beside)
        # Of their own, so that no long work of others keeps a draft waiting.
        self._threads = QThreadPool(self)
        self._threads.setMaxThreadCount(1)
        self._beside: Job | None = None
        self._turns: Counter[Path] = Counter()

    def note_change(self) -> None:
        """Something was typed: it will be on disk soon."""
        if not self._soon.isActive():
            self._soon.start()

    # Case files

    def save(self) -> None:
        """Write the case file."""
        case, library = self._held.shown, self._held.library
        if case is None or library is None or case.path is None:
            return
        self._begin(case.path)
        opened_as = case.path
        try:
            path = self._path_to_save(case, library)
            if path != case.path and not self._held.read[case.path].is_saved:
                # Take its draft over, which is refused while another window has it.
                library.write_draft(case.path, case.session.record)
            library.write(path, case.session.record)
            if path != case.path:
                library.discard_own_draft(case.path)
                self._rename(case.path, path)
        except CaseProblem as problem:
            beside: list[Action] = [("Save beside it", self.save_beside)]
            self._notices.say("save", str(problem), beside if problem.is_changed_elsewhere else [])
            self.note_change()
            return
        self._after_saving(case, opened_as)

    def write(self, case: OpenCase, record: Record) -> str:
        """Write another record than the case has into its file; gives why it can't be, or ""."""
        library = self._held.library
        if library is None or case.path is None:
            return "no list is open."
        self._begin(case.path)
        try:
            library.write(case.path, record)
        except CaseProblem as problem:
            self.note_change()
            return str(problem)
        self._soon.stop()
        return ""

    def save_beside(self) -> None:
        """Write the case under a name of its own, as somebody else has written its file."""
        case, library = self._held.shown, self._held.library
        if case is None or library is None or case.path is None:
            return
        self._begin(case.path)
        theirs = case.path
        try:
            ours = library.new_path(theirs.stem, self._held.read)
            library.write(ours, case.session.record)
            library.discard_own_draft(theirs)
            self._rename(theirs, ours)
            self._after_saving(case, theirs)
            self._window.take_in([library.read(theirs)])
        except CaseProblem as problem:
            self._notices.say("save", str(problem))
            self.note_change()
            return
        words = f"Saved as {ours.name}. What somebody else wrote is {theirs.name}: compare the two."
        self._notices.say("beside", words)

    def _path_to_save(self, case: OpenCase, library: Library) -> Path:
        """The file of a case; one that was never written is named after its patient."""
        assert case.path is not None
        name = case.session.record.values.get(PATIENT_NAME)
        if case.path.exists() or not isinstance(name, str):
            return case.path
        return library.new_path(name, self._held.read)

    def _rename(self, old: Path, new: Path) -> None:
        self._held.rename(old, new)
        self._window.rename_entry(old, new)

    def _after_saving(self, case: OpenCase, opened_as: Path) -> None:
        assert case.path is not None
        self._soon.stop()
        case.session.mark_saved()
        for subject in ("save", "close", f"{NOT_KEPT}{opened_as}"):
            self._notices.drop(subject)
        if unread := self._window.unread_labels():
            words = f"Saved, but not what can't be read: {', '.join(unread)}."
            self._notices.say("unread", words, [("Go there", self._window.go_to_unread)])
        self._window.put_entry(case.path)
        self._window.show_history()

    # Drafts

    def write_draft(self) -> None:
        """Put what was typed beside the case file."""
        if self._held.shown is not None:
            self.draft(self._held.shown)

    def write_draft_now(self) -> None:
        """Write what may not be on disk yet: one goes on elsewhere."""
        if self._soon.isActive() or self._beside is not None:
            self._soon.stop()
            self.write_draft()

    def _begin(self, path: Path) -> int:
        """Something is done with the files of a case: no draft from before comes after it."""
        self._turns[path] += 1
        return self._turns[path]

    def _write_beside(self) -> None:
        """Write the draft of the case on screen without waiting for it."""
        case, library, read = self._held.shown, self._held.library, self._held.shown_read
        if case is None or case.path is None or library is None:
            return
        if case.session.is_saved or (read is not None and read.draft is not None):
            self.draft(case)  # little to write, or a draft to be asked about
        elif self._beside is not None:
            self._soon.start()
        else:
            record, path = case.session.record, case.path
            turn = self._begin(path)
            work = partial(_write_draft, library, path, record, lambda: turn == self._turns[path])
            self._beside = Job(work)
            self._beside.results.came.connect(partial(self._on_beside, case, path))
            self._beside.results.failed.connect(partial(self._on_beside, case, path))
            self._beside.results.ended.connect(self._on_beside_ended)
            self._beside.start(self._threads)

    def _on_beside(self, case: OpenCase, path: Path, outcome: object) -> None:
        """A draft is on disk, which is told by None, or it can't be written."""
        if case.path != path or case.session.is_saved:
            return
        if outcome is None:
            self._notices.drop(f"{NOT_KEPT}{path}")
        else:
            self._say_not_kept(case, path, outcome)

    def _on_beside_ended(self) -> None:
        self._beside = None

    def _say_not_kept(self, case: OpenCase, path: Path, problem: object) -> None:
        actions = [("Try again", partial(self._on_try_again, case))]
        self._notices.say(f"{NOT_KEPT}{path}", f"Not kept yet: {problem}", actions)

    def draft_all(self) -> bool:
        """Put every open case that isn't saved on disk; False, and it says so, if one can't be."""
        self._soon.stop()
        kept = [self.draft(case) for case in self._held.opened.values()]
        return all(kept)

    def draft(self, case: OpenCase) -> bool:
        """Put what was typed into a case beside its file; False, and it says so, if it can't be."""
        library = self._held.library
        if library is None or case.path is None:
            return True
        self._begin(case.path)
        read = self._held.read.get(case.path)
        try:
            if case.session.is_saved:
                if read is None or read.draft is None:
                    # All was taken back: nothing is left to be offered after a crash.
                    library.discard_own_draft(case.path)
            else:
                self._keep_offered(library, read)
                library.write_draft(case.path, case.session.record)
        except CaseProblem as problem:
            as_read = read is not None and read.record is case.session.record
            if not (case.session.is_saved or as_read):
                self._say_not_kept(case, case.path, problem)
                return False
            # Nothing was typed that could be lost.
        self._notices.drop(f"{NOT_KEPT}{case.path}")
        return True

    def _on_try_again(self, case: OpenCase) -> None:
        self.draft(case)

    def offer(self, read: ReadCase) -> None:
        """Ask what shall become of the draft that was found beside a case."""
        if read.draft is None:
            return
        at = clock_words(read.draft.saved_at.replace(tzinfo=None), self._window.now())
        self._notices.say(
            "offer",
            f"There is a newer draft of this case from {at}.",
            [("Use it", self._on_use), ("Throw it away", self._on_throw_away)],
        )

    def _keep_offered(self, library: Library, read: ReadCase | None) -> None:
        """A draft that was offered and not answered is not written over: it becomes a case."""
        if read is None or read.draft is None:
            return
        kept = library.keep_draft(read.path)
        self._answered(read.path)
        if kept is not None:
            self._notices.say("kept", f"The earlier draft is kept in this folder as {kept.name}.")

    def _on_use(self) -> None:
        from opnote.record import Edit

        read, case, library = self._held.shown_read, self._held.shown, self._held.library
        if read is None or read.draft is None or case is None or library is None:
            return
        try:
            record, _ = library.record_from(read.draft.text, read.path)
        except CaseProblem as problem:
            self._notices.say("offer", f"The draft can't be used. {problem}")
            return
        paths = tuple({*record.values, *record.rows})
        now = case.session.record
        if now.signature is not None:
            if record.signature != now.signature:
                is_signed = record.signature is not None
                what = "of another signature" if is_signed else "from before it was signed"
                words = f"The draft is {what}: it can't be used. Add an addendum instead."
                away: list[Action] = [("Throw it away", self._on_throw_away)]
                self._notices.say("offer", words, away)
                return
            # Of the same note under the same signature: only what was begun can be news.
            record = replace(now, begun=record.begun)
        case.session.apply(Edit("using the draft", paths, lambda _: record))
        if now.signature is not None and case.session.record != record:
            return  # it was refused, which has been said
        self._answered(read.path)
        self._window.begin_day(case)

    def _on_throw_away(self) -> None:
        read, case, library = self._held.shown_read, self._held.shown, self._held.library
        if read is None or case is None or library is None:
            return
        self._begin(read.path)
        try:
            library.discard_draft(read.path)
        except CaseProblem as problem:
            self._notices.say("save", str(problem))
        self._answered(read.path)
        self._window.begin_day(case)

    def _answered(self, path: Path) -> None:
        self._held.settle_draft(path)
        self._window.put_entry(path)
        self._notices.drop("offer")


def _write_draft(
    library: Library, path: Path, record: Record, is_wanted: Callable[[], bool]
) -> Iterator[object]:
    """Write a draft on a worker; gives None when it is there, or what is the matter.

    One that wasn't wanted any more gives nothing.
    """
    try:
        if library.write_draft(path, record, is_wanted):
            yield None
    except CaseProblem as problem:
        yield problem
