"""How fast the window is: start to first typable page, keystroke to renewed paper, keys a case.

`python tests/benchmarks/bench_window.py` prints it. Not a test: figures belong to a machine.
"""

from __future__ import annotations

import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
# Not as `tests.desk.typist`: a package that is installed may be called `tests` as well.
sys.path.insert(0, str(ROOT / "tests" / "desk"))

STARTS = 5

_BARE = """
import sys, time
start = float(sys.argv[1])
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QMainWindow
application = QApplication([])
window = QMainWindow()
window.resize(1280, 720)
window.show()
application.processEvents()
print(time.time() - start)
"""

_OURS = """
import sys, time
start = float(sys.argv[1])
from opnote.desk.collector import hold_collector
hold_collector()
from pathlib import Path
from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication, QLineEdit
from opnote.desk import theme
from opnote.desk.window import Window
application = QApplication([])
application.setStyle("Fusion")
theme.apply_scheme(theme.Scheme.SYSTEM)
folder = Path(sys.argv[2])
window = Window(QSettings(str(folder / "w.ini"), QSettings.Format.IniFormat), folder)
window.resize(1280, 720)
window.show()
application.processEvents()
print(time.time() - start)
def typable():
    application.processEvents()
    assert isinstance(QApplication.focusWidget(), QLineEdit)
    print(time.time() - start)
    application.exit()
window.case_shown.connect(typable)
window.open_later(folder)
application.exec()
"""


def _starts(program: str, *arguments: str) -> list[list[float]]:
    """For each moment that a program prints, its times over some fresh processes, in ms."""
    moments: list[list[float]] = []
    # As an installed program runs: from compiled modules, whatever the shell says of them.
    kept = Path(os.environ["OPNOTE_CACHE"]) / "compiled"
    env = {**os.environ, "PYTHONPYCACHEPREFIX": str(kept), "PYTHONDONTWRITEBYTECODE": ""}
    for _ in range(1 + STARTS):
        given = [sys.executable, "-c", program, str(time.time()), *arguments]
        told = subprocess.run(
            given, cwd=ROOT, capture_output=True, text=True, check=True, env=env
        ).stdout.split()
        moments.append([1000 * float(word) for word in told])
    del moments[0]  # it compiled the modules and the forms
    return [list(column) for column in zip(*moments, strict=True)]


def _tell(what: str, times: list[float]) -> None:
    print(
        f"{what:44} median {statistics.median(times):7.1f} ms"
        f"   from {min(times):.1f} to {max(times):.1f}"
    )


def measure_start(folder: Path) -> None:
    """From the start of the process to a window, and to a page that can be typed into."""
    (bare,) = _starts(_BARE)
    painted, typable = _starts(_OURS, str(folder))
    _tell("bare Qt window painted", bare)
    _tell("our window painted", painted)
    _tell("first page of a case takes the first key", typable)
    over = statistics.median(typable) - statistics.median(bare)
    print(f"{'over the bare window':44} {over:14.1f} ms")


def measure_typing(folder: Path) -> None:
    """Type the whole of demo case A into a new case and time every key."""
    # Late: the first part measures processes of its own.
    from PySide6.QtCore import QSettings
    from PySide6.QtWidgets import QApplication

    from opnote.desk import theme
    from opnote.desk.collector import hold_collector
    from opnote.desk.window import Window
    from opnote.pack.cache import cached_pack
    from opnote.pack.case import read_case

    hold_collector()
    if TYPE_CHECKING:
        from tests.desk.typist import Typist
    else:
        from typist import Typist

    application = QApplication.instance() or QApplication([])
    assert isinstance(application, QApplication)
    application.setStyle("Fusion")
    theme.apply_scheme(theme.Scheme.LIGHT)
    target, _ = read_case((folder / "case_a.json").read_text("utf-8"), "case_a", cached_pack)
    settings = QSettings(str(folder / "w.ini"), QSettings.Format.IniFormat)
    window = Window(settings, folder, lambda: datetime(2026, 3, 9, 11, 30))
    window.resize(1280, 720)
    window.show()
    window.activateWindow()
    window.open_folder(folder)
    while not window.has_read_all():
        application.processEvents()
    window.new_case()
    idle_until = time.monotonic() + 4
    while time.monotonic() < idle_until:
        application.processEvents()
    typist = Typist()
    typist.enter(target)
    times = sorted(1000 * seconds for seconds in typist.seconds)
    cuts = statistics.quantiles(times, n=100)
    print(f"\nkeys to enter demo case A: {typist.presses}")
    print(
        f"key to renewed findings and paper: median {statistics.median(times):.1f} ms,"
        f" 95 % {cuts[94]:.1f} ms, 99 % {cuts[98]:.1f} ms, longest {times[-1]:.1f} ms"
    )
    missing = {p for p, v in target.values.items() if window.record().values.get(p) != v}
    print(f"values that differ from the case: {len(missing)} {sorted(missing)[:8]}")
    window.close()


def measure_keys(folder: Path) -> None:
    """In the full case A press a key in each box, and time it until all of it is painted."""
    from PySide6.QtCore import QSettings, Qt
    from PySide6.QtTest import QTest
    from PySide6.QtWidgets import QApplication, QWidget

    from opnote.desk import theme
    from opnote.desk.collector import hold_collector
    from opnote.desk.window import Window

    hold_collector()
    application = QApplication.instance() or QApplication([])
    assert isinstance(application, QApplication)
    application.setStyle("Fusion")
    theme.apply_scheme(theme.Scheme.LIGHT)
    settings = QSettings(str(folder / "w.ini"), QSettings.Format.IniFormat)
    window = Window(settings, folder, lambda: datetime(2026, 3, 9, 11, 30))
    window.resize(1280, 720)
    window.show()
    window.activateWindow()
    window.open_folder(folder, folder / "case_a.json")
    while not window.has_read_all():
        application.processEvents()
    idle_until = time.monotonic() + 8
    while time.monotonic() < idle_until:
        application.processEvents()
    letter, digit = Qt.Key.Key_X, Qt.Key.Key_1
    kinds = dict.fromkeys(("text", "prose", "person"), letter)
    kinds |= dict.fromkeys(("quantity", "integer"), digit)
    wall: list[float] = []
    thread: list[float] = []
    slow: list[tuple[float, str]] = []
    case = window.held.shown
    assert case is not None
    for path in list(window.record().values):
        field = case.session.pack.field_at(path)
        typed = kinds.get(field.kind) if field is not None and not field.is_computed else None
        if typed is None:
            continue
        window.go_to(path)
        box = QApplication.focusWidget()
        assert isinstance(box, QWidget)
        QTest.keyClick(box, Qt.Key.Key_End, Qt.KeyboardModifier.ControlModifier)
        for key in (typed, Qt.Key.Key_Backspace):
            application.processEvents()
            before = window.record()
            start, worked = time.perf_counter(), time.thread_time()
            QTest.keyClick(box, key)
            application.processEvents()
            if window.record() is before:
                continue
            wall.append(1000 * (time.perf_counter() - start))
            thread.append(1000 * (time.thread_time() - worked))
            slow.append((thread[-1], path))
    print(f"\nkeys in boxes of the full case A: {len(wall)}")
    for what, times in (("wall clock", wall), ("processor time", thread)):
        cuts = statistics.quantiles(times, n=20)
        print(
            f"key to all of it painted, {what:15} least {min(times):.1f} ms,"
            f" median {statistics.median(times):.1f} ms, 95 % {cuts[18]:.1f} ms"
        )
    print("slowest:", "; ".join(f"{path} {t:.1f}" for t, path in sorted(slow, reverse=True)[:8]))
    window.close()


def main() -> None:
    """Measure on copies of the demo cases."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for case in (ROOT / "forms" / "samples").glob("*.json"):
            shutil.copyfile(case, folder / case.name)
        os.environ.setdefault("OPNOTE_CACHE", str(folder / "cache"))
        measure_start(folder)
        measure_keys(folder)
        measure_typing(folder)


if __name__ == "__main__":
    main()
