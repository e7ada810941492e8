"""Wavy lines under words that are not known, and what may be meant; it never changes a text."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QLocale, QObject, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import (
    QAction,
    QSyntaxHighlighter,
    QTextCharFormat,
    QTextCursor,
)
from PySide6.QtWidgets import QMenu, QPlainTextEdit, QWidget

from opnote.desk import theme
from opnote.desk.job import Job
from opnote.desk.line_edit import LineEdit

if TYPE_CHECKING:
    from opnote.desk.speller import Speller, Word
    from opnote.pack.pack import Pack
    from opnote.record import Record

_USUAL_LANGUAGE: Final = "en_US"


def language_of(locale: QLocale) -> str:
    """The language whose dictionary is wanted, such as "en_GB"."""
    if locale.language() is QLocale.Language.C:
        return _USUAL_LANGUAGE
    return locale.name()


class Spelling(QObject):
    """The speller of a window, once a worker has loaded it.

    Signals: changed() when other words are known than before.
    """

    changed = Signal()

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.speller: Speller | None = None
        self.about = self.tr("Spelling has not been looked at yet.")
        self._job: Job | None = None
        self._pack: Pack | None = None

    def load(self, own: Path, pack: Pack, record: Record) -> None:
        """Load the dictionary on a worker; `own` is the folder of the user's settings."""
        if self._job is not None:
            return
        language = language_of(QLocale())

        def work() -> Iterator[object]:
            # Late: the window is painted before a pack is needed.
            from opnote.desk.speller import Speller, load_speller, names_of_case, words_of_forms

            made = load_speller(language, own)
            if isinstance(made, Speller):
                made.use_forms(words_of_forms(pack))
                made.use_names(names_of_case(pack, record))
            yield made

        self._job = Job(work)
        self._job.results.came.connect(self._on_loaded)
        self._job.results.failed.connect(self._on_failed)
        self._job.start()

    def forget(self) -> None:
        """The window closes."""
        if self._job is not None:
            self._job.forget()

    def use_names_of(self, pack: Pack, record: Record) -> None:
        """The case on screen has changed: its names are no mistakes."""
        if self.speller is None:
            return
        from opnote.desk.speller import names_of_case

        if self.speller.use_names(names_of_case(pack, record)):
            self.changed.emit()

    def unknown_in(self, text: str) -> list[Word]:
        """The words of a text to be marked; none before a dictionary is there."""
        return [] if self.speller is None else list(self.speller.unknown_in(text))

    def add(self, word: str) -> None:
        """Keep a word; one that can't be kept is known until the window closes."""
        if self.speller is None:
            return
        try:
            self.speller.add(word)
        except OSError as error:
            self.about = self.tr("Your words can't be kept: {why}").format(why=error)
        self.changed.emit()

    def offer(self, menu: QMenu, text: str, at: int, replace: Callable[[Word, str], None]) -> None:
        """Put what may be meant by the word at a place on top of a menu, if it is not known."""
        word = next((w for w in self.unknown_in(text) if w.start <= at <= w.end), None)
        if word is None or self.speller is None:
            return
        first = menu.actions()[0] if menu.actions() else None
        entries = []
        for suggestion in self.speller.suggestions(word.text):
            entry = QAction(suggestion, menu)
            entry.triggered.connect(_call(replace, word, suggestion))
            entries.append(entry)
        if not entries:
            entry = QAction(self.tr("No suggestion"), menu)
            entry.setEnabled(False)
            entries.append(entry)
        keep = QAction(self.tr("Add to my words"), menu)
        keep.triggered.connect(_call(self.add, word.text))
        rest = QAction(menu)
        rest.setSeparator(True)
        for entry in (*entries, keep, rest):
            if first is None:
                menu.addAction(entry)
            else:
                menu.insertAction(first, entry)

    def _on_loaded(self, made: object) -> None:
        from opnote.desk.speller import NoSpeller, Speller

        if isinstance(made, Speller):
            self.speller = made
            words = self.tr("Spelling is checked with {dictionary}.")
            self.about = words.format(dictionary=made.source)
            self.changed.emit()
        elif isinstance(made, NoSpeller):
            self.about = made.because

    def _on_failed(self, error: object) -> None:
        self.about = self.tr("Spelling is not checked: {why}").format(why=error)


def _call(function: Callable[..., None], *arguments: object) -> Callable[[], None]:
    """A slot that leaves out what the signal says."""

    def slot() -> None:
        function(*arguments)

    return slot


def _wavy(widget: QWidget) -> QTextCharFormat:
    """How a word that is not known looks."""
    look = QTextCharFormat()
    look.setUnderlineStyle(QTextCharFormat.UnderlineStyle.WaveUnderline)
    look.setUnderlineColor(theme.inks(widget).wrong)
    return look


class ProseMarks(QSyntaxHighlighter):
    """Marks the words of a box that are not known; Qt asks for the changed paragraph only.

    The word that is being typed is left alone until the cursor leaves it.
    """

    def __init__(self, box: QPlainTextEdit, spelling: Spelling) -> None:
        super().__init__(box.document())
        self._box = box
        self._spelling = spelling
        self._spared: tuple[int, int] | None = None
        spelling.changed.connect(self.rehighlight)
        box.cursorPositionChanged.connect(self._look_again)
        box.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        box.customContextMenuRequested.connect(self._on_menu_wanted)
        box.installEventFilter(self)

    def highlightBlock(self, text: str) -> None:
        """Mark one paragraph."""
        if self._spelling.speller is None:
            return
        block = self.currentBlock()
        cursor = self._box.textCursor()
        at = cursor.positionInBlock() if cursor.block() == block else -1
        look = _wavy(self._box)
        for word in self._spelling.unknown_in(text):
            if word.end == at and self._box.hasFocus():
                self._spared = (block.blockNumber(), word.end)
            else:
                self.setFormat(word.start, word.end - word.start, look)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """The last word is done when the focus leaves."""
        if event.type() is QEvent.Type.FocusOut:
            QTimer.singleShot(0, self, self._look_again)
        return super().eventFilter(watched, event)

    def menu_at(self, at: QPoint) -> QMenu:
        """The menu of a place in the box."""
        menu = self._box.createStandardContextMenu(at)
        cursor = self._box.cursorForPosition(at)
        block = cursor.block()

        def replace(word: Word, by: str) -> None:
            cursor.setPosition(block.position() + word.start)
            cursor.setPosition(block.position() + word.end, QTextCursor.MoveMode.KeepAnchor)
            cursor.insertText(by)

        self._spelling.offer(menu, block.text(), cursor.positionInBlock(), replace)
        return menu

    def _on_menu_wanted(self, at: QPoint) -> None:
        _pop_up(self.menu_at(at), self._box.viewport().mapToGlobal(at))

    def _look_again(self) -> None:
        cursor = self._box.textCursor()
        here = (cursor.blockNumber(), cursor.positionInBlock())
        is_typing = self._box.hasFocus() and here == self._spared
        if self._spared is not None and not is_typing:
            block = self.document().findBlockByNumber(self._spared[0])
            self._spared = None
            if block.isValid():
                self.rehighlightBlock(block)


class LineMarks(QObject):
    """Marks the words of a line that are not known."""

    def __init__(self, box: LineEdit, spelling: Spelling) -> None:
        super().__init__(box)
        self._box = box
        self._spelling = spelling
        spelling.changed.connect(self._mark)
        box.textChanged.connect(self._mark)
        box.cursorPositionChanged.connect(self._mark)
        box.editingFinished.connect(self._mark)
        box.setContextMenuPolicy(Qt.ContextMenuPolicy.CustomContextMenu)
        box.customContextMenuRequested.connect(self._on_menu_wanted)

    def menu_at(self, at: QPoint) -> QMenu:
        """The menu of a place in the box."""
        menu = self._box.createStandardContextMenu()

        def replace(word: Word, by: str) -> None:
            self._box.setSelection(word.start, word.end - word.start)
            self._box.insert(by)

        place = self._box.cursorPositionAt(at)
        self._spelling.offer(menu, self._box.text(), place, replace)
        return menu

    def _on_menu_wanted(self, at: QPoint) -> None:
        _pop_up(self.menu_at(at), self._box.mapToGlobal(at))

    def _mark(self) -> None:
        if self._spelling.speller is None:
            return
        typing = self._box.cursorPosition() if self._box.hasFocus() else -1
        found = self._spelling.unknown_in(self._box.text())
        self._box.set_waves([(w.start, w.end) for w in found if w.end != typing])


def _pop_up(menu: QMenu, at: QPoint) -> None:
    menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    menu.popup(at)
