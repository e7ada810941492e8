"""The recovery plan says what a patient must know at home. Rules: common practice."""

from __future__ import annotations

from pathlib import Path

import pytest

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.text import text_from
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Record, set_value


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(("meniscal_repair",))


@pytest.fixture
def case_a(pack: Pack) -> Record:
    path = Path(shipped_root() / "forms" / "samples" / "case_a.json")
    return read_case(path.read_text(encoding="utf-8"), "case_a", lambda names: pack)[0]


def _plan(pack: Pack, record: Record) -> str:
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), "recovery_plan")
    return text_from(document)


def test_a_numbed_leg_is_told_with_the_hour_of_the_next_look(pack: Pack, case_a: Record) -> None:
    said = _plan(pack, case_a)
    assert "Do not stand up or walk alone until the feeling and the strength are back." in said
    assert "We look at your foot again on 9 March 2026, 20:00." in said


def test_without_a_block_no_numb_leg_is_told(pack: Pack, case_a: Record) -> None:
    bare = set_value("anaesthesia.blocks", ("none",), "Block").apply(case_a)
    said = _plan(pack, bare)
    assert "The first day" not in said
    assert "walk alone" not in said


def test_dangers_of_the_drugs_that_go_home_are_told(pack: Pack, case_a: Record) -> None:
    said = _plan(pack, case_a)
    assert "Heparin is injected under the skin" in said
    assert "more so with an anti-inflammatory drug" in said
    assert "do not drive or work with machines while you take it" in said
    fewer = set_value("plan.analgesia", ("paracetamol",), "Pain").apply(
        set_value("plan.vte", ("walking",), "Clots").apply(case_a)
    )
    said = _plan(pack, fewer)
    assert "Heparin" not in said
    assert "bleeding likelier" not in said
    assert "opioid" not in said


def test_physiotherapist_reads_of_the_release_and_the_venting(pack: Pack, case_a: Record) -> None:
    said = _plan(pack, case_a)
    assert "- Release of the superficial medial collateral ligament" in said
    assert "- Marrow venting" in said
    assert "We made small holes in the bone in the middle of the knee" in said
