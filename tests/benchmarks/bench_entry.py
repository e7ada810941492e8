"""How much a person does to enter demo case A: events, and seconds by the keystroke-level model.

`python tests/benchmarks/bench_entry.py` prints it. Not a test: figures belong to a script. The
case stands on the day's list, what is known before theatre is recorded, and the surgeon's usual
practice was filled in; a letter that answers leads on. An event is a key press or a click; a number
is its digits. Free text is reported apart. Each answer is really given to the window, which must
hold the case at the end.

Seconds: Card, Moran and Newell, "The keystroke-level model for user performance time with
interactive systems", Communications of the ACM 23 (1980) 396-410: K 0.20 s (average skilled
typist, 55 words a minute), P 1.10 s, H 0.40 s, M 1.35 s; a click is counted as K.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections import Counter
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
# Not as `tests.desk.typist`: a package that is installed may be called `tests` as well.
sys.path.insert(0, str(ROOT / "tests" / "desk"))

from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QPlainTextEdit, QWidget

from opnote.assess import assess
from opnote.desk import theme
from opnote.desk.editor.option_button import letters_for
from opnote.desk.editor.options import BURST_MS
from opnote.desk.field_row import FieldRow
from opnote.desk.map_board import MapCanvas
from opnote.desk.page import PageView
from opnote.desk.rows_table import RowsTable
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import case_text, read_case
from opnote.pack.form import Field
from opnote.pack.usual import keep_practice, practice_of
from opnote.reckon.menisci import width_at
from opnote.record import NOT_EXAMINED, Quantity, Record, Value

if TYPE_CHECKING:
    from tests.desk.typist import typed
else:
    from typist import typed

NONE: Final = Qt.KeyboardModifier.NoModifier
K: Final = 0.20
P: Final = 1.10
H: Final = 0.40
M: Final = 1.35

BEFORE_THEATRE: Final = frozenset(
    (
        "patient",
        "indication",
        "health",
        "examination",
        "stability",
        "imaging",
        "planned",
        "consent",
        "consent_record",
        "team",
    )
)
"""The pages that are filled before the day, or from the list."""
PROSE: Final = frozenset(("text", "prose", "person", "scan"))


class Person:
    """Answers the questions of a window, and counts what that takes."""

    def __init__(self, window: Window, target: Record) -> None:
        self.window = window
        self.target = target
        self.events: Counter[str] = Counter()
        self.letters = 0
        self.seconds = 0.0
        self._hand = "mouse"
        self._clicked: set[str] = set()

    def _think(self) -> None:
        self.seconds += M

    def _to(self, hand: str) -> None:
        if hand != self._hand:
            self._hand = hand
            self.seconds += H

    def click(self, widget: QWidget, what: str) -> None:
        """Point at a control and click."""
        self._to("mouse")
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton)
        self.events[what] += 1
        self.seconds += P + K

    def key(self, key: Qt.Key, modifier: Qt.KeyboardModifier, what: str) -> None:
        """Press a key."""
        self._to("keys")
        focus = QApplication.focusWidget()
        assert isinstance(focus, QWidget)
        QTest.keyClick(focus, key, modifier)
        self.events[what] += 1
        self.seconds += K

    def page(self) -> PageView:
        """The page on screen."""
        shown = (p for p in self.window.findChildren(PageView) if p.isVisible())
        return next(shown)

    def enter(self) -> None:
        """Go through the pages from the first to the last."""
        ctrl = Qt.KeyboardModifier.ControlModifier
        while True:
            self._page(ctrl)
            before = self.page()
            self.key(Qt.Key.Key_Down, ctrl, "next page")
            if self.page() is before:
                self.events["next page"] -= 1
                return

    def _page(self, ctrl: Qt.KeyboardModifier) -> None:
        tables = [q.path for q in self.page().questions() if isinstance(q, RowsTable)]
        if "tears" in tables:
            self._draw_tears()
        if "stitches" in tables:
            self._draw_stitches()
        self._answer_all(before_normal=True)
        if any(b.isVisible() and b.text().startswith("The rest is") for b in self._buttons()):
            rest = self._rest()
            if rest and all(self.target.values.get(p) == v for p, v in rest.items()):
                self._think()
                self.key(Qt.Key.Key_G, ctrl, "the rest is normal")
        self._answer_all(before_normal=False)
        if any(b.isVisible() and b.text().startswith("Confirm th") for b in self._buttons()):
            self._think()
            self.key(Qt.Key.Key_K, ctrl, "confirm the page")

    def _draw_tears(self) -> None:
        self.key(Qt.Key.Key_4, Qt.KeyboardModifier.AltModifier, "to the map")
        for row in self.target.rows["tears"]:
            said = {
                n: self.target.values[f"tears.{row}.{n}"] for n in ("from_mm", "to_mm", "rim_mm")
            }
            start, end, rim = (amount(said[name]) for name in ("from_mm", "to_mm", "rim_mm"))
            meniscus = str(self.target.values[f"tears.{row}.meniscus"])
            self._drag(meniscus, (start, 6), (end, 6))
            middle = (start + end) / 2
            self._drag(meniscus, (middle, width_at(meniscus, middle) / 2), (middle, rim))

    def _draw_stitches(self) -> None:
        """Draw each row as the stretch that it holds; where they are in their tear's rim."""
        for row in self.target.rows["stitches"]:
            path = f"stitches.{row}"
            tear = self.target.values[f"{path}.tear"]
            technique = str(self.target.values[f"{path}.technique"])
            meniscus = str(self.target.values[f"tears.{tear}.meniscus"])
            field = cached_pack(self.target.procedures).fields["stitches.technique"]
            option = field.option(technique)
            assert option is not None
            name = f"Stitches drawn: {option.label}"
            button = next(b for b in self._buttons() if b.accessibleName() == name)
            self._think()
            self.click(button, "answers by click")
            start, end = (amount(self.target.values[f"{path}.{n}"]) for n in ("from_mm", "to_mm"))
            self._drag(meniscus, (start, 0.2), (end, 0.2))

    def _drag(self, meniscus: str, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Draw on the map: point, press, point, let go."""
        canvas = self.window.findChild(MapCanvas)
        assert isinstance(canvas, MapCanvas)
        begin, stop = (canvas.place_on_screen(meniscus, *at).toPoint() for at in (start, end))
        self._think()
        self._to("mouse")
        QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=begin)
        QTest.mouseMove(canvas, stop)
        QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=stop)
        self.events["drawn on the map"] += 1
        self.seconds += 2 * P + 2 * K

    def _buttons(self) -> list[QAbstractButton]:
        return self.window.findChildren(QAbstractButton)

    def _rest(self) -> dict[str, Value]:
        record = self.window.record()
        return {
            q.path: q.field.normal
            for q in self.page().questions()
            if isinstance(q, FieldRow)
            and q.is_asked
            and q.field.normal
            and q.path not in record.values
        }

    def _answer_all(self, *, before_normal: bool) -> None:
        """Answer in order; first, beside numbers, only what isn't normal."""
        answered = True
        while answered:
            answered = False
            for question in self.page().questions():
                if isinstance(question, RowsTable):
                    answered = self._table(question)
                else:
                    answered = self._field(question, before_normal)
                if answered:
                    break

    def _table(self, table: RowsTable) -> bool:
        if not table.is_asked:
            return False
        wanted = self.target.rows.get(table.path)
        if wanted and table.row_count < len(wanted):
            add = next(b for b in table.findChildren(QAbstractButton) if b.text()[:4] == "Add ")
            self._think()
            self.click(add, "add a row")
            return True
        if wanted == () and not table.is_answered_none:
            none = next(
                b
                for b in table.findChildren(QAbstractButton)
                if b.isVisible() and b.accessibleName().startswith(f"{table.field.label}:")
            )
            self._think()
            self.click(none, "no row")
            return True
        for row in list(table.questions()):
            if self._field(row, before_normal=False):
                return True
        if wanted and table.row_count == len(wanted):
            return self._unfold_next(table, wanted)
        return False

    def _unfold_next(self, table: RowsTable, wanted: tuple[str, ...]) -> bool:
        """Go to a row that still lacks an answer."""
        record = self.window.record()
        for ours, theirs in zip(record.rows.get(table.path, ()), wanted, strict=False):
            for column in table.field.columns:
                path = f"{table.path}.{ours}.{column.name}"
                if path in self._clicked or record.values.get(path) is not None:
                    continue
                value = self.target.values.get(f"{table.path}.{theirs}.{column.name}")
                question = table.question_at(path) if value is not None else None
                if question is not None and question.is_asked:
                    self.events["unfold a row"] += 1
                    self.seconds += P + K
                    return True
        return False

    def _wanted(self, question: FieldRow) -> Value | None:
        """What the case says here; rows stand in the same order under other ids."""
        if not question.field.table:
            return self.target.values.get(question.path)
        table, row, column = question.path.split(".")
        index = self.window.record().rows[table].index(row)
        theirs = self.target.rows.get(table, ())
        if index >= len(theirs):
            return None
        value = self.target.values.get(f"{table}.{theirs[index]}.{column}")
        if question.field.kind == "ref":
            rows = self.target.rows[question.field.refers_to].index(str(value))
            return self.window.record().rows[question.field.refers_to][rows]
        return value

    def _field(self, question: FieldRow, before_normal: bool) -> bool:
        wanted = self._wanted(question)
        is_here = self.window.record().values.get(question.path) == wanted
        if not question.is_asked or wanted is None or is_here or question.path in self._clicked:
            return False
        if before_normal and question.field.normal == wanted:
            return False
        self._clicked.add(question.path)
        self._answer(question, question.field, wanted)
        return True

    def _answer(self, question: FieldRow, field: Field, value: Value) -> None:
        self._think()
        if field.kind in ("choice", "grade"):
            index = [option.value for option in field.options].index(str(value))
            self._hit(question, [option.label for option in field.options], [index])
        elif field.kind == "choices":
            held = self.window.record().values.get(question.path, ())
            assert isinstance(value, tuple)
            assert isinstance(held, tuple)
            changed = [(o.value in value) != (o.value in held) for o in field.options]
            indexes = [index for index, is_changed in enumerate(changed) if is_changed]
            self._hit(question, [option.label for option in field.options], indexes)
        elif field.kind == "yes_no":
            answers: list[Value] = [True, False, NOT_EXAMINED]
            self._hit(question, ["Yes", "No", "Not examined"], [answers.index(value)])
        elif field.kind == "ref":
            index = self.window.record().rows[field.refers_to].index(str(value))
            buttons = [b for b in question.findChildren(QAbstractButton) if b.isVisible()]
            self.click(buttons[index], "answers by click")
        else:
            self._type(question, field, value)

    def _is_in_hand(self, question: FieldRow) -> bool:
        focus = QApplication.focusWidget()
        return isinstance(focus, QWidget) and question.isAncestorOf(focus)

    def _hit(self, question: FieldRow, labels: list[str], indexes: list[int]) -> None:
        """Choose by letters while the question is in hand, else by clicks."""
        letters = letters_for(labels)
        for index in indexes:
            if self._is_in_hand(question) and letters[index] and not question.field.deliberate:
                QTest.qWait(BURST_MS + 5)
                self._to("keys")
                focus = QApplication.focusWidget()
                assert isinstance(focus, QWidget)
                QTest.keyClicks(focus, letters[index])
                self.events["answers by letter"] += 1
                self.seconds += K
                if question.field.kind != "choices":
                    QTest.qWait(BURST_MS + 15)
            else:
                buttons = question.findChildren(QAbstractButton)
                self.click(
                    next(b for b in buttons if b.text() == labels[index]), "answers by click"
                )

    def _come_to(self, question: FieldRow, box: QWidget) -> None:
        """Enter, where it leads here from the question in hand; else a click."""
        asked = list(self.page().questions())
        before = next((q for q in asked if isinstance(q, FieldRow) and self._is_in_hand(q)), None)
        follows = before is not None and asked.index(question) == asked.index(before) + 1
        if follows and before is not None and before.field.kind != "prose":
            self.key(Qt.Key.Key_Return, NONE, "Enter")
        if not self._is_in_hand(question):
            self.click(box, "boxes clicked")
            box.setFocus()

    def _type(self, question: FieldRow, field: Field, value: Value) -> None:
        kinds: tuple[type[QWidget], ...] = (QLineEdit, QPlainTextEdit)
        box = next(w for kind in kinds for w in question.findChildren(kind) if w.isVisible())
        text = typed(value)
        if not self._is_in_hand(question):
            self._come_to(question, box)
        self._to("keys")
        if isinstance(box, QLineEdit):
            box.selectAll()
        QTest.keyClicks(box, text)
        if field.kind in PROSE:
            self.letters += len(text)
        else:
            self.events["digits"] += len(text)
            self.seconds += K * len(text)


def amount(value: Value) -> float:
    """The number of a measure."""
    assert isinstance(value, Quantity)
    return float(value.amount)


def listed(target: Record) -> Record:
    """The case as it stands on the day's list, with what was recorded before theatre."""
    pack = cached_pack(target.procedures)
    early = {
        field.path for page in pack.form.pages if page.id in BEFORE_THEATRE for field in page.fields
    }
    blank = pack.new_record()

    def is_early(path: str) -> bool:
        field = pack.field_at(path)
        return field is not None and (field.table or field.path) in early

    return blank.with_changes(
        values={p: v for p, v in target.values.items() if is_early(p)},
        rows={t: rows for t, rows in target.rows.items() if t in early},
        next_row=target.next_row,
    )


def main() -> None:
    """Enter the case and print what it took."""
    with tempfile.TemporaryDirectory() as name:
        data = Path(name)
        folder = data / "list"
        folder.mkdir()
        os.environ.setdefault("OPNOTE_CACHE", str(data / "cache"))
        sample = ROOT / "forms" / "samples" / "case_a.json"
        target, pack = read_case(sample.read_text("utf-8"), "case_a", cached_pack)
        (folder / "case_a.json").write_text(case_text(listed(target), pack.form), "utf-8")
        practice = practice_of(pack, pack.view(target), str(target.values["team.surgeon"]))
        keep_practice(practice, data / "usual_practice" / "usual.json")
        application = QApplication.instance() or QApplication([])
        assert isinstance(application, QApplication)
        application.setStyle("Fusion")
        theme.apply_scheme(theme.Scheme.LIGHT)
        settings = QSettings(str(data / "w.ini"), QSettings.Format.IniFormat)
        window = Window(settings, data / "cases", lambda: datetime(2026, 3, 9, 11, 30))
        window.resize(1920, 1080)
        window.show()
        window.activateWindow()
        window.open_folder(folder)
        while not window.has_read_all() or window.current_path() is None:
            application.processEvents()
        (goes_on,) = (a for a in window.findChildren(QAction) if "after a letter" in a.text())
        goes_on.trigger()
        person = Person(window, target)
        person.key(Qt.Key.Key_U, Qt.KeyboardModifier.ControlModifier, "fill in the usual practice")
        window.show_page("theatre")
        person.enter()
        _tell(person, window)
        window.close()


def _tell(person: Person, window: Window) -> None:
    record = window.record()
    pack = cached_pack(record.procedures)
    view = pack.view(record)
    total = sum(person.events.values())
    print("demo case A, on the list, usual practice filled in; from the page Theatre on")
    for what, count in person.events.most_common():
        print(f"  {what:32} {count:5}")
    print(f"  {'events in all':32} {total:5}   (goal 60)")
    print(f"  {'seconds by the model':32} {person.seconds:5.0f}   (goal 90)")
    print(f"  {'letters of free text, apart':32} {person.letters:5}")
    lacking = sorted(
        path
        for path, value in person.target.values.items()
        if "." in path
        and path.count(".") == 1
        and path not in person.target.origins
        and record.values.get(path) != value
    )
    still = [finding.message for finding in assess(pack, view).open]
    print(f"  {'answers that differ':32} {len(lacking):5}   {lacking[:6]}")
    print(f"  {'still open':32} {len(still):5}")
    for words in still:
        print(f"      {words}")


if __name__ == "__main__":
    main()
