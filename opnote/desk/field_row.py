"""One question on a page: its label, its editor, its tag, and what was found about it."""

from __future__ import annotations

import enum
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPalette
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.answer import ReasonBox
from opnote.desk.desk import Desk
from opnote.desk.editor import Editor, make_editor
from opnote.desk.editor.scan import ScanEditor
from opnote.desk.finding_note import FindingNote
from opnote.pack.form import Field
from opnote.pack.scan import scanned
from opnote.record import (
    UNSET,
    Edit,
    Record,
    Unset,
    Value,
    clear_value,
    confirm,
    set_value,
    set_value_afresh,
    set_values,
)
from opnote.record.record import Origin

if TYPE_CHECKING:
    from opnote.assess import Finding

LABEL_CHARACTERS: Final = 24
"""The width of the column of labels, in average characters."""

SECOND_LABEL_CHARACTERS: Final = 18
"""The width of the labels of those that stand second on their line."""

_WHY_CHARACTERS: Final = 72

_TAGS: Final = {
    Origin.PRESET: "usual",
    Origin.LISTED: "listed",
    Origin.CARRIED_OVER: "carried over",
}


def label_width(widget: QWidget) -> int:
    """The width of the column of labels; with large text in a small window they wrap instead.

    Units: result in pixels.
    """
    return min(theme.columns(widget, LABEL_CHARACTERS), widget.window().width() // 7)


class Place(enum.Enum):
    """Where on its line a question stands, which decides on the width of its label."""

    FIRST = "first"
    SECOND = "second"
    TRAILING = "trailing"


class FieldRow(QWidget):
    """A field that is asked, or a computed one that is shown.

    Signals: left_by_enter() when Enter asks for the next question.
    """

    left_by_enter = Signal()

    def __init__(self, field: Field, path: str, desk: Desk, parent: QWidget, place: Place) -> None:
        """Make the row for its place on the line."""
        super().__init__(parent)
        self._place = place
        self.field = field
        self.path = path
        self._desk = desk
        self._seen: Value | Unset | None = None
        self._spoken: tuple[str, str] | None = None
        self._notes: list[FindingNote] = []
        self.notes = QWidget(self)
        self._why: ReasonBox | None = None
        self._why_wanted = False
        self._last_edit: tuple[Record | None, Record | None] = (None, None)
        self.editor: Editor | None = None
        self._words: QLabel | None = None
        self._tag: QToolButton | None = None
        self._open_tag: QLabel | None = None
        self._drawn_tag: QLabel | None = None
        self._label = QLabel(field.label, self)
        self._make()

    def _make(self) -> None:
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(12)
        cell = QWidget(self)
        second = theme.columns(self, SECOND_LABEL_CHARACTERS)
        if self._place is Place.TRAILING:
            cell.setMinimumWidth(second)
        else:
            cell.setFixedWidth(label_width(self) if self._place is Place.FIRST else second)
        self._cell = QVBoxLayout(cell)
        self._cell.setContentsMargins(0, 6, 0, 0)
        self._cell.setSpacing(0)
        self._label.setWordWrap(self._place is not Place.TRAILING)
        self._label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignTop)
        self._cell.addWidget(self._label)
        self._cell.addStretch(1)
        line.addWidget(cell)
        self._content = QVBoxLayout()
        self._content.setSpacing(2)
        line.addLayout(self._content, 1)
        if self.field.is_computed:
            self._words = QLabel(self)
            self._words.setContentsMargins(0, 6, 0, 0)
            self._words.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
            self._words.setAccessibleName(self.field.label)
            self._label.setForegroundRole(QPalette.ColorRole.PlaceholderText)
            self._words.setForegroundRole(QPalette.ColorRole.PlaceholderText)
            self._content.addWidget(self._words)
        else:
            self.editor = make_editor(self.field, self._desk.surroundings, self)
            self.editor.value_edited.connect(self._on_value_edited)
            self.editor.taken_back.connect(self._on_taken_back)
            self.editor.answered.connect(self._on_answered)
            self._label.setBuddy(self.editor.buddy())
            self._content.addWidget(self.editor)
        self._notes_column = QVBoxLayout(self.notes)
        self._notes_column.setContentsMargins(0, 0, 0, 0)
        self._notes_column.setSpacing(0)
        self.notes.setVisible(False)
        self._content.addWidget(self.notes)
        self._content.addStretch(1)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    @property
    def is_asked(self) -> bool:
        """True when there is something to answer here now."""
        return self.editor is not None and not self.isHidden()

    @property
    def is_answered(self) -> bool:
        """True when there is a value, or a reason why there is none."""
        record = self._desk.state.record
        return self.path in record.values or self.path in record.unanswered

    def focus_first(self) -> None:
        """Put the focus where the answer is given."""
        if self.editor is not None:
            self.editor.focus_first()

    def controls(self) -> Sequence[QWidget]:
        """What Tab visits, in order."""
        found: list[QWidget] = list(self.editor.controls()) if self.editor else []
        if self._tag is not None:
            found.append(self._tag)
        if self._why is not None:
            found.append(self._why.box)
        return found

    def note_controls(self) -> Sequence[QWidget]:
        """What Tab visits in the notes below the question."""
        return [control for note in self._notes for control in note.controls()]

    def load(self) -> None:
        """Another case is shown: show its value, whatever stood here."""
        self._seen = self._recorded()
        self._why_wanted = False
        if self.editor is not None:
            self.editor.refresh()
            self.editor.set_value(self._seen)
            unread = self._desk.case.unread.get(self.path)
            if unread:
                self.editor.put_unread(unread)
        self.refresh(revealed=False)

    def refresh(self, revealed: bool) -> None:
        """The case has changed: show what follows from it."""
        view = self._desk.state.view
        hidden = self.path in view.hidden or (
            self.field.is_computed and self.path not in view.values
        )
        if hidden is not self.isHidden():
            self.setVisible(not hidden)
        if hidden:
            self.notes.setVisible(False)
            return
        if self.editor is None:
            assert self._words is not None
            self._words.setText(self._desk.said(self.path))
            self._show_notes(self._shown_findings(revealed))
            return
        self.editor.refresh()
        value = self._recorded()
        if value != self._seen:
            self._seen = value
            self.editor.set_value(value)
            self._desk.note_unread(self.path, self.editor.unread)
        self._refresh_tags(revealed)
        self._refresh_why()
        notes = self._shown_findings(revealed)
        self._show_notes(notes)
        self._speak(notes)

    def ask_why_silent(self) -> None:
        """Open the line "not recorded, because ..."."""
        self._why_wanted = True
        self._refresh_why()
        if self._why is not None:
            self._why.box.setFocus()

    def confirm(self) -> None:
        """A person stands by the value that is shown."""
        self._desk.apply(confirm([self.path], f"confirming {self.field.label}"), None)

    @property
    def can_be_silent(self) -> bool:
        """True when "not recorded, because ..." is an answer here."""
        view = self._desk.state.view
        return (
            self.is_asked
            and not self.field.must
            and (
                (self._recorded() is UNSET and view.is_required(self.path))
                or self.path in view.record.unanswered
            )
        )

    def _recorded(self) -> Value | Unset:
        return self._desk.state.record.value(self.path)

    def _on_answered(self) -> None:
        self._desk.question_answered.emit(self.path)

    def _on_taken_back(self) -> None:
        """Give back what the record was before the last edit, with its origins."""
        before, after = self._last_edit
        if before is not None and after is self._desk.state.record:
            self._desk.apply(
                Edit(self.field.label, (self.path,), lambda _: before, self.path), self
            )

    def _on_value_edited(self, value: Value | Unset) -> None:
        assert self.editor is not None
        self._seen = value
        before = self._desk.state.record
        self._desk.note_unread(self.path, self.editor.unread)
        label = self.field.label
        if value is UNSET:
            self._desk.apply(clear_value(self.path, label), self)
        elif isinstance(self.editor, ScanEditor):
            self._take_scan(self.editor, str(value))
        elif self.field.vouched:
            # What was said of another picture is not said of this one.
            about = f"{self.path.rpartition('.')[0]}.{self.field.vouched}"
            self._desk.apply(set_value_afresh(self.path, value, label, (about,)), self)
        else:
            self._desk.apply(set_value(self.path, value, label), self)
        self._last_edit = (before, self._desk.state.record)
        if self.editor.problem:
            self._speak(())

    def _take_scan(self, editor: ScanEditor, text: str) -> None:
        """A label fills what it says of its device; what can't be read is kept as it is."""
        state = self._desk.state
        found = scanned(state.pack, state.record, self.path, text)
        values = {self.path: text, **found.values}
        edit = set_values(values, self.field.label, Origin.SCANNED, key=self.path)
        self._desk.apply(edit, self)
        editor.show_scan(found)

    def _shown_findings(self, revealed: bool) -> tuple[Finding, ...]:
        found = self._desk.findings_at(self.path)
        # The box that one is typing into doesn't go because its answer is not whole.
        focus = QApplication.focusWidget()
        in_hand = {
            note.finding.id
            for note in self._notes
            if note.finding is not None and focus is not None and note.isAncestorOf(focus)
        }
        return tuple(
            finding
            for finding in found
            if finding.level == "contradiction"
            or finding.id in in_hand
            or (finding.level != "gap" and (revealed or finding.settled))
            or (
                finding.level == "gap"
                and revealed
                and not finding.id.startswith(("gap:", "confirm:"))
            )
        )

    def _show_notes(self, findings: Sequence[Finding]) -> None:
        # A finding that concerns several fields is told in full beside the first of them.
        told = [f for f in findings if self._desk.tells(f, self.path)]
        while len(self._notes) < len(told):
            note = FindingNote(self._desk, self.notes)
            self._notes_column.addWidget(note)
            self._notes.append(note)
        self.notes.setVisible(bool(told))
        for index, note in enumerate(self._notes):
            note.setVisible(index < len(told))
            if index < len(told):
                note.show_finding(told[index])

    def _refresh_tags(self, revealed: bool) -> None:
        assert self.editor is not None
        record = self._desk.state.record
        unconfirmed = record.is_unconfirmed(self.path)
        self.editor.set_quiet(unconfirmed)
        if unconfirmed and self._tag is None:
            self._tag = self._made_tag()
        if self._tag is not None:
            self._tag.setVisible(unconfirmed)
            if unconfirmed:
                word = _TAGS[record.origin(self.path)]
                self._tag.setText(f"{word} \N{BULLET} confirm")
                self._tag.setAccessibleName(f"Confirm {self.field.label}, {word}")
        drawn = record.origin(self.path) is Origin.DRAWN and self.path in record.values
        if drawn and self._drawn_tag is None:
            self._drawn_tag = QLabel("drawn", self)
            self._drawn_tag.setToolTip("Read off the map, not typed")
            self._drawn_tag.setAlignment(Qt.AlignmentFlag.AlignRight)
            self._drawn_tag.setFont(theme.font(0.88))
            self._drawn_tag.setForegroundRole(QPalette.ColorRole.PlaceholderText)
            self._cell.insertWidget(1, self._drawn_tag)
        if self._drawn_tag is not None:
            self._drawn_tag.setVisible(drawn)
        is_open = revealed and any(
            f.id == f"gap:{self.path}" and not f.settled for f in self._desk.findings_at(self.path)
        )
        if is_open and self._open_tag is None:
            self._open_tag = QLabel("\N{WHITE CIRCLE} open", self)
            self._open_tag.setAlignment(Qt.AlignmentFlag.AlignRight)
            self._open_tag.setFont(theme.font(0.9))
            self._cell.insertWidget(1, self._open_tag)
        if self._open_tag is not None:
            self._open_tag.setVisible(is_open)
            if is_open:
                palette = QPalette()
                palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).attention)
                self._open_tag.setPalette(palette)

    def _made_tag(self) -> QToolButton:
        tag = QToolButton(self)
        tag.setAutoRaise(True)
        tag.setFont(theme.font(0.88))
        tag.setToolTip("Confirm that this is so")
        tag.clicked.connect(self.confirm)
        self._cell.insertWidget(1, tag, 0, Qt.AlignmentFlag.AlignRight)
        return tag

    def _refresh_why(self) -> None:
        record = self._desk.state.record
        wanted = self.path in record.unanswered or (self._why_wanted and self._recorded() is UNSET)
        if not wanted:
            self._why_wanted = False
        if wanted and self._why is None:
            self._why = ReasonBox(self._desk, self)
            self._why.ask_why_silent(self.path)
            self._content.insertWidget(1, self._why)
            self._why.setMaximumWidth(theme.columns(self, _WHY_CHARACTERS))
        if self._why is not None:
            self._why.setVisible(wanted)
            if wanted:
                self._why.sync(record)

    def _speak(self, findings: Sequence[Finding]) -> None:
        assert self.editor is not None
        name = self.field.label
        if within := self._desk.within(self.field):
            name = f"{name}, {within[:1].lower()}{within[1:]}"
        if self.field.unit:
            name = f"{name}, in {self.field.unit}"
        if self._desk.state.view.is_required(self.path):
            name = f"{name}, required"
        heard = [self.editor.problem, self.field.help, *(f.message for f in findings)]
        spoken = (name, " ".join(part for part in heard if part))
        if spoken != self._spoken:
            self._spoken = spoken
            self.editor.set_spoken(*spoken)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Answer the keys that it knows, leave the others to what is around it."""
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if plain and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.left_by_enter.emit()
        else:
            event.ignore()
