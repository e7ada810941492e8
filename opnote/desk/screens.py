"""Drawings of the window: every page of the demo cases, and the states worth looking at.

`python -m opnote.desk.screens OUT` writes them as PNG files, without a screen.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QDeadlineTimer, QEventLoop, QLocale, QSettings, QSize, Qt, QTimer
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from opnote.desk import theme
from opnote.desk.sheet_report import SheetLine
from opnote.desk.window import Window
from opnote.pack.files import shipped_root

NOW: Final = datetime(2026, 3, 9, 11, 30)
SMALL: Final = QSize(1280, 720)
LARGE: Final = QSize(1920, 1080)
LIST: Final = """\
No;Name;Hospital number;NHS number;Born;Side;Planned operation;Date;Start;Surgeon;Ward
1;"Quillfeather, Ann";TEST-0071;943 476 5919;1/2/1990;L;Repair of the meniscus;9/3/2026;08:30;;Fern
2;"Underbough, Bo";TEST-0072;943 476 5918;31/02/1990;R;Arthroscopy;9/3/2026;09:45;;Fern
3;"Thimblewick, Cy";TEST-0073;;3/4/1991;both;Arthroscopy;9/3/2026;11:00;;Moss
4;"Quillfeather, Ann";TEST-0071;;1/2/1990;Left;Repair;9/3/2026;12:15;;Fern
5;"Marrow, Di";TEST-0075;;5/6/1987;Right;Arthroscopy;9/3/2026;13:30;;Moss
"""
"""A list with what goes wrong in lists; its first number is the NHS Data Dictionary's example."""

_PATIENCE_MS: Final = 20_000


def settle(milliseconds: int = 20) -> None:
    """Let the window do what it has to do."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def wait_for(condition: Callable[[], bool]) -> None:
    """Wait until something is so.

    Raises: TimeoutError.
    """
    deadline = QDeadlineTimer(_PATIENCE_MS)
    while not condition():
        if deadline.hasExpired():
            raise TimeoutError("the window did not come to what was waited for")
        settle(10)


class Stage:
    """A window on a copy of the demo cases, and where its drawings go."""

    def __init__(self, out: Path, folder: Path, size: QSize) -> None:
        """Open the window at a size."""
        self.out = out
        self.folder = folder
        settings = QSettings(str(folder / "window.ini"), QSettings.Format.IniFormat)
        settings.setValue("tips/away", True)
        self.window = Window(settings, folder, lambda: NOW)
        self.window.resize(size)
        self.window.show()
        self._shown = 0
        self.window.case_shown.connect(self._on_case_shown)

    def _on_case_shown(self) -> None:
        self._shown += 1

    def open(self, stem: str) -> None:
        """Show one of the cases."""
        before = self._shown
        path = self.folder / f"{stem}.json"
        if before == 0:
            self.window.open_folder(self.folder, path)
        else:
            self.window.open_case(path)
        wait_for(lambda: self._shown > before)
        settle(120)

    def draw(self, name: str) -> None:
        """Write what the window shows."""
        settle(40)
        self.window.grab().save(str(self.out / f"{name}.png"))

    def draw_report(self, name: str) -> None:
        """Write the report about the sheet on the paper."""
        line = next(each for each in self.window.findChildren(SheetLine) if each.isVisible())
        line.click()
        settle(300)
        for report in self.window.findChildren(QDialog):
            report.grab().save(str(self.out / f"{name}.png"))
            report.close()

    def draw_pages(self, name: str) -> None:
        """Write every page of the open case."""
        for number, page in enumerate(self.window.pages(), 1):
            self.window.show_page(page)
            self.draw(f"{name}_{number:02}_{page}")

    def close(self) -> None:
        """Put the window away without keeping anything."""
        self.window.close()
        self.window.deleteLater()
        settle()


def _samples(folder: Path) -> None:
    for case in sorted((shipped_root() / "forms" / "samples").glob("*.json")):
        shutil.copyfile(case, folder / case.name)


def _stages(out: Path, size: QSize) -> Iterator[Stage]:
    """A stage on fresh copies of the demo cases."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        _samples(folder)
        stage = Stage(out, folder, size)
        yield stage
        stage.close()


def _type(text: str) -> None:
    """Type into whatever has the focus."""
    # Late: QtTest is for drawing and for tests, and no part of the window.
    from PySide6.QtTest import QTest

    focus = QApplication.focusWidget()
    assert isinstance(focus, QWidget)
    QTest.keyClicks(focus, text)


def _press(key: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    from PySide6.QtTest import QTest

    focus = QApplication.focusWidget()
    assert isinstance(focus, QWidget)
    QTest.keyClick(focus, key, modifier)


def _replace(stage: Stage, path: str, text: str) -> None:
    stage.window.go_to(path)
    _press(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
    _type(text)


def draw_states(out: Path, scheme: theme.Scheme) -> None:
    """The states of the window that are worth looking at."""
    theme.apply_scheme(scheme)
    with tempfile.TemporaryDirectory() as name:
        stage = Stage(out, Path(name), SMALL)
        stage.window.open_later(Path(name))
        settle(200)
        stage.draw(f"state_empty_list_{scheme}")
        stage.close()
    for stage in _stages(out, SMALL):
        stage.open("case_a")
        stage.window.new_case()
        settle(200)
        stage.draw(f"state_new_case_{scheme}")
        stage.window.show_page("recovery_load")
        stage.draw(f"state_new_case_plans_{scheme}")
    for stage in _stages(out, SMALL):
        stage.open("case_a")
        stage.window.show_document("risk_sheet")
        settle(600)
        stage.draw(f"state_sheet_{scheme}")
        stage.window.go_to("release.done")
        _press(Qt.Key.Key_N)
        stage.draw(f"state_put_aside_{scheme}")
        stage.draw_report(f"state_sheet_report_{scheme}")
    for stage in _stages(out, SMALL):
        stage.open("case_a")
        stage.window.go_to("theatre.end")
        _press(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        _type("7.15")
        stage.draw(f"state_contradiction_{scheme}")
        stage.window.go_to("tears.r2.length_mm")
        _press(Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        _type("3x")
        stage.draw(f"state_unread_number_{scheme}")
        stage.window.go_to("stitches.r3.technique")
        stage.draw(f"state_row_unfolded_{scheme}")
        _replace(stage, "patient.name", "Quillfeather-Thimblewick-Underbough, " * 3)
        _replace(stage, "operation.unit", "The Royal and Ancient Infirmary of Nonesuch Vale " * 3)
        stage.draw(f"state_long_name_{scheme}")
        stage.window.find_box.setFocus()
        _type("medial")
        stage.draw(f"state_find_{scheme}")
    for stage in _stages(out, SMALL):
        stage.open("case_a")
        wait_for(stage.window.has_read_all)
        path = stage.folder / "day.csv"
        path.write_text(LIST, encoding="utf-8")
        stage.window.lists.read(path)
        stage.draw(f"state_list_read_{scheme}")
        stage.window.set_text_size(4)
        stage.draw(f"state_list_read_150_{scheme}")
        stage.window.set_text_size(1)
        stage.window.lists.make()
        stage.draw(f"state_list_made_{scheme}")
        stage.window.lists.put_away()
        stage.window.next_case()
        stage.draw(f"state_carried_over_{scheme}")
    for stage in _stages(out, SMALL):
        text = (stage.folder / "case_a.json").read_text(encoding="utf-8")
        for number in range(37):
            (stage.folder / f"case_{number + 10}.json").write_text(text, encoding="utf-8")
        stage.open("case_a")
        wait_for(stage.window.has_read_all)
        stage.draw(f"state_40_cases_{scheme}")
        stage.window.set_text_size(4)
        settle(300)
        stage.draw(f"state_text_150_{scheme}")
        stage.window.show_page("tears")
        stage.draw(f"state_text_150_tears_{scheme}")
        stage.window.set_text_size(1)


def draw_everything(out: Path) -> None:
    """All pages and states, light and dark, small and large."""
    out.mkdir(parents=True, exist_ok=True)
    for scheme in (theme.Scheme.LIGHT, theme.Scheme.DARK):
        draw_states(out, scheme)
        for size in (SMALL, LARGE):
            theme.apply_scheme(scheme)
            for stage in _stages(out, size):
                everything = size == SMALL and scheme is theme.Scheme.LIGHT
                for stem in ("case_a", "case_b", "case_c") if everything else ("case_a",):
                    stage.open(stem)
                    stage.draw_pages(f"{stem}_{size.height()}_{scheme}")


def main(arguments: list[str]) -> int:
    """Draw everything into the folder that is named."""
    if len(arguments) != 1:
        print("usage: python -m opnote.desk.screens OUT", file=sys.stderr)
        return 2
    application = QApplication.instance() or QApplication(["opnote"])
    assert isinstance(application, QApplication)
    application.setStyle("Fusion")
    QLocale.setDefault(QLocale.c())  # the same drawings on every computer
    draw_everything(Path(arguments[0]))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
