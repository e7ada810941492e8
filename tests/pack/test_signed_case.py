"""A signed case file says when it isn't what was signed, and is written again as it was read."""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import jsonschema  # type: ignore[import-untyped]
import pytest

from opnote.compose.photograph import no_pictures
from opnote.compose.sign import sign
from opnote.pack.case import RecordError, case_schema, case_text, read_case
from opnote.pack.pack import Pack
from opnote.record import Record, set_value
from opnote.record.seal import begin_addendum, refusal, seal_of, signature_json, with_addendum

PackFor = Callable[[Sequence[str]], Pack]
Case = dict[str, Any]
NOON = datetime(2026, 3, 9, 12, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def pack_for(mini_pack: PackFor) -> PackFor:
    return mini_pack


def under_signature(pack: Pack, record: Record) -> Record:
    return sign(pack, record, "Mrs Q. Larkspindle", NOON, "left", no_pictures)


@pytest.fixture(scope="session")
def signed(mini: Pack, full_case: Record) -> Record:
    return under_signature(mini, full_case)


@pytest.fixture
def case(mini: Pack, signed: Record) -> Case:
    """The JSON of the signed case's file."""
    return dict(json.loads(case_text(signed, mini.form)))


def changed(case: Case, pack_for: PackFor) -> str:
    record, _ = read_case(json.dumps(case), "case.json", pack_for)
    assert record.signature is not None
    return record.signature.changed


def fault(case: Case, pack_for: PackFor) -> str:
    with pytest.raises(RecordError) as caught:
        read_case(json.dumps(case), "case.json", pack_for)
    assert len(caught.value.lines) == 1
    return caught.value.lines[0]


def test_a_signed_case_comes_back_whole(case: Case, signed: Record, pack_for: PackFor) -> None:
    record, pack = read_case(json.dumps(case), "case.json", pack_for)
    assert record == signed
    assert record.signature is not None
    assert (record.signature.by, record.signature.at) == ("Mrs Q. Larkspindle", NOON)
    assert record.signature.is_whole
    assert json.loads(case_text(record, pack.form)) == case


def test_the_file_says_the_offset_from_utc(case: Case) -> None:
    assert case["signature"]["at"] == "2026-03-09T12:00:00+01:00"


def test_a_signed_case_fits_the_schema(mini: Pack, signed: Record) -> None:
    added = with_addendum(signed, "Dr T. Thornquill", NOON, "The foot lifts fully.")
    begun = begin_addendum("Dr T.", "Next").apply(added)
    jsonschema.validate(json.loads(case_text(begun, mini.form)), case_schema(mini.form))


def test_the_order_of_keys_does_not_matter(case: Case, pack_for: PackFor) -> None:
    def shuffled(part: Any) -> Any:
        if isinstance(part, dict):
            names = list(part)
            random.Random(7).shuffle(names)
            return {name: shuffled(part[name]) for name in names}
        return [shuffled(each) for each in part] if isinstance(part, list) else part

    mixed = shuffled(case)
    assert list(mixed) != list(case)
    assert changed(mixed, pack_for) == ""


def test_a_layout_of_its_own_does_not_matter(case: Case, pack_for: PackFor) -> None:
    text = json.dumps(case, indent=7, ensure_ascii=True)
    record, _ = read_case(text, "case.json", pack_for)
    assert record.signature is not None
    assert record.signature.is_whole


def a_value(case: Case) -> None:
    case["values"]["side"] = "right"


def a_character(case: Case) -> None:
    case["values"]["remarks"] += "!"


def a_cell(case: Case) -> None:
    case["values"]["tears"][0]["note"] = "whole"


def one_value_more(case: Case) -> None:
    case["values"]["stitches"][1]["lot"] = "zz9"


def one_value_less(case: Case) -> None:
    del case["values"]["remarks"]


def the_order_of_rows(case: Case) -> None:
    case["values"]["tears"].reverse()


def a_booking(case: Case) -> None:
    case["due"]["feeling_later"]["by"] = "nobody"


def a_reason(case: Case) -> None:
    case["unanswered"]["cuff.pressure"] = "lost"


def who_signed(case: Case) -> None:
    case["signature"]["by"] = "Mrs Q. Larkspindler"


def when_signed(case: Case) -> None:
    case["signature"]["at"] = "2026-03-09T12:00:00+00:00"


def the_side_at_signing(case: Case) -> None:
    case["signature"]["side"] = "right"


def a_word_of_the_note(case: Case) -> None:
    case["signature"]["note"]["title"] += " "


def an_edition(case: Case) -> None:
    name = next(iter(case["editions"]))
    case["editions"][name] = "1.0"


def the_seal(case: Case) -> None:
    case["signature"]["seal"] = "0" * 64


def what_was_put_aside(case: Case) -> None:
    case["signature"]["put_aside"] = ["remarks"]


@pytest.mark.parametrize(
    "change",
    [
        a_value,
        a_character,
        a_cell,
        one_value_more,
        one_value_less,
        the_order_of_rows,
        a_booking,
        a_reason,
        who_signed,
        when_signed,
        the_side_at_signing,
        a_word_of_the_note,
        an_edition,
        the_seal,
        what_was_put_aside,
    ],
    ids=lambda change: change.__name__,
)
def test_each_change_breaks_the_seal(
    change: Callable[[Case], None], case: Case, pack_for: PackFor
) -> None:
    change(case)
    assert changed(case, pack_for) == "the note"


def test_what_is_put_aside_is_no_part_of_what_is_sealed(
    mini: Pack, full_case: Record, pack_for: PackFor
) -> None:
    hides = set_value("cuff.used", False, "no cuff").apply(full_case)
    assert "cuff.pressure" in mini.view(hides).put_aside()
    case = json.loads(case_text(under_signature(mini, hides), mini.form))
    case["values"]["cuff.pressure"] = "200 mmHg"
    assert changed(case, pack_for) == ""
    case["values"]["cuff.used"] = True
    assert changed(case, pack_for) == "the note"


def with_two_addenda(mini: Pack, signed: Record) -> Case:
    first = with_addendum(signed, "Dr T. Thornquill", NOON, "The foot lifts fully.")
    second = with_addendum(first, "Dr A. Ashpenny", NOON + timedelta(hours=1), "Went home.")
    return dict(json.loads(case_text(second, mini.form)))


def test_addenda_are_kept_in_order_and_sealed(
    mini: Pack, signed: Record, pack_for: PackFor
) -> None:
    case = with_two_addenda(mini, signed)
    record, _ = read_case(json.dumps(case), "case.json", pack_for)
    assert [each.text for each in record.addenda] == ["The foot lifts fully.", "Went home."]
    assert changed(case, pack_for) == ""


@pytest.mark.parametrize(
    ("number", "entry", "value"),
    [
        (0, "text", "The foot lifts."),
        (0, "by", "Dr T"),
        (1, "at", "2026-03-09T13:00:01+01:00"),
    ],
)
def test_no_addendum_can_be_changed(
    number: int, entry: str, value: str, mini: Pack, signed: Record, pack_for: PackFor
) -> None:
    case = with_two_addenda(mini, signed)
    case["addenda"][number][entry] = value
    assert changed(case, pack_for) == f"addendum {number + 1}"


def test_addenda_change_neither_places_nor_their_note(
    mini: Pack, full_case: Record, signed: Record, pack_for: PackFor
) -> None:
    case = with_two_addenda(mini, signed)
    case["addenda"].reverse()
    assert changed(case, pack_for) == "addendum 1"
    other = set_value("remarks", "Another case.", "type").apply(full_case)
    elsewhere = dict(json.loads(case_text(under_signature(mini, other), mini.form)))
    elsewhere["addenda"] = with_two_addenda(mini, signed)["addenda"]
    assert changed(elsewhere, pack_for) == "addendum 1"


def test_a_file_of_another_edition_is_written_again_as_it_was_signed(
    mini: Pack, full_case: Record, pack_for: PackFor
) -> None:
    """What the forms no longer know is neither lost nor said to be changed."""
    case = json.loads(case_text(full_case, mini.form))
    name = next(iter(case["editions"]))
    case["editions"][name] = "2001.1"
    case["values"]["no_longer_asked"] = "an old answer"
    # Signed by an opnote that still had this field.
    signed = under_signature(mini, full_case)
    assert signed.signature is not None
    told = signature_json(signed.signature)
    case["signature"] = {**told, "seal": seal_of(case, told)}
    record, pack = read_case(json.dumps(case), "case.json", pack_for)
    assert record.signature is not None
    assert record.signature.is_whole
    added = with_addendum(record, "Dr A. Ashpenny", NOON, "Went home.")
    written = json.loads(case_text(added, pack.form))
    assert written["values"]["no_longer_asked"] == "an old answer"
    assert written["editions"][name] == "2001.1"
    assert changed(written, pack_for) == ""


def test_a_file_without_a_signature_is_read_as_before(
    mini: Pack, full_case: Record, pack_for: PackFor
) -> None:
    text = case_text(full_case, mini.form)
    assert "signature" not in json.loads(text)
    assert read_case(text, "case.json", pack_for)[0].signature is None


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("signature",), 7, "signature: is no group of entries"),
        (("signature", "seal"), None, "signature.seal: is no text"),
        (("signature", "at"), "2026-03-09T12:00", "no time with its offset from UTC"),
        (("signature", "at"), "noon", "no time with its offset from UTC"),
        (
            ("signature", "at"),
            "2026-03-09T12:00:00Z",
            "signature.at: '2026-03-09T12:00:00Z' is not written as opnote writes this time, "
            "2026-03-09T12:00:00+00:00; restore",
        ),
        (("signature", "at"), "20260309T120000+0100", "not written as opnote writes this time"),
        (("signature", "at"), "2026-03-09T12:00:00.5+01:00", "not written as opnote writes"),
        (("signature", "put_aside"), [[]], "signature.put_aside: holds what is no text"),
        (("signature", "note"), "words", "signature.note: is no group of entries"),
        (("signature", "more"), "x", "signature.more: there is no such entry"),
        (("addenda",), {}, "addenda: is no list"),
        (("addenda",), [{"by": "x"}], "addenda.1"),
        (("addendum_begun",), [], "addendum_begun: is no group of entries"),
    ],
)
def test_a_broken_signature_names_its_place_and_the_remedy(
    path: tuple[str, ...], value: Any, said: str, case: Case, pack_for: PackFor
) -> None:
    place = case
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    with pytest.raises(RecordError) as caught:
        read_case(json.dumps(case), "case.json", pack_for)
    assert said in caught.value.lines[0]
    assert all(line.startswith("case.json: ") for line in caught.value.lines)
    assert all("restore the file from a copy" in line for line in caught.value.lines)


def test_a_missing_entry_of_a_signature_is_named(case: Case, pack_for: PackFor) -> None:
    del case["signature"]["seal"]
    assert "signature.seal: is missing" in fault(case, pack_for)


def test_addenda_without_a_signature_are_refused(
    mini: Pack, signed: Record, pack_for: PackFor
) -> None:
    case = with_two_addenda(mini, signed)
    del case["signature"]
    assert "addenda: is there without a signature" in fault(case, pack_for)


# What may follow a signature


def test_a_signed_case_takes_nothing_but_an_addendum_that_is_written(signed: Record) -> None:
    edits = (
        set_value("remarks", "Else.", "type"),
        set_value("patient.name", "Mrs B. Example", "type"),
    )
    for edit in edits:
        words = refusal(signed, edit.apply(signed))
        assert words == "This note is signed; what is to be added is an addendum."
    assert refusal(signed, begin_addendum("", "The foot").apply(signed)) == ""


def test_a_case_that_was_changed_takes_nothing(case: Case, pack_for: PackFor) -> None:
    a_value(case)
    record, _ = read_case(json.dumps(case), "case.json", pack_for)
    assert "changed after it was signed" in refusal(
        record, begin_addendum("", "The foot").apply(record)
    )


def test_an_unsigned_case_takes_every_change(full_case: Record) -> None:
    assert refusal(full_case, set_value("remarks", "Else.", "type").apply(full_case)) == ""


def test_an_addendum_in_which_nothing_stands_is_none(signed: Record) -> None:
    begun = begin_addendum("Dr T.", "The").apply(signed)
    assert begun.begun is not None
    assert begin_addendum("", "").apply(begun) == signed


def test_signing_in_utc_is_kept_as_utc(mini: Pack, full_case: Record, pack_for: PackFor) -> None:
    at = datetime(2026, 3, 9, 11, 0, tzinfo=UTC)
    record = sign(mini, full_case, "Mrs Q. Larkspindle", at, "left", no_pictures)
    back, _ = read_case(case_text(record, mini.form), "case.json", pack_for)
    assert back.signature is not None
    assert back.signature.at.utcoffset() == timedelta(0)
