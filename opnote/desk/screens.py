"""Drawings of the window: every page of the demo cases, and the states worth looking at.

`python -m opnote.desk.screens OUT` writes them as PNG files, without a screen. `--quick` draws
only the light theme at 1280x720, `--only WORD` only the drawings whose names hold the word
(`--only tears`, `--only state_`, `--only case_b`). Names are KIND_NUMBER_PAGE_HEIGHT_THEME.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, TypeVar

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QDeadlineTimer, QEventLoop, QLocale, QSettings, QSize, Qt, QTimer
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QTextBrowser, QWidget

from opnote.desk import theme
from opnote.desk.sheet_report import SheetLine
from opnote.desk.state_case import BOTH_MENISCI, EMPTY, HALF_FILLED, write_made_cases
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

HUGE: Final = QSize(3840, 2160)
PAGED_CASES: Final = (EMPTY, HALF_FILLED, "case_a", "case_b", "case_c")
_PATIENCE_MS: Final = 20_000
_LAYOUT_ROUNDS: Final = 4
"""A layout asks for another when a scroll bar appears; more than this was never needed."""
_FAST_PNG: Final = 85
"""Little compression: writing must not take longer than drawing."""


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


def lay_out() -> None:
    """Let the layouts find their places, without waiting for anything else."""
    for _ in range(_LAYOUT_ROUNDS):
        QApplication.processEvents()


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which drawings are made, and where they go."""

    out: Path
    only: str = ""

    def has(self, name: str) -> bool:
        """True for a drawing that was asked for."""
        return self.only in name


class Stage:
    """A window on a copy of the demo cases, and where its drawings go."""

    def __init__(self, wanted: Wanted, folder: Path, size: QSize) -> None:
        """Open the window at a size."""
        self.wanted = wanted
        self.folder = folder
        self._writers = ThreadPoolExecutor(1)
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
            wait_for(lambda: self._shown > before)
            wait_for(self.window.has_read_all)
        else:
            self.window.open_case(path)
            wait_for(lambda: self._shown > before)
        lay_out()

    def draw(self, name: str) -> None:
        """Write what the window shows."""
        self._draw(self.window, name)

    def _draw(self, widget: QWidget, name: str) -> None:
        if self.wanted.has(name):
            lay_out()
            image = widget.grab().toImage()
            self._writers.submit(_write, image, self.wanted.out / f"{name}.png")

    def draw_report(self, name: str) -> None:
        """Write the report about the sheet on the paper."""
        line = next(each for each in self.window.findChildren(SheetLine) if each.isVisible())
        line.click()
        settle(300)
        for report in self.window.findChildren(QDialog):
            self._draw(report, name)
            report.close()

    def draw_pages(self, stem: str, ending: str) -> None:
        """Write the pages of a case that were asked for."""
        wanted = self.wanted
        for number, page in enumerate(self.window.pages(), 1):
            name = f"{stem}_{number:02}_{page}_{ending}"
            if wanted.has(name):
                self.window.show_page(page)
                self.draw(name)

    def close(self) -> None:
        """Put the window away without keeping anything."""
        self._writers.shutdown()
        self.window.close()
        self.window.deleteLater()
        settle()


def _write(image: QImage, path: Path) -> None:
    if not image.save(str(path), quality=_FAST_PNG):
        print(f"{path} can't be written", file=sys.stderr)


def write_samples(folder: Path) -> None:
    """Put the demo cases, and those made from them, into a folder."""
    samples = shipped_root() / "forms" / "samples"
    for case in sorted(samples.glob("*.json")):
        shutil.copyfile(case, folder / case.name)
    write_made_cases(samples, folder)


@contextmanager
def _stage(wanted: Wanted, size: QSize) -> Iterator[Stage]:
    """A stage on fresh copies of the demo cases."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_samples(folder)
        stage = Stage(wanted, folder, size)
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


State = Callable[[Stage, str], None]


def _new_case(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.new_case()
    stage.draw(f"state_new_case_{scheme}")
    stage.window.show_page("recovery_load")
    stage.draw(f"state_new_case_plans_{scheme}")


def _sheet(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.show_document("risk_sheet")
    settle(600)
    stage.draw(f"state_sheet_{scheme}")
    stage.window.go_to("release.done")
    _press(Qt.Key.Key_N)
    settle(200)
    stage.draw(f"state_put_aside_{scheme}")
    stage.draw_report(f"state_report_{scheme}")


def _half_filled(stage: Stage, scheme: str) -> None:
    stage.open(HALF_FILLED)
    stage.window.go_to("tourniquet.side")
    stage.draw(f"state_two_contradictions_{scheme}")


def _wrong_entries(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    _replace(stage, "theatre.end", "7.15")
    stage.draw(f"state_contradiction_{scheme}")
    _replace(stage, "tears.r2.length_mm", "3x")
    stage.draw(f"state_unread_number_{scheme}")
    stage.window.go_to("stitches.r3.technique")
    stage.draw(f"state_row_unfolded_{scheme}")


def _long_name(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    _replace(stage, "patient.name", "Quillfeather-Thimblewick-Underbough, " * 3)
    _replace(stage, "operation.unit", "The Royal and Ancient Infirmary of Nonesuch Vale " * 3)
    settle(200)
    stage.draw(f"state_long_name_{scheme}")
    stage.window.find_box.setFocus()
    _type("medial")
    stage.draw(f"state_find_{scheme}")


def _both_menisci(stage: Stage, scheme: str) -> None:
    stage.open(BOTH_MENISCI)
    for page in ("tears", "others"):
        stage.window.show_page(page)
        stage.draw(f"state_both_menisci_{page}_{scheme}")


def _list_read(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
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


def _ready_to_sign(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    settle(600)
    stage.draw(f"state_ready_to_sign_{scheme}")
    stage.window.signing.ask()
    settle(100)
    stage.draw(f"state_sign_panel_{scheme}")
    _sign(stage, "right")
    stage.draw(f"state_sign_panel_wrong_side_{scheme}")
    stage.window.set_text_size(4)
    stage.window.signing.ask()
    settle(100)
    stage.draw(f"state_sign_panel_150_{scheme}")
    stage.window.set_text_size(1)


def _signed(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    settle(600)
    stage.window.signing.ask()
    _sign(stage, "left")
    settle(100)
    stage.window.show_page("patient")
    stage.draw(f"state_signed_{scheme}")
    stage.window.show_page("tears")
    stage.window.go_to("tears.r2.length_mm")
    stage.draw(f"state_signed_tears_{scheme}")
    _named("Add an addendum").click()
    _type("The block had worn off at 19:50. The foot lifts fully, feeling is as before.")
    _focus("Added by")
    _type("Dr T. Thornquill")
    settle(100)
    stage.draw(f"state_signed_addendum_begun_{scheme}")
    _named("This is my name").click()
    _named("Sign the addendum").click()
    settle(300)
    stage.window.show_document("note")
    bar = _shown("Document", QTextBrowser).verticalScrollBar()
    bar.setValue(bar.maximum())
    stage.draw(f"state_signed_addendum_{scheme}")
    stage.window.set_text_size(4)
    stage.draw(f"state_signed_addendum_150_{scheme}")
    stage.window.set_text_size(1)


def _broken_seal(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    settle(600)
    stage.window.signing.ask()
    _sign(stage, "left")
    path = stage.folder / "case_a.json"
    path.write_text(path.read_text(encoding="utf-8").replace("38 mm", "33 mm"), encoding="utf-8")
    stage.window.open_folder(stage.folder, path)
    settle(2000)
    stage.draw(f"state_broken_seal_{scheme}")


def _sign(stage: Stage, side: str) -> None:
    _named(f"Which knee was operated on? {side.title()}").click()
    own = _named("This is my name")
    if not own.isChecked():
        own.click()
    _named("Sign the note").click()
    settle(300)


WidgetT = TypeVar("WidgetT", bound=QWidget)


def _shown(start: str, kind: type[WidgetT]) -> WidgetT:
    """The visible control whose name starts so."""
    found = [each for each in QApplication.allWidgets() if isinstance(each, kind)]
    return next(
        each
        for each in found
        if each.isVisible() and (each.accessibleName() or _words_of(each)).startswith(start)
    )


def _words_of(widget: QWidget) -> str:
    return widget.text() if isinstance(widget, QAbstractButton) else ""


def _named(start: str) -> QAbstractButton:
    return _shown(start, QAbstractButton)


def _focus(start: str) -> None:
    _shown(start, QWidget).setFocus()


def _forty_cases(stage: Stage, scheme: str) -> None:
    text = (stage.folder / "case_a.json").read_text(encoding="utf-8")
    for number in range(34):
        (stage.folder / f"case_{number + 10}.json").write_text(text, encoding="utf-8")
    stage.open("case_a")
    stage.draw(f"state_40_cases_{scheme}")


def _large_text(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.set_text_size(4)
    for page in ("patient", "tears", "handover"):
        stage.window.show_page(page)
        stage.draw(f"state_text_150_{page}_{scheme}")
    stage.window.set_text_size(1)


def _four_thousand(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    stage.window.show_page("tears")
    stage.draw(f"state_4k_{scheme}")


_STATES: Final[tuple[tuple[str, QSize, State], ...]] = (
    ("state_new_case", SMALL, _new_case),
    ("state_sheet state_put_aside state_report", SMALL, _sheet),
    ("state_two_contradictions", SMALL, _half_filled),
    ("state_contradiction state_unread_number state_row_unfolded", SMALL, _wrong_entries),
    ("state_long_name state_find", SMALL, _long_name),
    ("state_both_menisci", SMALL, _both_menisci),
    ("state_list_read state_list_made state_carried_over", SMALL, _list_read),
    ("state_ready_to_sign state_sign_panel", SMALL, _ready_to_sign),
    ("state_signed", SMALL, _signed),
    ("state_broken_seal", SMALL, _broken_seal),
    ("state_40_cases", SMALL, _forty_cases),
    ("state_text_150", SMALL, _large_text),
    ("state_4k", HUGE, _four_thousand),
)
"""The states by the beginnings of their drawings' names."""


def draw_states(wanted: Wanted, scheme: theme.Scheme) -> None:
    """The states of the window that are worth looking at."""
    if wanted.has(f"state_empty_list_{scheme}"):
        with tempfile.TemporaryDirectory() as name:
            stage = Stage(wanted, Path(name), SMALL)
            stage.window.open_later(Path(name))
            settle(100)
            stage.draw(f"state_empty_list_{scheme}")
            stage.close()
    for names, size, draw in _STATES:
        if any(wanted.has(name) or name in wanted.only for name in names.split()):
            with _stage(wanted, size) as stage:
                draw(stage, str(scheme))


def draw_scheme(wanted: Wanted, scheme: theme.Scheme, *, quick: bool) -> None:
    """All pages and states in one theme, at each size."""
    theme.apply_scheme(scheme)
    named = [stem for stem in PAGED_CASES if stem in wanted.only]
    stems = [] if wanted.only.startswith("state") else named or PAGED_CASES
    for size in (SMALL,) if quick else (SMALL, LARGE):
        with _stage(wanted, size) as stage:
            for stem in stems:
                stage.open(stem)
                stage.draw_pages(stem, f"{size.height()}_{scheme}")
    draw_states(wanted, scheme)


def main(arguments: list[str]) -> int:
    """Draw everything that is asked for into the folder that is named."""
    parser = argparse.ArgumentParser(prog="python -m opnote.desk.screens")
    parser.add_argument("out", type=Path, help="the folder of the drawings")
    parser.add_argument("--only", default="", help="only drawings whose names hold this word")
    parser.add_argument("--quick", action="store_true", help="only light, only 1280x720")
    parser.add_argument("--scheme", choices=("light", "dark"), help="only this theme")
    asked = parser.parse_args(arguments)
    asked.out.mkdir(parents=True, exist_ok=True)
    if asked.scheme is None and not asked.quick:
        # A process for each theme, side by side, as drawing keeps one processor busy.
        command = [sys.executable, "-m", "opnote.desk.screens", *arguments, "--scheme"]
        both = [subprocess.Popen([*command, scheme]) for scheme in ("light", "dark")]
        return max(process.wait() for process in both)
    application = QApplication.instance() or QApplication(["opnote"])
    assert isinstance(application, QApplication)
    application.setStyle("Fusion")
    QLocale.setDefault(QLocale.c())  # the same drawings on every computer
    wanted = Wanted(asked.out, asked.only)
    draw_scheme(wanted, theme.Scheme(asked.scheme or "light"), quick=asked.quick)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
