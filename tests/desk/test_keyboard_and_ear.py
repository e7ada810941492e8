"""What a person hears and does who uses no mouse, asked of Qt's accessibility interface."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QCheckBox,
    QLineEdit,
    QListView,
    QPlainTextEdit,
    QRadioButton,
    QTextBrowser,
    QWidget,
)
from pytestqt.qtbot import QtBot

from opnote.desk.case_pane import CasePane
from opnote.desk.field_row import FieldRow
from opnote.desk.layout_check import visible_below
from opnote.desk.stage import lay_out
from opnote.desk.state_case import HALF_FILLED, write_made_cases
from opnote.desk.window import Window
from opnote.pack.files import shipped_root

Opener = Callable[[Path, str], Window]
Role = QAccessible.Role
MOST_STOPS = 150

ROLES: tuple[tuple[type[QWidget], frozenset[Role]], ...] = (
    (QRadioButton, frozenset({Role.RadioButton})),
    (QCheckBox, frozenset({Role.CheckBox})),
    (QAbstractButton, frozenset({Role.Button})),
    (QLineEdit, frozenset({Role.EditableText})),
    (QPlainTextEdit, frozenset({Role.EditableText})),
    (QTextBrowser, frozenset({Role.StaticText, Role.Document})),
    (QListView, frozenset({Role.List})),
)


def heard(widget: QWidget) -> QAccessibleInterface:
    return QAccessible.queryAccessibleInterface(widget)


def name(widget: QWidget) -> str:
    return heard(widget).text(QAccessible.Text.Name)


def description(widget: QWidget) -> str:
    return heard(widget).text(QAccessible.Text.Description)


def focusable(window: Window) -> list[QWidget]:
    return [
        widget
        for widget in visible_below(window)
        if widget.focusPolicy() is not Qt.FocusPolicy.NoFocus
        and not isinstance(widget.parentWidget(), QTextBrowser | QListView | QPlainTextEdit)
    ]


def tab_stops(window: Window) -> list[QWidget]:
    return [
        widget
        for widget in focusable(window)
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isEnabled()
    ]


def every_page(window: Window) -> Iterator[str]:
    for page in window.pages():
        window.show_page(page)
        lay_out()
        yield page


@pytest.fixture
def half_filled(open_window: Opener, cases: Path) -> Window:
    """A window on a half-filled case that contradicts itself."""
    write_made_cases(shipped_root() / "forms" / "samples", cases)
    return open_window(cases, HALF_FILLED)


@pytest.mark.slow
@pytest.mark.parametrize("stem", ["case_a", "case_b"])
def test_every_control_is_heard_by_a_name_of_its_own_and_a_role_that_fits(
    open_window: Opener, cases: Path, stem: str
) -> None:
    window = open_window(cases, stem)
    for page in every_page(window):
        names: Counter[str] = Counter()
        for widget in focusable(window):
            told = name(widget)
            assert told.strip(), f"{widget} on {page}"
            names[told] += 1
            fitting = next(roles for made, roles in ROLES if isinstance(widget, made))
            assert heard(widget).role() in fitting, f"{told} on {page}"
        twice = {told for told, count in names.items() if count > 1}
        assert not twice, page


def walk(window: Window, key: Qt.Key) -> list[QWidget]:
    """Every stop from where the focus is until it is there again."""
    start = QApplication.focusWidget()
    assert isinstance(start, QWidget)
    stops = [start]
    while len(stops) < MOST_STOPS:
        QTest.keyClick(stops[-1], key)
        focus = QApplication.focusWidget()
        assert isinstance(focus, QWidget)
        if focus is start:
            return stops
        stops.append(focus)
    raise AssertionError(f"Tab does not come back: {[name(stop) for stop in stops[-5:]]}")


def reading_order(widgets: list[QWidget], window: Window) -> list[tuple[int, int]]:
    """Where each stands: what is on one line is told by how far right it is."""
    corners = [widget.mapTo(window, QPoint(0, widget.height() // 2)) for widget in widgets]
    return [(corner.y() // 12, corner.x()) for corner in corners]


@pytest.mark.slow
def test_tab_visits_every_control_of_every_page_once_and_comes_back(window: Window) -> None:
    pane = window.findChild(CasePane)
    assert isinstance(pane, CasePane)
    for page in every_page(window):
        stops = walk(window, Qt.Key.Key_Tab)
        assert len(stops) == len(set(stops)), page
        missed = [name(w) for w in tab_stops(window) if w not in stops]
        assert not missed, page
        back = walk(window, Qt.Key.Key_Backtab)
        assert back == [stops[0], *reversed(stops[1:])], page


@pytest.mark.slow
@pytest.mark.parametrize("page", ["patient", "tears", "stitches", "handover", "recovery_load"])
def test_tab_goes_down_the_page_as_one_reads(window: Window, page: str) -> None:
    window.show_page(page)
    lay_out()
    on_page = []
    for stop in walk(window, Qt.Key.Key_Tab):
        inside: QWidget | None = stop
        while inside is not None and not isinstance(inside, FieldRow):
            inside = inside.parentWidget()
        if inside is not None:
            on_page.append(stop)
    places = reading_order(on_page, window)
    first = places.index(min(places))
    around = [*places[first:], *places[:first]]
    assert around == sorted(around)


@pytest.mark.slow
def test_every_control_looks_otherwise_while_it_has_the_focus(
    half_filled: Window, qtbot: QtBot
) -> None:
    window = half_filled
    seen: set[tuple[type[QWidget], bool]] = set()
    for page in ("patient", "health", "imaging", "team", "tears", "handover", "recovery_load"):
        window.show_page(page)
        lay_out()
        for widget in tab_stops(window):
            kind = (
                type(widget),
                isinstance(widget, QAbstractButton) and widget.isChecked(),
            )
            if kind in seen:
                continue
            seen.add(kind)
            widget.setFocus(Qt.FocusReason.TabFocusReason)
            lay_out()
            with_focus = widget.grab().toImage()
            widget.clearFocus()
            lay_out()
            without = widget.grab().toImage()
            assert with_focus != without, f"{name(widget)} on {page}"
    assert len(seen) > 8


def test_help_and_findings_are_heard_with_the_field(half_filled: Window) -> None:
    half_filled.go_to("theatre.end")
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    half_filled.go_to("theatre.incision")
    first = QApplication.focusWidget()
    assert isinstance(first, QLineEdit)
    told = description(first) + description(box)
    assert "The operation ended at 07:15, not after the incision at 08:40." in told
    half_filled.go_to("exam.lachman")
    button = QApplication.focusWidget()
    assert isinstance(button, QRadioButton)
    assert "IKDC" in description(button)


def test_the_help_of_an_answer_is_seen_without_a_mouse(half_filled: Window) -> None:
    half_filled.go_to("joint.popliteus")
    half_filled.show_page("tears")
    lay_out()
    add = QApplication.focusWidget()
    assert isinstance(add, QAbstractButton)
    add.click()
    QTest.keyClick(half_filled.focusWidget(), Qt.Key.Key_Tab)
    QTest.keyClick(half_filled.focusWidget(), Qt.Key.Key_Space)
    lay_out()
    texts = [w.toolTip() for w in visible_below(half_filled) if type(w).__name__ == "ElidedLabel"]
    assert any("a longitudinal tear whose inner part displaces" in text for text in texts)


def test_a_row_says_whether_it_is_unfolded(window: Window) -> None:
    window.show_page("tears")
    head = QApplication.focusWidget()
    assert isinstance(head, QAbstractButton)
    assert description(head).startswith("Unfolded.")
    QTest.keyClick(head, Qt.Key.Key_Space)
    assert description(head).startswith("Folded.")
    assert not [w for w in visible_below(window) if name(w).startswith("Meniscus, required")]


# The paper


def paper_of(window: Window) -> QTextBrowser:
    paper = window.findChild(QTextBrowser)
    assert isinstance(paper, QTextBrowser)
    return paper


def test_the_paper_says_which_document_it_is_and_what_is_drawn_on_it(window: Window) -> None:
    paper = paper_of(window)
    assert name(paper) == "Document: Operative note"
    assert "medial meniscus" in description(paper)
    window.show_document("letter")
    assert name(paper) == "Document: Letter"


def test_arrows_go_from_value_to_value_and_enter_to_its_question(window: Window) -> None:
    paper = paper_of(window)
    paper.setFocus()
    values = []
    for _ in range(3):
        QTest.keyClick(paper, Qt.Key.Key_Right)
        values.append(paper.textCursor().selectedText())
    assert len(set(values)) == 3
    QTest.keyClick(paper, Qt.Key.Key_Left)
    assert paper.textCursor().selectedText() == values[1]
    while paper.textCursor().selectedText() != "Mr Percival Thistlewick":
        before = paper.textCursor().position()
        QTest.keyClick(paper, Qt.Key.Key_Right)
        assert paper.textCursor().position() > before
    QTest.keyClick(paper, Qt.Key.Key_Return)
    box = QApplication.focusWidget()
    assert isinstance(box, QLineEdit)
    assert box.text() == "Mr Percival Thistlewick"


def test_the_lists_say_more_than_they_show(window: Window, qtbot: QtBot) -> None:
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    lists = {name(w): w for w in visible_below(window) if isinstance(w, QListView)}
    said = {
        called: [
            str(view.model().index(row, 0).data(Qt.ItemDataRole.AccessibleTextRole))
            for row in range(view.model().rowCount())
        ]
        for called, view in lists.items()
    }
    assert "Mr Percival Thistlewick, Left, ready" in said["Theatre list"]
    assert "Tears, complete" in said["Pages of the case"]
    assert all(line.startswith("Answered: ") for line in said["What is still open"])
