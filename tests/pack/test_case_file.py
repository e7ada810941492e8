"""A case file gives back what was saved, and of a bad one nothing is lost or guessed."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime, time
from typing import Any

import jsonschema  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from opnote.assess import assess
from opnote.pack.case import RecordError, case_schema, case_text, read_case
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.pack.value_json import ValueProblem, value_from_json
from opnote.record import (
    Due,
    Leftover,
    Origin,
    Quantity,
    Record,
    Value,
    add_row,
    answer_no_rows,
    book_due,
    confirm,
    give_reason,
    leave_unanswered,
    set_value,
)

PackFor = Callable[[Sequence[str]], Pack]

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=40)
numbers = st.one_of(
    st.integers(-10_000, 10_000),
    st.decimals(-10_000, 10_000, places=6).map(float),
)


def values_of(pack: Pack, path: str) -> st.SearchStrategy[Value]:
    """Any value that the field at a path can hold."""
    field = pack.fields[path]
    options = [option.value for option in field.options]
    others = [value for value in options if value not in field.exclusive]
    low, high = field.least, field.most
    match field.kind:
        case "choice" | "grade":
            return st.sampled_from(options)
        case "choices":
            several = st.sets(st.sampled_from(others), min_size=1).map(
                lambda chosen: tuple(value for value in options if value in chosen)
            )
            return st.one_of(several, st.sampled_from([(value,) for value in field.exclusive]))
        case "yes_no":
            return st.sampled_from([True, False, *(["not_examined"] if field.examined else [])])
        case "integer":
            return st.integers(int(low or 0), int(high or 1000))
        case "quantity":
            inside = numbers.filter(
                lambda n: (low is None or n >= low) and (high is None or n <= high)
            )
            if low is not None and high is not None:
                inside = st.integers(int(low), int(high))
            return inside.map(lambda n: Quantity(n, field.unit))
        case "date":
            return st.dates(date(1900, 1, 1), date(2100, 12, 31))
        case "time":
            return st.times().map(lambda t: t.replace(second=0, microsecond=0))
        case "datetime":
            return st.datetimes(datetime(1900, 1, 1), datetime(2100, 12, 31)).map(
                lambda t: t.replace(second=0, microsecond=0)
            )
        case "prose":
            return texts
        case _:
            return texts.map(lambda text: text.replace("\n", " ").replace("\r", " "))


@st.composite
def cases(draw: st.DrawFn, pack: Pack) -> Record:
    """Any case that a person can make with the edits there are."""
    record = pack.new_record()
    by_a_person = (Origin.TYPED, Origin.LISTED, Origin.SCANNED, Origin.DRAWN)
    for field in pack.form.fields:
        if field.is_computed or not draw(st.booleans()):
            continue
        if field.kind != "rows":
            value = draw(values_of(pack, field.path))
            elsewhere = () if field.never_preset else (Origin.PRESET, Origin.CARRIED_OVER)
            origin = draw(st.sampled_from((*by_a_person, *elsewhere)))
            record = set_value(field.path, value, "set", origin).apply(record)
        elif not (count := draw(st.integers(0, 3))):
            record = answer_no_rows(field.path, "none").apply(record)
        else:
            for _ in range(count):
                columns: dict[str, Value] = {}
                for column in field.columns:
                    if column.is_computed or not draw(st.booleans()):
                        continue
                    if column.kind == "ref":
                        rows = record.rows.get(column.refers_to)
                        if rows:
                            columns[column.name] = draw(st.sampled_from(rows))
                    else:
                        columns[column.name] = draw(values_of(pack, column.path))
                record = add_row(field.path, "add", columns).apply(record)
    record = confirm(draw(st.sets(st.sampled_from(sorted(pack.fields)))), "yes").apply(record)
    record = leave_unanswered("signature", draw(texts), "why").apply(record)
    record = give_reason("long", draw(texts), "why").apply(record)
    return book_due("feeling_later", Due(datetime(2026, 3, 10, 8), draw(texts)), "x").apply(record)


@settings(max_examples=100, deadline=None)
@given(data=st.data())
def test_what_was_saved_is_what_is_read(mini_pack: PackFor, data: st.DataObject) -> None:
    pack = mini_pack(("mini_repair",))
    record = data.draw(cases(pack))
    saved = case_text(record, pack.form)
    read, _ = read_case(saved, "case.json", mini_pack)
    assert read == record
    assert case_text(read, pack.form) == saved
    jsonschema.validate(json.loads(saved), case_schema(pack.form))


def case(**parts: Any) -> dict[str, Any]:
    return {"format": 1, "procedures": ["mini_repair"], **parts}


def with_values(**values: Any) -> dict[str, Any]:
    return case(values={path.replace("__", "."): value for path, value in values.items()})


@pytest.mark.parametrize(
    ("content", "lines"),
    [
        pytest.param(
            '{"format": 1,\n"procedures" ["x"]}',
            ["c.json:2:14: not valid JSON: a colon is missing before this place; put one in"],
            id="no_json",
        ),
        pytest.param("[]", ["c.json: not a case file: it holds no JSON object"], id="a_list"),
        pytest.param("", None, id="an_empty_file"),
        pytest.param(
            "[" * 100_000,
            ["c.json: not a case file: it is nested too deeply"],
            id="deep_nesting",
        ),
        pytest.param(
            '{"format": 1, "procedures": ["mini_repair"], "values": {"plan.weeks": NaN}}',
            ["c.json: not a case file: NaN is no number"],
            id="nan",
        ),
        pytest.param(
            '{"format": 1, "procedures": ["mini_repair"], '
            '"values": {"side": "left", "side": "right"}}',
            ["c.json: not a case file: 'side' is there twice; keep one of them"],
            id="two_sides",
        ),
        pytest.param(
            {"format": 2, "procedures": ["mini_repair"]},
            ["c.json: format: 2 is not a format that this opnote reads; it reads format 1"],
            id="unknown_format",
        ),
        pytest.param(
            {"format": 1},
            ['c.json: procedures: must be a list of names; write ["meniscal_repair"]'],
            id="no_procedures",
        ),
        pytest.param(
            with_values(sid="left"),
            ["c.json: sid: the form has no such field; did you mean 'side'?"],
            id="unknown_field",
        ),
        pytest.param(
            with_values(tears=[{"id": "r1", "lenght_mm": "3 mm"}]),
            ["c.json: tears.r1.lenght_mm: the form has no such field; did you mean 'length_mm'?"],
            id="unknown_column",
        ),
        pytest.param(
            with_values(stitch_count=3),
            ["c.json: stitch_count: is worked out by opnote; take it out of the file"],
            id="computed",
        ),
        pytest.param(
            with_values(patient__name=3),
            ["c.json: patient.name: 3 is not a text; put it in quotes"],
            id="wrong_type",
        ),
        pytest.param(
            with_values(patient__name=None),
            ["c.json: patient.name: null is not a text; put it in quotes"],
            id="null",
        ),
        pytest.param(
            with_values(side="lefft"),
            ["c.json: side: has no option \"lefft\"; did you mean 'left'?"],
            id="no_such_option",
        ),
        pytest.param(
            with_values(complications=["none", "bleeding"]),
            ["c.json: complications: 'none' can't stand beside others; keep one of them"],
            id="none_beside_others",
        ),
        pytest.param(
            with_values(cuff__used="yes"),
            [
                'c.json: cuff.used: "yes" is no answer here; write true, false or "not_examined"',
            ],
            id="yes_as_a_word",
        ),
        pytest.param(
            with_values(patient__born="2026-02-30"),
            [
                'c.json: patient.born: "2026-02-30" is no date; '
                'write year-month-day, such as "2026-03-09"'
            ],
            id="impossible_date",
        ),
        pytest.param(
            with_values(operation__start="8"),
            ['c.json: operation.start: "8" is no time; write hours and minutes, such as "08:40"'],
            id="half_a_time",
        ),
        pytest.param(
            with_values(operation__start="08:40:30"),
            [
                'c.json: operation.start: "08:40:30" is no time; '
                'write hours and minutes, such as "08:40"'
            ],
            id="seconds_that_would_be_lost",
        ),
        pytest.param(
            with_values(checked_at="2026-03-09"),
            [
                'c.json: checked_at: "2026-03-09" is no date with a time; '
                'write year-month-day, T, hours and minutes, such as "2026-03-09T08:40"'
            ],
            id="moment_without_its_time",
        ),
        pytest.param(
            with_values(checked_at="2026-03-09T08:40+01:00"),
            [
                'c.json: checked_at: "2026-03-09T08:40+01:00" is no date with a time; '
                'write year-month-day, T, hours and minutes, such as "2026-03-09T08:40"'
            ],
            id="zone_that_would_be_lost",
        ),
        pytest.param(
            with_values(tears=[{"id": "r1", "length_mm": "4 km"}]),
            ['c.json: tears.r1.length_mm: "4 km" is in km, not in mm; write a number and mm'],
            id="another_unit",
        ),
        pytest.param(
            with_values(tears=[{"id": "r1", "length_mm": "4000 mm"}]),
            ["c.json: tears.r1.length_mm: 4000 mm is more than 120 mm; check the number"],
            id="too_much",
        ),
        pytest.param(
            with_values(tears=[{"id": "r1", "length_mm": 40}]),
            [
                "c.json: tears.r1.length_mm: 40 is no number with a unit; "
                'write it with its unit in quotes, "40 mm"'
            ],
            id="no_unit",
        ),
        pytest.param(
            with_values(tears=[{"id": "r1"}, {"id": "r1"}]),
            ["c.json: tears.r1: the row id 'r1' is there twice; give each row its own"],
            id="row_id_twice",
        ),
        pytest.param(
            with_values(tears=[{"id": "r1"}], stitches=[{"id": "r1"}]),
            ["c.json: stitches.r1: the row id 'r1' is there twice; give each row its own"],
            id="row_id_in_two_tables",
        ),
        pytest.param(
            with_values(tears=[{"meniscus": "medial"}]),
            ['c.json: tears.row 1.id: give each row an id of its own, such as "r1"'],
            id="row_without_id",
        ),
        pytest.param(
            with_values(tears=None),
            ["c.json: tears: is no list of rows; write [] for none, or leave it out"],
            id="table_that_is_no_list",
        ),
        pytest.param(
            with_values(tears=[], stitches=[{"id": "r2", "tear": "r1"}]),
            ["c.json: stitches.r2.tear: 'tears' has no row 'r1'; name one that is there"],
            id="reference_to_nowhere",
        ),
        pytest.param(
            with_values(remarks="x" * 100_001),
            ["c.json: remarks: the text has 100001 characters; keep it under 100000"],
            id="a_book",
        ),
        pytest.param(
            case(due={"feeling_later": {"at": 3, "by": "x"}}),
            [
                "c.json: due.feeling_later.at: 3 is no date with a time; "
                'write year-month-day, T, hours and minutes, such as "2026-03-09T08:40"'
            ],
            id="booked_for_no_time",
        ),
        pytest.param(
            with_values(side="lefft", patient__name=3),
            [
                "c.json: patient.name: 3 is not a text; put it in quotes",
                "c.json: side: has no option \"lefft\"; did you mean 'left'?",
            ],
            id="two_mistakes_at_once",
        ),
    ],
)
def test_each_mistake_of_a_file_is_one_clear_line(
    mini_pack: PackFor, content: str | dict[str, Any], lines: list[str] | None
) -> None:
    text = content if isinstance(content, str) else json.dumps(content)
    with pytest.raises(RecordError) as caught:
        read_case(text, "c.json", mini_pack)
    found = list(caught.value.lines)
    assert all("\n" not in line and len(line) < 200 for line in found)
    if lines is not None:
        assert sorted(found) == sorted(lines)


def test_a_long_text_and_a_mark_before_the_file_are_kept(mini_pack: PackFor) -> None:
    text = json.dumps(with_values(remarks="é" * 20_000))
    record, _ = read_case("\ufeff" + text, "c.json", mini_pack)
    assert record.values["remarks"] == "é" * 20_000


def older(**values: Any) -> str:
    content = with_values(**values)
    return json.dumps({**content, "editions": {"mini_repair": "2024.1", "common": "2026.1"}})


OLD = {
    "gone_field": "kept words",
    "side": "both",
    "tears": [
        {"id": "r1", "meniscus": "medial", "length_mm": "4000 mm", "gone": "x"},
        {"meniscus": "lateral"},
        "no row at all",
        {"id": "r3", "meniscus": "lateral"},
    ],
    "stitches": [{"id": "r4", "tear": "r1", "count": 3}, {"id": "r5", "tear": "r2"}],
    "patient__name": "Mrs Ann Example",
}


def test_what_another_edition_no_longer_knows_is_set_aside_with_its_words(
    mini_pack: PackFor,
) -> None:
    record, pack = read_case(older(**OLD), "c.json", mini_pack)
    assert record.values["patient.name"] == "Mrs Ann Example"
    assert record.rows == {"tears": ("r1", "r3"), "stitches": ("r4", "r5")}
    assert record.values["tears.r3.meniscus"] == "lateral"
    kept = {path: left.value for path, left in record.leftover.items()}
    assert kept == {
        "gone_field": "kept words",
        "side": "both",
        "tears.r1.length_mm": "4000 mm",
        "tears.r1.gone": "x",
        "tears.row 2": {"meniscus": "lateral"},
        "tears.row 3": "no row at all",
        "stitches.r5.tear": "r2",
    }
    assert {left.edition for left in record.leftover.values()} == {"mini_repair 2024.1"}
    assert record.leftover["gone_field"].because == "the form has no such field"
    # It is said to the person, and still there after saving and reading again.
    findings = assess(pack, pack.view(record)).open
    assert sum(finding.id.startswith("leftover:") for finding in findings) == len(kept)
    again, _ = read_case(case_text(record, pack.form), "c.json", mini_pack)
    assert again == record


def test_a_newer_edition_is_read_in_the_same_way(mini_pack: PackFor) -> None:
    content = json.dumps({**with_values(new_field=[1, 2]), "editions": {"common": "2099.1"}})
    record, _ = read_case(content, "c.json", mini_pack)
    assert record.leftover["new_field"] == Leftover(
        [1, 2], "the form has no such field", "common 2099.1"
    )


def test_two_leftovers_of_one_field_are_both_kept(mini_pack: PackFor) -> None:
    content = json.loads(older(side="both"))
    content["leftover"] = {"side": {"value": "middle", "because": "older", "edition": "2020"}}
    record, _ = read_case(json.dumps(content), "c.json", mini_pack)
    assert {left.value for left in record.leftover.values()} == {"both", "middle"}


def test_a_whole_table_that_is_gone_takes_its_references_with_it(mini_pack: PackFor) -> None:
    record, _ = read_case(
        older(tears="a text now", stitches=[{"id": "r2", "tear": "r1"}]), "c.json", mini_pack
    )
    assert set(record.leftover) == {"tears", "stitches.r2.tear"}
    assert record.rows == {"stitches": ("r2",)}


def test_row_ids_are_never_used_twice(mini_pack: PackFor) -> None:
    content = with_values(tears=[{"id": "r7"}])
    record, _ = read_case(json.dumps(content), "c.json", mini_pack)
    assert add_row("tears", "add").apply(record).rows["tears"] == ("r7", "r8")


def test_two_procedures_are_one_case(mini_pack: PackFor) -> None:
    names = ["mini_second", "mini_repair"]
    content = {
        "format": 1,
        "procedures": names,
        "values": {"graft.kind": "bone", "tears": [], "side": "left"},
    }
    record, pack = read_case(json.dumps(content), "c.json", mini_pack)
    assert record.procedures == tuple(names)
    assert [field.path for field in pack.form.fields].count("side") == 1
    assert read_case(case_text(record, pack.form), "c.json", mini_pack)[0] == record


def test_the_schema_refuses_what_the_program_refuses(mini_pack: PackFor) -> None:
    schema = case_schema(mini_pack(("mini_repair",)).form)
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    for bad in (
        with_values(sid="left"),
        with_values(side="lefft"),
        with_values(tears=[{"id": "r1", "length_mm": "4 km"}]),
        with_values(tears=[{"meniscus": "medial"}]),
        with_values(operation__start="08:40:30"),
        {"format": 2, "procedures": ["mini_repair"]},
        {"format": 1, "procedures": []},
    ):
        assert list(validator.iter_errors(bad)), bad


def test_a_time_is_written_to_the_minute(mini: Pack) -> None:
    record = replace(mini.new_record(), values={"operation.start": time(8, 5)})
    assert re.search(r'"operation.start": "08:05"', case_text(record, mini.form))
    assert '"2026-03-09"' in case_text(
        replace(record, values={"operation.date": date(2026, 3, 9)}), mini.form
    )


@pytest.mark.parametrize("origin", ["preset", "carried_over", "computed"])
def test_side_that_did_not_come_from_a_person_is_refused(origin: str) -> None:
    pack = load_pack(("meniscal_repair",))
    case = {
        "format": 1,
        "procedures": ["meniscal_repair"],
        "editions": dict(pack.form.editions),
        "values": {"side": "left"},
        "origins": {"side": origin},
        "confirmed": ["side"],
    }
    with pytest.raises(RecordError) as caught:
        read_case(json.dumps(case), "case.json", lambda names: pack)
    (line,) = caught.value.lines
    assert line.startswith("case.json: origins.side: ")
    assert line.endswith("take the line away")


def booked(**parts: Any) -> dict[str, Any]:
    """A file with one tear and what it keeps beside its values."""
    return case(values={"side": "left", "tears": [{"id": "r1"}]}, **parts)


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (
            booked(unanswered={"sid": "unknown"}),
            "unanswered.sid: the form has no such field; did you mean 'side'?",
        ),
        (
            booked(unanswered={"tears.r2.length_mm": "lost"}),
            "unanswered.tears.r2.length_mm: 'tears' has no row 'r2'; name one that is there",
        ),
        (
            booked(unanswered={"stitch_count": "lost"}),
            "unanswered.stitch_count: is worked out by opnote; take the line away",
        ),
        (
            booked(confirmed=["tears.lenght_mm"]),
            "confirmed.tears.lenght_mm: the form has no such field; take the line away",
        ),
        (
            booked(reasons={"lnog": "the cuff was slow"}),
            "reasons.lnog: there is no such check; did you mean 'long'?",
        ),
        (
            booked(reasons={"ends_before_it_starts": "so it was"}),
            "reasons.ends_before_it_starts: the check takes no reason; take the line away",
        ),
        (
            booked(reasons={"usual:cuff.presure": "a thick thigh"}),
            "reasons.usual:cuff.presure: the form has no such field; take the line away",
        ),
        (
            booked(due={"long": {"at": "2026-03-09T20:00", "by": "ward"}}),
            "due.long: the check is not booked for later; take the line away",
        ),
        (
            booked(valuse={}),
            "valuse: a case file has no such part; did you mean 'values'?",
        ),
        (
            booked(leftover={"x": {"value": 1, "edition": "2020"}}),
            "leftover.x.because: is missing; add it",
        ),
        (
            booked(leftover={"x": {"value": 1, "because": "b", "edition": "e", "becuase": "b"}}),
            "leftover.x.becuase: there is no such entry; did you mean 'because'?",
        ),
        (
            booked(leftover=[]),
            "leftover: is no group of entries; write {} for none, or leave it out",
        ),
        (booked(confirmed={}), "confirmed: is no list; write [] for none, or leave it out"),
        (booked(reasons={"long": 3}), "reasons.long: 3 is not a text; use quotes"),
        (
            with_values(tears=[{"id": "r1", "length_mm": "1,250 mm"}]),
            'tears.r1.length_mm: "1,250 mm" is no number with a unit; write a number and mm',
        ),
        (
            booked(origins={"side": "typd"}),
            "origins.side: 'typd' is not known here; did you mean 'typed'?",
        ),
        ({**case(), "format": "1"}, 'format: "1" is a text; write 1 without quotes'),
        ({"procedures": ["mini_repair"]}, 'format: is missing; add "format": 1'),
        (
            with_values(stitches=[{"id": "r1", "count": "6"}]),
            'stitches.r1.count: "6" is not a whole number; write 6 without quotes',
        ),
        (
            with_values(stitches=[{"id": "r1", "count": 6.0}]),
            "stitches.r1.count: 6.0 is not a whole number; write 6",
        ),
        (
            with_values(stitches=[{"id": "r1", "count": "six"}]),
            'stitches.r1.count: "six" is not a whole number; write a whole number without quotes',
        ),
        (
            with_values(tears=[{"id": "r1", "length_mm": "30,5 mm"}]),
            'tears.r1.length_mm: "30,5 mm" is no number with a unit; use a point: write "30.5 mm"',
        ),
    ],
)
def test_what_stands_beside_the_values_is_refused_in_one_line_where_it_is_wrong(
    mini_pack: PackFor, content: dict[str, Any], line: str
) -> None:
    with pytest.raises(RecordError) as caught:
        read_case(json.dumps(content), "c.json", mini_pack)
    assert list(caught.value.lines) == [f"c.json: {line}"]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            '{"format": 1\n "procedures": []}',
            "c.json:2:2: not valid JSON: a comma is missing before this place; put one in",
        ),
        ("", "c.json:1: the file is empty; restore it from a copy"),
        (
            '{"format": 1,\n "procedures": [',
            "c.json:2:17: not valid JSON: the file ends too early; restore it from a copy",
        ),
        (
            '{"format": 1} {}',
            "c.json:1:15: not valid JSON: something stands after the end of the case; take it away",
        ),
    ],
)
def test_a_slip_in_the_file_is_named_with_line_and_column(
    mini_pack: PackFor, text: str, line: str
) -> None:
    with pytest.raises(RecordError) as caught:
        read_case(text, "c.json", mini_pack)
    assert list(caught.value.lines) == [line]


def test_what_another_edition_kept_beside_the_values_is_set_aside(mini_pack: PackFor) -> None:
    content = json.loads(older(side="left"))
    content |= {
        "unanswered": {"gone_field": "the sheet was lost", "patient.name": "asleep"},
        "reasons": {"gone_check:r3": "it was so", "long": "slow"},
        "due": {"gone_later": {"at": "2026-03-09T20:00", "by": "ward"}},
    }
    record, pack = read_case(json.dumps(content), "c.json", mini_pack)
    assert record.unanswered == {"patient.name": "asleep"}
    assert record.reasons == {"long": "slow"}
    assert record.due == {}
    assert {path: left.value for path, left in record.leftover.items()} == {
        "unanswered.gone_field": "the sheet was lost",
        "reasons.gone_check:r3": "it was so",
        "due.gone_later": {"at": "2026-03-09T20:00", "by": "ward"},
    }
    again, _ = read_case(case_text(record, pack.form), "c.json", mini_pack)
    assert again == record


def test_what_nobody_examines_is_not_answered_by_not_examined(mini: Pack) -> None:
    field = mini.fields["cuff.used"]
    assert value_from_json("not_examined", field) == "not_examined"
    with pytest.raises(ValueProblem, match="is no answer here") as refused:
        value_from_json("not_examined", replace(field, examined=False))
    assert refused.value.remedy == "write true or false"


@pytest.mark.parametrize(
    ("path", "raw", "said"),
    [
        ("patient.born", "1026-03-09", '"1026-03-09" lies outside 1900 to 2100; correct the year'),
        ("patient.name", "Ann\nQuillfeather", "the text holds a line break; write it on one line"),
    ],
)
def test_slips_of_the_hand_in_a_file_are_named(
    mini_pack: PackFor, path: str, raw: str, said: str
) -> None:
    with pytest.raises(RecordError) as refused:
        read_case(json.dumps(with_values(**{path: raw})), "c.json", mini_pack)
    assert refused.value.lines == (f"c.json: {path}: {said}",)
