"""Drawing on the map of the menisci with the mouse and with the keyboard."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication
from pytestqt.qtbot import QtBot

from opnote.compose.document import sentence_text
from opnote.desk.map_board import MapCanvas
from opnote.desk.map_edits import Part
from opnote.desk.window import Window
from opnote.record import Origin, Quantity
from tests.desk.conftest import ALT, CTRL, Eyes, Typist

LEFT = Qt.MouseButton.LeftButton


def mm(value: float) -> Quantity:
    return Quantity(value, "mm")


def show_map(window: Window, typist: Typist) -> MapCanvas:
    typist.press(Qt.Key.Key_4, ALT)
    canvas = window.findChild(MapCanvas)
    assert isinstance(canvas, MapCanvas)
    assert canvas.hasFocus()
    return canvas


@pytest.fixture
def canvas(window: Window, typist: Typist) -> MapCanvas:
    """The map of demo case A: a left knee, a medial tear from 10 to 48 mm."""
    return show_map(window, typist)


@pytest.fixture
def blank(window: Window, typist: Typist) -> MapCanvas:
    """The map of a right knee of which nothing is recorded but the side."""
    window.new_case()
    window.go_to("side")
    typist.press(Qt.Key.Key_Right)
    assert window.record().values["side"] == "right"
    return show_map(window, typist)


def at(canvas: MapCanvas, meniscus: str, along: float, inward: float) -> QPoint:
    return canvas.place_on_screen(meniscus, along, inward).toPoint()


def drag(canvas: MapCanvas, start: QPoint, end: QPoint) -> None:
    QTest.mousePress(canvas, LEFT, pos=start)
    QTest.mouseMove(canvas, (start + end) / 2)
    QTest.mouseMove(canvas, end)
    QTest.mouseRelease(canvas, LEFT, pos=end)


def choose_technique(eyes: Eyes, words: str) -> None:
    button = eyes.control(f"Stitches drawn: {words}")
    assert isinstance(button, QAbstractButton)
    button.click()


def test_a_tear_is_drawn_on_an_empty_meniscus(window: Window, blank: MapCanvas) -> None:
    drag(blank, at(blank, "lateral", 12, 3), at(blank, "lateral", 40, 3))
    record = window.record()
    (row,) = record.rows["tears"]
    assert record.values[f"tears.{row}.meniscus"] == "lateral"
    start, end = (record.values[f"tears.{row}.{name}"] for name in ("from_mm", "to_mm"))
    assert isinstance(start, Quantity)
    assert isinstance(end, Quantity)
    assert start.amount == pytest.approx(12, abs=1)
    assert end.amount == pytest.approx(40, abs=1)
    assert record.origin(f"tears.{row}.from_mm") is Origin.DRAWN


def test_an_end_is_dragged_along_the_rim_and_the_table_shows_it(
    window: Window, canvas: MapCanvas, eyes: Eyes
) -> None:
    window.show_page("tears")
    drag(canvas, at(canvas, "medial", 48, 2.5), at(canvas, "medial", 60, 2.5))
    end = window.record().values["tears.r2.to_mm"]
    assert isinstance(end, Quantity)
    assert end.amount == pytest.approx(60, abs=1)
    box = eyes.control("To, in mm")
    assert box.text() == f"{end.amount:g}"  # type: ignore[attr-defined]


def test_the_note_says_what_was_drawn_until_it_is_typed(
    window: Window, canvas: MapCanvas, typist: Typist
) -> None:
    def note() -> str:
        assert window._workspace is not None
        document = window._workspace.desk.state.document("note")
        return "\n".join(map(sentence_text, document.sentences()))

    assert "drawn on the map" not in note()
    drag(canvas, at(canvas, "medial", 48, 2.5), at(canvas, "medial", 60, 2.5))
    assert "along the rim from the posterior root (drawn on the map)" in note()
    window.go_to("tears.r2.to_mm")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.type("52")
    assert "from 10 to 52 mm along the rim from the posterior root." in note()


def test_the_rim_is_dragged_across(window: Window, canvas: MapCanvas) -> None:
    drag(canvas, at(canvas, "medial", 29, 2.5), at(canvas, "medial", 29, 6))
    rim = window.record().values["tears.r2.rim_mm"]
    assert isinstance(rim, Quantity)
    assert rim.amount == pytest.approx(6, abs=0.5)


def test_typing_into_the_table_moves_the_mark_on_the_map(
    window: Window, canvas: MapCanvas, typist: Typist
) -> None:
    before = at(canvas, "medial", 48, 2.5)
    window.go_to("tears.r2.to_mm")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.type("60")
    assert canvas._mark_at(before.toPointF()) is None
    assert canvas._mark_at(at(canvas, "medial", 60, 2.5).toPointF()) is not None


def test_a_click_places_a_stitch_of_the_technique_in_hand(
    window: Window, canvas: MapCanvas, eyes: Eyes
) -> None:
    before = window.record()
    choose_technique(eyes, "Inside-out")
    QTest.mouseClick(canvas, LEFT, pos=at(canvas, "medial", 40, 0.3))
    record = window.record()
    assert record.values["stitches.r4.count"] == 5
    assert before.values["stitches.r4.count"] == 4
    assert record.values["stitches.r3.count"] == before.values["stitches.r3.count"]


def test_without_a_technique_a_click_changes_nothing_and_says_what_to_choose(
    window: Window, canvas: MapCanvas, eyes: Eyes
) -> None:
    before = window.record()
    QTest.mouseClick(canvas, LEFT, pos=at(canvas, "medial", 40, 0.3))
    assert window.record() == before
    assert "hoose a technique" in eyes.texts()


def test_all_of_it_by_keyboard(
    window: Window, canvas: MapCanvas, typist: Typist, eyes: Eyes
) -> None:
    typist.press(Qt.Key.Key_Down)
    assert window.record().values["tears.r2.from_mm"] == mm(9)
    typist.press(Qt.Key.Key_Space)
    typist.press(Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert window.record().values["tears.r2.to_mm"] == mm(53)
    typist.press(Qt.Key.Key_Right)
    assert window.record().values["tears.r2.rim_mm"] == mm(3)
    choose_technique(eyes, "Outside-in")
    canvas.setFocus()
    typist.press(Qt.Key.Key_Space)
    typist.press(Qt.Key.Key_Space)
    typist.press(Qt.Key.Key_Return)
    typist.press(Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    typist.press(Qt.Key.Key_Return)
    record = window.record()
    rows = [
        row
        for row in record.rows["stitches"]
        if record.values[f"stitches.{row}.technique"] == "outside_in"
    ]
    assert sum(int(str(record.values[f"stitches.{row}.count"])) for row in rows) == 2
    typist.press(Qt.Key.Key_Delete)
    record = window.record()
    counts = [record.values.get(f"stitches.{row}.count") for row in rows]
    assert sum(int(str(count)) for count in counts if count is not None) == 1


def test_each_step_of_drawing_can_be_undone(
    window: Window, canvas: MapCanvas, typist: Typist
) -> None:
    before = window.record()
    drag(canvas, at(canvas, "medial", 48, 2.5), at(canvas, "medial", 60, 2.5))
    assert window.record() != before
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record() == before


def test_without_a_side_the_map_says_what_is_missing(window: Window, typist: Typist) -> None:
    window.new_case()
    canvas = show_map(window, typist)
    before = window.record()
    drag(canvas, QPoint(100, 100), QPoint(200, 120))
    assert window.record() == before
    assert "Record the operated side first" in canvas.accessibleDescription()


def test_a_left_knee_is_the_mirror_image_of_a_right_one(
    canvas: MapCanvas, window: Window, cases: Path, qtbot: QtBot
) -> None:
    left = at(canvas, "medial", 50, 0).x() - canvas.width() / 2
    with qtbot.waitSignal(window.case_shown, timeout=10_000):
        window.open_case(cases / "case_b.json")
    right = at(canvas, "medial", 50, 0).x() - canvas.width() / 2
    assert left > 0 > right
    assert left == pytest.approx(-right, abs=4)


def test_a_screen_reader_hears_the_map_and_what_is_in_hand(
    window: Window, canvas: MapCanvas
) -> None:
    said = canvas.accessibleDescription()
    assert "posterior end at 10 mm" in said
    assert "LEFT knee, menisci seen from above" in said


def test_the_wheel_changes_nothing(window: Window, canvas: MapCanvas, qtbot: QtBot) -> None:
    before = window.record()
    position = at(canvas, "medial", 48, 2.5)
    QTest.mouseMove(canvas, position)
    turn = QWheelEvent(
        QPointF(position),
        canvas.mapToGlobal(QPointF(position)),
        QPoint(0, 0),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(canvas, turn)
    assert window.record() == before


@pytest.mark.parametrize("inward", [2.5, 0.3])
def test_what_is_dragged_while_its_tear_is_undone_changes_nothing(
    window: Window, blank: MapCanvas, typist: Typist, eyes: Eyes, inward: float
) -> None:
    # By a mark of the tear, and along it as for a row of stitches.
    choose_technique(eyes, "Inside-out")
    drag(blank, at(blank, "lateral", 12, 3), at(blank, "lateral", 40, 3))
    (tear,) = blank._tears()
    along, rim = tear.place_of(Part.START) if inward > 1 else (12, inward)
    start, end = at(blank, "lateral", along, rim), at(blank, "lateral", 30, inward)
    QTest.mousePress(blank, LEFT, pos=start)
    QTest.mouseMove(blank, end)
    typist.press(Qt.Key.Key_Z, CTRL)
    undone = window.record()
    assert "tears" not in undone.rows
    QTest.mouseRelease(blank, LEFT, pos=end)
    assert window.record() == undone


def test_a_drag_begun_before_the_side_was_undone_changes_nothing(
    window: Window, blank: MapCanvas, typist: Typist
) -> None:
    start, end = at(blank, "lateral", 12, 3), at(blank, "lateral", 40, 3)
    QTest.mousePress(blank, LEFT, pos=start)
    QTest.mouseMove(blank, end)
    typist.press(Qt.Key.Key_Z, CTRL)
    undone = window.record()
    assert "side" not in undone.values
    QTest.mouseRelease(blank, LEFT, pos=end)
    assert window.record() == undone


@pytest.mark.parametrize(("spaces", "key"), [(1, Qt.Key.Key_Up), (2, Qt.Key.Key_Right)])
def test_presses_of_an_arrow_are_one_step_of_undo(
    window: Window, canvas: MapCanvas, typist: Typist, spaces: int, key: Qt.Key
) -> None:
    before = window.record()
    for _ in range(spaces):
        typist.press(Qt.Key.Key_Space)
    for _ in range(4):
        typist.press(key)
    assert window.record() != before
    typist.press(Qt.Key.Key_Z, CTRL)
    assert window.record() == before


def test_no_stitch_is_placed_where_none_can_be_seen(
    window: Window, blank: MapCanvas, eyes: Eyes, typist: Typist
) -> None:
    drag(blank, at(blank, "lateral", 12, 3), at(blank, "lateral", 40, 3))
    choose_technique(eyes, "Inside-out")
    blank.setFocus()
    for _ in range(4):
        typist.press(Qt.Key.Key_Space)
        typist.press(Qt.Key.Key_Return)
    assert "stitches" not in window.record().rows
    assert "Answer first, on the page Tears, that the tear was repaired." in eyes.texts()


def test_the_technique_of_one_patient_is_not_that_of_the_next(
    window: Window, canvas: MapCanvas, eyes: Eyes, typist: Typist
) -> None:
    choose_technique(eyes, "Inside-out")
    assert canvas.technique == "inside_out"
    window.new_case()
    window.go_to("side")
    typist.press(Qt.Key.Key_Right)
    again = show_map(window, typist)
    assert not again.technique
    assert not any(
        b.isChecked()
        for b in window.findChildren(QAbstractButton)
        if b.accessibleName().startswith("Stitches drawn")
    )
