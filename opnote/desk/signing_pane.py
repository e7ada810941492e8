"""Under the paper: what is open, or the asking for a signature, or who signed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from opnote.desk.desk import Desk
from opnote.desk.findings import FindingsPane

if TYPE_CHECKING:
    from opnote.desk.sign_panel import SignPanel
    from opnote.desk.signed_panel import SignedPanel


class SigningPane(QWidget):
    """One of the three at a time.

    Signals: wanted() when signing was asked for; given(by, side) and added(by, text) when a note or
    an addendum is to be signed; path_followed(path); turned(is_asking) when another is shown.
    """

    wanted = Signal()
    given = Signal(str, str)
    added = Signal(str, str)
    path_followed = Signal(str)
    turned = Signal(bool)

    def __init__(self, findings: FindingsPane, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk: Desk | None = None
        self._findings = findings
        self._ask: SignPanel | None = None
        self._signed: SignedPanel | None = None
        self._shown: QWidget = findings
        findings.sign_wanted.connect(self.wanted)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addWidget(findings)

    def set_desk(self, desk: Desk) -> None:
        """Work on the cases of a desk."""
        self._desk = desk

    def load(self) -> None:
        """Another case is shown: whatever was half given for a signature is not for this one."""
        self.put_off()
        if self._signed is not None:
            self._signed.load()
        self.refresh()

    def refresh(self) -> None:
        """The case has changed."""
        assert self._desk is not None
        if self._desk.state.record.signature is not None:
            signed = self._signed_panel()
            signed.refresh()
            self._show(signed)
            return
        self._findings.refresh()
        if self._ask is None or not self._desk.state.assessment.is_ready:
            self.put_off()
        else:
            self._ask.show_state(self._desk.state)

    def ask(self) -> SignPanel:
        """Ask for what a signature needs."""
        # Late: most cases that are opened aren't signed.
        from opnote.desk.sign_panel import SignPanel

        assert self._desk is not None
        if self._ask is not None:
            self._ask.focus_first()
            return self._ask
        self._ask = SignPanel(self._desk.state, self)
        self._ask.given.connect(self.given)
        self._ask.put_off.connect(self._on_put_off)
        self._ask.path_followed.connect(self.path_followed)
        self._column.addWidget(self._ask)
        self._show(self._ask)
        self._ask.focus_first()
        return self._ask

    def put_off(self) -> None:
        """Show what is open again."""
        self._show(self._findings)

    @property
    def panel(self) -> SignPanel | None:
        """The panel that asks for a signature; None while none is asked for."""
        return self._ask

    @property
    def signed(self) -> SignedPanel | None:
        """The panel of the signature, once one was shown."""
        return self._signed

    def _on_put_off(self) -> None:
        self.put_off()
        self._findings.focus_list()

    def _drop_panel(self) -> None:
        """Take the panel down that asked for a signature, from which the focus has gone."""
        if self._ask is not None:
            ask, self._ask = self._ask, None
            self._column.removeWidget(ask)
            ask.hide()
            ask.deleteLater()

    def _signed_panel(self) -> SignedPanel:
        if self._signed is None:
            # Late, as in `ask`.
            from opnote.desk.signed_panel import SignedPanel

            assert self._desk is not None
            self._signed = SignedPanel(self._desk, self)
            self._signed.added.connect(self.added)
            self._column.addWidget(self._signed)
        return self._signed

    def _show(self, wanted: QWidget) -> None:
        if wanted is self._shown:
            return
        before, self._shown = self._shown, wanted
        focus = QApplication.focusWidget()
        wanted.setVisible(True)
        if focus is not None and before.isAncestorOf(focus):
            # Before what holds the focus goes: else it would go anywhere.
            wanted.setFocus()
        before.setVisible(False)
        if before is self._ask:
            self._drop_panel()
        self.turned.emit(wanted is self._ask)
