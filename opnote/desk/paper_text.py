"""Blocks of a document as rich text, written by a cursor: no markup is parsed while one types."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, assert_never

from PySide6.QtCore import Qt
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QTextBlockFormat,
    QTextCharFormat,
    QTextCursor,
    QTextFrameFormat,
    QTextImageFormat,
    QTextLength,
    QTextTable,
    QTextTableFormat,
)

from opnote.compose.document import (
    Block,
    Figure,
    Heading,
    ItemList,
    Paragraph,
    Picture,
    PicturePage,
    Sentence,
    Table,
    picture_size_mm,
    sentence_text,
)
from opnote.compose.photograph import caption_runs
from opnote.desk import theme

FACES: Final = ["Libertinus Serif", "Cambria", "Charter", "Liberation Serif", "Times New Roman"]
"""The book face of the documents, then what stands closest to it on the systems."""

LINK: Final = "field:"
FIGURE: Final = "figure:"
_RULE: Final = "\N{NO-BREAK SPACE}" * 16
_PIXELS_A_MM: Final = 96 / 25.4
_BETWEEN_PICTURES: Final = 8
_MOST_FIGURE: Final = 560.0
_WIDE_TABLE: Final = 5
_LONGEST_CELL: Final = 60
"""Characters; what says more doesn't take more room from the others."""
_NARROW_PAPER: Final = 332.0
"""Pixels: the paper in a small window; on a wider one each column is wider by the same share."""
_SMALLEST: Final = 0.85
_CELL_ROOM: Final = 9.0
"""Pixels that a cell needs beside its words."""


class PaperText:
    """Writes blocks where a cursor stands, each as whole paragraphs without a break after it."""

    def __init__(self, base: QFont) -> None:
        """Measure everything from a base font."""
        self.room = _MOST_FIGURE
        self._size = base.pointSizeF()
        self._plain = self._format(1.0)
        self._small = self._format(0.86)
        self._lead = self._format(1.08)
        self._titles = {
            1: self._format(1.42, bold=True),
            2: self._format(1.12, bold=True),
            3: self._format(1.0, bold=True),
            4: self._format(1.0, italic=True),
        }

    def _format(self, factor: float, bold: bool = False, italic: bool = False) -> QTextCharFormat:
        form = QTextCharFormat()
        form.setFontFamilies(FACES)
        form.setFontPointSize(self._size * factor)
        form.setForeground(theme.PAPER_INK)
        if bold:
            form.setFontWeight(QFont.Weight.Bold)
        form.setFontItalic(italic)
        return form

    def write(self, cursor: QTextCursor, block: Block) -> None:
        """Write one block at the cursor, which stands in an empty paragraph."""
        match block:
            case Heading(level=level, runs=runs):
                cursor.setBlockFormat(_paragraph(above=_ABOVE.get(level, 6), below=3))
                self._runs(cursor, runs, self._titles[min(level, 4)])
            case Paragraph(style="caution"):
                cell = self._frame(cursor)
                self._paragraph(cell, block, self._plain)
            case Paragraph(style=style):
                looks = {"source": self._small, "lead": self._lead}
                self._paragraph(cursor, block, looks.get(style, self._plain))
            case ItemList(style="caution"):
                self._items(self._frame(cursor), block)
            case ItemList():
                self._items(cursor, block)
            case Table():
                self._table(cursor, block)
            case Figure():
                self._figure(cursor, block)
            case PicturePage():
                self._pictures(cursor, block)
            case _:
                assert_never(block)

    def _paragraph(self, cursor: QTextCursor, block: Paragraph, look: QTextCharFormat) -> None:
        cursor.setBlockFormat(_paragraph(below=6))
        self._sentences(cursor, block.sentences, look)

    def _sentences(
        self, cursor: QTextCursor, sentences: tuple[Sentence, ...], look: QTextCharFormat
    ) -> None:
        for index, sentence in enumerate(sentences):
            if index:
                cursor.insertText(" ", look)
            self._runs(cursor, sentence, look)

    def _runs(self, cursor: QTextCursor, runs: Sentence, look: QTextCharFormat) -> None:
        for run in runs:
            form = QTextCharFormat(look)
            if run.bold:
                form.setFontWeight(QFont.Weight.Bold)
            if run.italic:
                form.setFontItalic(True)
            if run.path is not None:
                form.setAnchor(True)
                form.setAnchorHref(LINK + run.path)
            if run.blank:
                form.setFontUnderline(True)
                form.setUnderlineColor(theme.PAPER_RULE)
                cursor.insertText(_RULE, form)
            else:
                cursor.insertText(run.text.replace("\n", "\N{LINE SEPARATOR}"), form)
        cursor.setCharFormat(look)

    def _items(self, cursor: QTextCursor, block: ItemList) -> None:
        for index, item in enumerate(block.items):
            if index:
                cursor.insertBlock()
            mark = f"{index + 1}." if block.numbered else "\N{BULLET}"
            form = _paragraph(below=3)
            form.setLeftMargin(20)
            form.setTextIndent(-14)
            cursor.setBlockFormat(form)
            cursor.insertText(f"{mark}\N{NO-BREAK SPACE}\N{NO-BREAK SPACE}", self._plain)
            self._sentences(cursor, item, self._plain)

    def _frame(self, cursor: QTextCursor) -> QTextCursor:
        """A ruled box round what is written; the cursor inside it."""
        form = QTextTableFormat()
        form.setBorder(1)
        form.setBorderStyle(QTextFrameFormat.BorderStyle.BorderStyle_Solid)
        form.setBorderBrush(theme.PAPER_INK)
        form.setBorderCollapse(True)
        form.setCellPadding(6)
        form.setWidth(QTextLength(QTextLength.Type.PercentageLength, 100))
        form.setTopMargin(4)
        form.setBottomMargin(6)
        table = _insert_table(cursor, 1, 1, form)
        return table.cellAt(0, 0).firstCursorPosition()

    def _table(self, cursor: QTextCursor, block: Table) -> None:
        has_header = bool(block.header)
        rows = [block.header, *block.rows] if has_header else list(block.rows)
        if not rows or not rows[0]:
            return
        form = QTextTableFormat()
        form.setBorder(0)
        form.setCellPadding(2)
        form.setCellSpacing(0)
        form.setBottomMargin(6)
        form.setWidth(QTextLength(QTextLength.Type.PercentageLength, 100))
        wide = len(rows[0]) >= _WIDE_TABLE
        look = QTextCharFormat(self._small if wide else self._plain)
        if has_header:
            form.setHeaderRowCount(1)
            look = _in_narrow(rows, look)
            form.setColumnWidthConstraints(_shares(rows, look))
        else:
            form.setColumnWidthConstraints(
                [
                    QTextLength(QTextLength.Type.PercentageLength, 34),
                    QTextLength(QTextLength.Type.PercentageLength, 66),
                ]
            )
        table = _insert_table(cursor, len(rows), len(rows[0]), form)
        strong = QTextCharFormat(look)
        strong.setFontWeight(QFont.Weight.Bold)
        for at, cells in enumerate(rows):
            for column, cell in enumerate(cells):
                inside = table.cellAt(at, column).firstCursorPosition()
                is_head = (has_header and at == 0) or (not has_header and column == 0)
                if column < len(block.numeric) and block.numeric[column] and has_header:
                    aligned = QTextBlockFormat()
                    aligned.setAlignment(Qt.AlignmentFlag.AlignRight)
                    inside.setBlockFormat(aligned)
                self._runs(inside, cell, strong if is_head else look)

    def figure_width(self, block: Figure) -> float:
        """The width of a figure on screen. Units: result in pixels."""
        return min(block.width_mm * _PIXELS_A_MM, self.room)

    def _figure(self, cursor: QTextCursor, block: Figure) -> None:
        cursor.setBlockFormat(_paragraph(above=4, below=2))
        image = QTextImageFormat()
        image.setName(FIGURE + block.id)
        width = self.figure_width(block)
        image.setWidth(width)
        image.setHeight(width * block.height_mm / block.width_mm)
        image.setToolTip(block.alternative)
        cursor.insertImage(image)
        if block.caption:
            cursor.insertBlock(_paragraph(below=6))
            self._runs(cursor, block.caption, self._small)

    def picture_size(self, picture: Picture) -> tuple[int, int]:
        """The size of a picture on screen. Units: result in pixels."""
        width_mm, height_mm = picture_size_mm(picture)
        width = min(width_mm * _PIXELS_A_MM, self.room / 2 - _BETWEEN_PICTURES)
        return max(1, round(width)), max(1, round(width * height_mm / width_mm))

    def _pictures(self, cursor: QTextCursor, block: PicturePage) -> None:
        """Two by two, each above its caption."""
        form = QTextTableFormat()
        form.setBorder(0)
        form.setCellPadding(2)
        form.setCellSpacing(0)
        form.setWidth(QTextLength(QTextLength.Type.PercentageLength, 100))
        half = QTextLength(QTextLength.Type.PercentageLength, 50)
        form.setColumnWidthConstraints([half, half])
        table = _insert_table(cursor, (len(block.pictures) + 1) // 2, 2, form)
        for index, picture in enumerate(block.pictures):
            inside = table.cellAt(index // 2, index % 2).firstCursorPosition()
            if picture.data is not None:
                image = QTextImageFormat()
                image.setName(f"{FIGURE}{block.id}.{index}")
                width, height = self.picture_size(picture)
                image.setWidth(width)
                image.setHeight(height)
                image.setToolTip(picture.alternative)
                image.setAnchor(True)
                image.setAnchorHref(LINK + picture.path)
                inside.insertImage(image)
                inside.insertBlock(_paragraph(below=6))
            self._runs(inside, caption_runs(picture), self._small)


_ABOVE: Final = {1: 0, 2: 12, 3: 8, 4: 6}


Rows = Sequence[tuple[Sentence, ...]]


def _word_widths(rows: Rows, look: QTextCharFormat) -> list[float]:
    """What the longest word of each column needs. Units: pixels."""
    font = QFont(look.font())
    font.setBold(True)
    advance = QFontMetricsF(font).horizontalAdvance
    return [
        max((advance(word) for cell in cells for word in sentence_text(cell).split()), default=0.0)
        + _CELL_ROOM
        for cells in zip(*rows, strict=True)
    ]


def _in_narrow(rows: Rows, look: QTextCharFormat) -> QTextCharFormat:
    """Somewhat smaller letters where words would be broken on the paper of a small window."""
    factor = _NARROW_PAPER / max(1.0, sum(_word_widths(rows, look)))
    if factor >= 1:
        return look
    smaller = QTextCharFormat(look)
    smaller.setFontPointSize(look.fontPointSize() * max(_SMALLEST, factor))
    return smaller


def _shares(rows: Rows, look: QTextCharFormat) -> list[QTextLength]:
    """The widths of columns: room for the longest word of each, the rest by what they say."""
    words = _word_widths(rows, look)
    wishes = [
        min(_LONGEST_CELL, max(len(sentence_text(cell)) for cell in cells))
        for cells in zip(*rows, strict=True)
    ]
    spare = max(0.0, _NARROW_PAPER - sum(words))
    wished = sum(wishes) or 1
    given = [word + spare * wish / wished for word, wish in zip(words, wishes, strict=True)]
    # Qt rounds each column up to a whole pixel; all of them must still fit.
    whole = 100 - len(given) * 100 / _NARROW_PAPER
    return [
        QTextLength(QTextLength.Type.PercentageLength, whole * width / sum(given))
        for width in given
    ]


def _paragraph(above: float = 0, below: float = 0) -> QTextBlockFormat:
    form = QTextBlockFormat()
    form.setTopMargin(above)
    form.setBottomMargin(below)
    form.setLineHeight(118, QTextBlockFormat.LineHeightTypes.ProportionalHeight.value)
    return form


def _insert_table(
    cursor: QTextCursor, rows: int, columns: int, form: QTextTableFormat
) -> QTextTable:
    table = cursor.insertTable(rows, columns, form)
    # A table stands between two paragraphs: the one after it is made to take no room.
    after = table.lastCursorPosition()
    after.movePosition(QTextCursor.MoveOperation.NextBlock)
    thin = QTextBlockFormat()
    thin.setLineHeight(1, QTextBlockFormat.LineHeightTypes.FixedHeight.value)
    after.setBlockFormat(thin)
    tiny = QTextCharFormat()
    tiny.setFontPointSize(1)
    after.setBlockCharFormat(tiny)
    cursor.setPosition(after.position())
    return table
