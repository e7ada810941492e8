"""Reading a list in the window: nothing is made before the press, and nothing is lost silently."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QGuiApplication, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit
from pytestqt.qtbot import QtBot

from opnote.desk.listing_pane import ListingPane
from opnote.desk.window import Window
from opnote.record import Origin
from tests.desk.conftest import NONE, Eyes, Typist

# A day of which the folder holds no case yet: nothing is carried over into these.
LINES = (
    "Order;Name;Hospital number;Born;Side;Date;Ward",
    "1;Ann Quill;TEST-71;1/2/1990;L;12/3/2026;Fern",
    "2;Bo Quill;TEST-72;31/02/1990;R;12/3/2026;Fern",
    "3;Cy Quill;TEST-73;3/4/1991;R;12/3/2026;Moss",
)
MADE = {"2026-03-12_01_Ann_Quill.json", "2026-03-12_03_Cy_Quill.json"}


@pytest.fixture
def reads(window: Window, tmp_path: Path, qtbot: QtBot) -> Callable[..., ListingPane]:
    """Reads a list in the window of demo case A."""
    qtbot.waitUntil(window.has_read_all, timeout=20_000)

    def read(*lines: str) -> ListingPane:
        path = tmp_path / "day.csv"
        path.write_text("\n".join(lines or LINES), encoding="utf-8")
        window.lists.read(path)
        (pane,) = (p for p in window.findChildren(ListingPane) if p.isVisible())
        return pane

    return read


def button(window: Window, words: str) -> QAbstractButton:
    buttons = window.findChildren(QAbstractButton)
    return next(b for b in buttons if b.isVisible() and b.text().replace("&", "") == words)


def files(folder: Path) -> set[str]:
    return {path.name for path in folder.iterdir()}


def click(window: Window, words: str) -> None:
    QTest.mouseClick(button(window, words), Qt.MouseButton.LeftButton)


def cell(pane: ListingPane, row: int, column: int) -> str:
    model = pane.table.model()
    return str(model.index(row, column).data(Qt.ItemDataRole.DisplayRole))


def go_to(pane: ListingPane, row: int, column: int) -> None:
    pane.table.setCurrentIndex(pane.table.model().index(row, column))
    pane.table.setFocus()


def retype(text: str) -> None:
    """Edit the cell with the focus, and be done."""
    table = QApplication.focusWidget()
    assert table is not None
    QTest.keyClick(table, Qt.Key.Key_Return)
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Return)
    QApplication.processEvents()


def test_nothing_is_made_before_the_press(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes
) -> None:
    before = files(cases)
    pane = reads()
    assert files(cases) == before
    assert "3 rows: 2 will be made and 1 to mend." in eyes.texts()
    assert 'Not used: "Ward".' in eyes.texts()
    assert cell(pane, 0, 3) == "Thu 1 February 1990"
    click(window, "Put the list away")
    assert files(cases) == before
    assert window.current_path() == cases / "case_a.json"


def test_the_press_makes_the_rows_that_can_be_made(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes
) -> None:
    before = files(cases)
    pane = reads()
    click(window, "Make these 2 cases")
    assert files(cases) - before == MADE
    assert "2 cases made from the list." in eyes.texts()
    assert pane.isVisible()
    assert cell(pane, 0, 1) == "Bo Quill"


def test_made_cases_open_and_are_to_be_confirmed(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes
) -> None:
    reads(LINES[0], LINES[1])
    click(window, "Make this case")
    assert window.current_path() == cases / "2026-03-12_01_Ann_Quill.json"
    record = window.record()
    assert record.value("side") == "left"
    assert all(record.origin(path) is Origin.LISTED for path in record.values)
    assert eyes.controls("Confirm Name, listed")
    assert eyes.controls("Confirm Operated side, listed")


def test_what_is_wrong_is_told_where_one_stands_and_can_be_mended(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes
) -> None:
    pane = reads()
    click(window, "Next to mend")
    assert (
        'row 3, "Born": 31/02/1990 is no date; write it as 1990-02-28 or 28/2/1990' in eyes.texts()
    )
    retype("28/2/1990")
    assert cell(pane, 1, 3) == "Wed 28 February 1990"
    click(window, "Make these 3 cases")
    assert (cases / "2026-03-12_02_Bo_Quill.json").exists()


def test_a_row_can_be_made_without_the_value(
    reads: Callable[..., ListingPane], window: Window
) -> None:
    reads(LINES[0], LINES[2])
    click(window, "Next to mend")
    click(window, "Make it without this value")
    click(window, "Make this case")
    assert "patient.born" not in window.record().values
    assert window.record().value("patient.name") == "Bo Quill"


def test_rows_that_were_not_made_are_named_at_the_end(
    reads: Callable[..., ListingPane], window: Window, eyes: Eyes
) -> None:
    pane = reads(*LINES[:3], LINES[1])
    go_to(pane, 1, 0)
    click(window, "Leave this row out")
    click(window, "Make this case")
    texts = eyes.texts()
    assert "1 case made from the list. Not made: row 3: left out; row 4: the same patient" in texts


def test_reading_a_list_again_makes_nothing_twice(
    reads: Callable[..., ListingPane], window: Window, cases: Path
) -> None:
    reads(LINES[0], LINES[1])
    click(window, "Make this case")
    made = files(cases)
    reads(LINES[0], LINES[1])
    assert not button(window, "Make the cases").isEnabled()
    assert files(cases) == made


def test_a_column_is_sent_elsewhere_by_keyboard(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes, typist: Typist
) -> None:
    pane = reads(*LINES)
    box = eyes.control('Field of the column "Ward"')
    assert isinstance(box, QComboBox)
    box.setFocus()
    typist.press(Qt.Key.Key_Down)
    opened = box.view()
    assert opened.isVisible()
    while opened.currentIndex().data() != "Theatre":
        QTest.keyClick(opened, Qt.Key.Key_Down)
    QTest.keyClick(opened, Qt.Key.Key_Return)
    assert cell(pane, 0, 3) == "Thu 1 February 1990"
    go_to(pane, 0, 0)
    click(window, "Make these 2 cases")
    window.come_back(cases / "2026-03-12_01_Ann_Quill.json")
    assert window.record().value("operation.theatre") == "Fern"


def test_a_wheel_changes_no_column(reads: Callable[..., ListingPane], eyes: Eyes) -> None:
    reads()
    box = eyes.control('Field of the column "Ward"')
    assert isinstance(box, QComboBox)
    box.setFocus()
    middle = QPointF(box.rect().center())
    event = QWheelEvent(
        middle,
        box.mapToGlobal(middle),
        QPoint(),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        NONE,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(box, event)
    assert box.currentText() == "Not used"


def test_a_list_is_pasted_from_a_spreadsheet(window: Window, qtbot: QtBot, eyes: Eyes) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    QGuiApplication.clipboard().setText("Name\tSide\tDate\nAnn Quill\tLeft\t9/3/2026\n")
    window.lists.paste()
    assert "List from the clipboard" in eyes.texts()
    click(window, "Make this case")
    assert window.record().value("patient.name") == "Ann Quill"


def test_an_empty_clipboard_says_what_to_do(window: Window, eyes: Eyes) -> None:
    QGuiApplication.clipboard().setText("")
    window.lists.paste()
    assert "The clipboard holds no text: copy the rows of the list" in eyes.texts()


def test_a_file_that_is_no_list_says_why(window: Window, tmp_path: Path, eyes: Eyes) -> None:
    path = tmp_path / "day.xlsx"
    path.write_bytes(b"PK\x03\x04")
    window.lists.read(path)
    assert "day.xlsx: this is a spreadsheet and no text; save the list as text" in eyes.texts()
    assert window.current_path() is not None


def test_the_date_of_the_list_is_given_once(
    reads: Callable[..., ListingPane], window: Window, eyes: Eyes
) -> None:
    reads("Name;Side", "Ann Quill;L")
    box = eyes.control("Date of the list")
    box.setFocus()
    QTest.keyClicks(box, "today")
    assert "Mon 9 March 2026" in eyes.texts()
    click(window, "Make this case")
    assert str(window.record().value("operation.date")) == "2026-03-09"


def test_a_list_waits_while_a_case_is_looked_at(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes
) -> None:
    pane = reads()
    window.open_case(cases / "case_b.json")
    assert "The list that was read waits to be made into cases." in eyes.texts()
    click(window, "Go back to it")
    assert pane.isVisible()
    window.close()
    assert window.isVisible()
    assert "closing it would lose the list that was read" in eyes.texts()
    click(window, "Put the list away")


def test_keys_of_the_case_do_nothing_behind_a_list(
    reads: Callable[..., ListingPane], window: Window, cases: Path, typist: Typist
) -> None:
    window.go_to("closure.dressing")
    typist.type("x")
    typed = window.record()
    reads()
    for key in (Qt.Key.Key_Z, Qt.Key.Key_K, Qt.Key.Key_B, Qt.Key.Key_J):
        typist.press(key, Qt.KeyboardModifier.ControlModifier)
    click(window, "Put the list away")
    assert window.current_path() == cases / "case_a.json"
    assert window.record() == typed


def test_a_full_disk_leaves_the_rest_in_the_list(
    reads: Callable[..., ListingPane], window: Window, cases: Path, eyes: Eyes
) -> None:
    pane = reads(LINES[0], LINES[1], LINES[3])
    (cases / "2026-03-12_03_Cy_Quill.json").mkdir()
    (cases / "2026-03-12_03_Cy_Quill_2.json").mkdir()
    click(window, "Make these 2 cases")
    assert "1 case made from the list. The rest is not:" in eyes.texts()
    assert cell(pane, 0, 1) == "Cy Quill"


def test_rows_without_a_side_are_counted_before_they_are_made(
    reads: Callable[..., ListingPane], eyes: Eyes
) -> None:
    reads(LINES[0], "1;Ann Quill;TEST-71;1/2/1990;;12/3/2026;Fern", LINES[3])
    assert "2 rows: 2 will be made. Without a side: 1." in eyes.texts()
    reads(LINES[0], LINES[1], LINES[3])
    assert "Without a side" not in eyes.texts()


def test_an_empty_folder_shows_nothing_of_the_case_before(
    window: Window, tmp_path: Path, eyes: Eyes, typist: Typist
) -> None:
    window.go_to("closure.dressing")
    typist.type("x")
    assert eyes.controls("Pages")
    (tmp_path / "empty").mkdir()
    window.open_folder(tmp_path / "empty")
    assert not eyes.controls("Pages")
    assert not button(window, "Undo").isEnabled()
    assert not button(window, "Save").isEnabled()
    assert window.windowTitle() == "opnote"
