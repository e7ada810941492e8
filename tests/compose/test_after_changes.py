"""What is taken over from the state before a change is what a fresh start gives, whatever changed.

Random edits of every kind walk away from each demo case; after each of them the view, the findings
and all documents that were made from those before are held against new ones.
"""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from functools import lru_cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from opnote.assess import assess
from opnote.compose import Composed, compose, composed
from opnote.pack.case import read_case
from opnote.pack.files import shipped_root
from opnote.pack.form import Field
from opnote.pack.given import give_sheet
from opnote.pack.loader import load_pack
from opnote.pack.pack import DOCUMENTS, Pack
from opnote.pack.view import View
from opnote.record import (
    NOT_EXAMINED,
    Due,
    Edit,
    Origin,
    Quantity,
    Record,
    Value,
    add_row,
    answer_no_rows,
    book_due,
    clear_value,
    confirm,
    give_reason,
    leave_unanswered,
    move_row,
    remove_row,
    set_value,
)

SAMPLES = sorted((shipped_root() / "forms" / "samples").glob("*.json"))
WORDS = ("left", "right knee 5 mm", "no | *such* thing", "5 mg of morphine", " ", "\N{BULLET} x\ny")


@lru_cache
def pack_of(procedures: tuple[str, ...]) -> Pack:
    return load_pack(procedures)


@lru_cache
def sample(name: str) -> tuple[Record, Pack]:
    path = next(path for path in SAMPLES if path.stem == name)
    return read_case(path.read_text("utf-8"), name, lambda names: pack_of(tuple(names)))


def a_value(draw: st.DrawFn, field: Field, record: Record) -> Value | None:
    """Some value that the field can hold."""

    def one_of(*values: Value) -> Value:
        return draw(st.sampled_from(values))

    number: int | float = draw(st.sampled_from([0, 1, 2, 5, 5.0, 7.5, 12, 38, 90, 250]))
    days = timedelta(days=draw(st.sampled_from([0, 1, 3, 40, 400])))
    match field.kind:
        case "quantity":
            return Quantity(number, field.unit)
        case "integer":
            return int(number)
        case "yes_no":
            return one_of(True, False, NOT_EXAMINED)
        case "choice" | "grade":
            return one_of(*(option.value for option in field.options))
        case "choices":
            chosen = draw(st.sets(st.sampled_from([o.value for o in field.options]), max_size=3))
            return tuple(o.value for o in field.options if o.value in chosen)
        case "date":
            return date(2026, 3, 9) - days
        case "time":
            return time(draw(st.sampled_from([0, 8, 9, 23])), 40)
        case "datetime":
            return datetime(2026, 3, 9, 12, 30) - days
        case "ref":
            rows = record.rows.get(field.refers_to, ())
            return one_of(*rows) if rows else None
        case _:
            return one_of(*WORDS)


@st.composite
def edits(draw: st.DrawFn, pack: Pack, record: Record, view: View) -> Edit:
    """A change of any kind that the window can make."""
    assessment = assess(pack, view)
    what = draw(
        st.sampled_from(
            ["value"] * 12
            + ["clear"] * 4
            + ["add", "remove", "move", "none", "confirm", "unanswered", "reason", "due", "give"]
        )
    )
    concrete = [path for path, rule in view.concrete.items() if rule.computed is None]
    path = str(draw(st.sampled_from(concrete)))
    field = view.concrete[path].field
    tables = [f.path for f in pack.form.fields if f.kind == "rows"]
    table = str(draw(st.sampled_from(tables)))
    rows = record.rows.get(table, ())
    finding = draw(st.sampled_from(assessment.findings)) if assessment.findings else None
    if what == "value" and field.kind != "rows":
        value = a_value(draw, field, record)
        origin = draw(st.sampled_from([Origin.TYPED, Origin.TYPED, Origin.PRESET, Origin.SCANNED]))
        if value is not None:
            return set_value(path, value, "x", origin)
    if what == "add":
        return add_row(table, "x")
    if what == "remove" and rows:
        row = str(draw(st.sampled_from(rows)))
        return remove_row(table, row, "x", pack.references.get(table, ()))
    if what == "move" and rows:
        return move_row(table, rows[0], len(rows) - 1, "x")
    if what == "none":
        return answer_no_rows(table, "x")
    if what == "confirm":
        return confirm(record.origins, "x")
    if what == "unanswered":
        return leave_unanswered(path, str(draw(st.sampled_from(["", "lost", "not asked"]))), "x")
    if what == "reason" and finding is not None:
        because = str(draw(st.sampled_from(["", "so it was"])))
        return give_reason(finding.id, because, "x", finding.basis)
    if what == "due" and finding is not None:
        booked = Due(datetime(2026, 3, 9, int(draw(st.sampled_from([1, 23]))), 0), "ward")
        return book_due(finding.id, booked, "x", finding.basis)
    if what == "give":
        return give_sheet(pack, view, date(2026, 3, 2))
    return clear_value(path, "x")


def parts_of(view: View) -> list[object]:
    """Everything that can be read of a view, with the kinds of its numbers."""
    return [
        sorted((path, repr(value)) for path, value in view.values.items()),
        view.rows,
        view.hidden,
        list(view.concrete.items()),
        view.texts,
        view.put_aside(),
    ]


@pytest.mark.slow
@pytest.mark.parametrize("name", [path.stem for path in SAMPLES])
@settings(
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(data=st.data())
def test_what_is_taken_over_is_what_a_fresh_start_gives(name: str, data: st.DataObject) -> None:
    record, pack = sample(name)
    view = pack.view(record)
    assessment = assess(pack, view)
    kept: dict[str, Composed] = {}
    for _ in range(data.draw(st.integers(1, 12))):
        edit = data.draw(edits(pack, record, view))
        if data.draw(st.integers(0, 9)) == 0:
            record = pack.new_record()
        record = edit.apply(record)
        earlier, view = view, pack.view(record, view)
        fresh_view = pack.view(record)
        assert view.changed_since(earlier) == fresh_view.changed_since(earlier)
        assert parts_of(view) == parts_of(fresh_view)
        assessment = assess(pack, view, assessment)
        fresh = assess(pack, fresh_view)
        assert assessment.findings == fresh.findings
        # Not each time all of them, so that a document skips some states.
        for kind in data.draw(st.sets(st.sampled_from(DOCUMENTS), min_size=1)):
            kept[kind] = composed(pack, view, assessment, kind, kept.get(kind))
            assert repr(kept[kind].document) == repr(compose(pack, fresh_view, fresh, kind))
