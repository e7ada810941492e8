"""Spelling: what is marked, what is offered, and that nothing changes by itself."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QLocale, QPoint, Qt
from PySide6.QtGui import QImage, QTextCharFormat
from PySide6.QtWidgets import QLineEdit, QMenu, QPlainTextEdit
from pytestqt.qtbot import QtBot

from opnote.desk import theme
from opnote.desk.speller import (
    NoSpeller,
    Speller,
    dictionary_folders,
    find_dictionary,
    load_speller,
    words_of_forms,
)
from opnote.desk.spelling import LineMarks, ProseMarks, language_of
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from tests.desk.conftest import CTRL, Typist

WORDS = ("the", "wound", "was", "closed", "over", "and", "with", "steady", "steadily")


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """The user's folder with a small dictionary of English."""
    folder = tmp_path / "data"
    dictionaries = folder / "dictionaries"
    dictionaries.mkdir(parents=True)
    (dictionaries / "en_US.aff").write_text("SET UTF-8\nTRY abcdefghijklmnopqrstuvwxyz\n")
    (dictionaries / "en_US.dic").write_text("\n".join([str(len(WORDS)), *WORDS]) + "\n")
    return folder


@pytest.fixture
def spelled(
    data: Path, open_window: Callable[[Path, str], Window], cases: Path, qtbot: QtBot
) -> Window:
    """A window whose dictionary is loaded."""
    window = open_window(cases, "case_a")
    window.load_spelling()
    qtbot.waitUntil(lambda: window.spelling.speller is not None, timeout=20_000)
    return window


def type_remark(window: Window, typist: Typist, text: str) -> QPlainTextEdit:
    window.show_page("team")
    typist.press(Qt.Key.Key_R, CTRL)
    typist.type(text)
    box = typist.focus()
    assert isinstance(box, QPlainTextEdit)
    return box


def marked(box: QPlainTextEdit) -> list[str]:
    """The words of the first paragraph with a wavy line under them."""
    block = box.document().firstBlock()
    wave = QTextCharFormat.UnderlineStyle.WaveUnderline
    return [
        block.text()[piece.start : piece.start + piece.length]
        for piece in block.layout().formats()
        if piece.format.underlineStyle() == wave
    ]


def menu_over(box: QPlainTextEdit, word: str) -> QMenu:
    cursor = box.textCursor()
    cursor.setPosition(box.toPlainText().index(word) + 1)
    (marks,) = box.document().findChildren(ProseMarks)
    return marks.menu_at(box.cursorRect(cursor).center())


def entries(menu: QMenu) -> list[str]:
    return [action.text() for action in menu.actions()]


def choose(menu: QMenu, words: str) -> None:
    next(action for action in menu.actions() if action.text() == words).trigger()


def test_an_unknown_word_is_marked_when_it_is_left_and_never_changed(
    spelled: Window, typist: Typist
) -> None:
    box = type_remark(spelled, typist, "the wuond")
    assert marked(box) == []
    typist.type(" was closed")
    assert marked(box) == ["wuond"]
    assert spelled.record().values["remark.team"] == "the wuond was closed"


def test_the_last_word_is_marked_when_the_box_is_left(
    spelled: Window, typist: Typist, qtbot: QtBot
) -> None:
    box = type_remark(spelled, typist, "closed stedily")
    typist.press(Qt.Key.Key_Tab)
    qtbot.waitUntil(lambda: marked(box) == ["stedily"], timeout=2000)


def test_names_and_words_of_the_forms_are_known(spelled: Window, typist: Typist) -> None:
    # The patient and the team are invented; "meniscus" is a word of the forms, and of no other.
    box = type_remark(spelled, typist, "Thistlewick and Larkspindle closed the meniscus over ")
    assert marked(box) == []


def test_a_suggestion_is_taken_only_when_it_is_chosen(spelled: Window, typist: Typist) -> None:
    box = type_remark(spelled, typist, "the wuond was closed")
    menu = menu_over(box, "wuond")
    assert entries(menu)[0] == "wound"
    assert "Add to my words" in entries(menu)
    assert len(entries(menu)[: entries(menu).index("Add to my words")]) <= 5
    choose(menu, "wound")
    assert spelled.record().values["remark.team"] == "the wound was closed"
    assert marked(box) == []
    spelled.undo()
    assert spelled.record().values.get("remark.team") != "the wound was closed"


def test_a_word_of_my_own_is_known_from_then_on(
    spelled: Window, typist: Typist, data: Path
) -> None:
    box = type_remark(spelled, typist, "the wuond was closed")
    choose(menu_over(box, "wuond"), "Add to my words")
    assert marked(box) == []
    assert (data / "my_words.txt").read_text(encoding="utf-8") == "wuond\n"
    made = load_speller("en_US", data)
    assert isinstance(made, Speller)
    assert made.is_known("wuond")
    assert not made.is_known("wuund")


def test_a_line_of_text_is_marked_too(spelled: Window, typist: Typist) -> None:
    spelled.go_to("closure.dressing")
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    typist.type("steady ")
    assert not has_ink(box)
    before = spelled.record().values["closure.dressing"]
    assert before == "steady "
    typist.type("stedy the")
    assert has_ink(box)
    assert spelled.record().values["closure.dressing"] == "steady stedy the"
    (marks,) = box.findChildren(LineMarks)
    at = QPoint(box.fontMetrics().horizontalAdvance("steady ste") + 8, box.height() // 2)
    choose(marks.menu_at(at), "steady")
    assert spelled.record().values["closure.dressing"] == "steady steady the"


def has_ink(box: QLineEdit) -> bool:
    """True when something in the ink of mistakes is drawn in the box."""
    box.repaint()
    image: QImage = box.grab().toImage()
    wrong = theme.inks(box).wrong
    return any(
        abs(image.pixelColor(x, y).red() - wrong.red()) < 12
        and abs(image.pixelColor(x, y).green() - wrong.green()) < 12
        and abs(image.pixelColor(x, y).blue() - wrong.blue()) < 12
        for y in range(image.height())
        for x in range(image.width())
    )


def test_without_a_dictionary_nothing_is_marked_and_it_is_said_why(
    window: Window, typist: Typist, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    german_of_nowhere = QLocale(QLocale.Language.Icelandic)
    usual = QLocale()
    QLocale.setDefault(german_of_nowhere)
    monkeypatch.delenv("DICPATH", raising=False)
    try:
        window.load_spelling()
        qtbot.waitUntil(lambda: "no dictionary for is_IS" in window.spelling.about, timeout=20_000)
    finally:
        QLocale.setDefault(usual)
    box = type_remark(window, typist, "the wuond was closed")
    assert marked(box) == []
    assert "Add to my words" not in entries(menu_over(box, "wuond"))
    assert "is_IS.dic" in window.spelling.about


def test_without_the_package_it_is_said_how_to_get_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("opnote.desk.speller.find_spec", lambda name: None)
    made = load_speller("en_US", tmp_path)
    assert isinstance(made, NoSpeller)
    assert "pip install 'opnote[spell]'" in made.because


def test_the_own_folder_comes_before_that_of_the_system(tmp_path: Path) -> None:
    own, other = tmp_path / "own", tmp_path / "other"
    for folder in (own / "dictionaries", other):
        folder.mkdir(parents=True)
        for ending in (".aff", ".dic"):
            (folder / f"en_GB{ending}").write_text("")
    folders = dictionary_folders(own, {"DICPATH": str(other) + os.pathsep + str(tmp_path)})
    assert find_dictionary("en_GB", folders) == own / "dictionaries" / "en_GB.dic"
    assert find_dictionary("en_GB", folders[1:]) == other / "en_GB.dic"
    assert find_dictionary("en_US", folders) is None


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("a 38mm tear at T2", ["tear"]),
        ("the ACL and McMurray", ["the", "and"]),
        ("surgeon's don’t", ["surgeon's", "don’t"]),
        ("non-absorbable", ["non", "absorbable"]),
        ("", []),
    ],
)
def test_abbreviations_and_units_are_left_alone(
    text: str, expected: list[str], tmp_path: Path
) -> None:
    speller = Speller(Asked(knows=False), tmp_path, tmp_path / "my_words.txt")
    found = list(speller.unknown_in(text))
    assert [word.text for word in found] == expected
    assert [text[word.start : word.end] for word in found] == expected


def test_the_words_of_the_forms_hold_what_they_show_and_say() -> None:
    words = words_of_forms(cached_pack(("meniscal_repair",)))
    # A label, an option, a word of the glossary, and one that only a wording uses.
    assert {"trephination", "popliteus", "arthroscopy", "medial"} <= words


def test_a_locale_without_a_country_of_its_own_reads_as_the_usual_english() -> None:
    assert language_of(QLocale.c()) == "en_US"
    assert language_of(QLocale("en_GB")) == "en_GB"


class Asked:
    """A dictionary that knows all words or none, and remembers what it was asked."""

    def __init__(self, knows: bool) -> None:
        self.knows = knows
        self.words: list[str] = []

    def spell(self, word: str) -> bool:
        self.words.append(word)
        return self.knows

    def suggest(self, word: str) -> list[str]:
        return []

    def add_dic(self, dpath: str) -> int:
        return 0


def test_a_word_is_looked_up_once(tmp_path: Path) -> None:
    dictionary = Asked(knows=True)
    speller = Speller(dictionary, tmp_path, tmp_path / "my_words.txt")
    for _ in range(3):
        assert list(speller.unknown_in("the wound was closed, the skin too")) == []
    assert dictionary.words == ["the", "wound", "was", "closed", "skin", "too"]
