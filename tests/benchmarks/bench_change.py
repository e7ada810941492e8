"""What one change costs, part by part, over a scripted run that changes one field at a time.

Counted is the processor time of the window's thread, on which other programs weigh little.

`python tests/benchmarks/bench_change.py [case]` prints a table. Not a test: figures belong to a
machine.
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

os.environ["QT_QPA_PLATFORM"] = "offscreen"
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from PySide6.QtCore import QSettings
from PySide6.QtWidgets import QApplication

from opnote.desk import theme
from opnote.desk.case_pane import CasePane
from opnote.desk.collector import hold_collector
from opnote.desk.findings import FindingsPane
from opnote.desk.page_list import PageList
from opnote.desk.paper import Paper
from opnote.desk.session import State
from opnote.desk.window import Window
from opnote.pack.form import Field
from opnote.record import NOT_EXAMINED, Quantity, Value, clear_value, set_value

ROOT = Path(__file__).resolve().parents[2]
ROUNDS = 2


def another(value: Value, field: Field) -> Value | None:
    """Another value that the field could hold; None when there is none to make up."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, Quantity):
        return replace(value, amount=value.amount + 1)
    if isinstance(value, int | float):
        return value + 1
    if isinstance(value, datetime | date):
        return value + timedelta(days=1)
    if field.kind in ("choice", "grade"):
        return next((o.value for o in field.options if o.value != value), None)
    if field.kind == "choices" and isinstance(value, tuple):
        return value[1:] if value else (field.options[0].value,)
    if field.kind == "yes_no":
        return True if value == NOT_EXAMINED else None
    if isinstance(value, str) and field.kind in ("text", "prose", "person"):
        return value + "x"
    return None


class Clock:
    """Adds up the time spent in some methods, without what they call of each other."""

    def __init__(self) -> None:
        self.parts: dict[str, float] = defaultdict(float)
        self._inner: list[float] = []

    def time(self, owner: Any, name: str, part: str) -> None:
        """Time a method or a cached property from now on."""
        original = owner.__dict__[name]
        work: Callable[..., Any] = getattr(original, "func", original)

        def timed(*arguments: Any, **more: Any) -> Any:
            start = time.thread_time()
            self._inner.append(0.0)
            try:
                return work(*arguments, **more)
            finally:
                spent = time.thread_time() - start
                self.parts[part] += spent - self._inner.pop()
                if self._inner:
                    self._inner[-1] += spent

        if hasattr(original, "func"):
            replaced = type(original)(timed)
            replaced.__set_name__(owner, name)
            setattr(owner, name, replaced)
        else:
            setattr(owner, name, timed)


def edits(window: Window) -> Iterator[tuple[str, Any]]:
    """Each value changed and put back, one after the other; some taken away and put back."""
    case = window.held.shown
    assert case is not None
    record = case.session.record
    for index, (path, value) in enumerate(record.values.items()):
        field = case.session.pack.field_at(path)
        if field is None or field.is_computed:
            continue
        other = another(value, field)
        if other is not None:
            yield path, set_value(path, other, "bench")
            yield path, set_value(path, value, "bench")
        if index % 4 == 0:
            yield path, clear_value(path, "bench")
            yield path, set_value(path, value, "bench")


def main() -> None:
    """Measure on a copy of a demo case."""
    stem = sys.argv[1] if len(sys.argv) > 1 else "case_a"
    kinds = sys.argv[2:] or ["note", "risk_sheet"]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copyfile(ROOT / "forms" / "samples" / f"{stem}.json", folder / f"{stem}.json")
        os.environ.setdefault("OPNOTE_CACHE", str(folder / "cache"))
        hold_collector()
        application = QApplication([])
        application.setStyle("Fusion")
        theme.apply_scheme(theme.Scheme.LIGHT)
        settings = QSettings(str(folder / "w.ini"), QSettings.Format.IniFormat)
        window = Window(settings, folder, lambda: datetime(2026, 3, 9, 11, 30))
        window.resize(1280, 720)
        window.show()
        window.open_folder(folder)
        while window.current_path() is None:
            application.processEvents()
        idle_until = time.monotonic() + 3
        while time.monotonic() < idle_until:
            application.processEvents()
        for kind in kinds:
            window.show_document(kind)
            measure(window, application, f"{stem}, {kind}")
        window.close()


def measure(window: Window, application: QApplication, title: str) -> None:
    """Run the script with one document on the paper and print what each part took."""
    clock = Clock()
    kept = [
        (owner, name, owner.__dict__[name])
        for owner, name in (
            (State, "view"),
            (State, "assessment"),
            (State, "document"),
            (CasePane, "refresh"),
            (PageList, "refresh"),
            (FindingsPane, "refresh"),
            (Paper, "show_document"),
            (Window, "_on_changed"),
        )
    ]
    for owner, name, _ in kept:
        clock.time(owner, name, f"{owner.__name__}.{name}")
    found: dict[str, list[float]] = defaultdict(list)
    slow: list[tuple[float, str]] = []
    for _ in range(ROUNDS):
        for path, edit in edits(window):
            case = window.held.shown
            workspace = window._workspace
            assert case is not None
            assert workspace is not None
            page = workspace.desk.page_of(path)
            if page and page != case.page:
                workspace.case_pane.show_page(page)
                application.processEvents()
            # As after a pause: else a value that is put back would take its step of undo along.
            case.session.end_merging()
            clock.parts.clear()
            start = time.thread_time()
            case.session.apply(edit, window)
            changed = time.thread_time()
            # What was put off: layout and painting.
            application.processEvents()
            whole = time.thread_time()
            for part, spent in clock.parts.items():
                found[part].append(1000 * spent)
            found["- change"].append(1000 * (changed - start))
            found["- layout and paint"].append(1000 * (whole - changed))
            found["= whole"].append(1000 * (whole - start))
            slow.append((1000 * (whole - start), path))
    for owner, name, original in kept:
        setattr(owner, name, original)
    print(f"\n{title}: {len(slow)} changes")
    for part, times in found.items():
        cuts = statistics.quantiles(times, n=20)
        print(f"  {part:28} median {statistics.median(times):6.2f}   95 % {cuts[18]:6.2f} ms")
    print("  slowest:", "; ".join(f"{p} {t:.1f}" for t, p in sorted(slow, reverse=True)[:8]))


if __name__ == "__main__":
    main()
