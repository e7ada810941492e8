"""Numbers and days as they are written where the computer is; documents keep their own style."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QLocale, QSettings, Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QLineEdit
from pytestqt.qtbot import QtBot

from opnote.desk import theme
from opnote.desk.habits import habits_of
from opnote.desk.reading import (
    Bounds,
    Habits,
    day_words,
    read_date,
    read_datetime,
    read_quantity,
    text_of,
)
from opnote.desk.window import Window
from opnote.record import UNSET, Quantity
from tests.desk.conftest import Eyes, Typist

TODAY = date(2026, 3, 9)
NOW = datetime(2026, 3, 9, 11, 30)
GERMAN = habits_of(QLocale("de_DE"))
AMERICAN = habits_of(QLocale("en_US"))
BRITISH = habits_of(QLocale("en_GB"))
SWEDISH = habits_of(QLocale("sv_SE"))
ALL = [GERMAN, AMERICAN, BRITISH, SWEDISH, habits_of(QLocale.c()), habits_of(QLocale("fr_FR"))]
ALL += [habits_of(QLocale(name)) for name in ("cs_CZ", "vi_VN", "ja_JP", "fi_FI", "pl_PL", "pt_BR")]


def test_numbers_show_the_mark_of_the_place_and_are_read_with_both() -> None:
    half = Quantity(2.5, "mm")
    assert text_of(half, GERMAN) == "2,5"
    assert text_of(half, AMERICAN) == "2.5"
    for habits in (GERMAN, AMERICAN):
        for text in ("2,5", "2.5"):
            assert read_quantity(text, Bounds(unit="mm"), habits).value == half


def test_only_the_mark_of_another_place_is_echoed() -> None:
    assert read_quantity("2,5", Bounds(unit="mm"), GERMAN).understood == ""
    assert read_quantity("2.5", Bounds(unit="mm"), GERMAN).understood == "2,5 mm"
    assert read_quantity("2,5", Bounds(unit="mm"), AMERICAN).understood == "2.5 mm"


def test_limits_are_told_with_the_mark_of_the_place() -> None:
    assert read_quantity("9", Bounds(most=2.5, unit="mm"), GERMAN).problem == "2,5 mm at most"


def test_three_digits_are_guessed_nowhere() -> None:
    for text in ("1.250", "1,250"):
        for habits in (GERMAN, AMERICAN):
            assert read_quantity(text, Bounds(), habits).value is UNSET


def test_the_order_of_day_and_month_is_that_of_the_place() -> None:
    assert read_date("3/9/26", TODAY, AMERICAN).value == TODAY
    assert read_date("9/3/26", TODAY, BRITISH).value == TODAY
    assert read_date("9.3.26", TODAY, GERMAN).value == TODAY
    assert read_date("2026-03-09", TODAY, AMERICAN).value == TODAY


def test_where_the_year_comes_first_numbers_alone_are_not_guessed() -> None:
    assert read_date("2026-03-09", TODAY, SWEDISH).value == TODAY
    reading = read_date("9/3/26", TODAY, SWEDISH)
    assert reading.value is UNSET
    assert "2026-03-09" in reading.problem


def test_a_day_that_was_understood_is_said_as_the_place_writes_it() -> None:
    # Common practice of the three places.
    assert day_words(TODAY, AMERICAN) == "Mon March 9, 2026"
    assert day_words(TODAY, BRITISH) == "Mon 9 March 2026"
    assert day_words(TODAY, GERMAN) == "Mo 9. März 2026"


@pytest.mark.parametrize("text", ["9. März 2026", "9 mrz 26", "9 march 2026", "9. maerz 2026"])
def test_months_are_read_in_the_language_of_the_place_and_in_english(text: str) -> None:
    reading = read_date(text, TODAY, GERMAN)
    known = text in ("9. März 2026", "9 march 2026")
    assert (reading.value == TODAY) is known
    assert bool(reading.problem) is not known


@pytest.mark.parametrize("text", ["Mar 9, 2026", "march 9 2026", "9 mar 2026", "Mar 9"])
def test_a_named_month_may_stand_before_its_day(text: str) -> None:
    for habits in (GERMAN, AMERICAN, BRITISH, SWEDISH):
        assert read_date(text, TODAY, habits).value == TODAY


def test_what_cannot_be_read_is_answered_with_an_example_of_the_place() -> None:
    assert "3/9/26" in read_date("31/12/26", TODAY, AMERICAN).problem
    assert "9/3/26" in read_date("12/31/26", TODAY, BRITISH).problem


@given(st.dates(date(1917, 1, 1), date(2036, 1, 1)), st.sampled_from(ALL))
def test_a_day_as_it_is_shown_is_read_as_the_same_day(day: date, habits: Habits) -> None:
    assert read_date(text_of(day, habits), TODAY, habits).value == day
    moment = datetime.combine(day, NOW.time())
    assert read_datetime(text_of(moment, habits), NOW, habits).value == moment


@pytest.fixture
def german_window(
    cases: Path, tmp_path: Path, pack_cache: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Window]:
    yield from _window_in("de_DE", cases, tmp_path, pack_cache, qtbot, monkeypatch)


@pytest.fixture
def american_window(
    cases: Path, tmp_path: Path, pack_cache: Path, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Window]:
    yield from _window_in("en_US", cases, tmp_path, pack_cache, qtbot, monkeypatch)


def _window_in(
    locale: str,
    cases: Path,
    tmp_path: Path,
    pack_cache: Path,
    qtbot: QtBot,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Window]:
    monkeypatch.setenv("OPNOTE_CACHE", str(pack_cache))
    theme.apply_scheme(theme.Scheme.LIGHT)
    QLocale.setDefault(QLocale(locale))
    settings = QSettings(str(tmp_path / "window.ini"), QSettings.Format.IniFormat)
    window = Window(settings, tmp_path / "new", lambda: NOW)
    window.show()
    qtbot.waitExposed(window)
    window.activateWindow()
    with qtbot.waitSignal(window.case_shown, timeout=20_000):
        window.open_folder(cases, cases / "case_a.json")
    yield window
    window.close()
    window.deleteLater()
    QLocale.setDefault(QLocale.c())
    QApplication.processEvents()


def replace(window: Window, typist: Typist, path: str, text: str) -> QLineEdit:
    window.go_to(path)
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    typist.press(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    typist.type(text)
    return box


def note(window: Window) -> str:
    assert window._workspace is not None
    return window._workspace.paper_pane.paper.toPlainText()


def check_window(
    window: Window, typist: Typist, shown: str, words_of_day: str, number: str
) -> None:
    path = "operation.date"
    before = window.record().values[path]
    window.go_to(path)
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    assert box.text() == shown
    replace(window, typist, path, words_of_day)
    assert window.record().values[path] == before
    table = next(p for p in window.record().values if p.endswith(".rim_mm"))
    assert replace(window, typist, table, number).text() == number
    assert window.record().values[table] == Quantity(3.5, "mm")
    assert "3.5 mm" in note(window)
    assert "3,5 mm" not in note(window)
    assert "9 March 2026" in note(window)


def test_a_window_in_germany(german_window: Window, typist: Typist) -> None:
    check_window(german_window, typist, "9. März 2026", "9.3.26", "3,5")


def test_a_window_in_the_united_states(american_window: Window, typist: Typist) -> None:
    check_window(american_window, typist, "Mar 9, 2026", "3/9/26", "3.5")


def test_a_month_that_may_be_two_is_not_guessed() -> None:
    # "mar" begins March in English and marraskuu, November, in Finnish.
    finnish = habits_of(QLocale("fi_FI"))
    assert read_date("9 mar 2026", TODAY, finnish).value is UNSET
    assert read_date("9 march 2026", TODAY, finnish).value == TODAY


def test_the_day_on_which_the_sheet_was_given_is_read_as_the_days_beside_it(
    american_window: Window, typist: Typist
) -> None:
    window = american_window
    window.writing.give_sheet()
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    assert box.text() == "Mar 9, 2026"
    box.selectAll()
    typist.type("31/12/25")
    typist.press(Qt.Key.Key_Return)
    assert "write it as 3/9/26" in Eyes(window).texts()
    box.selectAll()
    typist.type("2/4/26")
    typist.press(Qt.Key.Key_Return)
    days = {each.on for each in window.record().given["risk_sheet"]}
    assert date(2026, 2, 4) in days
    assert date(2026, 4, 2) not in days
    assert "The risk sheet was given on February 4, 2026." in Eyes(window).texts()


def test_the_tick_of_a_list_rules_its_date_too(
    american_window: Window, typist: Typist, tmp_path: Path, qtbot: QtBot
) -> None:
    window, eyes = american_window, Eyes(american_window)
    qtbot.waitUntil(window.has_read_all, timeout=20_000)
    path = tmp_path / "day.csv"
    path.write_text("Name;Side;Born\nAnn Quill;L;2/4/1990", encoding="utf-8")
    window.lists.read(path)
    listing = window.lists.listing
    assert listing is not None
    assert listing.month_first
    eyes.control("Date of the list").setFocus()
    typist.type("3/9/26")
    assert "Mon March 9, 2026" in eyes.texts()
    assert listing.day == TODAY
    tick = next(
        b
        for b in window.findChildren(QCheckBox)
        if b.isVisible() and b.text() == "&Month before day"
    )
    tick.click()
    assert "Thu 3 September 2026" in eyes.texts()
    assert listing.day == date(2026, 9, 3)
