"""Signing for a window: what stops it, the signature written to the file, and what is added later.

Nothing counts as signed before the file says so. Light: what signing needs is imported when
somebody signs.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QTimer

from opnote.desk.entry import SIDE
from opnote.desk.library import CaseProblem
from opnote.desk.notice import Action

if TYPE_CHECKING:
    from opnote.desk.desk import OpenCase
    from opnote.desk.signing_pane import SigningPane
    from opnote.desk.window import Window
    from opnote.desk.workspace import Workspace
    from opnote.record import Record

_SUBJECT = "sign"
_SEAL = "seal"
_REFUSED = "signed"
_NOTE = "note"
_DRAFT_WAITS = "Not signed: first use the newer draft of this case, or throw it away."


class Signing(QObject):
    """Asks for signatures on the cases of a window, and writes them."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        self._window = window

    def attach(self, workspace: Workspace) -> None:
        """Work on the cases that these panes show."""
        pane = workspace.paper_pane.signing
        pane.wanted.connect(self.ask)
        pane.given.connect(self._on_given)
        pane.added.connect(self._on_added)

    def begin(self, case: OpenCase) -> None:
        """A case is shown: hear what it refuses, and say when it was changed after signing."""
        case.session.refused = self._on_refused
        signature = case.session.record.signature
        if signature is None or signature.is_whole:
            return
        words = (
            f"This case was changed after {signature.by} signed it: {signature.changed} doesn't "
            "match its seal. It can be read and printed, marked so. Restore its file from a copy."
        )
        self._window.say(_SEAL, words)

    def ask(self) -> None:
        """Ask to sign the note, or show everything that is open and say what stops it."""
        case, workspace = self._window.held.shown, self._window.workspace
        if case is None or workspace is None:
            return
        pane = workspace.paper_pane.signing
        if case.session.record.signature is not None:
            if pane.signed is not None:
                pane.signed.focus_first()
            return
        stop = self._stop(case, workspace)
        if stop is None:
            self._window.drop_notice(_SUBJECT)
            if workspace.paper_pane.kind != _NOTE:
                # Who signs says that it was read.
                self._window.show_document(_NOTE)
            if pane.panel is None:
                pane.ask()
            else:
                pane.panel.sign()
            return
        pane.put_off()
        workspace.case_pane.reveal()
        workspace.paper_pane.findings.focus_list()
        words, actions = stop
        self._window.say(_SUBJECT, words, [*actions, ("Close", self._on_close)] if actions else [])

    def _stop(self, case: OpenCase, workspace: Workspace) -> tuple[str, list[Action]] | None:
        """What stops a signature, in one line, and the way to the first of it."""
        desk = workspace.desk
        if unread := desk.unread_paths():
            words = f"Not signed: what stands in {desk.label_of(unread[0])} can't be read."
            return words, self._way_to(unread[0])
        if found := desk.state.assessment.open:
            # As it was when signing was asked for: the line stays while one is at it.
            noun = "thing was" if len(found) == 1 else "things were"
            words = f"Not signed: {len(found)} {noun} open. The first: {found[0].message}"
            path = next(iter(found[0].fields), "")
            return words, self._way_to(path) if path else []
        if self._waits_for_answer(case):
            return _DRAFT_WAITS, []
        is_kept = self._window.keeping.draft(case)
        again: list[Action] = [("Ask again", self.ask)]
        if elsewhere := self._typed_elsewhere(case):
            return f"Not signed: {elsewhere}", again
        return None if is_kept else ("Not signed: what was typed can't be put on disk.", again)

    def _typed_elsewhere(self, case: OpenCase) -> str:
        """That another window has typed into this case what would not be signed; "" if none has."""
        library = self._window.held.library
        if library is None or case.path is None:
            return ""
        try:
            where = library.typed_elsewhere(case.path)
        except CaseProblem as problem:
            return str(problem)
        if not where:
            return ""
        return f"{where} holds newer typing of this case; save it there, then open it again here."

    def _waits_for_answer(self, case: OpenCase) -> bool:
        """True while a newer draft of a case was offered and not answered."""
        read = None if case.path is None else self._window.held.read.get(case.path)
        return read is not None and read.draft is not None

    def _way_to(self, path: str) -> list[Action]:
        go: Callable[[], None] = partial(self._window.go_to, path)
        return [("Go there", go)]

    def _on_close(self) -> None:
        self._window.drop_notice(_SUBJECT)

    def _on_given(self, by: str, side: str) -> None:
        case, workspace = self._window.held.shown, self._window.workspace
        if case is None or workspace is None:
            return
        pane = workspace.paper_pane.signing
        if self._stop(case, workspace) is not None:
            self.ask()
            return
        if self._is_wrong_side(case, side, pane):
            return
        # The case itself first, so that its file is ours and has its name.
        self._window.keeping.save()
        if not case.session.is_saved:
            self._refuse(pane, "Not signed: the case can't be saved; why is said above the pages.")
            return
        # Late: the window is on screen before documents are imported.
        from opnote.compose.sign import sign

        session = case.session
        at = self._window.now().astimezone().replace(microsecond=0)
        record = sign(session.pack, session.record, by, at, side, case.pictures.bytes_of)
        why = self._written(case, record)
        if why:
            self._refuse(pane, f"Not signed: {why}")
        elif pane.signed is not None:
            pane.signed.focus_first()

    def _is_wrong_side(self, case: OpenCase, side: str, pane: SigningPane) -> bool:
        field = case.session.pack.fields.get(SIDE)
        recorded = str(case.session.state.view.values.get(SIDE, ""))
        if field is None or side == recorded:
            return False
        names = {option.value: option.label.upper() for option in field.options}
        words = (
            f"Not signed: this case records the {names.get(recorded, recorded)} knee, and you "
            f"answered {names.get(side, side)}. If the record is wrong, correct "
            f"\N{LEFT DOUBLE QUOTATION MARK}{field.label}\N{RIGHT DOUBLE QUOTATION MARK} and all "
            "that follows from it; else answer again."
        )
        if pane.panel is not None:
            pane.panel.refuse_side(words, f"Go to {field.label}")
        return True

    def _refuse(self, pane: SigningPane, words: str) -> None:
        if pane.panel is not None:
            pane.panel.refuse(words)
        else:
            self._window.say(_SUBJECT, words)

    def _on_added(self, by: str, text: str) -> None:
        case, workspace = self._window.held.shown, self._window.workspace
        if case is None or workspace is None:
            return
        panel = workspace.paper_pane.signing.signed
        if panel is None:
            return
        if self._waits_for_answer(case):
            panel.refuse(_DRAFT_WAITS)
            return
        # Late, as most cases aren't signed.
        from opnote.record.seal import with_addendum

        at = self._window.now().astimezone().replace(microsecond=0)
        why = self._written(case, with_addendum(case.session.record, by, at, text))
        if why:
            panel.refuse(f"Not signed: {why}")
        else:
            panel.done()
            panel.focus_first()

    def _written(self, case: OpenCase, record: Record) -> str:
        """Write a record to its file, and take it; gives why it can't be written, or "".

        The session has it only once the file does.
        """
        why = self._window.keeping.write(case, record)
        if why:
            return why
        for subject in (_SUBJECT, _REFUSED):
            self._window.drop_notice(subject)
        case.session.take(record)
        return ""

    def _on_refused(self, words: str) -> None:
        self._window.say(_REFUSED, words)
        # Once whoever asked has done: what it shows is not what the case holds.
        QTimer.singleShot(0, self, self._show_anew)

    def _show_anew(self) -> None:
        workspace = self._window.workspace
        if workspace is not None:
            workspace.case_pane.show_again()
            workspace.paper_pane.refresh(follow=False)
