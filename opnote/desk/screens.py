"""Drawings of the window: every page of the demo cases, and the states worth looking at.

`python -m opnote.desk.screens OUT` writes them as PNG files, without a screen, and ends with 1 when
something in one of them is clipped, lies over something else or can't be reached: each such flaw is
a line that begins with the name of its drawing. `--quick` draws only the light theme at 1280x720,
`--only WORD` only the drawings whose names hold the word (`--only tears`, `--only state_`, `--only
case_b`). Names are KIND_NUMBER_PAGE_HEIGHT_THEME.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from pathlib import Path
from typing import Final

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QLocale, QMessageLogContext, QSize, Qt, QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QApplication

from opnote.desk import theme
from opnote.desk.sheet_report import SheetLine
from opnote.desk.stage import SMALL, Stage, State, Wanted, settle, stage_on
from opnote.desk.stage import press as _press
from opnote.desk.stage import type_text as _type
from opnote.desk.state_case import BOTH_MENISCI, EMPTY, HALF_FILLED, LIST
from opnote.desk.state_dialog import DIALOGS
from opnote.desk.state_notice import NOTICES
from opnote.desk.state_signing import SIGNING

LARGE: Final = QSize(1920, 1080)
HUGE: Final = QSize(3840, 2160)
PAGED_CASES: Final = (EMPTY, HALF_FILLED, "case_a", "case_b", "case_c")


def _replace(stage: Stage, path: str, text: str) -> None:
    stage.replace(path, text)


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
    line = next(each for each in stage.window.findChildren(SheetLine) if each.isVisible())
    line.click()
    settle(300)
    stage.draw_dialog(f"state_report_{scheme}")


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
    for page in ("tears", "stitches", "others", "implants"):
        stage.window.show_page(page)
        stage.draw(f"state_both_menisci_{page}_{scheme}")


def _list_read(stage: Stage, scheme: str) -> None:
    stage.open("case_a")
    path = stage.folder / "day.csv"
    path.write_text(LIST, encoding="utf-8")
    stage.window.lists.read(path)
    stage.draw(f"state_list_read_{scheme}")
    with stage.large_text():
        stage.draw(f"state_list_read_150_{scheme}")
    stage.window.lists.make()
    stage.draw(f"state_list_made_{scheme}")
    stage.window.lists.put_away()
    stage.window.next_case()
    stage.draw(f"state_carried_over_{scheme}")


def _forty_cases(stage: Stage, scheme: str) -> None:
    text = (stage.folder / "case_a.json").read_text(encoding="utf-8")
    for number in range(34):
        (stage.folder / f"case_{number + 10}.json").write_text(text, encoding="utf-8")
    stage.open("case_a")
    stage.draw(f"state_40_cases_{scheme}")


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
    ("state_40_cases", SMALL, _forty_cases),
    ("state_4k", HUGE, _four_thousand),
)
"""The states by the beginnings of their drawings' names."""


_PARTS: Final = ("notices", "dialogs", "states", "1080", "150", "720", "signing")
"""What one process draws: the pages at a height, those with large text, or a table of states."""


def draw_states(wanted: Wanted, scheme: str, table: Sequence[tuple[str, QSize, State]]) -> None:
    """Draw the states of a table that were asked for."""
    for names, size, draw in table:
        if any(wanted.has(name) or name in wanted.only for name in names.split()):
            with stage_on(wanted, size) as stage:
                draw(stage, scheme)


def _draw_empty_list(wanted: Wanted, scheme: str) -> None:
    if wanted.has(f"state_empty_list_{scheme}"):
        with stage_on(wanted, SMALL, empty=True) as stage:
            stage.window.open_later(stage.folder)
            settle(100)
            stage.draw(f"state_empty_list_{scheme}")


def draw_pages(wanted: Wanted, scheme: str, part: str) -> None:
    """Draw the pages of the cases that were asked for."""
    if wanted.only.startswith("state"):
        return
    size = LARGE if part == "1080" else SMALL
    ending = "720_text_150" if part == "150" else part
    named = [stem for stem in PAGED_CASES if stem in wanted.only]
    with stage_on(wanted, size) as stage, stage.large_text() if part == "150" else nullcontext():
        for stem in named or PAGED_CASES:
            stage.open(stem)
            stage.draw_pages(stem, f"{ending}_{scheme}")


def draw_part(wanted: Wanted, scheme: str, part: str) -> None:
    """One of the parts in one theme."""
    theme.apply_scheme(theme.Scheme(scheme))
    if part == "states":
        _draw_empty_list(wanted, scheme)
        draw_states(wanted, scheme, _STATES)
    elif part == "dialogs":
        draw_states(wanted, scheme, DIALOGS)
    elif part == "notices":
        draw_states(wanted, scheme, NOTICES)
    elif part == "signing":
        draw_states(wanted, scheme, SIGNING)
    else:
        draw_pages(wanted, scheme, part)


def _run_parts(arguments: list[str], schemes: Sequence[str]) -> int:
    """Every part in every theme, side by side: each keeps one processor busy."""

    def run(scheme: str, part: str) -> int:
        command = [sys.executable, "-m", "opnote.desk.screens", *arguments]
        return subprocess.run(
            [*command, "--scheme", scheme, "--part", part], check=False
        ).returncode

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        runs = [pool.submit(run, scheme, part) for part in _PARTS for scheme in schemes]
    # A process that was killed ends with a number below zero.
    return int(any(each.result() for each in runs))


def _on_message(kind: QtMsgType, context: QMessageLogContext, words: str | None) -> None:
    """What Qt has to say, but not that there is no screen."""
    if "This plugin does not support" not in (words or ""):
        print(words, file=sys.stderr)


def main(arguments: list[str]) -> int:
    """Draw everything that is asked for into the folder that is named; 1 when it has a flaw."""
    parser = argparse.ArgumentParser(prog="python -m opnote.desk.screens")
    parser.add_argument(
        "out", type=Path, nargs="?", default=Path("screens"), help="the folder of the drawings"
    )
    parser.add_argument(
        "--check-only", action="store_true", help="look for flaws, and draw and write nothing"
    )
    parser.add_argument("--only", default="", help="only drawings whose names hold this word")
    parser.add_argument("--quick", action="store_true", help="only light, only 1280x720")
    parser.add_argument("--scheme", choices=("light", "dark"), help="only this theme")
    parser.add_argument("--part", choices=_PARTS, help="only this part")
    asked = parser.parse_args(arguments)
    if not asked.check_only:
        asked.out.mkdir(parents=True, exist_ok=True)
    if asked.scheme is None and not asked.quick:
        # The themes differ in their colours alone: nothing takes more room in one of them.
        return _run_parts(arguments, ("light",) if asked.check_only else ("light", "dark"))
    application = QApplication.instance() or QApplication(["opnote"])
    assert isinstance(application, QApplication)
    application.setStyle("Fusion")
    QLocale.setDefault(QLocale.c())  # the same drawings on every computer
    wanted = Wanted(asked.out, asked.only, draws=not asked.check_only)
    quick = [part for part in _PARTS if part not in ("1080", "150")]
    for part in [asked.part] if asked.part else quick if asked.quick else _PARTS:
        draw_part(wanted, asked.scheme or "light", part)
    return 1 if wanted.faults else 0


if __name__ == "__main__":
    qInstallMessageHandler(_on_message)
    sys.exit(main(sys.argv[1:]))
