"""One open case: undo gives back what was, and what belongs together is one step."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from opnote.compose.photograph import no_pictures
from opnote.compose.sign import sign
from opnote.desk.session import MERGE_PAUSE_S, Change, Session
from opnote.pack.cache import cached_pack
from opnote.pack.case import read_case
from opnote.pack.pack import Pack
from opnote.record import (
    Edit,
    Origin,
    add_row,
    answer_no_rows,
    clear_value,
    confirm,
    give_reason,
    leave_unanswered,
    move_row,
    remove_row,
    set_value,
)
from opnote.record.seal import begin_addendum
from tests.desk.conftest import SAMPLES


class Clock:
    """Stands still until it is told."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def session(mini: Pack, clock: Clock) -> Session:
    return Session(mini, mini.new_record(), clock)


def typed(session: Session, path: str, text: str, by: object = None) -> None:
    for end in range(1, len(text) + 1):
        session.apply(set_value(path, text[:end], f"Typing in {path}"), by)


def steps(session: Session) -> Iterator[str]:
    while session.undo_label is not None:
        yield session.undo_label
        session.undo()


def test_what_is_typed_without_a_pause_is_one_step(session: Session) -> None:
    typed(session, "remarks", "All went well")
    assert list(steps(session)) == ["Typing in remarks"]
    assert session.record.values == {}


def test_a_pause_begins_a_new_step(session: Session, clock: Clock) -> None:
    typed(session, "remarks", "All")
    clock.now += MERGE_PAUSE_S
    session.apply(set_value("remarks", "All went", "more"))
    assert list(steps(session)) == ["more", "Typing in remarks"]


def test_leaving_the_field_begins_a_new_step(session: Session) -> None:
    typed(session, "remarks", "All")
    session.end_merging()
    session.apply(set_value("remarks", "All went", "more"))
    assert len(list(steps(session))) == 2


def test_another_field_or_another_widget_is_a_new_step(session: Session) -> None:
    here, there = object(), object()
    typed(session, "remarks", "A", here)
    typed(session, "patient.name", "B", here)
    typed(session, "remarks", "AB", there)
    session.apply(set_value("remarks", "ABC", "by another"), here)
    assert len(list(steps(session))) == 4


def test_rows_and_confirmations_are_never_merged(session: Session) -> None:
    session.apply(add_row("tears", "one"))
    session.apply(add_row("tears", "two"))
    session.apply(set_value("patient.name", "A", "list", Origin.LISTED))
    session.apply(confirm(["patient.name"], "confirm"))
    assert list(steps(session)) == ["confirm", "list", "two", "one"]


def test_what_is_typed_and_taken_back_at_once_leaves_no_step(session: Session) -> None:
    before = session.record
    session.apply(set_value("remarks", "A", "typing"))
    session.apply(clear_value("remarks", "clearing"))
    assert session.undo_label is None
    assert session.record is before
    assert session.is_saved


def test_an_edit_that_changes_nothing_is_no_step(session: Session) -> None:
    heard: list[Change] = []
    session.subscribe(heard.append)
    session.apply(clear_value("remarks", "x"))
    assert (heard, session.undo_label) == ([], None)


def test_a_listener_hears_what_changed_and_by_whom(session: Session) -> None:
    heard: list[Change] = []
    session.subscribe(heard.append)
    widget = object()
    session.apply(set_value("side", "left", "side"), widget)
    session.undo()
    assert [change.by for change in heard] == [widget, None]
    assert all(change.paths == {"side"} for change in heard)
    assert heard[0].old is heard[1].new


def test_a_new_edit_leaves_nothing_to_redo(session: Session) -> None:
    session.apply(set_value("side", "left", "side"))
    session.undo()
    assert session.redo_label == "side"
    session.apply(set_value("side", "right", "other side"))
    assert session.redo_label is None
    assert session.redo() == frozenset()


def test_undoing_to_what_was_saved_is_saved(session: Session) -> None:
    session.apply(set_value("side", "left", "side"))
    session.mark_saved()
    session.apply(add_row("tears", "row"))
    assert not session.is_saved
    session.undo()
    assert session.is_saved


def test_what_stands_in_no_case_file_is_saved_only_by_saving(mini: Pack) -> None:
    session = Session(mini, mini.new_record(), is_saved=False)
    assert not session.is_saved
    session.apply(set_value("side", "left", "side"))
    session.undo()
    assert not session.is_saved
    session.mark_saved()
    assert session.is_saved


def test_documents_and_findings_follow_the_record(session: Session) -> None:
    before = session.state.document("note")
    assert session.state.document("note") is before
    session.apply(set_value("patient.name", "Mrs Ann Example", "name"))
    assert session.state.document("note") != before
    assert "gap:patient.name" not in {f.id for f in session.state.assessment.findings}


PATHS = ["side", "remarks", "patient.name", "tears.r1.note", "stitches.r2.lot"]
ROWS = ["r1", "r2", "r3"]
TABLES = ["tears", "stitches"]

edits: st.SearchStrategy[Edit] = st.one_of(
    st.builds(set_value, st.sampled_from(PATHS), st.text(max_size=3), st.just("set")),
    st.builds(
        set_value,
        st.sampled_from(PATHS),
        st.text(max_size=3),
        st.just("preset"),
        st.just(Origin.PRESET),
    ),
    st.builds(clear_value, st.sampled_from([*PATHS, *TABLES]), st.just("clear")),
    st.builds(add_row, st.sampled_from(TABLES), st.just("add")),
    st.builds(
        remove_row,
        st.sampled_from(TABLES),
        st.sampled_from(ROWS),
        st.just("remove"),
        st.just(["stitches.tear"]),
    ),
    st.builds(
        move_row, st.sampled_from(TABLES), st.sampled_from(ROWS), st.integers(0, 3), st.just("move")
    ),
    st.builds(answer_no_rows, st.sampled_from(TABLES), st.just("none")),
    st.builds(confirm, st.lists(st.sampled_from(PATHS)), st.just("confirm")),
    st.builds(leave_unanswered, st.sampled_from(PATHS), st.text(max_size=2), st.just("why")),
    st.builds(give_reason, st.just("long"), st.text(max_size=2), st.just("reason")),
)


@settings(max_examples=150, deadline=None)
@given(given_edits=st.lists(st.tuples(edits, st.sampled_from([0.0, 2.0])), max_size=25))
def test_undo_after_any_edits_gives_the_start_and_redo_the_end(
    mini: Pack, given_edits: list[tuple[Edit, float]]
) -> None:
    clock = Clock()
    session = Session(mini, mini.new_record(), clock)
    start = session.record
    for edit, pause in given_edits:
        clock.now += pause
        session.apply(edit)
    end = session.record
    seen: list[Any] = list(steps(session))
    assert session.record is start
    for _ in seen:
        session.redo()
    assert session.record is end
    assert session.redo_label is None


def test_no_step_leads_back_before_a_signature() -> None:
    """As when a draft with a signature is used in a case whose file has none."""
    text = (SAMPLES / "case_a.json").read_text(encoding="utf-8")
    ready, pack = read_case(text, "case_a", cached_pack)
    session = Session(pack, ready)
    refused: list[str] = []
    session.refused = refused.append
    session.apply(set_value("closure.dressing", "Wool and crepe.", "type"))
    at = datetime(2026, 3, 9, 11, 30, tzinfo=UTC)
    under = sign(pack, session.record, "Mrs Q. Larkspindle", at, "left", no_pictures)
    session.apply(Edit("using the draft", (), lambda _: under))
    session.undo()
    assert session.record == under
    assert refused == ["This note is signed; what is to be added is an addendum."]
    session.apply(begin_addendum("", "The foot"))
    session.undo()
    assert session.record == under
    assert len(refused) == 1
