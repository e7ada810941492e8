"""What is printed is what is written: the same pages on the same paper."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader
from PySide6.QtCore import QSizeF, Qt
from PySide6.QtGui import QImage
from PySide6.QtPrintSupport import QPrintDialog, QPrinter
from PySide6.QtWidgets import QDialog, QLabel
from pytestqt.qtbot import QtBot

from opnote.compose.document import Document
from opnote.compose.pdf import pdf_bytes
from opnote.desk.printing import PRINT_DPI, Preview, new_printer, page_images, print_pages
from opnote.desk.window import Window
from tests.desk.conftest import Eyes


def document(window: Window, kind: str) -> Document:
    assert window.held.shown is not None
    return window.held.shown.session.state.document(kind)


def printer_to(path: Path) -> QPrinter:
    printer = new_printer("Operative note")
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(path))
    return printer


def sizes_mm(pdf: bytes) -> list[tuple[int, int]]:
    boxes = [page.mediabox for page in PdfReader(io.BytesIO(pdf)).pages]
    return [(round(float(b.width) / 72 * 25.4), round(float(b.height) / 72 * 25.4)) for b in boxes]


@pytest.mark.parametrize("kind", ["note", "recovery_card"])
def test_paper_and_file_have_the_same_pages(window: Window, tmp_path: Path, kind: str) -> None:
    written = sizes_mm(pdf_bytes(document(window, kind)))
    pages = page_images(document(window, kind), 100)
    assert print_pages(printer_to(tmp_path / "out.pdf"), pages)
    assert sizes_mm((tmp_path / "out.pdf").read_bytes()) == written
    assert set(written) == {(210, 297)}


def test_a_printed_page_fills_the_paper_to_its_edge(window: Window, tmp_path: Path) -> None:
    page = page_images(document(window, "note"), PRINT_DPI)[0]
    assert (round(page.width() / PRINT_DPI * 25.4), round(page.height() / PRINT_DPI * 25.4)) == (
        210,
        297,
    )
    assert print_pages(printer_to(tmp_path / "out.pdf"), [page])
    (drawn,) = PdfReader(tmp_path / "out.pdf").pages[0].images
    assert drawn.image is not None
    assert abs(drawn.image.width - page.width()) <= 2


def test_only_the_pages_that_are_asked_for_are_printed(window: Window, tmp_path: Path) -> None:
    pages = page_images(document(window, "note"), 60)
    assert len(pages) > 3
    printer = printer_to(tmp_path / "out.pdf")
    printer.setPrintRange(QPrinter.PrintRange.PageRange)
    printer.setFromTo(2, 3)
    assert print_pages(printer, pages)
    assert len(PdfReader(tmp_path / "out.pdf").pages) == 2


def test_a_page_on_other_paper_is_whole(tmp_path: Path) -> None:
    page = QImage(2100, 2970, QImage.Format.Format_RGB32)
    page.fill(Qt.GlobalColor.black)
    printer = printer_to(tmp_path / "out.pdf")
    from PySide6.QtGui import QPageSize

    printer.setPageSize(QPageSize(QPageSize.PageSizeId.Letter))
    assert print_pages(printer, [page])
    assert sizes_mm((tmp_path / "out.pdf").read_bytes()) == [(216, 279)]


@pytest.mark.qt_log_ignore("Returned false", "This plugin does not support")
def test_a_file_that_cannot_be_printed_to_is_said(
    window: Window, eyes: Eyes, tmp_path: Path
) -> None:
    printing = window.writing.printing
    printing.print_to(printer_to(tmp_path / "missing" / "out.pdf"), page_images_of_one())
    assert "The printer did not take the pages" in eyes.texts()


def page_images_of_one() -> list[QImage]:
    page = QImage(210, 297, QImage.Format.Format_RGB32)
    page.fill(Qt.GlobalColor.white)
    return [page]


def previews(window: Window) -> Iterator[Preview]:
    for dialog in window.findChildren(QDialog):
        if isinstance(dialog, Preview) and dialog.isVisible():
            yield dialog


def test_the_look_before_printing_shows_every_page_under_name_and_side(
    window: Window, qtbot: QtBot
) -> None:
    window.show_document("recovery_plan")
    window.writing.look_before_printing()
    qtbot.waitUntil(lambda: any(previews(window)), timeout=20_000)
    (preview,) = previews(window)
    count = len(PdfReader(io.BytesIO(pdf_bytes(document(window, "recovery_plan")))).pages)
    assert preview.pages.accessibleName() == f"{count} pages"
    assert preview.windowTitle() == "Recovery plan"
    said = [w.text() for w in preview.findChildren(QLabel)]
    assert any("Thistlewick" in words for words in said)
    height = QSizeF(preview.pages.size()).height()
    assert height > count * preview.pages.width()
    preview.close()


def test_with_the_map_on_screen_the_note_is_shown_and_it_says_so(
    window: Window, eyes: Eyes, qtbot: QtBot
) -> None:
    window.show_document("map")
    window.writing.look_before_printing()
    qtbot.waitUntil(lambda: any(previews(window)), timeout=20_000)
    (preview,) = previews(window)
    assert preview.windowTitle() == "Operative note"
    assert "the pages are those of the operative note" in eyes.texts()
    preview.close()
    window.show_document("letter")
    window.writing.look_before_printing()
    assert "the pages are those of the operative note" not in eyes.texts()
    qtbot.waitUntil(lambda: any(previews(window)), timeout=20_000)
    for shown in previews(window):
        shown.close()


def test_with_the_map_on_screen_the_note_is_printed(
    window: Window, eyes: Eyes, qtbot: QtBot
) -> None:
    window.show_document("map")
    window.writing.print_document()
    assert "the pages are those of the operative note" in eyes.texts()
    qtbot.waitUntil(lambda: bool(window.findChildren(QPrintDialog)), timeout=20_000)
    (dialog,) = window.findChildren(QPrintDialog)
    assert dialog.printer().docName() == "Operative note"
    dialog.reject()
