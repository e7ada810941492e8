"""What of a record counts: nothing hidden, everything computed, and what must be answered."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time

import pytest

from opnote.pack.pack import Pack
from opnote.record import (
    Quantity,
    Record,
    Value,
    add_row,
    answer_no_rows,
    set_values,
)


def filled(pack: Pack, values: Mapping[str, Value]) -> Record:
    return set_values(values, "fill").apply(pack.new_record())


def test_a_hidden_value_is_kept_in_the_record_and_counts_nowhere(mini: Pack) -> None:
    record = filled(mini, {"cuff.used": False, "cuff.pressure": Quantity(250, "mmHg")})
    view = mini.view(record)
    assert not view.is_recorded("cuff.pressure")
    assert view.is_hidden("cuff.pressure")
    assert view.said("cuff.pressure") == ""
    assert view.put_aside() == ("cuff.pressure",)
    assert not view.is_required("cuff.pressure")


@pytest.mark.parametrize("given", [{}, {"cuff.used": "not_examined"}, {"cuff.used": False}])
def test_a_field_exists_only_when_its_condition_is_known_to_hold(
    mini: Pack, given: dict[str, Value]
) -> None:
    assert mini.view(filled(mini, given)).is_hidden("cuff.pressure")


def test_what_is_shown_again_is_there_again(mini: Pack) -> None:
    hidden = filled(mini, {"cuff.used": False, "cuff.pressure": Quantity(250, "mmHg")})
    view = mini.view(set_values({"cuff.used": True}, "x").apply(hidden))
    assert view.said("cuff.pressure") == "250 mmHg"
    assert view.put_aside() == ()


def test_a_column_is_hidden_row_by_row(mini: Pack) -> None:
    record = mini.new_record()
    for pattern in ({"pattern": "radial"}, {}):
        length: dict[str, Value] = {"length_mm": Quantity(20, "mm")}
        record = add_row("tears", "add", {**length, **pattern}).apply(record)
    view = mini.view(record)
    assert view.is_recorded("tears.r1.length_mm")
    assert view.is_hidden("tears.r2.length_mm")
    assert view.put_aside() == ("tears.r2.length_mm",)


def test_what_is_computed_from_what_is_computed_is_there_too(mini: Pack) -> None:
    record = filled(
        mini,
        {
            "patient.born": date(1990, 5, 1),
            "operation.date": date(2026, 3, 9),
            "operation.start": time(23, 30),
            "operation.end": time(0, 10),
        },
    )
    view = mini.view(record)
    assert view.said("patient.age") == "35 years"
    assert view.said("operation.minutes") == "40 minutes"
    assert view.values["operation.minutes"] == Quantity(40, "min")


def test_what_a_person_typed_into_a_computed_field_is_not_believed(mini: Pack) -> None:
    record = filled(mini, {"stitch_count": 99})
    assert not mini.view(record).is_recorded("stitch_count")


def test_a_computed_field_is_never_asked_for(mini: Pack) -> None:
    assert not mini.view(mini.new_record()).is_required("stitch_count")


def test_a_field_is_required_when_its_condition_holds(mini: Pack) -> None:
    def required(*chosen: str) -> bool:
        return mini.view(filled(mini, {"complications": chosen})).is_required("complication_detail")

    assert required("breakage")
    assert not required("bleeding")
    assert not required("none")


@pytest.mark.parametrize("text", ["", "  ", "\n\t", "\u200b", "\u202e"])
def test_a_text_without_a_visible_character_is_no_answer(mini: Pack, text: str) -> None:
    view = mini.view(filled(mini, {"patient.name": text}))
    assert not view.is_recorded("patient.name")
    assert view.put_aside() == ()


def test_the_paths_stand_in_the_order_of_the_form_row_by_row(mini: Pack) -> None:
    record = mini.new_record()
    for _ in range(2):
        record = add_row("tears", "add").apply(record)
    paths = list(mini.view(record).concrete)
    columns = ["meniscus", "pattern", "length_mm", "rim_mm", "zone", "note"]
    start = paths.index("tears")
    wanted = [f"tears.{row}.{column}" for row in ("r1", "r2") for column in columns]
    assert paths[start + 1 : start + 13] == wanted
    assert paths[:3] == ["patient.name", "patient.born", "patient.age"]
    assert paths.index("operation.date") < start < paths.index("plan.weeks")


def test_none_is_an_answer_and_silence_is_not(mini: Pack) -> None:
    none = mini.view(answer_no_rows("tears", "none").apply(mini.new_record()))
    assert none.is_recorded("tears")
    assert not mini.view(mini.new_record()).is_recorded("tears")


def test_a_number_is_said_with_the_unit_that_fits_it(mini: Pack) -> None:
    def said(weeks: float) -> str:
        return mini.view(filled(mini, {"plan.weeks": Quantity(weeks, "weeks")})).said("plan.weeks")

    assert [said(1), said(6), said(1.5), said(2.0)] == ["1 week", "6 weeks", "1.5 weeks", "2 weeks"]
