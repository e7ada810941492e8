"""What is still open, under the paper: a sentence, and a list whose lines lead to fields."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import (
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QKeyEvent, QPainter, QPalette, QPen
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QHBoxLayout,
    QLabel,
    QListView,
    QPushButton,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QVBoxLayout,
    QWidget,
)

from opnote.assess import Assessment, Finding
from opnote.desk import theme
from opnote.desk.answer import BookingBox, ReasonBox
from opnote.desk.desk import Desk
from opnote.desk.list_model import ITEM, Index, ListModel
from opnote.desk.mark import LEVEL_WORDS, draw_mark, level_colour
from opnote.record import confirm, forget_leftover

_MARK: Final = 13
_LEFT: Final = 8
_MOST_ASIDE: Final = 3
_BESIDE_CHARACTERS: Final = 62
"""The width of the sentence and its button side by side, in average characters."""
_USUAL_WIDTH: Final = 400
"""The width of the pane in the smallest window. Units: pixels."""
_UNDER: Final = ", under the paper"
_WRAPPED: Final = int(
    Qt.TextFlag.TextWordWrap.value
    | Qt.AlignmentFlag.AlignLeft.value
    | Qt.AlignmentFlag.AlignTop.value
)

_COUNTED: Final = (
    ("contradiction", "contradiction", "contradictions"),
    ("gap", "gap", "gaps"),
    ("confirm", "to confirm", "to confirm"),
    ("leftover", "left over", "left over"),
    ("explain", "to explain", "to explain"),
    ("due", "to book", "to book"),
)


def kind_of(finding: Finding) -> str:
    """What a finding asks for, in the words of the sentence."""
    if finding.level == "gap":
        prefix = finding.id.partition(":")[0]
        return prefix if prefix in ("confirm", "leftover") else "gap"
    return "explain" if finding.level in ("adverse", "unusual") else finding.level


def open_sentence(assessment: Assessment) -> str:
    """What still stands between the case and its signature, in one sentence."""
    if assessment.is_ready:
        return "Ready to sign"
    counts = Counter(kind_of(finding) for finding in assessment.open)
    parts = [
        f"{counts[kind]} {one if counts[kind] == 1 else many}"
        for kind, one, many in _COUNTED
        if counts[kind]
    ]
    return f"Still open: {', '.join(parts)}"


def aside_sentence(labels: Sequence[str]) -> str:
    """What was answered to questions that another answer has taken away; "" for nothing."""
    if not labels:
        return ""
    shown = ", ".join(dict.fromkeys(labels[:_MOST_ASIDE]))
    more = len(labels) - _MOST_ASIDE
    rest = f" and {more} more" if more > 0 else ""
    return f"Put aside, as no longer asked: {shown}{rest}"


class FindingsModel(ListModel[Finding]):
    """The findings of the case, in the order of their levels."""

    def set_findings(self, findings: Sequence[Finding]) -> bool:
        """Show these; False when they are the same as before."""
        if list(findings) == self.items:
            return False
        self.set_items(findings)
        return True

    def row_of(self, finding_id: str) -> int:
        """The line of a finding; -1 for none."""
        return next((i for i, f in enumerate(self.items) if f.id == finding_id), -1)

    def words(self, item: Finding, role: int) -> str | None:
        """The message, read out with its level, explained with its source."""
        if role == Qt.ItemDataRole.DisplayRole:
            return item.message
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{_word_of(item)}: {item.message}"
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"{item.message}\nAsked for by: {item.source}"
        return None


def _word_of(finding: Finding) -> str:
    if finding.settled:
        return "Answered"
    return "To confirm" if kind_of(finding) == "confirm" else LEVEL_WORDS[finding.level]


class _FindingDelegate(QStyledItemDelegate):
    """Draws the shape of a level and up to three lines of words."""

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        """Gaps take one line; what has to be read takes what it needs."""
        finding = index.data(ITEM)
        line = option.fontMetrics.height()
        if finding is None or finding.level == "gap":
            return QSize(100, line + 6)
        width = option.widget.width() - _LEFT - _MARK - 30
        words = option.fontMetrics.boundingRect(QRect(0, 0, width, 1000), _WRAPPED, finding.message)
        return QSize(100, min(words.height(), 3 * line) + 6)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Severity is a shape first, then a colour."""
        finding = index.data(ITEM)
        palette = option.palette
        rect = option.rect
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, palette.color(QPalette.ColorRole.Midlight))
            painter.fillRect(
                rect.x(), rect.y(), 3, rect.height(), palette.color(QPalette.ColorRole.Accent)
            )
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(rect, palette.color(QPalette.ColorRole.AlternateBase))
        box = QRectF(rect.x() + _LEFT, rect.y() + 4, _MARK, _MARK)
        role = QPalette.ColorRole.PlaceholderText if finding.settled else QPalette.ColorRole.Text
        if finding.settled:
            painter.setPen(palette.color(QPalette.ColorRole.PlaceholderText))
            painter.drawText(box, Qt.AlignmentFlag.AlignCenter, "\N{CHECK MARK}")
        else:
            draw_mark(painter, box, finding.level, level_colour(finding.level, option.widget))
        text = rect.adjusted(_LEFT + _MARK + 8, 3, -6, -2)
        painter.setPen(palette.color(role))
        if finding.level == "gap":
            words = option.fontMetrics.elidedText(
                finding.message, Qt.TextElideMode.ElideRight, text.width()
            )
            painter.drawText(text, Qt.AlignmentFlag.AlignTop, words)
        else:
            painter.drawText(text, _WRAPPED, finding.message)
        if option.state & QStyle.StateFlag.State_HasFocus:
            painter.setPen(QPen(palette.color(QPalette.ColorRole.Accent), 1))
            painter.drawRect(rect.adjusted(0, 0, -1, -1))
        painter.restore()


class _FindingView(QListView):
    """Enter follows a line, as a click does."""

    followed = Signal(int)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter leads to the field."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.followed.emit(self.currentIndex().row())
        else:
            super().keyPressEvent(event)


class _NarrowButton(QPushButton):
    """A button no wider than its words: the sentence beside it needs the room."""

    def sizeHint(self) -> QSize:
        """The width of the words, the usual height."""
        return QSize(
            self.fontMetrics().horizontalAdvance(self.text()) + 24, super().sizeHint().height()
        )

    def minimumSizeHint(self) -> QSize:
        """All of it."""
        return self.sizeHint()


class FindingsPane(QWidget):
    """The sentence, the list, and the answer that the chosen finding takes.

    Signals: path_followed(path); next_wanted() for the next open question; sign_wanted() when the
    note is to be signed.
    """

    path_followed = Signal(str)
    next_wanted = Signal()
    sign_wanted = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk: Desk | None = None
        self._reason: ReasonBox | None = None
        self._booking: BookingBox | None = None
        self.sentence = QLabel("", self)
        self.sentence.setWordWrap(True)
        self.sentence.setFont(theme.font(1.05, bold=True))
        self._next = _NarrowButton("Next open", self)
        self._next.setAccessibleName("Next open question")
        self._next.setToolTip("Ctrl+J")
        self._next.setAutoDefault(False)
        self._next.clicked.connect(self.next_wanted)
        self._sign = _NarrowButton("Sign", self)
        self._sign.setAccessibleName("Sign the note")
        self._sign.setToolTip("Ctrl+Return")
        self._sign.setAutoDefault(False)
        self._sign.clicked.connect(self.sign_wanted)
        self._model = FindingsModel(self)
        self._view = _FindingView(self)
        self._view.setModel(self._model)
        self._view.setItemDelegate(_FindingDelegate(self._view))
        self._view.setFrameShape(QFrame.Shape.NoFrame)
        self._view.setMouseTracking(True)
        self._view.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._view.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)
        self._view.setResizeMode(QListView.ResizeMode.Adjust)
        self._view.setAccessibleName("What is still open")
        self._view.viewport().setAutoFillBackground(False)
        # In a small window with large text the list gives way to the sentence above it.
        self._view.setMinimumHeight(theme.line_height(self))
        theme.slim(self._view)
        self._view.clicked.connect(self._on_clicked)
        self._view.followed.connect(self._follow)
        self._view.selectionModel().currentChanged.connect(self._on_current_changed)
        self._aside = QLabel("", self)
        self._aside.setTextFormat(Qt.TextFormat.PlainText)
        self._aside.setWordWrap(True)
        self._aside.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        self._aside.setContentsMargins(8, 0, 8, 0)
        self._aside.setToolTip("It stays in the case and comes back with its question.")
        self._aside.setVisible(False)
        self._settle = QPushButton(self)
        self._settle.setAutoDefault(False)
        self._settle.clicked.connect(self._on_settle_clicked)
        self._settle.setVisible(False)
        # With large text the sentence needs the whole line.
        is_narrow = theme.columns(self, _BESIDE_CHARACTERS) > _USUAL_WIDTH
        ways = QBoxLayout.Direction
        top = QBoxLayout(ways.TopToBottom if is_narrow else ways.LeftToRight)
        top.setContentsMargins(8, 0, 8, 0)
        top.addWidget(self.sentence, 1)
        buttons = QHBoxLayout()
        buttons.setSpacing(6)
        buttons.addWidget(self._next)
        buttons.addWidget(self._sign)
        top.addLayout(buttons)
        if is_narrow:
            buttons.addStretch(1)
        self._answer = QVBoxLayout()
        self._answer.setContentsMargins(8, 0, 8, 0)
        self._answer.addWidget(self._settle, 0, Qt.AlignmentFlag.AlignLeft)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 8, 8, 8)
        column.setSpacing(6)
        column.addLayout(top)
        column.addWidget(self._view, 1)
        column.addWidget(self._aside)
        column.addLayout(self._answer)

    def set_desk(self, desk: Desk) -> None:
        """Work on the cases of a desk."""
        self._desk = desk
        for box in (self._reason, self._booking):
            if box is not None:
                box.setParent(None)
                box.deleteLater()
        self._reason = ReasonBox(desk, self, _UNDER)
        self._booking = BookingBox(desk, self, _UNDER)
        for box in (self._reason, self._booking):
            box.setVisible(False)
            self._answer.addWidget(box)

    def refresh(self) -> None:
        """The case has changed."""
        assert self._desk is not None
        assessment = self._desk.state.assessment
        self.sentence.setText(open_sentence(assessment))
        self._next.setVisible(not assessment.is_ready)
        aside = [self._desk.label_of(path) for path in self._desk.state.view.put_aside()]
        self._aside.setText(aside_sentence(aside))
        self._aside.setVisible(bool(aside))
        chosen = self._chosen()
        at = self._view.verticalScrollBar().value()
        if self._model.set_findings(assessment.findings):
            row = self._model.row_of(chosen.id) if chosen is not None else -1
            if row >= 0:
                self._view.setCurrentIndex(self._model.index(row))
            self._view.verticalScrollBar().setValue(at)
        self._ask()

    def focus_list(self) -> None:
        """Put the focus on the list."""
        if not self._view.currentIndex().isValid() and self._model.rowCount():
            self._view.setCurrentIndex(self._model.index(0))
        self._view.setFocus()

    def _chosen(self) -> Finding | None:
        return self._model.item(self._view.currentIndex().row())

    def _on_current_changed(self) -> None:
        self._ask()

    def _ask(self) -> None:
        """Offer the answer that the chosen finding takes."""
        if self._desk is None or self._reason is None or self._booking is None:
            return
        finding = self._chosen()
        kind = "" if finding is None else kind_of(finding)
        is_plain_gap = finding is not None and finding.id.startswith("gap:")
        self._reason.setVisible(kind == "explain" or is_plain_gap)
        self._booking.setVisible(kind == "due")
        self._settle.setVisible(kind in ("confirm", "leftover"))
        if finding is None:
            return
        record = self._desk.state.record
        if kind == "explain":
            self._reason.ask_about(finding)
            self._reason.sync(record)
        elif is_plain_gap:
            self._reason.ask_why_silent(finding.fields[0])
            self._reason.sync(record)
        elif kind == "due":
            self._booking.ask_about(finding)
            self._booking.sync(record)
        elif kind == "confirm":
            self._settle.setText("Confirm it")
        elif kind == "leftover":
            self._settle.setText("Let it go")

    def _on_settle_clicked(self) -> None:
        finding = self._chosen()
        if finding is None or self._desk is None:
            return
        path = finding.fields[0]
        if kind_of(finding) == "confirm":
            self._desk.apply(confirm([path], f"confirming {self._desk.label_of(path)}"), None)
        else:
            self._desk.apply(forget_leftover(path, f"letting {path} go"), None)

    def _on_clicked(self, index: Index) -> None:
        self._follow(index.row())

    def _follow(self, row: int) -> None:
        finding = self._model.item(row)
        if finding is not None and finding.fields:
            self.path_followed.emit(finding.fields[0])
