"""Each change that a person can make does what it says, and nothing besides."""

from __future__ import annotations

from datetime import datetime

import pytest

from opnote.record import (
    Due,
    Edit,
    Leftover,
    Origin,
    Record,
    Value,
    add_row,
    answer_no_rows,
    book_due,
    clear_value,
    confirm,
    forget_leftover,
    give_reason,
    leave_unanswered,
    move_row,
    remove_row,
    set_value,
    set_value_afresh,
    set_values,
)


def made(*edits: Edit) -> Record:
    record = Record(("mini_repair",))
    for edit in edits:
        record = edit.apply(record)
    return record


def test_a_value_that_is_typed_names_no_origin() -> None:
    record = made(set_value("side", "left", "x", Origin.LISTED), set_value("side", "right", "x"))
    assert record.value("side") == "right"
    assert record.origins == {}
    assert record.origin("side") is Origin.TYPED


@pytest.mark.parametrize("origin", [Origin.LISTED, Origin.PRESET, Origin.CARRIED_OVER])
def test_what_was_not_typed_waits_for_a_person(origin: Origin) -> None:
    record = made(set_value("name", "A", "x", origin))
    assert record.is_unconfirmed("name")
    assert not confirm(["name"], "x").apply(record).is_unconfirmed("name")


@pytest.mark.parametrize("origin", [Origin.TYPED, Origin.SCANNED, Origin.DRAWN])
def test_what_a_person_entered_needs_no_second_look(origin: Origin) -> None:
    assert not made(set_value("name", "A", "x", origin)).is_unconfirmed("name")


def test_a_new_value_is_not_confirmed_by_the_look_at_the_old_one() -> None:
    record = made(
        set_value("name", "A", "x", Origin.PRESET),
        confirm(["name"], "x"),
        set_value("name", "B", "x", Origin.PRESET),
    )
    assert record.is_unconfirmed("name")


def test_only_what_is_there_can_be_confirmed() -> None:
    assert made(confirm(["name"], "x")).confirmed == frozenset()


def test_a_value_takes_the_reason_for_its_absence_away() -> None:
    record = made(leave_unanswered("name", "unknown person", "x"), set_value("name", "A", "x"))
    assert record.unanswered == {}


def test_an_empty_reason_takes_the_answer_back() -> None:
    assert (
        made(leave_unanswered("a", "because", "x"), leave_unanswered("a", "  ", "x")).unanswered
        == {}
    )
    assert made(give_reason("f", "because", "x"), give_reason("f", "\n", "x")).reasons == {}
    due = Due(datetime(2026, 3, 10, 8), "ward")
    assert made(book_due("f", due, "x")).due == {"f": due}
    assert made(book_due("f", due, "x"), book_due("f", None, "x")).due == {}


def test_clearing_a_value_leaves_no_trace_of_it() -> None:
    record = made(
        set_value("name", "A", "x", Origin.PRESET), confirm(["name"], "x"), clear_value("name", "x")
    )
    assert (record.values, record.origins, record.confirmed) == ({}, {}, frozenset())


def test_clearing_a_name_leaves_names_that_begin_like_it() -> None:
    record = made(set_values({"plan": "a", "plan_b": "b", "planned.c": "c"}, "x"))
    assert clear_value("plan", "x").apply(record).values == {"plan_b": "b", "planned.c": "c"}


def test_clearing_a_table_takes_its_rows_or_its_none_back() -> None:
    rows = made(add_row("tears", "x", {"note": "A"}), confirm(["tears.r1.note"], "x"))
    for record in (rows, made(answer_no_rows("tears", "x"))):
        cleared = clear_value("tears", "x").apply(record)
        assert (cleared.rows, cleared.values, cleared.confirmed) == ({}, {}, frozenset())


def test_row_ids_are_never_used_twice() -> None:
    record = made(
        add_row("tears", "x"),
        remove_row("tears", "r1", "x"),
        add_row("tears", "x"),
        add_row("b", "x"),
    )
    assert record.rows == {"tears": ("r2",), "b": ("r3",)}


def test_a_row_can_be_added_before_others() -> None:
    record = made(add_row("tears", "x"), add_row("tears", "x", {"note": "A"}, at=0))
    assert record.rows == {"tears": ("r2", "r1")}
    assert record.values == {"tears.r2.note": "A"}


def test_a_removed_row_takes_its_values_and_what_referred_to_it() -> None:
    record = made(
        add_row("tears", "x", {"note": "A"}),
        add_row("tears", "x", {"note": "B"}),
        add_row("stitches", "x", {"tear": "r1", "lot": "r1"}),
        add_row("stitches", "x", {"tear": "r2"}),
        set_values({"remarks": "r1"}, "x"),
        confirm(["tears.r1.note", "stitches.r3.tear"], "x"),
        leave_unanswered("tears.r1.length", "x", "x"),
        remove_row("tears", "r1", "x", ["stitches.tear"]),
    )
    assert record.rows == {"tears": ("r2",), "stitches": ("r3", "r4")}
    # Typed words that happen to read like the id of the row are words.
    assert record.values == {
        "tears.r2.note": "B",
        "stitches.r3.lot": "r1",
        "stitches.r4.tear": "r2",
        "remarks": "r1",
    }
    assert (record.confirmed, record.unanswered) == (frozenset(), {})


def test_the_row_with_a_longer_id_is_another_row() -> None:
    record = made(*[add_row("tears", "x", {"note": "A"}) for _ in range(11)])
    left = remove_row("tears", "r1", "x").apply(record)
    assert "tears.r11.note" in left.values
    assert len(left.values) == 10


def test_removing_the_last_row_is_no_answer() -> None:
    assert made(add_row("tears", "x"), remove_row("tears", "r1", "x")).rows == {}


def test_what_is_done_to_a_row_that_is_not_there_changes_nothing() -> None:
    none = made(answer_no_rows("tears", "x"))
    assert remove_row("tears", "r9", "x").apply(none) == none
    assert move_row("tears", "r9", 0, "x").apply(none) == none


def test_a_row_moves_and_keeps_its_values() -> None:
    record = made(*[add_row("tears", "x", {"note": str(n)}) for n in range(3)])
    moved = move_row("tears", "r3", 0, "x").apply(record)
    assert moved.rows == {"tears": ("r3", "r1", "r2")}
    assert moved.values == record.values


def test_none_can_only_be_answered_where_there_is_nothing() -> None:
    rows = made(add_row("tears", "x"))
    assert answer_no_rows("tears", "x").apply(rows) == rows
    assert made(leave_unanswered("tears", "a", "x"), answer_no_rows("tears", "x")).unanswered == {}


def test_a_leftover_goes_only_when_a_person_lets_it_go() -> None:
    left = {"gone": Leftover("words", "no such field", "2024"), "kept": Leftover(1, "a", "2024")}
    record = Record(("a",), leftover=left)
    assert set(forget_leftover("gone", "x").apply(record).leftover) == {"kept"}


def test_a_snapshot_can_not_be_changed() -> None:
    record = made(set_value("side", "left", "x"))
    with pytest.raises(TypeError):
        record.values["side"] = "right"  # type: ignore[index]


def test_what_was_said_of_one_value_is_not_said_of_the_next() -> None:
    record = made(
        set_value("pictures.r1.file", "one", "x"),
        set_value("pictures.r1.names", "none", "x"),
        set_value("pictures.r2.names", "none", "x"),
        set_value_afresh("pictures.r1.file", "two", "x", ["pictures.r1.names"]),
    )
    assert record.values == {"pictures.r1.file": "two", "pictures.r2.names": "none"}


def test_a_row_says_which_of_its_values_were_not_typed() -> None:
    values: dict[str, Value] = {"note": "A", "length": 3}
    origins = {"length": Origin.DRAWN}
    record = made(add_row("tears", "x"), add_row("tears", "x", values, origins=origins))
    assert record.origin("tears.r2.length") is Origin.DRAWN
    assert record.origin("tears.r2.note") is Origin.TYPED
