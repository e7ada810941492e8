"""The recovery plan says what a patient must know at home. Rules: common practice."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from opnote.assess import assess
from opnote.compose import compose
from opnote.compose.document import Status
from opnote.compose.text import text_from
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Quantity, Record, Value, add_row, clear_value, set_value


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


ALL_SIGNS = ("calf", "breath", "fever", "foot_drop", "locking", "pain")


def test_each_sign_has_one_urgency(pack: Pack, case_a: Record) -> None:
    said = _plan(pack, set_value("plan.red_flags", ALL_SIGNS, "Told to call for").apply(case_a))
    section = said[said.index("When to call") : said.index("Who to call")]
    emergency, at_once, same_day = re.split(r"Call us at once|Call us the same day", section)
    for sign, place in (
        ("Short breath", emergency),
        ("pain in the leg", emergency),
        ("lift your foot", at_once),
        ("foot turns numb", same_day),
        ("knee swells fast", same_day),
        ("calf", same_day),
        ("fever", same_day),
        ("locks", same_day),
    ):
        assert [sign in part for part in (emergency, at_once, same_day)].count(True) == 1
        assert sign in place
    assert "lifted" not in same_day
    assert "no tablet" not in same_day


def test_signs_that_are_all_said_apart_leave_no_empty_list(pack: Pack, case_a: Record) -> None:
    record = set_value("plan.red_flags", ("breath", "foot_drop"), "Told to call for")
    said = _plan(pack, record.apply(case_a))
    assert "The same goes for" not in said
    assert "if your knee swells fast or your foot turns numb." in said


def test_technical_words_about_a_device_stay_out_of_the_plan(pack: Pack, case_a: Record) -> None:
    said = _plan(pack, case_a)
    assert "There was a problem with a device. Ask us what happened" in said
    assert "misfired" not in said
    assert "retrieved" not in said


def test_what_waits_stands_in_one_order_in_table_and_drawing(pack: Pack, case_a: Record) -> None:
    said = _plan(pack, case_a)
    drawing = said[said.index("[Figure: Timeline") :]
    table = said[said.index("What has to wait") : said.index("[Figure: Timeline")]
    pairs = [
        ("Driving", "No driving"),
        ("Heavy or kneeling work", "No heavy or kneeling work"),
        ("Deep squat", "No deep squat"),
        ("Running", "No running"),
        ("Sport", "No sport"),
    ]
    assert [table.index(row) for row, _ in pairs] == sorted(table.index(row) for row, _ in pairs)
    bars = [drawing.index(bar) for _, bar in pairs]
    assert bars == sorted(bars)


def test_desk_work_has_its_bar(pack: Pack, case_a: Record) -> None:
    record = set_value("plan.desk_weeks", Quantity(2, "weeks"), "Desk work").apply(case_a)
    # Two weeks after 9 March 2026.
    assert "No desk work: until 23 March 2026" in _plan(pack, record)


@pytest.mark.parametrize("told", ["no", None])
def test_a_complication_is_told_in_person_before_it_is_told_on_paper(
    pack: Pack, case_a: Record, told: str | None
) -> None:
    path = "complications.r7.told"
    edit = clear_value(path, "") if told is None else set_value(path, told, "")
    record = edit.apply(case_a)
    view = pack.view(record)
    document = compose(pack, view, assess(pack, view), "recovery_plan")
    said = text_from(document)
    assert "There was a problem with a device." not in said
    assert "Ask us how the operation went." in said
    assert document.status is Status.PRELIMINARY
    plain = _plan(pack, case_a)
    assert "There was a problem with a device." in plain
    assert "Ask us how the operation went." not in plain


def test_what_is_asked_of_us_stands_once(pack: Pack, case_a: Record) -> None:
    values: dict[str, Value] = {"kind": "other", "what": "a late start", "told": "yes"}
    record = add_row("complications", "", values).apply(case_a)
    said = _plan(pack, record)
    assert "Something did not go as planned." in said
    assert said.count("Ask us what happened") == 1


def test_an_untreated_tear_beside_a_mended_one_is_another_tear(pack: Pack, case_a: Record) -> None:
    values: dict[str, Value] = {"meniscus": "medial", "pattern": "radial", "treatment": "left"}
    said = _plan(pack, add_row("tears", "", values).apply(case_a))
    assert "We did not treat one tear of the pad on the inner side." in said


def test_a_remark_on_weight_and_brace_reaches_those_who_follow_the_plan(
    pack: Pack, case_a: Record
) -> None:
    words = "No bending past 60 degrees in the first two weeks."
    view = pack.view(set_value("remark.recovery_load", words, "").apply(case_a))
    for kind in ("note", "letter", "recovery_card"):
        assert words in text_from(compose(pack, view, assess(pack, view), kind))
