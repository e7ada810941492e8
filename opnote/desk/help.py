"""The two pages of help: how the window works, and the keys."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QSize, Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QMenu,
    QMenuBar,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme

KEYS_SEQUENCE = "Ctrl+?"


def _tr(words: str) -> str:
    return QCoreApplication.translate("help", words)


@dataclass(frozen=True, slots=True)
class Places:
    """Where things lie on this computer; `cases` is None while no list is open."""

    cases: Path | None
    settings: Path
    spelling: str


class HelpPage(QDialog):
    """A page of help beside the window; F1 in it turns to the other page."""

    def __init__(self, title: str, html: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self._text = QTextBrowser(self)
        self._text.setAccessibleName(title)
        self._text.setFrameShape(QTextBrowser.Shape.NoFrame)
        self._text.document().setDocumentMargin(16)
        theme.slim(self._text)
        self._text.setHtml(html)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        buttons.rejected.connect(self.reject)
        self.turn_over = QShortcut(QKeySequence(Qt.Key.Key_F1), self)
        column = QVBoxLayout(self)
        column.addWidget(self._text, 1)
        column.addWidget(buttons)
        self.resize(self.sizeHint())

    def sizeHint(self) -> QSize:
        """Room for the whole page at the usual text size, and as much of it as a screen holds."""
        lines = self.fontMetrics().height()
        return QSize(theme.columns(self, 120), 44 * lines).boundedTo(self._room())

    def _room(self) -> QSize:
        parent = self.parentWidget()
        return QSize(720, 660) if parent is None else parent.size() - QSize(40, 40)

    def words(self) -> str:
        """What the page says."""
        return self._text.toPlainText()


def how_it_works(places: Places) -> str:
    """The page that says what the window is, as HTML."""
    cases = str(places.cases) if places.cases is not None else _tr("no list is open")
    marks = (
        (_tr("Open"), _tr("a question that the note needs; it is a ruled line on the paper.")),
        (
            _tr("Contradiction"),
            _tr("two answers that can't both be true: correct one of them."),
        ),
        (
            _tr("Unusual"),
            _tr("it happens, but seldom: correct it, or say why it is so."),
        ),
        (
            _tr("Adverse"),
            _tr("it happened and was not wanted: say why, or what was done."),
        ),
        (
            _tr("Booked"),
            _tr("a check that can only be made later, with its time and the person who makes it."),
        ),
        (
            _tr("To confirm"),
            _tr("a value that you did not type: look at it and confirm it."),
        ),
    )
    parts = [
        f"<h3>{_tr('How it works')}</h3>",
        "<p>",
        _tr(
            "At the left stand the cases of a folder and the pages of the case, in the middle the "
            "questions, at the right the paper that fills itself in. A value on the paper leads to "
            "its question."
        ),
        "</p><p>",
        _tr(
            "Enter goes to the next question that must be answered, Tab to the next box. A letter "
            "with a line under it chooses that answer; it can also go on (Go, Go on after an "
            "answer). F8 confirms what a page has shown, then goes on to the next page with work. "
            "Numbers take a comma or a point, days also "
            "“today” or “-12d”, times “n” for now. What can't be answered is answered with “Not "
            "recorded, because …”. Nothing is filled in behind your back: what was not typed by "
            "you looks lighter and waits for you to confirm it. A note is signed once nothing is "
            "open, and doesn't change after that: what comes later is an addendum."
        ),
        f"</p><h4>{_tr('What the words mean')}</h4><table cellspacing='0' cellpadding='2'>",
        *(_line(f"<b>{escape(word)}</b>", escape(meaning)) for word, meaning in marks),
        f"</table><h4>{_tr('Where files lie')}</h4><p>",
        _tr("The cases: {folder}").format(folder=escape(cases)),
        "<br>",
        _tr("Settings, your own words and dictionaries: {folder}").format(
            folder=escape(str(places.settings))
        ),
        "<br>",
        _tr(
            "What you type is kept beside the case as a draft within a second; Save writes the "
            "case. Documents lie where you write them. Nothing leaves this computer."
        ),
        f"</p><h4>{_tr('Spelling')}</h4><p>{escape(places.spelling)}</p>",
        f"<h4>{_tr('For whom')}</h4><p>",
        _tr(
            "For qualified clinicians. The checks follow published sources and common practice; "
            "they know nothing of this patient but what was entered. Whoever signs answers for the "
            "note. Local policy comes first."
        ),
        "</p>",
    ]
    return "".join(parts)


def keys_inside_a_page() -> Sequence[tuple[str, str]]:
    """The keys that belong to questions rather than to the window: key and what it does."""
    return (
        (_tr("Tab, Shift+Tab"), _tr("the next box, the one before")),
        (
            _tr("Enter"),
            _tr("the next question that must be answered; in free text a new line"),
        ),
        (_tr("A letter"), _tr("chooses the answer that has a line under this letter")),
        (_tr("Arrows"), _tr("go through the answers; side and meniscus are chosen so")),
        (
            _tr("Space"),
            _tr("ticks an answer, presses a button, or takes another side than is recorded"),
        ),
        (_tr("Delete"), _tr("takes an answer back")),
        (_tr("Down, Up"), _tr("in a name: the people of this case")),
        (_tr("Escape"), _tr("leaves the box that finds fields")),
        (_tr("Space"), _tr("on the map: takes the next mark in hand")),
        (_tr("Arrows, with Shift"), _tr("on the map: move it by one step, by five")),
        (_tr("Enter, Delete"), _tr("on the map: place a stitch, take the nearest away")),
    )


def keys_page(bar: QMenuBar) -> str:
    """The page of keys as HTML: those of the window's menus, beside them those inside a page."""
    menus = [
        part
        for title, entries in keys_of(bar)
        for part in (_title(title), *(_line(escape(key), escape(does)) for key, does in entries))
    ]
    inside = [_title(_tr("Inside a page"))]
    inside += [_line(escape(key), escape(does)) for key, does in keys_inside_a_page()]
    columns = "".join(
        f"<td width='50%'><table cellspacing='0' cellpadding='1'>{''.join(lines)}</table></td>"
        for lines in (menus, inside)
    )
    return f"<h3>{_tr('Keys')}</h3><table width='100%'><tr>{columns}</tr></table>"


def keys_of(bar: QMenuBar) -> Iterator[tuple[str, list[tuple[str, str]]]]:
    """Each menu with the keys of its entries and what they do."""
    for menu in bar.findChildren(QMenu):
        entries = [
            (
                action.shortcut().toString(QKeySequence.SequenceFormat.NativeText),
                _plain(action.text()),
            )
            for action in menu.actions()
            if not action.shortcut().isEmpty()
        ]
        if entries:
            yield _plain(menu.title()), entries


def _title(words: str) -> str:
    return f"<tr><td colspan='2'><b>{escape(words)}</b></td></tr>"


def _line(first: str, second: str) -> str:
    return f"<tr><td>{first}&nbsp;&nbsp;&nbsp;</td><td>{second}</td></tr>"


def _plain(words: str) -> str:
    return words.replace("&", "").removesuffix("\N{HORIZONTAL ELLIPSIS}").rstrip()
