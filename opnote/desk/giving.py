"""The line that records on which day a patient was given the risk sheet."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from opnote.desk import theme
from opnote.desk.line_edit import LineEdit
from opnote.desk.notice import Notices
from opnote.desk.reading import EXAMPLES, Habits, date_words, read_date, text_of
from opnote.desk.session import Session
from opnote.pack.given import give_sheet, missing_of_sheet
from opnote.pack.view import and_list

SUBJECT = "given"
_MOST_NAMED = 3
"""More missing answers are counted, not named: the line stays a line."""


def ask_when_given(session: Session, notices: Notices, today: date, habits: Habits) -> None:
    """Ask for the day on which the sheet was given, unless the sheet says too little yet.

    `habits` say how days are written here.
    """
    state = session.state
    missing = missing_of_sheet(state.pack, state.view)
    if missing:
        notices.say(SUBJECT, f"The risk sheet is not ready to be given: {_named(missing)}.")
        return

    def record(day: date) -> None:
        now = session.state
        session.apply(give_sheet(now.pack, now.view, day))
        notices.say(SUBJECT, f"The risk sheet was given on {date_words(day, habits)}.")

    line = GivingLine(today, habits, record, lambda: notices.drop(SUBJECT), notices)
    notices.place(SUBJECT, line)
    line.box.setFocus()
    line.box.selectAll()


def _named(missing: tuple[str, ...]) -> str:
    if len(missing) <= _MOST_NAMED:
        return f"not recorded yet: {and_list(missing)}"
    return f"{len(missing)} answers about the plan are not recorded yet, such as {missing[0]}"


class GivingLine(QWidget):
    """One line: the day, read as it is typed, and what is wrong with it."""

    def __init__(
        self,
        today: date,
        habits: Habits,
        record: Callable[[date], None],
        close: Callable[[], None],
        parent: QWidget,
    ) -> None:
        super().__init__(parent)
        self._today = today
        self._habits = habits
        self._record = record
        question = QLabel("Risk sheet given to the patient on", self)
        self.box = LineEdit(self, 14)
        self.box.setText(text_of(today, habits))
        self.box.setAccessibleName("Day on which the risk sheet was given")
        self.box.setToolTip(f'Such as {EXAMPLES[habits.order]}, "today", "yesterday" or -3d')
        question.setBuddy(self.box)
        self._says = QLabel("", self)
        self._says.setWordWrap(True)
        self._says.setVisible(False)
        recorded = QPushButton("Record", self)
        closed = QPushButton("Close", self)
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(question)
        line.addWidget(self.box)
        line.addStretch(1)
        for button in (recorded, closed):
            button.setAutoDefault(False)
            line.addWidget(button)
        # Below, where there is room for all of it.
        column = QVBoxLayout(self)
        column.setContentsMargins(20, 6, 16, 6)
        column.setSpacing(4)
        column.addLayout(line)
        column.addWidget(self._says)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setAutoFillBackground(True)
        self.box.returnPressed.connect(self._on_record)
        recorded.clicked.connect(self._on_record)
        closed.clicked.connect(close)

    def _on_record(self) -> None:
        reading = read_date(self.box.text(), self._today, self._habits)
        if not isinstance(reading.value, date):
            empty = f'Write a day, such as {EXAMPLES[self._habits.order]} or "today"'
            self._say(reading.problem or empty)
        elif reading.value > self._today:
            self._say("That day is still to come; record it once the sheet was given")
        else:
            self._record(reading.value)

    def _say(self, problem: str) -> None:
        self._says.setText(f"\N{BLACK UP-POINTING TRIANGLE} {problem}")
        palette = QPalette()
        palette.setColor(QPalette.ColorRole.WindowText, theme.inks(self).wrong)
        self._says.setPalette(palette)
        self._says.setVisible(True)
