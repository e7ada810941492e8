"""Each finding is told once, under a name that stays, and is settled as its level asks."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, time
from pathlib import Path

import pytest

from opnote.assess import Assessment, Finding, assess, scores_of
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import (
    Due,
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
    set_value,
    set_values,
)


def assessed(pack: Pack, record: Record) -> Assessment:
    return assess(pack, pack.view(record))


def finding(pack: Pack, record: Record, name: str) -> Finding | None:
    return next((f for f in assessed(pack, record).findings if f.id == name), None)


def found(pack: Pack, record: Record, name: str) -> Finding:
    there = finding(pack, record, name)
    assert there is not None, f"{name} is not told"
    return there


def changed(record: Record, values: Mapping[str, Value]) -> Record:
    return set_values(values, "x").apply(record)


def test_a_whole_case_is_ready(mini: Pack, full_case: Record) -> None:
    assert assessed(mini, full_case).open == ()
    assert assessed(mini, full_case).is_ready


def test_an_empty_case_is_asked_for_what_the_form_requires_and_no_more(mini: Pack) -> None:
    gaps = [f.id for f in assessed(mini, mini.new_record()).open if f.level == "gap"]
    assert gaps == [
        "gap:patient.name",
        "gap:side",
        "gap:operation.date",
        "gap:cuff.used",
        "gap:complications",
        "gap:tears",
        "gap:signature",
    ]


# Gaps


def test_a_gap_is_settled_by_a_value(mini: Pack, full_case: Record) -> None:
    empty = clear_value("signature", "x").apply(full_case)
    gap = found(mini, empty, "gap:signature")
    assert (gap.level, gap.fact, gap.fields) == ("gap", "Signed by: not recorded.", ("signature",))
    assert gap.source == "A standard for tests"
    assert finding(mini, full_case, "gap:signature") is None


def test_a_gap_is_settled_by_saying_why(mini: Pack, full_case: Record) -> None:
    empty = clear_value("signature", "x").apply(full_case)
    answered = leave_unanswered("signature", "the pen was dry", "x").apply(empty)
    gap = found(mini, answered, "gap:signature")
    assert gap.settled
    assert gap.fact == "Signed by: not recorded, because the pen was dry."
    assert assessed(mini, answered).is_ready


def test_a_blank_reason_settles_nothing(mini: Pack, full_case: Record) -> None:
    record = (
        clear_value("signature", "x")
        .apply(full_case)
        .with_changes(unanswered={"signature": " "}, reasons={"usual:cuff.pressure": "  "})
    )
    record = changed(record, {"cuff.pressure": Quantity(310, "mmHg")})
    assert {f.id for f in assessed(mini, record).open} == {
        "gap:signature",
        "usual:cuff.pressure",
    }


def test_a_gap_in_a_row_names_the_row(mini: Pack, full_case: Record) -> None:
    record = clear_value("tears.r2.length_mm", "x").apply(full_case)
    assert found(mini, record, "gap:tears.r2.length_mm").fact == "Tear 2: Length: not recorded."


def test_a_gap_that_a_check_finds_is_settled_by_any_honest_answer(
    mini: Pack, full_case: Record
) -> None:
    silent = clear_value("stitches", "x").apply(full_case)
    assert not found(mini, silent, "stitches_unsaid").settled
    none = answer_no_rows("stitches", "x").apply(silent)
    assert finding(mini, none, "stitches_unsaid") is None
    why = leave_unanswered("stitches", "the sheet was lost", "x").apply(silent)
    assert found(mini, why, "stitches_unsaid").settled


# Contradictions


def test_a_contradiction_is_settled_only_by_correcting_it(mini: Pack, full_case: Record) -> None:
    wrong = changed(full_case, {"tears.r1.rim_mm": Quantity(39, "mm")})
    name = "rim_wider_than_tear:r1"
    contradiction = found(mini, wrong, name)
    assert contradiction.fact == "The rim (39 mm) is wider than the tear is long (38 mm)."
    assert contradiction.remedy == "Correct one of them."
    assert contradiction.fields == ("tears.r1.rim_mm", "tears.r1.length_mm")
    for talked in (
        give_reason(name, "it was", "x").apply(wrong),
        leave_unanswered("tears.r1.rim_mm", "it was", "x").apply(wrong),
        confirm(["tears.r1.rim_mm"], "x").apply(wrong),
    ):
        assert not assessed(mini, talked).is_ready
    right = changed(wrong, {"tears.r1.rim_mm": Quantity(3, "mm")})
    assert assessed(mini, right).is_ready


def test_contradictions_are_told_first(mini: Pack) -> None:
    record = changed(
        mini.new_record(), {"operation.start": time(9), "operation.end": time(9), "feeling": "less"}
    )
    record = add_row("tears", "x", {"rim_mm": Quantity(5, "mm"), "pattern": "radial"}).apply(record)
    record = changed(record, {"tears.r1.length_mm": Quantity(4, "mm")})
    levels = [f.level for f in assessed(mini, record).findings]
    order = ["contradiction", "gap", "adverse", "unusual", "due"]
    assert levels == sorted(levels, key=order.index)
    assert levels[0] == "contradiction"


# Adverse, unusual, due


def test_an_operation_that_went_badly_and_is_told_honestly_is_ready(
    mini: Pack, full_case: Record
) -> None:
    bad = changed(
        full_case,
        {
            "operation.end": time(11, 30),
            "complications": ("bleeding", "breakage"),
            "complication_detail": "the needle broke and was found",
            "feeling": "gone",
            "cuff.pressure": Quantity(320, "mmHg"),
        },
    )
    assert {(f.id, f.level) for f in assessed(mini, bad).open} == {
        ("long", "adverse"),
        ("usual:cuff.pressure", "unusual"),
    }
    bad = give_reason("long", "the needle was looked for", "x").apply(bad)
    bad = give_reason("usual:cuff.pressure", "a thick thigh", "x").apply(bad)
    assert assessed(mini, bad).is_ready
    assert found(mini, bad, "long").fact == (
        "The operation took 170 minutes, longer than 120 minutes."
    )


def test_a_reason_is_no_longer_needed_when_the_finding_is_gone(
    mini: Pack, full_case: Record
) -> None:
    explained = give_reason("long", "slow", "x").apply(full_case)
    assert finding(mini, explained, "long") is None


@pytest.mark.parametrize(
    ("pressure", "unusual"), [(200, False), (300, False), (199, True), (301, True)]
)
def test_the_ends_of_the_usual_range_are_usual(
    mini: Pack, full_case: Record, pressure: int, unusual: bool
) -> None:
    record = changed(full_case, {"cuff.pressure": Quantity(pressure, "mmHg")})
    told = finding(mini, record, "usual:cuff.pressure")
    assert (told is not None) is unusual
    if told is not None:
        assert told.fact == (f"Pressure: {pressure} mmHg is outside the usual 200 to 300 mmHg.")


def test_a_hidden_value_is_never_unusual(mini: Pack, full_case: Record) -> None:
    record = changed(full_case, {"cuff.pressure": Quantity(390, "mmHg"), "cuff.used": False})
    assert assessed(mini, record).is_ready


def test_what_is_due_is_settled_by_a_time_and_a_person(mini: Pack, full_case: Record) -> None:
    record = book_due("feeling_later", None, "x").apply(full_case)
    record = clear_value("feeling", "x").apply(record)
    assert not found(mini, record, "feeling_later").settled
    when = datetime(2026, 3, 10, 8)
    nobody = book_due("feeling_later", Due(when, " "), "x").apply(record)
    assert not found(mini, nobody, "feeling_later").settled
    booked = book_due("feeling_later", Due(when, "ward"), "x").apply(record)
    assert found(mini, booked, "feeling_later").settled
    assert assessed(mini, booked).is_ready


# Values that nobody has confirmed


@pytest.mark.parametrize(
    ("origin", "how"),
    [
        (Origin.LISTED, "came from the list"),
        (Origin.PRESET, "was preset"),
        (Origin.CARRIED_OVER, "was carried over"),
    ],
)
def test_a_value_that_nobody_entered_waits_to_be_confirmed(
    mini: Pack, full_case: Record, origin: Origin, how: str
) -> None:
    record = set_value("plan.brace", "hinged", "x", origin).apply(full_case)
    gap = found(mini, record, "confirm:plan.brace")
    assert (gap.level, gap.fact) == ("gap", f"Brace: a hinged brace {how}.")
    assert assessed(mini, confirm(["plan.brace"], "x").apply(record)).is_ready


def test_a_hidden_value_needs_no_confirmation(mini: Pack, full_case: Record) -> None:
    record = set_value("cuff.pressure", Quantity(250, "mmHg"), "x", Origin.PRESET).apply(full_case)
    assert assessed(mini, changed(record, {"cuff.used": False})).is_ready


# Names of findings


def test_the_name_of_a_finding_stays_while_rows_come_and_go(mini: Pack, full_case: Record) -> None:
    wrong = changed(full_case, {"tears.r2.rim_mm": Quantity(39, "mm")})
    more = add_row("tears", "x", {"meniscus": "medial"}, at=0).apply(wrong)
    for record in (wrong, more):
        assert finding(mini, record, "rim_wider_than_tear:r2") is not None


def test_no_two_findings_have_one_name(mini: Pack, full_case: Record) -> None:
    for record in (mini.new_record(), full_case):
        names = [f.id for f in assessed(mini, record).findings]
        assert len(names) == len(set(names))


def test_a_check_follows_a_reference_to_its_tear(mini: Pack, full_case: Record) -> None:
    record = changed(full_case, {"stitches.r4.count": 12})
    unusual = found(mini, record, "many_stitches:r4")
    assert unusual.fact == "12 stitches in a lateral tear."
    assert unusual.fields == ("stitches.r4.count", "tears.r2.meniscus")
    elsewhere = changed(record, {"stitches.r4.tear": "r1"})
    assert finding(mini, elsewhere, "many_stitches:r4") is None


def test_findings_stand_in_the_same_order_at_each_start(mini_pack: Callable[..., Pack]) -> None:
    pack = mini_pack(("mini_second", "mini_repair"))
    gaps = [f.fields[0] for f in assessed(pack, pack.new_record()).findings if f.level == "gap"]
    form = [field.path for field in pack.form.fields]
    assert gaps == sorted(gaps, key=form.index)


# Standards


def score(pack: Pack, record: Record) -> tuple[int, int, Sequence[str]]:
    (scored,) = scores_of(pack, pack.view(record))
    return scored.met, scored.of, [element.id for element in scored.missing]


def test_a_standard_counts_what_is_met(mini: Pack, full_case: Record) -> None:
    assert score(mini, full_case) == (5, 5, [])
    assert score(mini, mini.new_record()) == (
        0,
        4,
        ["patient", "side", "cuff", "signature"],
    )


def test_an_element_counts_only_where_it_applies(mini: Pack, full_case: Record) -> None:
    assert score(mini, changed(full_case, {"cuff.used": False})) == (4, 4, [])


def test_what_is_honestly_not_recorded_still_lacks(mini: Pack, full_case: Record) -> None:
    record = clear_value("signature", "x").apply(full_case)
    record = leave_unanswered("signature", "the pen was dry", "x").apply(record)
    assert score(mini, record) == (4, 5, ["signature"])


def test_an_element_of_implants_does_not_apply_where_none_were_placed(
    mini_folder: Path, full_case: Record
) -> None:
    form = mini_folder / "forms/mini_repair/form.toml"
    text = form.read_text()
    form.write_text(text.replace('path = "lot"\n', 'path = "lot"\nmeets = ["mini.lots"]\n'))
    standard = mini_folder / "forms/standards/mini.toml"
    standard.write_text(standard.read_text() + '\n[[element]]\nid = "lots"\ntitle = "Lots"\n')
    pack = load_pack(("mini_repair",), [mini_folder])
    assert score(pack, full_case) == (6, 6, [])
    none = answer_no_rows("stitches", "x").apply(clear_value("stitches", "x").apply(full_case))
    assert score(pack, none) == (5, 5, [])
    silent = clear_value("stitches", "x").apply(full_case)
    assert score(pack, silent)[2] == ["lots"]


def test_a_date_out_of_reach_is_no_failure(mini: Pack, full_case: Record) -> None:
    for day in (date.min, date.max):
        assessed(mini, changed(full_case, {"operation.date": day, "patient.born": day}))
