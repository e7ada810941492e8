"""What a person settled holds only for what was so then."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from opnote.assess import Finding, assess
from opnote.compose import compose
from opnote.compose.document import Status
from opnote.pack.case import case_text, read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import (
    Due,
    Quantity,
    Record,
    book_due,
    clear_value,
    give_reason,
    leave_unanswered,
    set_value,
)


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(("meniscal_repair",))


@pytest.fixture
def case_a(pack: Pack) -> Record:
    path = Path(shipped_root() / "forms" / "samples" / "case_a.json")
    return read_case(path.read_text(encoding="utf-8"), "case_a", lambda names: pack)[0]


def _finding(pack: Pack, record: Record, finding_id: str) -> Finding:
    findings = assess(pack, pack.view(record)).findings
    return next(finding for finding in findings if finding.id == finding_id)


def test_reason_does_not_outlive_what_it_explained(pack: Pack, case_a: Record) -> None:
    path = "tourniquet.pressure"
    high = set_value(path, Quantity(360, "mmHg"), "Pressure").apply(case_a)
    found = _finding(pack, high, f"usual:{path}")
    explained = give_reason(found.id, "a very thick thigh", "Reason", found.basis).apply(high)
    assert _finding(pack, explained, found.id).settled
    higher = set_value(path, Quantity(380, "mmHg"), "Pressure").apply(explained)
    assert not _finding(pack, higher, found.id).settled
    back = set_value(path, Quantity(360, "mmHg"), "Pressure").apply(higher)
    assert _finding(pack, back, found.id).settled


def test_what_was_explained_is_kept_in_the_case_file(pack: Pack, case_a: Record) -> None:
    finding = "usual:tourniquet.pressure"
    explained = give_reason(finding, "because", "Reason", "it was so").apply(case_a)
    again, _ = read_case(case_text(explained, pack.form), "case", lambda names: pack)
    assert again.facts[finding] == "it was so"


def test_check_can_not_be_booked_for_before_the_end_of_the_operation(
    pack: Pack, case_a: Record
) -> None:
    early = Due(datetime(2026, 3, 9, 6, 0), "Dr T. Thornquill")
    booked = book_due("nerves_after_block", early, "Booking").apply(case_a)
    assert not _finding(pack, booked, "nerves_after_block").settled


@pytest.mark.parametrize("path", ["side", "patient.name", "patient.number", "operation.date"])
def test_whose_operation_it_is_can_not_be_left_open(pack: Pack, case_a: Record, path: str) -> None:
    open_case = clear_value(path, "Clear").apply(case_a)
    silent = leave_unanswered(path, "it was not written down", "Silent").apply(open_case)
    assert not _finding(pack, silent, f"gap:{path}").settled


def test_sheet_with_a_disputed_side_is_preliminary(pack: Pack, case_a: Record) -> None:
    view = pack.view(set_value("side", "right", "Side").apply(case_a))
    for kind in ("risk_sheet", "recovery_plan"):
        assert compose(pack, view, assess(pack, view), kind).status is Status.PRELIMINARY
