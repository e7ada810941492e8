"""What every test may ask for: a small pack of two procedures, and a cache of its own."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from datetime import date, datetime, time
from functools import lru_cache
from pathlib import Path

import pytest

from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Due, Quantity, Record, Value, add_row, book_due, set_values

MINI = Path(__file__).parent / "packs" / "mini"


@pytest.fixture(autouse=True)
def _own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test reads or writes the folders of the person who runs it."""
    monkeypatch.setenv("OPNOTE_CACHE", str(tmp_path / "cache"))
    monkeypatch.setenv("OPNOTE_DATA", str(tmp_path / "data"))


@lru_cache
def _loaded(procedures: tuple[str, ...]) -> Pack:
    return load_pack(procedures, [MINI])


@pytest.fixture
def mini_folder(tmp_path: Path) -> Path:
    """A copy of the small pack's folder that a test may change."""
    folder = tmp_path / "mini"
    shutil.copytree(MINI, folder)
    return folder


@pytest.fixture(scope="session")
def mini_pack() -> Callable[[Sequence[str]], Pack]:
    """The small pack of the procedures that are named."""
    return lambda procedures: _loaded(tuple(procedures))


@pytest.fixture(scope="session")
def mini() -> Pack:
    """The small pack of one procedure."""
    return _loaded(("mini_repair",))


@pytest.fixture(scope="session")
def full_case(mini: Pack) -> Record:
    """A case of `mini` with every field filled and nothing open: two tears, both stitched."""
    record = set_values(
        {
            "patient.name": "Mrs Ann Example",
            "patient.born": date(1990, 5, 1),
            "side": "left",
            "operation.date": date(2026, 3, 9),
            "operation.start": time(8, 40),
            "operation.end": time(9, 50),
            "cuff.used": True,
            "cuff.pressure": Quantity(250, "mmHg"),
            "complications": ("bleeding",),
            "complication_detail": "a little oozing",
            "checked_at": datetime(2026, 3, 9, 12, 30),
            "feeling": "normal",
            "remarks": "Nothing else.",
            "plan.weeks": Quantity(6, "weeks"),
            "plan.brace": "hinged",
            "signature": "Mr B. Sample",
        },
        "fill",
    ).apply(mini.new_record())
    tears: tuple[dict[str, Value], ...] = (
        {
            "meniscus": "medial",
            "pattern": "bucket_handle",
            "length_mm": Quantity(38, "mm"),
            "rim_mm": Quantity(2.5, "mm"),
            "note": "frayed",
        },
        {
            "meniscus": "lateral",
            "pattern": "radial",
            "length_mm": Quantity(12, "mm"),
            "rim_mm": Quantity(4, "mm"),
            "note": "short",
        },
    )
    for tear in tears:
        record = add_row("tears", "add", tear).apply(record)
    rows: tuple[dict[str, Value], ...] = (
        {"tear": "r1", "count": 7, "lot": "ab12"},
        {"tear": "r2", "count": 2},
    )
    for stitches in rows:
        record = add_row("stitches", "add", stitches).apply(record)
    return book_due("feeling_later", Due(datetime(2026, 3, 10, 8, 0), "ward"), "book").apply(record)
