"""How a long theatre list behaves: start to list shown, to all read, and memory.

`python tests/benchmarks/bench_list.py` prints, for lists of 12 and of 40 cases, the time from the
start of the process until the list is on screen, until its first case can be typed into and until
the state of every case is known, the longest that the window did not answer meanwhile, and the
resident memory once each case was opened. Not a test: figures belong to a machine.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
ROOT = Path(__file__).resolve().parents[2]

STARTS = 3
SIZES = (12, 40)

_PROGRAM = """
import sys, time
start = float(sys.argv[1])
from pathlib import Path
from PySide6.QtCore import QSettings, QTimer
from PySide6.QtWidgets import QApplication
from opnote.desk import theme
from opnote.desk.window import Window
application = QApplication([])
application.setStyle("Fusion")
theme.apply_scheme(theme.Scheme.LIGHT)
folder = Path(sys.argv[2])
window = Window(QSettings(str(folder / "w.ini"), QSettings.Format.IniFormat), folder)
window.resize(1280, 720)
window.show()
application.processEvents()
paths = sorted(folder.glob("*.json"))
shown = []
window.case_shown.connect(lambda: shown.append(time.time()))
window.open_folder(folder)
application.processEvents()
print(1000 * (time.time() - start))
gaps, last = [], time.time()
def beat():
    global last
    now = time.time()
    if shown:
        gaps.append(now - last)
    last = now
    if window.has_read_all():
        application.exit()
# A beat, and no loop without a pause, which would keep the worker from reading.
pulse = QTimer(interval=5)
pulse.timeout.connect(beat)
pulse.start()
application.exec()
print(1000 * (shown[0] - start))
print(1000 * (time.time() - start))
print(1000 * max(gaps))
def resident():
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * 4096 / 2**20
print(resident())
opened = []
for path in paths:
    before = time.time()
    window.open_case(path)
    application.processEvents()
    opened.append(1000 * (time.time() - before))
print(sorted(opened)[len(opened) // 2])
print(max(opened[1:]))
print(resident())
window.close()
"""
_MOMENTS = (
    ("list on screen", "ms"),
    ("first case can be typed into", "ms"),
    ("state of every case known", "ms"),
    ("longest without an answer while reading", "ms"),
    ("resident, one case opened", "MB"),
    ("opening another case, median", "ms"),
    ("opening another case, longest", "ms"),
    ("resident, each case opened once", "MB"),
)


def measure(count: int) -> None:
    """Print what a list of so many cases takes."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        samples = sorted((ROOT / "forms" / "samples").glob("*.json"))
        for number in range(count):
            text = samples[number % len(samples)].read_text(encoding="utf-8")
            (folder / f"case_{number:02}.json").write_text(text, encoding="utf-8")
        columns: list[list[float]] = [[] for _ in _MOMENTS]
        for _ in range(STARTS):
            given = [sys.executable, "-c", _PROGRAM, str(time.time()), str(folder)]
            told = subprocess.run(
                given, cwd=ROOT, capture_output=True, text=True, check=True, env=dict(os.environ)
            ).stdout.split()
            for column, word in zip(columns, told, strict=True):
                column.append(float(word))
    print(f"{count} cases")
    for (what, unit), times in zip(_MOMENTS, columns, strict=True):
        middle, least, most = statistics.median(times), min(times), max(times)
        print(f"  {what:42} median {middle:7.1f} {unit}   from {least:.1f} to {most:.1f}")


if __name__ == "__main__":
    for size in SIZES:
        measure(size)
