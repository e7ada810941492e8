"""What unfolds from the window or stands beside it, for looking at: dialogs, menus, boxes in use.

The system's own boxes for files and folders are not among them: they are not of our making.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtPrintSupport import QPrintDialog
from PySide6.QtWidgets import QMenu, QMenuBar, QPlainTextEdit

from opnote.desk.column_heads import FieldBox
from opnote.desk.line_edit import LineEdit
from opnote.desk.picture_intake import PictureIntake
from opnote.desk.picture_window import PictureWindow
from opnote.desk.printing import Preview
from opnote.desk.sheet_report import SheetLine
from opnote.desk.speller import OWN_DICTIONARIES
from opnote.desk.spelling import LineMarks, ProseMarks
from opnote.desk.stage import SMALL, Stage, State, lay_out, press, settle, type_text, wait_for
from opnote.desk.state_case import EMPTY, HALF_FILLED, LIST

_CTRL: Final = Qt.KeyboardModifier.ControlModifier
_DOCUMENTS: Final = ("risk_sheet", "recovery_plan", "recovery_card", "letter", "map")
_WORDS: Final = ("wound", "the", "was", "closed", "round", "would", "mound", "pound", "hound")


def _help(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    window = stage.window
    pages = (("help", window.show_help), ("keys", window.show_keys))
    for name, show in pages:
        show()
        stage.draw_dialog(f"state_{name}_{scheme}")
    with stage.large_text():
        for name, show in pages:
            show()
            stage.draw_dialog(f"state_{name}_text_150_{scheme}")


def _report(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.show_document("recovery_plan")
    _click_report(stage)
    stage.draw_dialog(f"state_about_plan_{scheme}")
    with stage.large_text():
        stage.window.show_document("risk_sheet")
        _click_report(stage)
        stage.draw_dialog(f"state_about_sheet_text_150_{scheme}")


def _click_report(stage: Stage) -> None:
    settle(600)
    lines = stage.window.findChildren(SheetLine)
    next(each for each in lines if each.isVisible()).click()
    settle(50)


def _print(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.show_document("note")
    stage.window.writing.look_before_printing()
    wait_for(lambda: bool(stage.window.findChildren(Preview)))
    stage.draw_dialog(f"state_print_preview_{scheme}")
    stage.window.show_document("recovery_card")  # one page: it is set for a printer
    stage.window.writing.print_document()
    wait_for(lambda: bool(stage.window.findChildren(QPrintDialog)))
    stage.draw_dialog(f"state_print_{scheme}")
    stage.replace("patient.name", "Quillfeather-Thimblewick-Underbough, " * 3)
    with stage.large_text():
        stage.window.writing.look_before_printing()
        wait_for(lambda: bool(stage.window.findChildren(Preview)))
        stage.draw_dialog(f"state_print_preview_text_150_{scheme}")


def _menus(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    (bar,) = stage.window.findChildren(QMenuBar)
    _draw_menus(stage, bar, scheme)
    with stage.large_text():
        _draw_menus(stage, bar, f"text_150_{scheme}")
    (practices,) = _below(bar, "Usual practice of")
    stage.draw_menu(practices, f"state_menu_no_practice_{scheme}")
    stage.choose("Keep as usual practice")
    stage.draw_menu(practices, f"state_menu_practice_{scheme}")


def _draw_menus(stage: Stage, bar: QMenuBar, ending: str) -> None:
    for action in bar.actions():
        name = action.text().replace("&", "")
        for menu in _below(bar, name):
            stage.draw_menu(menu, f"state_menu_{name.lower()}_{ending}")


def _below(bar: QMenuBar, title: str) -> list[QMenu]:
    return [menu for menu in bar.findChildren(QMenu) if menu.title().replace("&", "") == title]


def _spelling(stage: Stage, scheme: str) -> None:
    dictionaries = stage.home / OWN_DICTIONARIES
    dictionaries.mkdir()
    words = "\n".join([str(len(_WORDS)), *_WORDS]) + "\n"
    (dictionaries / "en_US.aff").write_text("SET UTF-8\nTRY abcdefghijklmnopqrstuvwxyz\n")
    (dictionaries / "en_US.dic").write_text(words)
    stage.open("case_a")
    stage.window.load_spelling()
    wait_for(lambda: stage.window.spelling.speller is not None)
    stage.window.go_to("remark.team")
    type_text("the wuond was closed qqqqzq ")
    box = stage.window.focusWidget()
    assert isinstance(box, QPlainTextEdit)
    stage.draw(f"state_spelling_{scheme}")
    (marks,) = box.document().findChildren(ProseMarks)
    for name, word in (("spelling", "wuond"), ("no_spelling", "qqqqzq")):
        cursor = box.textCursor()
        cursor.setPosition(box.toPlainText().index(word) + 1)
        menu = marks.menu_at(box.cursorRect(cursor).center())
        stage.draw_menu(menu, f"state_menu_{name}_{scheme}")
    stage.replace("closure.dressing", "wuond ")
    line = stage.window.focusWidget()
    assert isinstance(line, LineEdit)
    (line_marks,) = line.findChildren(LineMarks)
    menu = line_marks.menu_at(QPoint(8, line.height() // 2))
    stage.draw_menu(menu, f"state_menu_spelling_line_{scheme}")


def _tips(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.choose("Show the tips again")
    stage.draw(f"state_tip_{scheme}")
    with stage.large_text():
        for page in stage.window.pages()[1:4]:
            stage.window.show_page(page)  # the fourth tip is the longest
        stage.draw(f"state_tip_text_150_{scheme}")


def _papers(stage: Stage, scheme: str) -> None:
    for stem in ("case_a", EMPTY):
        stage.open(stem)
        for kind in _DOCUMENTS:
            stage.window.show_document(kind)
            settle(400)
            stage.draw(f"state_paper_{kind}_{stem}_{scheme}")
    stage.open("case_a")
    with stage.large_text():
        for kind in ("risk_sheet", "map"):
            stage.window.show_document(kind)
            settle(400)
            stage.draw(f"state_paper_{kind}_text_150_{scheme}")


def _asked(stage: Stage, scheme: str) -> None:
    """Boxes that unfold beside a question."""
    stage.open(HALF_FILLED)
    stage.window.go_to("joint.suprapatellar")
    stage.choose("Not recorded, because")
    stage.draw(f"state_not_recorded_{scheme}")
    stage.window.show_page("team")
    press(Qt.Key.Key_R, _CTRL)
    type_text("The registrar closed the wound under supervision.")
    stage.draw(f"state_remark_{scheme}")
    stage.window.go_to("patient.born")
    for name, text in (("understood", "1 feb 90"), ("not_understood", "31/2/90")):
        stage.replace("patient.born", text)
        stage.draw(f"state_date_{name}_{scheme}")
    stage.choose("Sign the note")
    stage.draw(f"state_all_open_{scheme}")
    with stage.large_text():
        stage.draw(f"state_all_open_text_150_{scheme}")


def _find(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    with stage.large_text():
        stage.window.find_box.setFocus()
        type_text("medial")
        stage.draw(f"state_found_text_150_{scheme}")
        press(Qt.Key.Key_Escape)


def _columns(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    path = stage.folder / "day.csv"
    path.write_text(LIST, encoding="utf-8")
    stage.window.lists.read(path)
    box = next(each for each in stage.window.findChildren(FieldBox) if each.isVisible())
    box.showPopup()
    stage.draw_widget(box.view().window(), f"state_column_fields_{scheme}")
    box.hidePopup()
    stage.window.lists.put_away()
    path.unlink()


def _pictures(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.show_page("pictures")
    stage.draw(f"state_no_picture_{scheme}")
    wrong = stage.home / "report.pdf"
    wrong.write_bytes(b"%PDF-1.7")
    offers = [_still(stage.home / f"{name}.png", *size) for name, size in _STILLS]
    intake = stage.window.findChildren(PictureIntake)[0]
    intake.take([*offers, wrong])
    lay_out()
    stage.draw(f"state_pictures_{scheme}")
    with stage.large_text():
        stage.draw(f"state_pictures_text_150_{scheme}")
    press(Qt.Key.Key_Down)
    stage.draw(f"state_picture_marked_{scheme}")
    stage.click("Look closer")
    (look,) = stage.window.findChildren(PictureWindow)
    stage.draw_widget(look, f"state_picture_closer_{scheme}")
    look.close()
    for kept in (stage.folder / "pictures").iterdir():
        kept.unlink()
    stage.window.keeping.save()
    settle()
    stage.window.open_folder(stage.folder, stage.folder / "case_a.json")
    wait_for(lambda: stage.window.current_path() is not None)
    stage.window.show_page("pictures")
    stage.draw(f"state_picture_missing_{scheme}")


_STILLS: Final = (("wide", (640, 360)), ("high", (480, 640)))


def _still(path: Path, width: int, height: int) -> Path:
    """A still that no camera made: a disc of light, as an arthroscope shows it."""
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(QColor("black"))
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(QColor("#d8a890"))
    radius = min(width, height) // 2 - 8
    painter.drawEllipse(QPoint(width // 2, height // 2), radius, radius)
    painter.setPen(QColor("white"))
    painter.drawText(12, height - 12, "TEST-0001")
    painter.end()
    image.save(str(path))
    return path


def _beside(stage: Stage, scheme: str) -> None:
    """What leaves the cases as they are but for a name at the end, in one window."""
    for draw in (_help, _report, _columns, _menus, _tips, _find, _papers, _print):
        draw(stage, scheme)


def _inside(stage: Stage, scheme: str) -> None:
    for draw in (_asked, _pictures):
        draw(stage, scheme)


DIALOGS: Final[tuple[tuple[str, QSize, State], ...]] = (
    (
        "state_help state_keys state_about state_column state_menu state_tip state_found"
        " state_paper state_print",
        SMALL,
        _beside,
    ),
    ("state_spelling state_menu_spelling state_menu_no_spelling", SMALL, _spelling),
    (
        "state_not_recorded state_remark state_date state_all_open state_no_picture state_picture",
        SMALL,
        _inside,
    ),
)
"""The dialogs, menus and boxes by the beginnings of their drawings' names."""
