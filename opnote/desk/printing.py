"""Printing the document on the paper, and its pages on the screen before that.

Both show the pages of the PDF that is written to disk, so that paper and file are equal.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QMarginsF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QPageLayout, QPageSize, QPainter, QPaintEvent, QPalette
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import (
    QDialog,
    QDialogButtonBox,
    QFrame,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.job import Job
from opnote.desk.notice import Notices
from opnote.desk.paper_pane import MAP

if TYPE_CHECKING:
    from opnote.compose.document import Document
    from opnote.desk.session import State

PRINT_DPI: Final = 300
SCREEN_DPI: Final = 150
_SUBJECT: Final = "print"
_INSTEAD: Final = "printed instead"
_GAP: Final = 16
_MOST_WIDTH: Final = 900


def page_images(document: Document, pixels_an_inch: int) -> list[QImage]:
    """The pages of the document's PDF as pictures. Shape: A4 each."""
    # Late: the typesetter is needed only now.
    from opnote.compose.pdf import page_pictures

    return [QImage.fromData(png) for png in page_pictures(document, pixels_an_inch)]


def new_printer(title: str) -> QPrinter:
    """A printer for A4 pages that bring their own margins."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(title)
    printer.setFullPage(True)
    printer.setPageLayout(
        QPageLayout(
            QPageSize(QPageSize.PageSizeId.A4),
            QPageLayout.Orientation.Portrait,
            QMarginsF(),
            QPageLayout.Unit.Millimeter,
        )
    )
    return printer


def print_pages(printer: QPrinter, pages: Sequence[QImage]) -> bool:
    """Draw pages onto a printer, those that it was asked for; False when it takes none."""
    painter = QPainter()
    if not painter.begin(printer):
        return False
    painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
    for index, page in enumerate(_wanted(printer, pages)):
        if index and not printer.newPage():
            painter.end()
            return False
        sheet = printer.paperRect(QPrinter.Unit.DevicePixel)
        size = page.size().scaled(sheet.size().toSize(), Qt.AspectRatioMode.KeepAspectRatio)
        left = (sheet.width() - size.width()) / 2
        top = (sheet.height() - size.height()) / 2
        painter.drawImage(QRectF(left, top, size.width(), size.height()), page)
    return painter.end()


def _wanted(printer: QPrinter, pages: Sequence[QImage]) -> Iterator[QImage]:
    """The pages of the range in their order, as often as the printer can't repeat them itself."""
    first, last = printer.fromPage() or 1, printer.toPage() or len(pages)
    if printer.printRange() is not QPrinter.PrintRange.PageRange:
        first, last = 1, len(pages)
    chosen = list(pages[first - 1 : last])
    if printer.pageOrder() is QPrinter.PageOrder.LastPageFirst:
        chosen.reverse()
    copies = 1 if printer.supportsMultipleCopies() else printer.copyCount()
    if printer.collateCopies():
        for _ in range(copies):
            yield from chosen
    else:
        for page in chosen:
            for _ in range(copies):
                yield page


class Printing:
    """Prints documents for a window, or shows them first."""

    def __init__(self, notices: Notices, window: QWidget) -> None:
        self._notices = notices
        self._window = window
        self._job: Job | None = None
        self.preview: Preview | None = None

    def ask_and_print(self, state: State, kind: str, *, is_large: bool) -> None:
        """Ask which printer, and print the document as it is now; for the map, the note."""
        document = _document(state, self._printable(kind), is_large=is_large)
        self._set(document, PRINT_DPI, partial(self._ask, document))

    def look(self, state: State, kind: str, *, is_large: bool) -> None:
        """Show the pages as they would be printed; for the map, those of the note."""
        document = _document(state, self._printable(kind), is_large=is_large)
        self._set(document, SCREEN_DPI, partial(self._show, state, document))

    def _printable(self, kind: str) -> str:
        """The document to be printed; says so when it isn't what is shown."""
        if kind != MAP:
            self._notices.drop(_INSTEAD)
            return kind
        words = "The map is to draw on, not to print: the pages are those of the operative note."
        self._notices.say(_INSTEAD, self._window.tr(words))
        return "note"

    def _set(
        self, document: Document, pixels_an_inch: int, then: Callable[[list[QImage]], None]
    ) -> None:
        """Have the pages set on a worker, and go on with them."""
        if self._job is not None:
            return
        words = self._window.tr("Setting the pages \N{HORIZONTAL ELLIPSIS}")
        self._notices.say(_SUBJECT, words, [])

        def work() -> Iterator[object]:
            yield page_images(document, pixels_an_inch)

        def came(thing: object) -> None:
            self._job = None
            self._notices.drop(_SUBJECT)
            assert isinstance(thing, list)
            then(thing)

        def failed(error: object) -> None:
            self._job = None
            words = self._window.tr("The pages can't be set: {why}").format(why=error)
            self._notices.say(_SUBJECT, words)

        self._job = Job(work)
        self._job.results.came.connect(came)
        self._job.results.failed.connect(failed)
        self._job.start()

    def _ask(self, document: Document, pages: list[QImage]) -> None:
        printer = new_printer(_title(document))
        dialog = QPrintDialog(printer, self._window)
        dialog.setMinMax(1, len(pages))
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)

        def finished(result: int) -> None:
            if result == QDialog.DialogCode.Accepted:
                self.print_to(printer, pages)

        dialog.finished.connect(finished)
        QDialog.open(dialog)

    def print_to(self, printer: QPrinter, pages: list[QImage]) -> None:
        """Print pages, and say so when the printer doesn't take them."""
        if print_pages(printer, pages):
            words = self._window.tr("{count} pages sent to {printer}")
            name = printer.printerName() or printer.outputFileName()
            self._notices.say(_SUBJECT, words.format(count=len(pages), printer=name))
        else:
            words = self._window.tr(
                "The printer did not take the pages; choose another, "
                "or write the documents (Ctrl+E)"
            )
            self._notices.say(_SUBJECT, words)

    def _show(self, state: State, document: Document, pages: list[QImage]) -> None:
        self.preview = Preview(state, _title(document), pages, self._window)
        self.preview.print_wanted.clicked.connect(partial(self._print_shown, document))
        self.preview.open()

    def _print_shown(self, document: Document) -> None:
        if self.preview is not None:
            self.preview.close()
        self._set(document, PRINT_DPI, partial(self._ask, document))


class Preview(QDialog):
    """The pages one below the other, under the name and the side."""

    def __init__(self, state: State, title: str, pages: list[QImage], parent: QWidget) -> None:
        super().__init__(parent)
        # Late: it belongs to the panes of a case, which the window is painted before.
        from opnote.desk.subject_bar import SubjectBar

        self.setWindowTitle(title)
        self.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        subject = SubjectBar(self)
        subject.show_state(state)
        self.pages = _Sheets(pages, self)
        self.pages.setAccessibleName(self.tr("{count} pages").format(count=len(pages)))
        area = QScrollArea(self)
        area.setFrameShape(QFrame.Shape.NoFrame)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setAccessibleName(title)
        area.setWidget(self.pages)
        theme.slim(area)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Close, self)
        words = self.tr("Print \N{HORIZONTAL ELLIPSIS}")
        self.print_wanted = buttons.addButton(words, QDialogButtonBox.ButtonRole.ActionRole)
        buttons.rejected.connect(self.reject)
        foot = QVBoxLayout()
        foot.setContentsMargins(16, 8, 16, 10)
        foot.addWidget(buttons)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(subject)
        column.addWidget(area, 1)
        column.addLayout(foot)
        self.resize(self.sizeHint())
        area.setFocus()

    def sizeHint(self) -> QSize:
        """A page in its width, as much of it as the window is high."""
        parent = self.parentWidget()
        height = 680 if parent is None else parent.height() - 40
        return QSize(720, height)


class _Sheets(QWidget):
    """Draws the pages as wide as there is room."""

    def __init__(self, pages: Sequence[QImage], parent: QWidget) -> None:
        super().__init__(parent)
        self._pages = pages
        self.setBackgroundRole(QPalette.ColorRole.Window)
        self.setAutoFillBackground(True)
        policy = self.sizePolicy()
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def hasHeightForWidth(self) -> bool:
        """The height follows from the width."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of all pages in a width."""
        return sum(rect.height() + _GAP for rect in self._places(width)) + _GAP

    def sizeHint(self) -> QSize:
        """The size that it wants."""
        return QSize(self.width(), self.heightForWidth(self.width()))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the pages that are in view."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        for page, place in zip(self._pages, self._places(self.width()), strict=True):
            if place.intersects(event.rect()):
                painter.drawImage(place, page)

    def _places(self, width: int) -> Iterator[QRect]:
        wide = min(width - 2 * _GAP, _MOST_WIDTH)
        top = _GAP
        for page in self._pages:
            high = round(wide * page.height() / max(1, page.width()))
            yield QRect((width - wide) // 2, top, wide, high)
            top += high + _GAP


def _document(state: State, kind: str, *, is_large: bool) -> Document:
    from opnote.compose.document import in_large_print

    document = state.document(kind)
    return in_large_print(document) if is_large else document


def _title(document: Document) -> str:
    from opnote.compose.running import running_title

    return running_title(document) or document.kind
