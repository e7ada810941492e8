"""Tips on first use: one quiet line at a time above the page, each shown once."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QT_TRANSLATE_NOOP, QSettings, Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QHBoxLayout, QLabel, QToolButton, QWidget

TIPS: Final = (
    QT_TRANSLATE_NOOP("TipLine", "Enter goes to the next question still open, Tab to the next box"),
    QT_TRANSLATE_NOOP("TipLine", "A letter with a line under it chooses that answer"),
    QT_TRANSLATE_NOOP(
        "TipLine", "F8 shows the rest of a page, confirms it and goes on where work is left"
    ),
    QT_TRANSLATE_NOOP("TipLine", "Ctrl+J goes to the next question that is still open"),
    QT_TRANSLATE_NOOP("TipLine", "A day can be typed as today, -12d or 9/3/26, a time as 840 or n"),
    QT_TRANSLATE_NOOP("TipLine", "A click on a value of the paper leads to its question"),
    QT_TRANSLATE_NOOP("TipLine", "Ctrl+F finds a question by any of its words"),
    QT_TRANSLATE_NOOP("TipLine", "Ctrl+R adds a remark to the page"),
    QT_TRANSLATE_NOOP("TipLine", "F1 says how the window works; F1 once more shows all keys"),
)
_SHOWN: Final = "tips/shown"
_AWAY: Final = "tips/away"


class TipLine(QWidget):
    """Shows the next tip with each page that one comes to, until all were shown or put away."""

    def __init__(self, settings: QSettings, parent: QWidget) -> None:
        super().__init__(parent)
        self._settings = settings
        self._words = QLabel(self)
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._words.setForegroundRole(QPalette.ColorRole.PlaceholderText)
        away = QToolButton(self)
        away.setText(self.tr("Put tips away"))
        away.setAutoRaise(True)
        away.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        away.clicked.connect(self.put_away)
        line = QHBoxLayout(self)
        line.setContentsMargins(20, 1, 16, 1)
        line.addWidget(self._words, 1)
        line.addWidget(away)
        self.setBackgroundRole(QPalette.ColorRole.AlternateBase)
        self.setAutoFillBackground(True)
        self.setVisible(False)

    def show_next(self) -> None:
        """Another page is shown: the next tip takes the place of this one."""
        shown = self._count()
        if self._is_away or shown >= len(TIPS):
            self.setVisible(False)
            return
        words = self.tr(str(TIPS[shown]))
        self._words.setText(self.tr("Tip: {words}.").format(words=words))
        self._settings.setValue(_SHOWN, shown + 1)
        self.setVisible(True)

    def put_away(self) -> None:
        """Show no more of them."""
        self._settings.setValue(_AWAY, True)
        self.setVisible(False)

    def begin_again(self) -> None:
        """Show all of them once more, from the first."""
        self._settings.setValue(_AWAY, False)
        self._settings.setValue(_SHOWN, 0)
        self.show_next()

    @property
    def _is_away(self) -> bool:
        return bool(self._settings.value(_AWAY, False, type=bool))

    def _count(self) -> int:
        words = str(self._settings.value(_SHOWN, 0))
        return int(words) if words.isdecimal() else 0
