"""The paper fills itself in, and what stands on it or is still open leads to its field."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QTextDocument
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QListView, QTextBrowser, QWidget
from pytestqt.qtbot import QtBot

from opnote.desk.paper import Paper
from opnote.desk.reading import text_of
from opnote.desk.session import State
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.case import read_case
from tests.desk.conftest import CTRL, SAMPLES, Eyes, Typist


def paper_of(eyes: Eyes) -> QTextBrowser:
    paper = eyes.control("Document")
    assert isinstance(paper, QTextBrowser)
    return paper


def point_of(paper: QTextBrowser, path: str) -> QPoint:
    """Where on the paper a value stands."""
    for y in range(0, paper.viewport().height(), 4):
        for x in range(0, paper.viewport().width(), 6):
            if paper.anchorAt(QPoint(x, y)) == f"field:{path}":
                return QPoint(x, y)
    raise AssertionError(f"{path} is not in view")


def findings_of(eyes: Eyes) -> QListView:
    view = eyes.control("What is still open")
    assert isinstance(view, QListView)
    return view


def click_finding(eyes: Eyes, words: str) -> None:
    view = findings_of(eyes)
    model = view.model()
    for row in range(model.rowCount()):
        index = model.index(row, 0)
        if words in str(index.data()):
            view.scrollTo(index)
            where = view.visualRect(index).center()
            QTest.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=where)
            return
    raise AssertionError(f"no finding says {words!r}")


def test_a_key_is_on_the_paper_at_once(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.go_to("patient.name")
    typist.press(Qt.Key.Key_End)
    typist.type("berry")
    assert "Thistlewickberry" in paper_of(eyes).toPlainText()


def test_a_click_on_a_value_opens_its_field(window: Window, eyes: Eyes) -> None:
    window.show_page("tears")
    paper = paper_of(eyes)
    paper.verticalScrollBar().setValue(0)
    where = point_of(paper, "team.surgeon")
    QTest.mouseClick(paper.viewport(), Qt.MouseButton.LeftButton, pos=where)
    assert QApplication.focusWidget() is eyes.control("Surgeon")


def test_a_ruled_line_leads_to_its_field(window: Window, eyes: Eyes) -> None:
    window.new_case()
    window.show_page("team")
    paper = paper_of(eyes)
    paper.verticalScrollBar().setValue(0)
    where = point_of(paper, "patient.number")
    QTest.mouseClick(paper.viewport(), Qt.MouseButton.LeftButton, pos=where)
    assert QApplication.focusWidget() is eyes.control("Hospital number")


def test_a_finding_leads_to_its_field(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.go_to("tears.r2.length_mm")
    box = typist.focus()
    assert isinstance(box, QLineEdit)
    box.selectAll()
    typist.press(Qt.Key.Key_Delete)
    window.show_page("patient")
    click_finding(eyes, "Length: not recorded")
    assert typist.focus() is box


def test_a_contradiction_speaks_beside_its_field_at_once(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("theatre.end")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.type("715")
    assert "Contradiction: The operation ended" in eyes.texts()
    assert "1 contradiction" in eyes.texts()
    assert "The operation ended" in eyes.control("End of operation").accessibleDescription()


def test_a_gap_is_marked_only_after_its_page_was_left(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.new_case()
    assert "\N{WHITE CIRCLE} open" not in eyes.texts()
    typist.press(Qt.Key.Key_Down, CTRL)
    assert "\N{WHITE CIRCLE} open" not in eyes.texts()
    typist.press(Qt.Key.Key_Up, CTRL)
    assert "\N{WHITE CIRCLE} open" in eyes.texts()


def test_the_next_open_question_is_a_key_away(window: Window, typist: Typist, eyes: Eyes) -> None:
    window.go_to("closure.dressing")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.press(Qt.Key.Key_Delete)
    window.show_page("patient")
    typist.press(Qt.Key.Key_J, CTRL)
    assert typist.focus() is eyes.control("Dressing")


def test_an_adverse_finding_takes_its_reason_in_place(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("tourniquet.released")
    typist.press(Qt.Key.Key_A, CTRL)
    typist.type("1155")
    assert "to explain" in eyes.texts()
    click_finding(eyes, "without a rest")
    reason = eyes.controls("Reason, under the paper: ")[-1]
    QTest.keyClicks(reason, "release of the cuff was forgotten")
    assert "release of the cuff was forgotten" in window.record().reasons.values()


def test_a_check_is_booked_with_time_and_person(window: Window, eyes: Eyes) -> None:
    due = dict(window.record().due)
    assert due
    click_finding(eyes, "Book when, and by whom")
    box = eyes.controls("Booked for")[-1]
    assert isinstance(box, QLineEdit)
    box.selectAll()
    QTest.keyClicks(box, "today 21:15")
    booked = next(iter(window.record().due.values()))
    assert f"{booked.at:%H:%M}" == "21:15"


def type_over(box: QWidget, text: str) -> None:
    assert isinstance(box, QLineEdit)
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)


def booking_boxes(eyes: Eyes) -> list[tuple[str, str]]:
    """What stands in each pair of boxes that is seen."""
    found = [eyes.controls("Booked for"), eyes.controls("Booked by")]
    return [
        (when.text(), by.text())
        for when, by in zip(*found, strict=True)
        if isinstance(when, QLineEdit) and isinstance(by, QLineEdit)
    ]


def test_a_booking_shows_the_day_that_was_understood(window: Window, eyes: Eyes) -> None:
    click_finding(eyes, "Book when, and by whom")
    when, by = eyes.controls("Booked for")[-1], eyes.controls("Booked by")[-1]
    type_over(when, "10/3 0815")
    assert "Tue 10 March 2026, 08:15" in eyes.texts()
    assert "Tue 10 March 2026, 08:15" in when.accessibleDescription()
    type_over(when, "soon")
    assert "not a day with a time" in eyes.texts()
    type_over(when, "10/3 0815")
    type_over(by, " ")
    assert "Tue 10 March 2026, 08:15; not booked until a name stands here" in eyes.texts()


def test_the_box_of_a_booking_stays_while_it_is_typed_into(window: Window, eyes: Eyes) -> None:
    click_finding(eyes, "Book when, and by whom")
    for box in eyes.controls("Booked for"):
        type_over(box, "s")
        assert box.hasFocus()
        assert box.isVisible()
        window.undo()


def test_undoing_a_booking_clears_both_boxes(window: Window, eyes: Eyes) -> None:
    click_finding(eyes, "Book when, and by whom")
    by = eyes.controls("Booked by")[-1]
    type_over(by, " ")
    assert not window.record().due
    window.show_page("patient")  # a change of focus ends the step
    click_finding(eyes, "Book when, and by whom")
    when, by = eyes.controls("Booked for")[-1], eyes.controls("Booked by")[-1]
    type_over(when, "today 21:15")
    type_over(by, "Mr A. Orchard")
    assert ("today 21:15", "Mr A. Orchard") in booking_boxes(eyes)
    while window.record().due:
        window.undo()
    assert set(booking_boxes(eyes)) == {("", "")}
    window.redo()
    (booked,) = window.record().due.values()
    assert set(booking_boxes(eyes)) == {(text_of(booked.at), booked.by)}


def test_what_is_ready_says_so(window: Window, eyes: Eyes) -> None:
    assert "Ready to sign" in eyes.texts()


def test_the_side_is_a_word_above_every_page(window: Window, eyes: Eyes) -> None:
    for page in window.pages():
        window.show_page(page)
        assert eyes.controls("LEFT KNEE")


def test_another_document_is_a_click_away(window: Window, eyes: Eyes) -> None:
    buttons = window.findChildren(QWidget)
    button = next(b for b in buttons if b.isVisible() and b.property("document") == "risk_sheet")
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert "Where the numbers come from" in paper_of(eyes).toPlainText()


def test_the_paper_keeps_its_place_while_one_types(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    window.go_to("closure.dressing")
    bar = paper_of(eyes).verticalScrollBar()
    before = bar.value()
    assert before > 0
    typist.type("abc")
    assert abs(bar.value() - before) < 40


def test_every_paragraph_has_its_lines_whatever_the_size(
    window: Window, typist: Typist, eyes: Eyes, qtbot: QtBot
) -> None:
    paper = paper_of(eyes)
    for width in (1280, 1600, 1366):
        window.resize(width, 720)
        window.go_to("theatre.end")
        typist.type("1011")
        qtbot.wait(30)
        block = paper.document().begin()
        while block.isValid():
            assert not block.text() or block.layout().boundingRect().height() > 0, block.text()
            block = block.next()


@pytest.mark.slow
def test_what_is_rewritten_piece_by_piece_is_what_is_written_at_once(qtbot: QtBot) -> None:
    papers = Paper(None), Paper(None)  # type: ignore[arg-type]
    for paper in papers:
        qtbot.addWidget(paper)
        paper.resize(460, 700)
    documents = []
    for stem in ("case_a", "case_b", "case_c"):
        text = (SAMPLES / f"{stem}.json").read_text(encoding="utf-8")
        record, pack = read_case(text, stem, cached_pack)
        documents.append(State(pack, record).document("note"))
    documents.append(State(pack, pack.new_record()).document("note"))
    chance = Random(1)
    for _ in range(60):
        document = chance.choice(documents)
        blocks = list(document.blocks)
        for _ in range(chance.randint(0, 6)):
            blocks.pop(chance.randrange(len(blocks)))
        document = replace(document, blocks=tuple(blocks))
        papers[0].show_document(document, follow=True)
        papers[1].clear_paper()
        papers[1].show_document(document, follow=False)
        assert looks(papers[0].document()) == looks(papers[1].document())


def looks(document: QTextDocument) -> tuple[str, QPointF]:
    return document.toPlainText(), QPointF(document.size().width(), document.size().height())


def test_an_answer_whose_question_went_is_named_and_comes_back(
    window: Window, typist: Typist, eyes: Eyes
) -> None:
    assert "Put aside" not in eyes.texts()
    window.go_to("release.done")
    typist.press(Qt.Key.Key_N)
    assert "Put aside, as no longer asked: To, Structure, Punctures at and 7 more" in eyes.texts()
    window.undo()
    assert "Put aside" not in eyes.texts()
    assert window.record().value("release.structures") == ("superficial",)
