"""How much a person does to enter demo case A: events, and seconds by the keystroke-level model.

`python tests/benchmarks/bench_entry.py` prints it. Not a test: figures belong to a script. The case
stands on the day's list, what is known before theatre is recorded, and the surgeon's usual practice
was filled in; "Go on after an answer" is switched on, which it is not by itself. An event is a key
press, with its modifier, or a click; a number is its digits, a scanned label one event. Free text
is reported apart. The person knows the window: letters while the hand is on the keys, Enter to what
is open next, one key to confirm a page and go on. Each answer is really given to the window, which
must hold the case at the end. `--trace` prints them.

Seconds: Card, Moran and Newell, "The keystroke-level model for user performance time with
interactive systems", Communications of the ACM 23 (1980) 396-410: K 0.20 s (average skilled
typist, 55 words a minute), P 1.10 s, H 0.40 s, M 1.35 s; a click is counted as K.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from datetime import date, datetime
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING, Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
# Not as `tests.desk.typist`: a package that is installed may be called `tests` as well.
sys.path.insert(0, str(ROOT / "tests" / "desk"))

from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLineEdit, QPlainTextEdit, QWidget

from opnote.assess import assess
from opnote.desk import theme
from opnote.desk.editor.option_button import letters_for
from opnote.desk.editor.options import BURST_MS
from opnote.desk.field_row import FieldRow
from opnote.desk.map_board import MapCanvas
from opnote.desk.onward import AFTER_ROWS, next_page, next_to_answer
from opnote.desk.page import PageView
from opnote.desk.rows_table import RowsTable
from opnote.desk.session import State
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import case_text, read_case
from opnote.pack.form import Field
from opnote.pack.normal import normal_answers
from opnote.pack.pack import Pack
from opnote.pack.usual import keep_practice, practice_of
from opnote.reckon.label import gs1_check_digit
from opnote.reckon.menisci import width_at
from opnote.record import NOT_EXAMINED, Origin, Quantity, Record, Value

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
CHOSEN: Final = frozenset(("choice", "grade", "choices", "yes_no", "ref"))
NOW: Final = datetime(2026, 3, 9, 10, 40)
"""The note is written at once after the operation, when the case says that it was."""
MOST_TABS: Final = 6
PRODUCT: Final = "095201234567"
"""The first twelve digits of the products on the labels: no product has this number, as GS1 keeps
the prefix 952 for demonstrations and examples (GS1 General Specifications, table of prefixes; from
memory)."""


class Clock:
    """Adds up seconds by the keystroke-level model, with M where the paper's rules place it.

    Rule 0 puts an M before each key that is no part of an argument string (text, numbers) and
    before each pointing that selects a command, not an argument; rule 1 takes it from the key that
    the pointing before it led up to; rule 2 leaves one for the keys of one unit, such as a key with
    its modifier; by rules 3 and 4 the key that ends a number or a text keeps its own, as these
    vary. The rules are those of the paper's figure 2 (from memory, and secondary sources).
    An answer chosen by letter or click counts as a command, so that each has its M.

    `with_every_m` places them without rules: one before every single answer, typed ones as well,
    and before every command, but none before a key that only goes to the next question.
    """

    def __init__(self) -> None:
        self.seconds = 0.0
        self.with_every_m = 0.0
        self._hand = "keys"

    def _add(self, seconds: float) -> None:
        self.seconds += seconds
        self.with_every_m += seconds

    def _to(self, hand: str) -> None:
        if hand != self._hand:
            self._hand = hand
            self._add(H)

    def answer(self) -> None:
        """An answer begins."""
        self.with_every_m += M

    def key(self, keys: int) -> None:
        """A key that is no part of a text or number; a modifier is a key of its own."""
        self._to("keys")
        self.seconds += M
        self._add(keys * K)

    def number(self, keys: int) -> None:
        """The keys of a number, which is an argument."""
        self._to("keys")
        self._add(keys * K)

    def click(self, *, is_command: bool) -> None:
        """Point and click."""
        self._to("mouse")
        self.seconds += M if is_command else 0
        self._add(P + K)

    def drag(self) -> None:
        """Point, press, point, let go: two places, which are arguments."""
        self._to("mouse")
        self._add(2 * P + 2 * K)

    def scan(self) -> None:
        """Take the scanner, aim, trigger; as the model knows no scanner, it counts as a mouse."""
        self._to("scanner")
        self.seconds += M
        self._add(P + K)


BY_ARROW: Final = "answers by arrow"
GOING: Final = frozenset(("Enter", "Tab"))
"""The keys that only go to another question."""


class Person:
    """Answers the questions of a window as one who knows it, and counts what that takes.

    What the person wants to say is the target. The hand stays on the keys; it goes to the mouse
    for the map, and where no key leads.
    """

    def __init__(self, window: Window, target: Record, pack: Pack) -> None:
        self.window = window
        self.target = target
        self.pack = pack
        self._pages = {field.path: page.id for page in pack.form.pages for field in page.fields}
        self.clock = Clock()
        self.events: Counter[str] = Counter()
        self.letters = 0
        self.trace: list[tuple[str, str, int]] = []
        self.trace_acts: list[Counter[str]] = []
        self._done: set[str] = set()

    # Acts

    def click(self, widget: QWidget, what: str, *, is_command: bool = True) -> None:
        """Point at a control and click."""
        QTest.mouseClick(widget, Qt.MouseButton.LeftButton)
        self.events[what] += 1
        self.clock.click(is_command=is_command)

    def key(self, key: Qt.Key, what: str, modifier: Qt.KeyboardModifier = NONE) -> None:
        """Press a key."""
        QTest.keyClick(self._focus(), key, modifier)
        self.events[what] += 1
        self.clock.key(1 if modifier == NONE else 2)
        if what not in GOING and what != BY_ARROW:
            self.clock.answer()

    def _letter(self, letter: str, what: str) -> None:
        """Press a letter; no faster than a person, or it would be taken for a scanner's."""
        QTest.qWait(BURST_MS + 5)
        QTest.keyClicks(self._focus(), letter)
        self._wait_to_be_led_on()
        self.events[what] += 1
        self.clock.key(1)

    def _wait_to_be_led_on(self) -> None:
        """Until the focus has moved, if it does; a busy computer needs longer than a person."""
        here = self._focus()
        for _ in range(6):
            QTest.qWait(BURST_MS)
            if QApplication.focusWidget() is not here:
                return

    @staticmethod
    def _focus() -> QWidget:
        focus = QApplication.focusWidget()
        assert isinstance(focus, QWidget)
        return focus

    # What is on screen

    def page(self) -> PageView:
        """The page on screen."""
        return next(p for p in self.window.findChildren(PageView) if p.isVisible())

    def _buttons(self) -> list[QAbstractButton]:
        return self.window.findChildren(QAbstractButton)

    def _offers(self, words: str) -> bool:
        return any(b.isVisible() and b.text().startswith(words) for b in self._buttons())

    def _in_hand(self) -> FieldRow | RowsTable | None:
        return self.page().question_around(QApplication.focusWidget())

    def _state(self) -> State:
        return State(self.pack, self.window.record())

    # Going through the case

    def enter(self) -> None:
        """Answer page after page, until nothing is left to answer or to confirm."""
        while True:
            self._page()
            before = self.page()
            while self.page() is before:
                self.key(Qt.Key.Key_F8, "confirm and go on")
                if self._is_done():
                    return

    def _is_done(self) -> bool:
        pages = [page.id for page in self.pack.form.pages]
        return next_page(self._state(), self._page_of, pages, pages[0]) is None

    def _page(self) -> None:
        tables = [q.path for q in self.page().questions() if isinstance(q, RowsTable)]
        if "tears" in tables:
            self._draw(self._draw_tears)
        if "stitches" in tables:
            self._draw(self._draw_stitches)
        self._answer_all(normal_too=False)
        rest = normal_answers(self._state().pack, self._state().view, self._seen())
        if len(rest) > 1 and all(self.target.values.get(p) == v for p, v in rest.items()):
            self.key(Qt.Key.Key_G, "the rest is normal", Qt.KeyboardModifier.ControlModifier)
        self._answer_all(normal_too=True)

    def _seen(self) -> list[str]:
        return [q.path for q in self.page().questions()]

    def _draw(self, draw: Callable[[], None]) -> None:
        canvas = self.window.findChild(MapCanvas)
        if canvas is None or not canvas.isVisible():
            self.key(Qt.Key.Key_4, "to the map and back", Qt.KeyboardModifier.AltModifier)
        draw()
        self.key(Qt.Key.Key_2, "to the map and back", Qt.KeyboardModifier.AltModifier)

    def _draw_tears(self) -> None:
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
            field = self.pack.fields["stitches.technique"]
            option = field.option(technique)
            assert option is not None
            name = f"Stitches drawn: {option.label}"
            button = next(b for b in self._buttons() if b.accessibleName() == name)
            self.clock.answer()
            self.click(button, "answers by click")
            start, end = (amount(self.target.values[f"{path}.{n}"]) for n in ("from_mm", "to_mm"))
            self._drag(meniscus, (start, 0.2), (end, 0.2))

    def _drag(self, meniscus: str, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Draw on the map: point, press, point, let go."""
        canvas = self.window.findChild(MapCanvas)
        assert isinstance(canvas, MapCanvas)
        begin, stop = (canvas.place_on_screen(meniscus, *at).toPoint() for at in (start, end))
        QTest.mousePress(canvas, Qt.MouseButton.LeftButton, pos=begin)
        QTest.mouseMove(canvas, stop)
        QTest.mouseRelease(canvas, Qt.MouseButton.LeftButton, pos=stop)
        self.events["drawn on the map"] += 1
        self.clock.answer()
        self.clock.drag()

    # Answering

    def _answer_all(self, *, normal_too: bool) -> None:
        """Answer what the target says; first what isn't normal, so that one key says the rest."""
        while wanted := self._wanted_here(normal_too=normal_too):
            in_hand = self._in_hand()
            here = "" if in_hand is None else in_hand.path
            before, acts = sum(self.events.values()), self.events.copy()
            path = here if here in wanted else self._come_to_one_of(wanted)
            self._done.add(path)
            question = self.page().question_at(path)
            if isinstance(question, RowsTable):
                self._done.discard(path)
                self._table(question)
            else:
                assert isinstance(question, FieldRow)
                self.clock.answer()
                self._answer(question)
            self.trace.append((self.page().page.id, path, sum(self.events.values()) - before))
            self.trace_acts.append(self.events - acts)

    def _wanted_here(self, *, normal_too: bool) -> list[str]:
        """The paths of this page, in order, that the target answers and the record doesn't yet."""
        record, view = self.window.record(), self._state().view
        fields = {field.path: field for field in self.page().page.fields}
        found = []
        for path in view.concrete:
            table = path.partition(".")[0] if path.count(".") == 2 else ""
            field = fields.get(table or path)
            if field is None or path in self._done or view.is_hidden(path):
                continue
            if field.kind == "rows" and not table:
                rows = self.target.rows.get(path)
                has = record.rows.get(path)
                if rows is not None and (has is None or len(has) < len(rows)):
                    found.append(path)
                continue
            asked = view.concrete[path].field
            if asked.kind == "scan" and path not in record.values and self._label_of(path):
                found.append(path)
                continue
            wanted = self._target_of(path)
            if wanted is None or record.values.get(path) == wanted:
                continue
            if asked.is_computed or (asked.normal == wanted and not normal_too):
                continue
            found.append(path)
        # Another row comes once those that are there are answered.
        return sorted(found, key=lambda path: path in fields and fields[path].kind == "rows")

    def _target_of(self, path: str) -> Value | None:
        """What the case says here; rows stand in the same order under other ids."""
        if path.count(".") < 2:
            return self.target.values.get(path)
        table, row, column = path.split(".")
        record = self.window.record()
        theirs = self.target.rows.get(table, ())
        index = record.rows[table].index(row)
        if index >= len(theirs):
            return None
        value = self.target.values.get(f"{table}.{theirs[index]}.{column}")
        field = self.pack.fields[f"{table}.{column}"]
        if field.kind == "ref" and value is not None:
            at = self.target.rows[field.refers_to].index(str(value))
            return record.rows[field.refers_to][at]
        return value

    def _label_of(self, path: str) -> str:
        """What the scanner reads off the pack of a device: its first lot, and the use-by date."""
        row = path.rpartition(".")[0]
        expiry = self._target_of(f"{row}.expiry")
        lot = str(self._target_of(f"{row}.lot")).partition(" ")[0]
        if not isinstance(expiry, date):
            return ""
        number = f"{PRODUCT}{self.window.record().rows['devices'].index(row.partition('.')[2])}"
        return f"]d201{number}{gs1_check_digit(number)}17{expiry:%y%m%d}10{lot}"

    def _come_to_one_of(self, wanted: list[str]) -> str:
        """By Enter where it leads to a question with an answer, else by Tab, else by a click."""
        page, here = self.page(), self._in_hand()
        if here is not None:
            if self._where_enter_leads(here) in wanted:
                self.key(Qt.Key.Key_Return, "Enter")
                reached = self._in_hand()
                assert reached is not None
                return reached.path
            asked = [q.path for q in page.questions()]
            beside = asked[asked.index(here.path) + 1 :][:1] if here.path in asked else []
            if beside and beside[0] in wanted:
                self._tab_to(beside[0])
                return beside[0]
        question = page.question_at(wanted[0])
        assert question is not None
        if isinstance(question, FieldRow) and question.field.kind in CHOSEN:
            return wanted[0]  # its answer is clicked at once
        box = question.findChildren(QLineEdit) + question.findChildren(QPlainTextEdit)
        if isinstance(question, FieldRow) and box:
            self.click(box[0], "boxes clicked", is_command=False)
            box[0].setFocus()
        return wanted[0]

    def _where_enter_leads(self, here: FieldRow | RowsTable) -> str:
        state, page_of = self._state(), self._page_of
        if isinstance(here, RowsTable):
            return next_to_answer(state, page_of, here.path + AFTER_ROWS) or ""
        if here.field.kind == "prose":
            return ""
        found = next_to_answer(state, page_of, here.path, here.field.table)
        return found or here.field.table

    def _page_of(self, path: str) -> str:
        return self._pages.get(path) or self._pages.get(path.partition(".")[0], "")

    def _tab_to(self, path: str) -> None:
        for _ in range(MOST_TABS):
            self.key(Qt.Key.Key_Tab, "Tab")
            reached = self._in_hand()
            if reached is not None and reached.path == path:
                return
        raise AssertionError(f"Tab does not lead to {path}")

    def lacking(self) -> list[str]:
        """The answers of the target, rows included, that the window's record doesn't hold."""
        record = self.window.record()
        paths = [path for path in self.target.values if path.count(".") < 2]
        for table, rows in self.target.rows.items():
            paths += [
                f"{table}.{ours}.{column.name}"
                for ours, _ in zip_longest(record.rows.get(table, ()), rows, fillvalue="none")
                for column in self.pack.fields[table].columns
            ]
        return sorted(p for p in paths if self._differs(p))

    def _differs(self, path: str) -> bool:
        if ".none." in path:
            return True
        wanted = self._target_of(path)
        return wanted is not None and self.window.record().values.get(path) != wanted

    def _table(self, table: RowsTable) -> None:
        wanted = self.target.rows.get(table.path)
        at_hand = self._in_hand() is table
        if not wanted:
            self.clock.answer()
            none = next(
                b
                for b in table.findChildren(QAbstractButton)
                if b.isVisible() and b.accessibleName().startswith(f"{table.field.label}:")
            )
            if at_hand:
                self._letter(letters_for([none.text()])[0], "no row, by letter")
            else:
                self.click(none, "no row, by click")
            return
        add = next(b for b in table.findChildren(QAbstractButton) if b.text()[:4] == "Add ")
        if self._focus() is add:
            self.key(Qt.Key.Key_Space, "add a row")
        else:
            self.click(add, "add a row")

    def _answer(self, question: FieldRow) -> None:
        field, value = question.field, self._target_of(question.path)
        if field.kind == "scan":
            self._scan(question)
            return
        assert value is not None
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
        return question.isAncestorOf(self._focus())

    def _hit(self, question: FieldRow, labels: list[str], indexes: list[int]) -> None:
        """Choose by letters while the question is in hand, a side by its arrow; else by clicks."""
        letters = letters_for(labels)
        for index in indexes:
            if not self._is_in_hand(question):
                buttons = question.findChildren(QAbstractButton)
                button = next(b for b in buttons if b.text() == labels[index])
                self.click(button, "answers by click")
            elif question.field.deliberate:
                self._by_arrows(index, is_tick=question.field.kind == "choices")
            else:
                self._letter(letters[index], "answers by letter")

    def _scan(self, question: FieldRow) -> None:
        """The scanner types the code and ends it with Enter."""
        assert self._is_in_hand(question), question.path
        QTest.keyClicks(self._focus(), self._label_of(question.path))
        QTest.keyClick(self._focus(), Qt.Key.Key_Return)
        self.events["labels scanned"] += 1
        self.clock.scan()

    def _by_arrows(self, index: int, *, is_tick: bool) -> None:
        """Choose among answers that have no letters, as a side is one of them."""
        arrow = Qt.Key.Key_Left if index == 0 else Qt.Key.Key_Right
        for _ in range(index if is_tick else max(1, index)):
            self.key(arrow, BY_ARROW)
        if is_tick:
            self.key(Qt.Key.Key_Space, BY_ARROW)

    def _type(self, question: FieldRow, field: Field, value: Value) -> None:
        kinds: tuple[type[QWidget], ...] = (QLineEdit, QPlainTextEdit)
        box = next(w for kind in kinds for w in question.findChildren(kind) if w.isVisible())
        assert self._is_in_hand(question), question.path
        text = "n" if isinstance(value, datetime) and value == NOW else typed(value)
        if isinstance(box, QLineEdit):
            box.selectAll()
        QTest.keyClicks(box, text)
        if field.kind == "time":
            self._wait_to_be_led_on()
        if field.kind in PROSE:
            self.letters += len(text)
        else:
            self.events["digits"] += len(text)
            self.clock.number(len(text))


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
        window = Window(settings, data / "cases", lambda: NOW)
        window.set_goes_on(True)
        window.resize(1920, 1080)
        window.show()
        window.activateWindow()
        window.open_folder(folder)
        while not window.has_read_all() or window.current_path() is None:
            application.processEvents()
        person = Person(window, target, pack)
        ctrl = Qt.KeyboardModifier.ControlModifier
        person.key(Qt.Key.Key_U, "fill in the usual practice", ctrl)
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
    print('"Go on after an answer" is switched on, which it is not by itself')
    for what, count in person.events.most_common():
        print(f"  {what:32} {count:5}")
    print(f"  {'events in all':32} {total:5}   (goal 60)")
    seconds, strict = person.clock.seconds, person.clock.with_every_m
    print(f"  {'seconds by the rules of the paper':32} {seconds:5.0f}   (goal 90)")
    print(f"  {'seconds, an M at every answer':32} {strict:5.0f}")
    print(f"  {'letters of free text, apart':32} {person.letters:5}")
    lacking = person.lacking()
    still = [finding.message for finding in assess(pack, view).open]
    print(f"  {'answers that differ':32} {len(lacking):5}   {lacking[:6]}")
    scanned = sorted(path for path in record.values if record.origin(path) is Origin.SCANNED)
    print(f"  {'answers that a scan filled':32} {len(scanned):5}   {scanned}")
    print(f"  {'still open':32} {len(still):5}")
    for words in still:
        print(f"      {words}")
    if "--trace" in sys.argv:
        for (page, path, events), acts in zip(person.trace, person.trace_acts, strict=True):
            print(f"{page:16} {path:36} {events:3}  {dict(acts)}")


if __name__ == "__main__":
    main()
