"""What the window says of a patient's sheet: how hard it reads, what it leaves out, when given."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QTextBrowser
from pytestqt.qtbot import QtBot

from opnote.desk.window import Window
from tests.desk.conftest import Eyes


def action(window: Window, words: str) -> QAction:
    (found,) = (
        each for each in window.findChildren(QAction) if words in each.text().replace("&", "")
    )
    return found


def lines_of(window: Window) -> list[QPushButton]:
    """The line about the sheet, where it can be seen."""
    return [
        each
        for each in window.findChildren(QPushButton)
        if "Reading grade" in each.text() and each.isVisible()
    ]


def show_sheet(window: Window, eyes: Eyes, qtbot: QtBot) -> QPushButton:
    """Put the risk sheet on the paper and give the line about it, once it is there."""
    QTest.mouseClick(eyes.control("Risk sheet"), Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: bool(lines_of(window)), timeout=5_000)
    (line,) = lines_of(window)
    return line


def report_of(window: Window) -> str:
    (report,) = (
        each
        for each in window.findChildren(QTextBrowser)
        if each.accessibleName() == "About this sheet"
    )
    return report.toPlainText()


def test_a_line_says_how_hard_the_sheet_is_and_how_much_it_leaves_out(
    window: Window, eyes: Eyes, qtbot: QtBot
) -> None:
    assert not lines_of(window)
    line = show_sheet(window, eyes, qtbot)
    assert "risks left out" in line.text()
    QTest.mouseClick(eyes.control("Operative note"), Qt.MouseButton.LeftButton)
    assert not line.isVisible()


def test_the_report_names_the_hardest_sentences_and_whom_a_risk_is_told(
    window: Window, eyes: Eyes, qtbot: QtBot
) -> None:
    QTest.mouseClick(show_sheet(window, eyes, qtbot), Qt.MouseButton.LeftButton)
    text = report_of(window)
    assert "The sheet: Flesch-Kincaid grade " in text
    assert "The notes on sources: Flesch-Kincaid grade " in text
    assert "The three hardest sentences" in text
    # A repair without a ligament is planned, so what belongs to a new ligament is left out.
    assert "The new ligament: told when the ligament is rebuilt" in text
    # Told with other figures, and so not left out.
    assert "Wear of the joint: told" not in text


def test_the_report_follows_the_case(window: Window, eyes: Eyes, qtbot: QtBot) -> None:
    line = show_sheet(window, eyes, qtbot)
    QTest.mouseClick(line, Qt.MouseButton.LeftButton)
    before = line.text()
    window.go_to("planned.release")
    QTest.mouseClick(eyes.control("Medial release, required: No"), Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: line.text() != before, timeout=5_000)
    assert "A loose inner ligament: told when the inner ligament may be eased" in report_of(window)


def give_on(window: Window, eyes: Eyes, words: str) -> None:
    """Record that the sheet was given, on a day as a person writes it."""
    action(window, "given to the patient").trigger()
    box = eyes.control("Day on which the risk sheet was given")
    assert isinstance(box, QLineEdit)
    assert box.hasFocus()
    box.selectAll()
    QTest.keyClicks(box, words)
    QTest.keyClick(box, Qt.Key.Key_Return)


def test_a_sheet_that_was_given_asks_for_a_word_when_the_plan_changes(
    window: Window, eyes: Eyes
) -> None:
    give_on(window, eyes, "today")
    assert "The risk sheet was given on 9 March 2026." in eyes.texts()
    assert len(window.record().given["risk_sheet"]) == 2
    assert "Ready to sign" in eyes.texts()
    window.go_to("planned.release")
    QTest.mouseClick(eyes.control("Medial release, required: No"), Qt.MouseButton.LeftButton)
    # The sheet says otherwise now, and so was the operation.
    assert "1 to explain" in eyes.texts()
    give_on(window, eyes, "today")
    assert "1 to explain" not in eyes.texts()
    assert len(window.record().given["risk_sheet"]) == 3


def test_the_day_of_giving_is_chosen_and_a_wrong_one_is_said_in_a_line(
    window: Window, eyes: Eyes
) -> None:
    give_on(window, eyes, "31/2")
    assert "not a date; write it as 9/3/26" in eyes.texts()
    assert len(window.record().given["risk_sheet"]) == 1
    give_on(window, eyes, "tomorrow")
    assert "That day is still to come" in eyes.texts()
    give_on(window, eyes, "7 mar 2026")
    assert "The risk sheet was given on 7 March 2026." in eyes.texts()
    assert [each.on for each in window.record().given["risk_sheet"]] == [
        date(2026, 3, 6),
        date(2026, 3, 7),
    ]


def test_a_sheet_that_tells_nothing_yet_can_t_be_given(window: Window, eyes: Eyes) -> None:
    window.new_case()
    action(window, "given to the patient").trigger()
    assert "The risk sheet is not ready to be given: " in eyes.texts()
    assert window.record().given == {}


def test_large_print_is_remembered_and_reaches_the_files(
    window: Window, tmp_path: Path, qtbot: QtBot
) -> None:
    choice = action(window, "Large print")
    assert not choice.isChecked()
    choice.trigger()
    out = tmp_path / "out"
    out.mkdir()
    with qtbot.waitSignal(window.writing.written, timeout=20_000):
        window.writing.write_to(out)
    html = (out / "case_a.risk_sheet.html").read_text(encoding="utf-8")
    assert "font: 18.0pt" in html
    assert "font: 11pt" in (out / "case_a.note.html").read_text(encoding="utf-8")
    QApplication.processEvents()
    again = Window(window._settings, tmp_path / "new", window.now)
    assert action(again, "Large print").isChecked()
    again.deleteLater()
