"""Pictures in the window: brought in, looked at, cut, vouched for, and taken back."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QColor, QDragEnterEvent, QDropEvent, QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QFileDialog, QWidget

from opnote.assess import assess
from opnote.desk import picture_intake
from opnote.desk.crop_surface import CropSurface
from opnote.desk.editor.picture import PictureEditor
from opnote.desk.paper import Paper
from opnote.desk.photograph import image_of
from opnote.desk.picture_window import PictureWindow
from opnote.desk.rows_table import RowsTable
from opnote.desk.window import Window
from opnote.pack.cache import cached_pack
from opnote.pack.pack import Pack
from tests.desk.camera import SECRETS, colour_at, drawn, encoded, jpeg_with_exif
from tests.desk.conftest import CTRL, Eyes, Typist

Opener = Callable[[Path, str], Window]


@pytest.fixture
def camera(tmp_path: Path) -> Path:
    """A stick with three stills and a file that is none."""
    stick = tmp_path / "stick"
    stick.mkdir()
    (stick / "one.jpg").write_bytes(jpeg_with_exif(drawn(640, 480, strip=True)))
    (stick / "two.png").write_bytes(encoded(drawn(300, 400), "png"))
    (stick / "three.bmp").write_bytes(encoded(drawn(320, 320), "bmp"))
    (stick / "report.pdf").write_bytes(b"%PDF-1.7")
    return stick


@pytest.fixture(autouse=True)
def _empty_clipboard(qapp: QApplication) -> Iterator[None]:
    QGuiApplication.clipboard().clear()
    yield
    QGuiApplication.clipboard().clear()


@pytest.fixture
def page(window: Window) -> Window:
    """The window on the page of the pictures."""
    window.show_page("pictures")
    return window


def table(window: Window) -> RowsTable:
    return next(t for t in window.findChildren(RowsTable) if t.isVisible())


def editor(window: Window) -> PictureEditor:
    return next(e for e in window.findChildren(PictureEditor) if e.isVisible())


def mime_of(*files: Path) -> QMimeData:
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(file)) for file in files])
    return mime


def drop(target: QWidget, mime: QMimeData) -> None:
    """Drop something on a widget, as a person does."""
    none, left = Qt.KeyboardModifier.NoModifier, Qt.MouseButton.LeftButton
    enter = QDragEnterEvent(QPoint(5, 5), Qt.DropAction.CopyAction, mime, left, none)
    QApplication.sendEvent(target, enter)
    assert enter.isAccepted()
    event = QDropEvent(QPointF(5, 5), Qt.DropAction.CopyAction, mime, left, none)
    QApplication.sendEvent(target, event)


def add(window: Window, monkeypatch: pytest.MonkeyPatch, *files: Path) -> None:
    """Add pictures by choosing files."""
    chosen = ([str(file) for file in files], "")
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_: chosen)
    click(window, "Add pictures\N{HORIZONTAL ELLIPSIS}")


def kept(window: Window) -> list[Path]:
    path = window.current_path()
    assert path is not None
    return sorted((path.parent / "pictures").glob("*"))


def shown_names(window: Window) -> list[str]:
    record = window.record()
    return [str(record.values[f"pictures.{row}.file"]) for row in record.rows.get("pictures", ())]


def findings(window: Window) -> list[str]:
    view = _pack().view(window.record())
    return [finding.message for finding in assess(_pack(), view).open]


def _pack() -> Pack:
    return cached_pack(("meniscal_repair",))


# Bringing in


def test_each_chosen_file_becomes_a_row_and_nothing_of_the_camera_is_kept(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg", camera / "two.png")
    assert [path.name for path in kept(page)] == sorted(shown_names(page))
    assert len(shown_names(page)) == 2
    data = [path.read_bytes() for path in kept(page)]
    assert not any(secret in each for secret in SECRETS for each in data)
    assert editor(page).surface.hasFocus()


def test_case_file_holds_the_name_and_not_the_picture(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    page.keeping.save()
    path = page.current_path()
    assert path is not None
    rows = json.loads(path.read_text())["values"]["pictures"]
    assert rows == [{"id": rows[0]["id"], "file": kept(page)[0].name}]


def test_dropped_files_become_rows_and_what_is_none_is_named(
    page: Window, camera: Path, eyes: Eyes
) -> None:
    files = [camera / name for name in ("two.png", "report.pdf", "three.bmp", "gone.jpg")]
    drop(table(page), mime_of(*files))
    assert len(shown_names(page)) == 2
    said = eyes.texts()
    assert "report.pdf is no picture that can be read; save it as JPEG or PNG." in said
    assert "gone.jpg can't be read" in said


def test_pasted_picture_becomes_a_row(page: Window, typist: Typist) -> None:
    QGuiApplication.clipboard().setImage(drawn())
    table(page).focus_add()
    typist.press(Qt.Key.Key_V, CTRL)
    assert len(shown_names(page)) == 1
    assert colour_at(image_of(kept(page)[0].read_bytes()), 0.25, 0.5) == "red"


def test_copied_file_is_pasted_by_the_button(page: Window, camera: Path, eyes: Eyes) -> None:
    QGuiApplication.clipboard().setMimeData(mime_of(camera / "three.bmp"))
    button = eyes.control("Pictures: paste a picture")
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert len(shown_names(page)) == 1


def test_paste_of_words_says_what_to_copy(page: Window, typist: Typist, eyes: Eyes) -> None:
    QGuiApplication.clipboard().setText("Thistlewick")
    table(page).focus_add()
    typist.press(Qt.Key.Key_V, CTRL)
    assert "No picture was copied" in eyes.texts()
    assert page.record().rows.get("pictures") is None


def test_dropping_on_a_picture_takes_its_place(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    before = shown_names(page)
    drop(editor(page), mime_of(camera / "two.png"))
    assert len(shown_names(page)) == 1
    assert shown_names(page) != before


def test_refused_picture_leaves_the_one_that_is_there(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, eyes: Eyes
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    before = page.record()
    drop(editor(page), mime_of(camera / "report.pdf"))
    assert page.record() == before
    assert "report.pdf is no picture that can be read" in eyes.texts()
    assert editor(page).surface.isVisible()


def test_folder_that_takes_no_picture_is_named(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, eyes: Eyes
) -> None:
    path = page.current_path()
    assert path is not None
    (path.parent / "pictures").write_text("a file where the folder should be")
    add(page, monkeypatch, camera / "one.jpg")
    assert "the picture can't be kept" in eyes.texts()
    assert page.record().rows.get("pictures") is None


def test_more_pictures_than_a_note_holds_are_left_out_and_it_is_said(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, eyes: Eyes
) -> None:
    monkeypatch.setattr(picture_intake, "MOST_PICTURES", 2)
    add(page, monkeypatch, *(camera / name for name in ("one.jpg", "two.png", "three.bmp")))
    assert len(shown_names(page)) == 2
    assert "A case holds 2 pictures at most; the others were left out." in eyes.texts()


# Taking back


def test_adding_is_one_step_of_undo_each_and_comes_back(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg", camera / "two.png")
    both = shown_names(page)
    page.undo()
    assert shown_names(page) == both[:1]
    page.undo()
    assert page.record().rows.get("pictures") is None
    page.redo()
    page.redo()
    assert shown_names(page) == both
    assert len(kept(page)) == 2


def test_undo_of_a_cut_shows_the_whole_picture_again(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, typist: Typist
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    whole = editor(page).surface.sizeHint()
    before = page.record()
    cut_strip_off(page, typist)
    assert editor(page).surface.sizeHint() != whole
    page.undo()
    assert page.record() == before
    assert editor(page).surface.sizeHint() == whole


# Cutting, and names


def cut_strip_off(window: Window, typist: Typist) -> None:
    """Cut a tenth off the top by keyboard."""
    assert isinstance(typist.focus(), CropSurface)
    for _ in range(5):
        typist.press(Qt.Key.Key_Down)
    typist.press(Qt.Key.Key_Tab)
    typist.press(Qt.Key.Key_Space)


def test_name_is_cut_off_by_keyboard(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, typist: Typist
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    surface = typist.focus()
    typist.press(Qt.Key.Key_Down)
    assert surface.accessibleDescription() == "Marked without 2% from the top."
    typist.press(Qt.Key.Key_Escape)
    assert surface.accessibleDescription().startswith("All of the picture is marked.")
    cut_strip_off(page, typist)
    (name,) = shown_names(page)
    image = image_of(next(p for p in kept(page) if p.name == name).read_bytes())
    assert (image.width(), image.height()) == (640, 432)
    assert colour_at(image, 0.25, 0.01) == "red"


def test_part_is_marked_by_dragging(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    surface = editor(page).surface
    QTest.mousePress(surface, Qt.MouseButton.LeftButton, pos=QPoint(surface.width() // 2, 60))
    QTest.mouseMove(surface, QPoint(surface.width() + 40, surface.height() + 40))
    QTest.mouseRelease(surface, Qt.MouseButton.LeftButton, pos=QPoint(9, 9))
    part = surface.part
    assert part is not None
    assert (part.left() + part.width(), part.top() + part.height()) == (640, 480)
    editor(page).cut(part)
    (name,) = shown_names(page)
    image = image_of(next(p for p in kept(page) if p.name == name).read_bytes())
    assert (image.width(), image.height()) == (part.width(), part.height())


def test_closer_look_says_whose_picture_it_is_and_cuts_too(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, eyes: Eyes
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    before = shown_names(page)
    QTest.mouseClick(eyes.control("Picture, required: look closer"), Qt.MouseButton.LeftButton)
    look = page.findChild(PictureWindow)
    assert look is not None
    assert look.windowTitle() == f"{page.windowTitle()}: Picture"
    assert "Thistlewick" in look.windowTitle()
    assert "Left" in look.windowTitle()
    QTest.keyClick(look.surface, Qt.Key.Key_Left)
    button = next(
        b for b in look.findChildren(QWidget) if getattr(b, "text", str)() == "Keep the marked part"
    )
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)
    assert shown_names(page) != before
    assert not look.isVisible()


def test_person_is_asked_per_picture_whether_a_name_can_be_read(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, eyes: Eyes
) -> None:
    add(page, monkeypatch, camera / "one.jpg", camera / "two.png")
    assert "may be burnt into the picture" in eyes.texts()
    asked = [m for m in findings(page) if "Name or number in it" in m]
    assert asked == [
        "Picture 1: Name or number in it: not recorded.",
        "Picture 2: Name or number in it: not recorded.",
    ]


def test_name_that_can_be_read_stays_open_until_it_is_cut_off(
    page: Window,
    camera: Path,
    monkeypatch: pytest.MonkeyPatch,
    typist: Typist,
    eyes: Eyes,
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    surface = typist.focus()
    click(page, "One can be read")
    assert "A name or number can be read in a picture. Cut it off, or remove the picture." in (
        findings(page)
    )
    surface.setFocus()
    cut_strip_off(page, typist)
    assert "Picture: Name or number in it: not recorded." in findings(page)
    click(page, "None can be read")
    assert not [m for m in findings(page) if "ame or number" in m]


def click(window: Window, words: str) -> None:
    button = next(
        b
        for b in window.findChildren(QWidget)
        if b.isVisible() and getattr(b, "text", str)() == words
    )
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


# What stays on disk


def test_margin_with_the_name_is_gone_from_disk_once_the_window_is_closed(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch, typist: Typist
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    cut_strip_off(page, typist)
    page.keeping.save()
    assert len(kept(page)) == 2
    (name,) = shown_names(page)
    page.close()
    assert [path.name for path in kept(page)] == [name]


def test_picture_that_only_a_draft_names_is_kept(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    page.close()
    assert [path.name for path in kept(page)] == shown_names(page)


def test_new_case_finds_its_pictures_under_its_name(
    open_window: Opener, cases: Path, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = open_window(cases, "case_a")
    window.new_case()
    window.go_to("patient.name")
    focus = QApplication.focusWidget()
    assert focus is not None
    QTest.keyClicks(focus, "Orla Quillfeather")
    window.show_page("pictures")
    add(window, monkeypatch, camera / "two.png")
    window.keeping.save()
    assert window.current_path() == cases / "Orla_Quillfeather.json"
    assert editor(window).surface.isVisible()
    window.close()
    again = open_window(cases, "Orla_Quillfeather")
    again.show_page("pictures")
    assert editor(again).surface.isVisible()


def test_missing_picture_is_said_where_it_would_stand(
    open_window: Opener, cases: Path, camera: Path, monkeypatch: pytest.MonkeyPatch, eyes: Eyes
) -> None:
    first = open_window(cases, "case_a")
    first.show_page("pictures")
    add(first, monkeypatch, camera / "two.png")
    first.keeping.save()
    (file,) = kept(first)
    first.close()
    file.write_bytes(file.read_bytes()[:-9])
    window = open_window(cases, "case_a")
    window.show_page("pictures")
    assert not editor(window).surface.isVisible()
    said = Eyes(window).texts()
    assert f"This picture is missing: its file {file.name[:12]}" in said
    assert "choose the picture again" in said


def test_every_control_of_a_picture_has_a_name(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add(page, monkeypatch, camera / "one.jpg")
    found = [*editor(page).controls(), *table(page).controls()]
    controls = [control for control in found if control.isVisible()]
    assert len(controls) > 6
    assert all(control.accessibleName() or text_of(control) for control in controls)
    names = [control.accessibleName() for control in editor(page).controls()]
    assert len(set(names)) == len(names)


def text_of(widget: QWidget) -> str:
    return str(getattr(widget, "text", str)())


def test_paper_shows_the_pictures_and_leads_to_them(
    page: Window, camera: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.show_document("note")
    add(page, monkeypatch, camera / "one.jpg", camera / "two.png")
    paper = next(p for p in page.findChildren(Paper) if p.isVisible())
    paper.show_place_of([f"pictures.{page.record().rows['pictures'][1]}.file"])
    seen = paper.grab().toImage()
    colours = {
        seen.pixelColor(x, y).name()
        for x in range(0, seen.width(), 3)
        for y in range(0, seen.height(), 3)
    }
    # Both halves of a still stand on the paper, give or take what a JPEG makes of a colour.
    assert any(QColor(name).red() > 150 and QColor(name).blue() < 90 for name in colours)
    assert any(QColor(name).blue() > 150 and QColor(name).red() < 90 for name in colours)
    across = range(0, seen.width(), 8)
    places = (QPoint(x, y) for x in across for y in range(0, seen.height(), 8))
    links = {paper.anchorAt(place) for place in places}
    assert f"field:pictures.{page.record().rows['pictures'][0]}.file" in links
    text = paper.toPlainText()
    assert text.index("Picture 1:") < text.index("Picture 2:")
