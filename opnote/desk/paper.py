"""The document that fills itself in: only what has changed is written anew."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Final

from PySide6.QtCore import QByteArray, QRectF, QSize, Qt, QTimer, QUrl, Signal
from PySide6.QtGui import (
    QColor,
    QFocusEvent,
    QImage,
    QKeyEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QResizeEvent,
    QTextCharFormat,
    QTextCursor,
    QTextDocument,
)
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QApplication, QFrame, QTextBrowser, QTextEdit, QWidget

from opnote.compose.document import Block, Document, Figure, PicturePage, sentences_of
from opnote.desk import theme
from opnote.desk.paper_link import link_at, next_link
from opnote.desk.paper_text import FIGURE, LINK, PaperText
from opnote.desk.photograph import on_screen

_MARGIN: Final = 22
_RESIZE_STEP: Final = 6
MARK_MS: Final = 150
"""How long a place that has just changed is marked."""


@dataclass(slots=True)
class _Place:
    """Where a block stands: its cursor stays at the block's first character."""

    block: Block
    start: QTextCursor


class Paper(QTextBrowser):
    """Shows one document; each value on it leads to its field.

    Signals: path_followed(path).
    """

    path_followed = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._places: list[_Place] = []
        self._writer = PaperText(QApplication.font())
        self._kind = ""
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setOpenLinks(False)
        self.setUndoRedoEnabled(False)
        self.setAccessibleName("Document")
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.document().setDocumentMargin(_MARGIN)
        palette = self.palette()
        palette.setColor(QPalette.ColorRole.Base, theme.PAPER)
        palette.setColor(QPalette.ColorRole.Text, theme.PAPER_INK)
        palette.setColor(QPalette.ColorRole.Link, theme.PAPER_LINK)
        self.setPalette(palette)
        theme.slim(self)
        self.anchorClicked.connect(self._on_anchor_clicked)
        self._redraw = QTimer(self)
        self._redraw.setSingleShot(True)
        self._redraw.setInterval(0)
        self._redraw.timeout.connect(self._on_redraw)
        self._unmark = QTimer(self)
        self._unmark.setSingleShot(True)
        self._unmark.setInterval(MARK_MS)
        self._unmark.timeout.connect(self._on_unmark)

    def show_document(self, document: Document, follow: bool) -> None:
        """Show a document; where the same one stood before, only its changed blocks are written.

        follow: a change was typed: keep it in view and mark it for a moment.
        """
        self._say_what_it_is(document)
        if document.kind != self._kind:
            self._kind = document.kind
            self._write_all(document.blocks)
            self.moveCursor(QTextCursor.MoveOperation.Start)
            self.verticalScrollBar().setValue(0)
            return
        at = self.verticalScrollBar().value()
        changed = self._write_changes(document.blocks)
        self.verticalScrollBar().setValue(at)
        if changed and follow:
            self._bring_into_view(changed[0])
            self._mark(changed)

    def show_place_of(self, paths: Collection[str]) -> None:
        """Bring what is said of these fields into view, if it is not."""
        for place in self._places:
            if any(path in paths for path in paths_of(place.block)):
                self._bring_into_view(place)
                return

    def clear_paper(self) -> None:
        """Show nothing."""
        self._kind = ""
        self._places.clear()
        self.clear()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Draw the figures anew in the room that there is, once the text has found its own."""
        super().resizeEvent(event)
        self._redraw.start()

    def _on_redraw(self) -> None:
        room = float(self.viewport().width() - 2 * _MARGIN)
        if abs(room - self._writer.room) < _RESIZE_STEP:
            return
        self._writer.room = room
        for index, place in enumerate(list(self._places)):
            if isinstance(place.block, Figure | PicturePage):
                self._rewrite(index, index + 1, [place.block])

    # Writing

    def _write_all(self, blocks: Sequence[Block]) -> None:
        # First, because clearing hides the scroll bar, which asks for the figures to be drawn anew.
        self._places = []
        self.clear()
        cursor = QTextCursor(self.document())
        cursor.beginEditBlock()
        for index, block in enumerate(blocks):
            if index:
                cursor.insertBlock(QTextCursor.blockFormat(cursor))
            self._places.append(self._written(cursor, block))
        cursor.endEditBlock()

    def _written(self, cursor: QTextCursor, block: Block) -> _Place:
        start = QTextCursor(self.document())
        start.setPosition(cursor.position())
        start.setKeepPositionOnInsert(True)
        if isinstance(block, Figure):
            self._draw(block)
        if isinstance(block, PicturePage):
            self._put_pictures(block)
        self._writer.write(cursor, block)
        return _Place(block, start)

    def _write_changes(self, blocks: Sequence[Block]) -> list[_Place]:
        """Bring the paper from what it shows to these blocks; gives what was written."""
        old = [place.block for place in self._places]
        changed: list[_Place] = []
        if len(old) == len(blocks) and all(a.id == b.id for a, b in zip(old, blocks, strict=True)):
            spans = [(i, i + 1, i, i + 1) for i in range(len(old)) if _differ(old[i], blocks[i])]
        else:
            spans = _spans(old, blocks)
        for first, last, new_first, new_last in reversed(spans):
            changed = self._rewrite(first, last, blocks[new_first:new_last]) + changed
        return changed

    def _rewrite(self, first: int, last: int, blocks: Sequence[Block]) -> list[_Place]:
        """Put blocks in the place of others, or between two."""
        if not self._places:
            self._write_all(blocks)
            return list(self._places)
        # Qt lays long texts out bit by bit; an edit in between leaves the rest without lines. To
        # count the pages makes it finish.
        self.document().pageCount()
        cursor = QTextCursor(self.document())
        cursor.beginEditBlock()
        if first == last:
            places = self._inserted(cursor, first, blocks)
        else:
            places = self._replaced(cursor, first, last, blocks)
        cursor.endEditBlock()
        self._places[first:last] = places
        return places

    def _inserted(self, cursor: QTextCursor, at: int, blocks: Sequence[Block]) -> list[_Place]:
        if at < len(self._places):
            following = self._places[at]
            start = following.start.position()
            cursor.setPosition(start)
            cursor.insertBlock()
            # What was there has moved on by one paragraph; its own cursor stayed behind.
            following.start.setPosition(cursor.position())
            cursor.setPosition(start)
        else:
            cursor.movePosition(QTextCursor.MoveOperation.End)
            cursor.insertBlock()
        return self._written_one_by_one(cursor, blocks)

    def _replaced(
        self, cursor: QTextCursor, first: int, last: int, blocks: Sequence[Block]
    ) -> list[_Place]:
        start = self._places[first].start.position()
        end = self._end_of(last - 1)
        if not blocks and last < len(self._places):
            end += 1  # with the break before what follows
        elif not blocks and first > 0:
            start -= 1
        cursor.setPosition(start)
        cursor.setPosition(end, QTextCursor.MoveMode.KeepAnchor)
        following = self._places[last] if last < len(self._places) else None
        cursor.removeSelectedText()
        if not blocks:
            if following is not None:
                following.start.setPosition(start)
            return []
        return self._written_one_by_one(cursor, blocks)

    def _written_one_by_one(self, cursor: QTextCursor, blocks: Sequence[Block]) -> list[_Place]:
        places = []
        for index, block in enumerate(blocks):
            if index:
                cursor.insertBlock()
            cursor.setCharFormat(QTextCharFormat())
            places.append(self._written(cursor, block))
        return places

    def _end_of(self, index: int) -> int:
        """The last position of a block, before the break that follows it."""
        if index + 1 < len(self._places):
            return self._places[index + 1].start.position() - 1
        return self.document().characterCount() - 1

    # Figures

    def _draw(self, figure: Figure) -> None:
        ratio = self.devicePixelRatioF()
        width = self._writer.figure_width(figure)
        height = width * figure.height_mm / figure.width_mm
        # Never of no size, which nothing can be painted on: a pane may be squeezed to nothing.
        size = QSize(max(1, round(width * ratio)), max(1, round(height * ratio)))
        image = QImage(size, QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(ratio)
        image.fill(QColor("transparent"))
        painter = QPainter(image)
        QSvgRenderer(QByteArray(figure.svg.encode())).render(painter, QRectF(0, 0, width, height))
        painter.end()
        self.document().addResource(
            QTextDocument.ResourceType.ImageResource.value, QUrl(FIGURE + figure.id), image
        )

    def _put_pictures(self, page: PicturePage) -> None:
        """Have the pictures of a page at hand, each as large as it stands on screen."""
        ratio = self.devicePixelRatioF()
        for index, picture in enumerate(page.pictures):
            if picture.data is not None:
                width, height = self._writer.picture_size(picture)
                image = on_screen(picture.data, round(width * ratio), round(height * ratio))
                self.document().addResource(
                    QTextDocument.ResourceType.ImageResource.value,
                    QUrl(f"{FIGURE}{page.id}.{index}"),
                    image,
                )

    # Following

    def focusNextPrevChild(self, next: bool) -> bool:
        """Tab leaves the paper at once, however many values stand on it."""
        return QWidget.focusNextPrevChild(self, next)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Right and Left go from value to value, Enter to the question of one."""
        key, document = event.key(), self.document()
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if plain and key in (Qt.Key.Key_Right, Qt.Key.Key_Left):
            link = next_link(document, self.textCursor(), 1 if key == Qt.Key.Key_Right else -1)
            if link is not None:
                cursor = QTextCursor(document)
                cursor.setPosition(link.start)
                cursor.setPosition(link.end, QTextCursor.MoveMode.KeepAnchor)
                self.setTextCursor(cursor)
                self.ensureCursorVisible()
        elif plain and key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            link = link_at(document, self.textCursor())
            if link is not None:
                self._on_anchor_clicked(QUrl(link.address))
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Draw the frame of the focus around what is seen, not only around what has changed."""
        super().focusInEvent(event)
        self.viewport().update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Take the frame away."""
        super().focusOutEvent(event)
        self.viewport().update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The text, and a frame while it has the focus."""
        super().paintEvent(event)
        if self.hasFocus():
            painter = QPainter(self.viewport())
            pen = QPen(theme.PAPER_LINK, 2)
            pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            painter.setPen(pen)
            painter.drawRect(self.viewport().rect().adjusted(1, 1, -1, -1))

    def _say_what_it_is(self, document: Document) -> None:
        """What a drawing shows is heard with the paper, as its text has no words for it."""
        drawn = [block.alternative for block in document.blocks if isinstance(block, Figure)]
        keys = "Right and Left go from value to value, Enter to its question."
        self.setAccessibleDescription(" ".join([keys, *drawn]))

    def _bring_into_view(self, place: _Place) -> None:
        box = self.cursorRect(place.start)
        bar = self.verticalScrollBar()
        height = self.viewport().height()
        if box.top() < 0 or box.bottom() > height - 24:
            bar.setValue(bar.value() + box.top() - height // 3)

    def _mark(self, places: Sequence[_Place]) -> None:
        if theme.motion_is_reduced():
            return
        marks = []
        for place in places:
            mark = QTextEdit.ExtraSelection()
            mark.format.setBackground(theme.PAPER_MARK)
            mark.cursor = QTextCursor(self.document())
            mark.cursor.setPosition(place.start.position())
            end = self._end_of(self._places.index(place))
            mark.cursor.setPosition(end, QTextCursor.MoveMode.KeepAnchor)
            marks.append(mark)
        self.setExtraSelections(marks)
        self._unmark.start()

    def _on_unmark(self) -> None:
        self.setExtraSelections([])

    def _on_anchor_clicked(self, url: QUrl) -> None:
        text = url.toString()
        if text.startswith(LINK):
            self.path_followed.emit(text[len(LINK) :])


def paths_of(block: Block) -> Iterator[str]:
    """The fields that a block speaks of."""
    if isinstance(block, Figure):
        yield from block.paths
        return
    if isinstance(block, PicturePage):
        yield from (picture.path for picture in block.pictures)
    for sentence in sentences_of(block):
        for run in sentence:
            if run.path is not None:
                yield run.path


def _spans(old: Sequence[Block], new: Sequence[Block]) -> list[tuple[int, int, int, int]]:
    """What changed from one row of blocks to another: old from-to, new from-to."""
    matcher = SequenceMatcher(None, [b.id for b in old], [b.id for b in new], autojunk=False)
    spans = []
    for tag, first, last, new_first, new_last in matcher.get_opcodes():
        if tag != "equal":
            spans.append((first, last, new_first, new_last))
            continue
        for step in range(last - first):
            if _differ(old[first + step], new[new_first + step]):
                at, new_at = first + step, new_first + step
                spans.append((at, at + 1, new_at, new_at + 1))
    return spans


def _differ(one: Block, other: Block) -> bool:
    # Most blocks are the very same ones.
    return one is not other and one != other
