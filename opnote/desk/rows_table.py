"""A table of the form: each row a line that says what it holds, and one of them unfolded."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPainter, QPaintEvent, QPalette, QPen
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
from opnote.desk.desk import Desk
from opnote.desk.editor.option_button import CheckOption, letters_for
from opnote.desk.field_list import ROW_GAP, FieldList
from opnote.desk.field_row import FieldRow
from opnote.desk.flow import FlowLayout
from opnote.desk.lone_letter import LoneLetter
from opnote.desk.mark import draw_mark, level_colour
from opnote.desk.passing_button import PassingButton
from opnote.desk.picture_intake import PictureIntake
from opnote.pack.form import Field
from opnote.record import add_row, answer_no_rows, remove_row
from opnote.record.edit import Edit
from opnote.record.record import Origin, Record


def with_article(noun: str) -> str:
    """A noun with "a" or "an", its first letter small: "a tear", "an implant"."""
    low = noun[:1].lower() + noun[1:]
    return f"{'an' if low[:1] in 'aeiou' else 'a'} {low}"


def take_back_no_rows(table: str, label: str) -> Edit:
    """Take the answer "none" back: the table is unset again."""

    def apply(record: Record) -> Record:
        rows = {path: ids for path, ids in record.rows.items() if path != table or ids}
        return record.with_changes(rows=rows)

    return Edit(label, (table,), apply)


class RowHead(PassingButton):
    """The line of a row: its name, what it holds, and a triangle that unfolds it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__("", parent)
        self.name = ""
        self.summary = ""
        self.level = ""
        self.is_unfolded = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_unfolded(self, is_unfolded: bool) -> None:
        """Turn the triangle."""
        self.is_unfolded = is_unfolded
        words = "Unfolded. Space folds it." if is_unfolded else "Folded. Space unfolds it."
        self.setAccessibleDescription(f"{words} Enter goes to its first question.")
        self.update()

    def say(self, name: str, summary: str, level: str) -> None:
        """Show what the row is called and holds, and the worst that was found in it."""
        if (name, summary, level) != (self.name, self.summary, self.level):
            self.name, self.summary, self.level = name, summary, level
            self.setAccessibleName(f"{name}. {summary}" if summary else name)
            self.setToolTip(summary)
            self.update()

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        return QSize(theme.columns(self, 30), theme.line_height(self))

    def minimumSizeHint(self) -> QSize:
        """The size that it needs."""
        return QSize(theme.columns(self, 16), theme.line_height(self))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        painter = QPainter(self)
        palette = self.palette()
        role = QPalette.ColorRole
        rect = self.rect()
        if self.underMouse() and not self.is_unfolded:
            painter.fillRect(rect, palette.color(role.Midlight))
        middle = rect.center().y()
        self._paint_triangle(painter, 10, middle)
        metrics = QFontMetrics(self.font())
        bold = theme.font(1, bold=True)
        name_width = QFontMetrics(bold).horizontalAdvance(self.name) + 12
        painter.setFont(bold)
        painter.setPen(palette.color(role.Text))
        left = 24
        align = Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        painter.drawText(QRect(left, 0, name_width, rect.height()), align, self.name)
        left += name_width
        if self.level:
            side = metrics.height()
            box = QRect(left - 4, middle - side // 2, side, side).toRectF()
            draw_mark(
                painter, box.adjusted(1, 1, -1, -1), self.level, level_colour(self.level, self)
            )
            left += side
        painter.setFont(self.font())
        painter.setPen(palette.color(role.PlaceholderText))
        room = rect.width() - left - 4
        words = metrics.elidedText(self.summary, Qt.TextElideMode.ElideRight, room)
        painter.drawText(QRect(left, 0, room, rect.height()), align, words)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(palette.color(role.Accent), 2))
            painter.drawRect(rect.adjusted(1, 1, -1, -1))

    def _paint_triangle(self, painter: QPainter, x: int, y: int) -> None:
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().color(QPalette.ColorRole.Text), 1.8))
        painter.translate(x, y)
        painter.rotate(90 if self.is_unfolded else 0)
        painter.drawPolyline([QPoint(-2, -4), QPoint(2, 0), QPoint(-2, 4)])
        painter.restore()


class RowCard(QWidget):
    """One row: its head, and its questions once it was unfolded."""

    unfolded = Signal(object)
    left_by_enter = Signal(object)
    removal_wanted = Signal(str)

    def __init__(self, table: Field, row: str, desk: Desk, parent: QWidget) -> None:
        super().__init__(parent)
        self.row = row
        self._table = table
        self._desk = desk
        self.fields: FieldList | None = None
        self.head = RowHead(self)
        self.head.clicked.connect(self._on_head_clicked)
        self._remove = QToolButton(self)
        self._remove.setText("Remove")
        self._remove.setAutoRaise(True)
        self._remove.clicked.connect(self._on_remove_clicked)
        top = QHBoxLayout()
        top.setSpacing(4)
        top.addWidget(self.head, 1)
        top.addWidget(self._remove)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(ROW_GAP)
        self._column.addLayout(top)

    @property
    def is_unfolded(self) -> bool:
        """True while the questions of the row are shown."""
        return self.head.is_unfolded

    def unfold(self, wanted: bool, revealed: bool) -> None:
        """Show or put away the questions of the row."""
        self.head.show_unfolded(wanted)
        if wanted and self.fields is None:
            self.fields = FieldList(self._table.columns, self._path_of, self._desk, self)
            self.fields.left_by_enter.connect(self.left_by_enter)
            self._column.addWidget(self.fields)
            self.fields.load()
        if self.fields is not None:
            self.fields.setVisible(wanted)
        self.refresh(revealed)

    def refresh(self, revealed: bool) -> None:
        """The case has changed."""
        table = self._table.path
        name = self._desk.row_name(table, self.row).partition(":")[0]
        self.head.say(name, self._desk.row_summary(table, self.row), self._worst_level())
        self._remove.setAccessibleName(f"Remove {name}")
        if self.fields is not None and self.is_unfolded:
            self.fields.refresh(revealed)

    def _worst_level(self) -> str:
        """The level to mark on a folded row: only what speaks at once."""
        if self.is_unfolded:
            return ""
        for column in self._table.columns:
            for finding in self._desk.findings_at(self._path_of(column)):
                if finding.level == "contradiction":
                    return finding.level
        return ""

    def _path_of(self, column: Field) -> str:
        return f"{self._table.path}.{self.row}.{column.name}"

    def _on_head_clicked(self) -> None:
        self.unfolded.emit(self)

    def _on_remove_clicked(self) -> None:
        self.removal_wanted.emit(self.row)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw it in the colours of the palette."""
        painter = QPainter(self)
        painter.setPen(self.palette().color(QPalette.ColorRole.Midlight))
        painter.drawLine(0, 0, self.width(), 0)
        if self.is_unfolded:
            painter.fillRect(
                0, 4, 3, self.height() - 8, self.palette().color(QPalette.ColorRole.Accent)
            )


class _NoneAnswer(CheckOption):
    """The answer that there is no row. Space presses it, Enter passes by."""

    def __init__(self, words: str, letter: str, parent: QWidget) -> None:
        super().__init__(words, letter, parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Space gives the answer or takes it back."""
        if event.key() == Qt.Key.Key_Space:
            self.click()
        else:
            super().keyPressEvent(event)


class RowsTable(QWidget):
    """Answers a `rows` field.

    Signals: left_by_enter(widget) when Enter asks for what comes after the table or a question;
    order_changed() when the order of Tab has to be set anew.
    """

    left_by_enter = Signal(object)
    order_changed = Signal()

    def __init__(self, field: Field, desk: Desk, parent: QWidget, titled: bool) -> None:
        super().__init__(parent)
        self.field = field
        self.path = field.path
        self._desk = desk
        self._cards: dict[str, RowCard] = {}
        self._revealed = False
        self._title = QLabel(field.label, self)
        self._title.setFont(theme.font(0.95, bold=True))
        self._title.setVisible(titled)
        self._title.setContentsMargins(0, 8, 0, 0)
        noun = field.row_label or field.label
        self._add = PassingButton(f"Add {with_article(noun)}", self)
        self._add.clicked.connect(self._on_add_clicked)
        self._repeat = PassingButton(f"Repeat the last {noun[:1].lower()}{noun[1:]}", self)
        self._repeat.clicked.connect(self._on_repeat_clicked)
        none_words = field.none_label or "None"
        self._none_letter = letters_for((none_words,))[0]
        self._none = _NoneAnswer(none_words, self._none_letter, self)
        self._letter = LoneLetter(self)
        self._letter.meant.connect(self._on_letter)
        self._none.setAccessibleName(f"{field.label}: {self._none.text()}")
        self._none.clicked.connect(self._on_none_clicked)
        self._intake = PictureIntake.made_for(field, desk, self, self._start_last_row)
        if self._intake is not None:
            self._add.setText("Add pictures\N{HORIZONTAL ELLIPSIS}")
        self._open = QLabel("\N{WHITE CIRCLE} open", self)
        self._list = QVBoxLayout()
        self._list.setSpacing(ROW_GAP)
        actions = FlowLayout(gap=6)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(ROW_GAP)
        column.addWidget(self._title)
        column.addLayout(self._list)
        column.addLayout(actions)
        for button in (self._add, self._repeat, self._none):
            actions.addWidget(button)
        if self._intake is not None:
            self._intake.stand_in(actions, column)
        actions.addWidget(self._open)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    @property
    def is_asked(self) -> bool:
        """True when there is something to answer here now."""
        return not self.isHidden()

    @property
    def row_count(self) -> int:
        """How many rows there are."""
        return len(self._cards)

    @property
    def is_answered_none(self) -> bool:
        """True when the answer is "none"."""
        return self._desk.state.view.rows.get(self.path) == ()

    @property
    def is_answered(self) -> bool:
        """True when there are rows, or the answer "none"."""
        return self.path in self._desk.state.record.rows

    def focus_first(self) -> None:
        """Put the focus on the first row, or where one is added."""
        cards = list(self._cards.values())
        (cards[0].head if cards else self._add).setFocus()

    def enter_unfolds(self) -> bool:
        """Enter on the line of a row goes to its first question; False when it is elsewhere."""
        for card in self._cards.values():
            if card.head.hasFocus():
                self._unfold_only(card)
                self._focus_first_question(card)
                return True
        return False

    def focus_add(self) -> None:
        """Put the focus where another row is added."""
        self._add.setFocus()

    def questions(self) -> Iterator[FieldRow]:
        """The questions of the unfolded row, in order."""
        for card in self._cards.values():
            if card.is_unfolded and card.fields is not None:
                yield from card.fields.rows.values()

    def question_at(self, path: str) -> FieldRow | None:
        """The question of a path in this table, its row unfolded; None when there is none."""
        row = path[len(self.path) + 1 :].partition(".")[0]
        card = self._cards.get(row)
        if card is None:
            return None
        if not card.is_unfolded:
            self._unfold_only(card)
        return card.fields.rows.get(path) if card.fields else None

    def controls(self) -> Sequence[QWidget]:
        """What Tab visits, in order."""
        found: list[QWidget] = []
        for card in self._cards.values():
            found.append(card.head)
            found.append(card._remove)
            if card.fields is not None and card.is_unfolded:
                found.extend(card.fields.controls())
        found.extend(b for b in (self._add, self._repeat, self._none))
        if self._intake is not None:
            found.extend(self._intake.controls())
        return found

    def load(self) -> None:
        """Another case is shown."""
        if self._intake is not None:
            self._intake.forget()
        for card in self._cards.values():
            card.setParent(None)
            card.deleteLater()
        self._cards.clear()
        self.refresh(revealed=False)
        cards = list(self._cards.values())
        if cards:
            self._unfold_only(cards[0])

    def refresh(self, revealed: bool) -> None:
        """The case has changed."""
        self._revealed = revealed
        view = self._desk.state.view
        hidden = self.path in view.hidden
        if hidden is not self.isHidden():
            self.setVisible(not hidden)
        if hidden:
            return
        rows = view.rows.get(self.path, ())
        if tuple(self._cards) != rows:
            self._match(rows)
        for card in self._cards.values():
            card.refresh(revealed)
        self._none.setVisible(bool(self.field.none_label) and not rows)
        self._none.setChecked(self.is_answered_none)
        self._repeat.setVisible(bool(rows) and self._intake is None)
        gap = f"gap:{self.path}"
        is_open = revealed and any(
            f.id == gap and not f.settled for f in self._desk.findings_at(self.path)
        )
        self._open.setVisible(is_open)
        if is_open:
            palette = QPalette()
            palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).attention)
            self._open.setPalette(palette)

    def _match(self, rows: Sequence[str]) -> None:
        """Have a card for each row and no other, in their order."""
        for row in [row for row in self._cards if row not in rows]:
            card = self._cards.pop(row)
            focus = QApplication.focusWidget()
            if isinstance(focus, QWidget) and card.isAncestorOf(focus):
                self._add.setFocus()
            card.setParent(None)
            card.deleteLater()
        ordered = {}
        for row in rows:
            card = self._cards.get(row) or self._made_card(row)
            self._list.removeWidget(card)
            self._list.addWidget(card)
            ordered[row] = card
        self._cards = ordered
        self.order_changed.emit()

    def _made_card(self, row: str) -> RowCard:
        card = RowCard(self.field, row, self._desk, self)
        card.unfolded.connect(self._on_unfolded)
        card.left_by_enter.connect(self.left_by_enter)
        card.removal_wanted.connect(self._on_removal_wanted)
        card.setVisible(True)
        return card

    def _unfold_only(self, wanted: RowCard) -> None:
        for card in self._cards.values():
            card.unfold(card is wanted, self._revealed)
        self.order_changed.emit()

    def _on_unfolded(self, card: RowCard) -> None:
        if not card.is_unfolded:
            self._unfold_only(card)
        else:
            card.unfold(False, self._revealed)
            self.order_changed.emit()

    def _on_removal_wanted(self, row: str) -> None:
        name = self._desk.row_name(self.path, row).partition(":")[0]
        references = self._desk.pack.references.get(self.path, ())
        self._desk.apply(remove_row(self.path, row, f"removing {name}", references), None)

    def _on_add_clicked(self) -> None:
        if self._intake is not None:
            self._intake.choose()
            return
        self._desk.apply(add_row(self.path, f"adding{self._add.text().removeprefix('Add')}"), None)
        self._start_last_row()

    def _on_repeat_clicked(self) -> None:
        rows = self._desk.state.view.rows.get(self.path, ())
        if not rows:
            return
        values = {}
        for column in self.field.columns:
            value = self._desk.state.record.values.get(f"{self.path}.{rows[-1]}.{column.name}")
            if value is not None and not column.is_computed and not column.never_preset:
                values[column.name] = value
        label = f"repeating{self._repeat.text().removeprefix('Repeat')}"
        # Carried over from the row above: nobody has confirmed them yet.
        origins = dict.fromkeys(values, Origin.CARRIED_OVER)
        self._desk.apply(add_row(self.path, label, values, origins=origins), None)
        self._start_last_row()

    def _start_last_row(self, back: int = 1) -> None:
        card = list(self._cards.values())[-back]
        self._unfold_only(card)
        self._focus_first_question(card)

    def _focus_first_question(self, card: RowCard) -> None:
        if card.fields is not None:
            first = next((row for row in card.fields.rows.values() if row.is_asked), None)
            if first is not None:
                first.focus_first()

    def _on_none_clicked(self) -> None:
        words = f"the answer “{self.field.none_label}”"
        if self._none.isChecked():
            self._desk.apply(answer_no_rows(self.path, words), None)
        else:
            self._desk.apply(take_back_no_rows(self.path, words), None)

    def _on_letter(self, letter: str) -> None:
        """The letter of "none", typed where a row would be added."""
        if letter == self._none_letter and self._none.isVisible() and self._is_at_add:
            if not self._none.isChecked():
                self._none.click()
            self._desk.question_answered.emit(self.path)

    @property
    def _is_at_add(self) -> bool:
        return self._add.hasFocus() or self._none.hasFocus()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Answer the keys that it knows, leave the others to what is around it."""
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if plain and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.left_by_enter.emit(self)
        elif plain and self._is_at_add and event.text().isprintable() and event.text():
            self._letter.take(event)
        else:
            event.ignore()
