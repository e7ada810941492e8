"""A scanned label fills the columns of its row, as the form declares."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.pack.problem import PackError
from opnote.pack.scan import UNREAD, scanned
from opnote.record import Record, add_row, set_value

FORM = "forms/mini_repair/form.toml"
COLUMNS = """[[page.field.column]]
path = "label"
label = "Scan"
kind = "scan"
silent = "its parts are said"
fault = "label_fault(stitch.label, operation.date)"
[page.field.column.fills]
lot = "label_lot(stitch.label, operation.date)"
expiry = "label_expires(stitch.label, operation.date)"

[[page.field.column]]
path = "expiry"
label = "Use by"
kind = "date"
silent = "for the test"

[[page.field.column]]
path = "lot"
"""
SAMPLE = "(01)00844588003288(17)281120(10)7654321D(21)10987654d321"
"""After the sample label that GS1 and the FHIR Device resource publish, with a later date."""


@pytest.fixture
def pack(mini_folder: Path, change: Callable[[str, str, str], None]) -> Pack:
    """The small pack with a column to scan into."""
    change(FORM, '[[page.field.column]]\npath = "lot"\n', COLUMNS)
    return load_pack(("mini_repair",), [mini_folder])


@pytest.fixture
def record(pack: Pack) -> Record:
    """A case with one row of stitches."""
    dated = set_value("operation.date", date(2026, 3, 9), "Date").apply(pack.new_record())
    return add_row("stitches", "Add", {"count": 3}).apply(dated)


def test_label_fills_the_columns_of_its_row(pack: Pack, record: Record) -> None:
    found = scanned(pack, record, "stitches.r1.label", SAMPLE)
    assert found.fault == ""
    assert found.values == {
        "stitches.r1.lot": "7654321D",
        "stitches.r1.expiry": date(2028, 11, 20),
    }


def test_label_that_can_not_be_read_fills_nothing_and_says_why(pack: Pack, record: Record) -> None:
    wrong_check_digit = SAMPLE.replace("3288", "3289")
    found = scanned(pack, record, "stitches.r1.label", wrong_check_digit)
    assert found.values == {}
    assert "check digit" in found.fault


def test_label_waits_for_the_day_by_which_its_dates_are_read(pack: Pack) -> None:
    undated = add_row("stitches", "Add", {"count": 3}).apply(pack.new_record())
    found = scanned(pack, undated, "stitches.r1.label", SAMPLE)
    assert found.values == {}
    assert found.fault == UNREAD


def test_no_text_is_no_fault(pack: Pack, record: Record) -> None:
    assert scanned(pack, record, "stitches.r1.label", "  ") == scanned(
        pack, record, "stitches.r1.label", ""
    )
    assert scanned(pack, record, "stitches.r1.label", "").fault == ""


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        (
            'lot = "label_lot',
            'lott = "label_lot',
            "'stitches.label' fills no column 'lott'; did you mean 'lot'?",
        ),
        (
            'expiry = "label_expires(',
            'expiry = "label_lot(',
            "'stitches.expiry': it is declared as a date but computed as a text; "
            "change the kind or the expression",
        ),
        (
            'kind = "scan"',
            'kind = "text"',
            "'stitches.label': a scan is a column and needs 'fills'; "
            "name the columns that it fills",
        ),
    ],
)
def test_faulty_scan_is_found_on_loading(
    pack: Pack,
    mini_folder: Path,
    change: Callable[[str, str, str], None],
    old: str,
    new: str,
    message: str,
) -> None:
    change(FORM, old, new)
    with pytest.raises(PackError) as caught:
        load_pack(("mini_repair",), [mini_folder])
    assert [str(problem).partition(": ")[2] for problem in caught.value.problems] == [message]
