"""What stands in the place of the open list once a note is signed: by whom, and the addendum."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import (
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.desk import Desk, OpenCase
from opnote.desk.editor.prose import ProseBox
from opnote.desk.sign_panel import Refusal, WholePanel, name_line
from opnote.desk.signed_word import signed_word
from opnote.desk.tick_box import TickBox
from opnote.pack.signature_words import state_words
from opnote.record import BegunAddendum
from opnote.record.seal import begin_addendum

_NOTHING = BegunAddendum()


class SignedPanel(WholePanel):
    """Says who signed and when, and takes what is to be added.

    What is typed is kept with the case as any other text is, until it is signed.

    Signals: added(by, text) when an addendum is to be signed.
    """

    added = Signal(str, str)

    def __init__(self, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._filling = False
        self._wanted: OpenCase | None = None
        self._head = QLabel(self)
        self._head.setFont(theme.font(1.05, bold=True))
        self._state = QLabel(self)
        for label in (self._head, self._state):
            label.setTextFormat(Qt.TextFormat.PlainText)
            label.setWordWrap(True)
        self._add = QPushButton("Add an addendum", self)
        self._add.clicked.connect(self._on_add_clicked)
        self._entry = QWidget(self)
        self.text = ProseBox(self._entry)
        self.text.setAccessibleName("Addendum")
        self.text.textChanged.connect(self._on_edited)
        self.name, by = name_line("Added by", self._entry)
        self.name.textEdited.connect(self._on_name_edited)
        self.own = TickBox("This is my name", self._entry)
        self._sign = QPushButton("Sign the addendum", self._entry)
        self._sign.clicked.connect(self._on_sign_clicked)
        self._refusal = Refusal(self._entry)
        for button in (self._add, self._sign):
            button.setAutoDefault(False)
        inside = QVBoxLayout(self._entry)
        inside.setContentsMargins(0, 0, 0, 0)
        inside.setSpacing(6)
        inside.addWidget(self.text)
        inside.addLayout(by)
        inside.addWidget(self.own)
        inside.addWidget(self._refusal)
        inside.addWidget(self._sign, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 8, 8, 8)
        column.setSpacing(6)
        column.addWidget(self._head)
        column.addWidget(self._state)
        column.addWidget(self._add, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self._entry)
        column.addStretch(1)
        self.setAccessibleName("Signature")

    def load(self) -> None:
        """Another case is shown: what was ticked and refused was not for this one."""
        self.own.setChecked(False)
        self.refuse("")

    def refresh(self) -> None:
        """The case has changed, or another one is shown."""
        record = self._desk.state.record
        if record.signature is None:
            return
        is_whole = record.signature.is_whole
        self._head.setText(signed_word(record))
        self._state.setText(state_words(record))
        palette = QPalette()
        if not is_whole:
            palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).wrong)
            words = "It can be read and printed, marked so. Restore its file from a copy."
            self._state.setText(f"{state_words(record)} {words}")
        self._head.setPalette(palette)
        begun = record.begun or _NOTHING
        is_asked = record.begun is not None or self._wanted is self._desk.case
        self._add.setVisible(is_whole and not is_asked)
        self._entry.setVisible(is_whole and is_asked)
        self._show(begun)

    def focus_first(self) -> None:
        """Put the focus where one goes on."""
        for widget in (self._add, self.text):
            if widget.isVisibleTo(self):
                widget.setFocus(Qt.FocusReason.TabFocusReason)

    def done(self) -> None:
        """The addendum is signed."""
        self._wanted = None
        self.own.setChecked(False)
        self.refresh()

    def refuse(self, words: str) -> None:
        """Say why the addendum was not signed."""
        self._refusal.say(words, self._sign)

    def _show(self, begun: BegunAddendum) -> None:
        if begun == self._begun():
            return
        self._filling = True
        if begun.text != self.text.toPlainText():
            self.text.setPlainText(begun.text)
        self.name.show_text(begun.by)
        self.own.setChecked(False)
        self._filling = False

    def _begun(self) -> BegunAddendum:
        return BegunAddendum(self.name.text(), self.text.toPlainText())

    def _on_add_clicked(self) -> None:
        self._wanted = self._desk.case
        self.refresh()
        self.text.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_name_edited(self) -> None:
        self.own.setChecked(False)
        self._on_edited()

    def _on_edited(self) -> None:
        if self._filling:
            return
        self.refuse("")
        # The boxes stay while somebody types, whether anything stands in them or not.
        self._wanted = self._desk.case
        begun = self._begun()
        self._desk.apply(begin_addendum(begun.by, begun.text), self)

    def _on_sign_clicked(self) -> None:
        begun = self._begun()
        if not begun.text.strip():
            self.refuse("Not signed: write what is to be added.")
            self.text.setFocus(Qt.FocusReason.OtherFocusReason)
        elif not begun.by.strip():
            self.refuse("Not signed: write the name of who adds it.")
            self.name.setFocus(Qt.FocusReason.OtherFocusReason)
        elif not self.own.isChecked():
            self.refuse("Not signed: tick that this is your name.")
            self.own.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.added.emit(" ".join(begun.by.split()), begun.text.strip())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape puts an addendum away in which nothing stands."""
        if event.key() == Qt.Key.Key_Escape and self._desk.state.record.begun is None:
            self._wanted = None
            self.refresh()
            self.focus_first()
        else:
            event.ignore()
