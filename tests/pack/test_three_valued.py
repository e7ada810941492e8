"""Checks and sentences agree on what is true, false and not known, and with the plain meaning."""

from __future__ import annotations

import operator
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from opnote.pack.expression import compile_expression
from opnote.pack.logic import all3, any3, not3, truth_of
from opnote.pack.pack import Pack
from opnote.pack.shown import Reader
from opnote.pack.wording import compile_wording, merge, parse_wording, wording_environment
from opnote.record import UNSET, Quantity, Record, add_row, answer_no_rows, set_values

# A condition is a tree; the oracle below walks the tree, and never the program's own code.
Tree = tuple[Any, ...]

LEAVES: list[Tree] = [
    ("field", "cuff.used"),
    ("==", "side", "left"),
    ("!=", "side", "left"),
    ("in", "side", ("left", "right")),
    ("==", "cuff.used", "not_examined"),
    ("==", "cuff.used", False),
    ("has", "complications", "bleeding"),
    (">", "cuff.pressure", 200),
    ("<=", "cuff.pressure", 200),
    ("recorded", "side"),
    ("not recorded", "cuff.used"),
    ("recorded", "tears"),
]

trees = st.recursive(
    st.sampled_from(LEAVES),
    lambda inner: st.one_of(
        st.tuples(st.just("not"), inner),
        st.tuples(st.just("and"), inner, inner),
        st.tuples(st.just("or"), inner, inner),
    ),
    max_leaves=8,
)

records = st.fixed_dictionaries(
    {},
    optional={
        "side": st.sampled_from(["left", "right"]),
        "cuff.used": st.sampled_from([True, False, "not_examined"]),
        "cuff.pressure": st.integers(100, 400).map(lambda n: Quantity(n, "mmHg")),
        "complications": st.sampled_from([("none",), ("bleeding",), ("bleeding", "breakage")]),
        "operation.date": st.just(date(2026, 3, 9)),
    },
)


def written(tree: Tree) -> str:
    """The tree in the words of the language."""
    match tree:
        case ("field", path):
            return str(path)
        case ("recorded", path):
            return f"{path} is recorded"
        case ("not recorded", path):
            return f"{path} is not recorded"
        case ("has", path, value):
            return f"'{value}' in {path}"
        case ("not", inner):
            return f"not ({written(inner)})"
        case (("and" | "or") as word, left, right):
            return f"({written(left)}) {word} ({written(right)})"
        case (mark, path, bool() as value):
            return f"{path} {mark} {str(value).lower()}"
        case (mark, path, value):
            return f"{path} {mark} {value!r}"
    raise AssertionError(tree)


_COMPARED: dict[str, Callable[[Any, Any], bool]] = {
    "==": operator.eq,
    "!=": operator.ne,
    ">": operator.gt,
    "<=": operator.le,
}


def meant(tree: Tree, values: dict[str, Any]) -> bool | None:
    """What the tree means; None is "not known"."""
    # The pressure only exists while a cuff is known to have been used.
    seen = dict(values)
    if seen.get("cuff.used") is not True:
        seen.pop("cuff.pressure", None)
    match tree:
        case ("field", path):
            found = seen.get(path)
            return found if isinstance(found, bool) else None
        case ("recorded", path):
            return path in seen
        case ("not recorded", path):
            return path not in seen
        case ("has", path, value):
            return value in seen[path] if path in seen else None
        case ("not", inner):
            truth = meant(inner, values)
            return None if truth is None else not truth
        case ("and", left, right):
            both = (meant(left, values), meant(right, values))
            return False if False in both else None if None in both else True
        case ("or", left, right):
            either = (meant(left, values), meant(right, values))
            return True if True in either else None if None in either else False
        case (mark, path, wanted):
            if path not in seen:
                return None
            found = seen[path].amount if isinstance(seen[path], Quantity) else seen[path]
            if mark == "in":
                return found in wanted
            return bool(_COMPARED[mark](found, wanted))
    raise AssertionError(tree)


def branch_taken(pack: Pack, record: Record, condition: str) -> str:
    """What a wording with this condition says: YES, ELSE, or nothing."""
    environment = wording_environment()
    text = f"{{% if {condition} %}}YES{{% else %}}ELSE{{% endif %}}"
    source = parse_wording("test.md", text, environment)
    merged, problems = merge("note", source, (), ())
    assert not problems
    code = compile_wording(merged, pack.wording_fields, pack.form.limits, environment)
    reader = Reader(pack.view(record), pack.wording_fields, {})
    template = environment.template_class.from_code(environment, code, {})
    said = template.render({"reader_": reader})
    return "".join(mark for mark in said if mark.isascii())


@settings(max_examples=300, deadline=None)
@given(tree=trees, values=records)
def test_a_check_and_a_sentence_agree_with_the_plain_meaning(
    mini: Pack, tree: Tree, values: dict[str, Any]
) -> None:
    record = set_values(values, "fill").apply(mini.new_record())
    condition = written(tree)
    truth = truth_of(compile_expression(condition, mini.scope).run(mini.view(record), {}))
    wanted = meant(tree, values)
    assert truth is (UNSET if wanted is None else wanted)
    said = branch_taken(mini, record, condition)
    assert said == {True: "YES", False: "ELSE", None: ""}[wanted]


truths = st.sampled_from([True, False, UNSET, "not_examined"])


@given(st.lists(truths, max_size=6))
def test_all_is_not_any_not(values: list[Any]) -> None:
    assert all3(values) is not3(any3([not3(value) for value in values]))


@given(st.lists(truths, max_size=6), st.randoms())
def test_the_order_of_conditions_does_not_matter(values: list[Any], random: Any) -> None:
    shuffled = list(values)
    random.shuffle(shuffled)
    assert all3(values) is all3(shuffled)
    assert any3(values) is any3(shuffled)


def value_of(pack: Pack, record: Record, source: str) -> Any:
    return compile_expression(source, pack.scope).run(pack.view(record), {})


def with_tears(pack: Pack, *rims: float | None) -> Record:
    record = pack.new_record()
    for rim in rims:
        given = {} if rim is None else {"rim_mm": Quantity(rim, "mm")}
        record = add_row("tears", "add", given).apply(record)
    return record


ANY = "any(t.rim_mm > 3 for t in tears)"
ALL = "all(t.rim_mm > 3 for t in tears)"
SUM = "sum(t.rim_mm for t in tears)"


@pytest.mark.parametrize(
    ("source", "rims", "wanted"),
    [
        (ANY, (1, 4), True),
        (ANY, (None, 4), True),
        (ANY, (1, None), UNSET),
        (ANY, (1, 2), False),
        (ALL, (4, 5), True),
        (ALL, (4, None), UNSET),
        (ALL, (None, 1), False),
        (SUM, (1, 2.5), 3.5),
        (SUM, (1, None), UNSET),
        ("sum(t.rim_mm for t in tears if t.rim_mm > 3)", (1, 4), 4),
        ("sum(t.rim_mm for t in tears if t.meniscus == 'medial')", (1,), UNSET),
        ("any(t.rim_mm > 3 for t in tears if t.meniscus == 'medial')", (4,), UNSET),
        ("any(t.rim_mm > 3 for t in tears if t.meniscus == 'medial')", (1,), False),
        ("all(t.rim_mm > 3 for t in tears if t.meniscus == 'medial')", (4,), True),
        ("all(t.rim_mm > 3 for t in tears if t.meniscus == 'medial')", (1,), UNSET),
        ("len(tears)", (1, 1), 2),
    ],
)
def test_what_is_asked_of_rows_is_known_as_soon_as_it_must_be(
    mini: Pack, source: str, rims: Sequence[float | None], wanted: Any
) -> None:
    found = value_of(mini, with_tears(mini, *rims), source)
    assert found is wanted if isinstance(wanted, bool) or wanted is UNSET else found == wanted


@pytest.mark.parametrize("source", [ANY, ALL, SUM, "len(tears)", f"not {ANY}"])
def test_a_table_that_was_not_filled_tells_nothing(mini: Pack, source: str) -> None:
    assert value_of(mini, mini.new_record(), source) is UNSET


@pytest.mark.parametrize(
    ("source", "wanted"), [(ANY, False), (ALL, True), (SUM, 0), ("len(tears)", 0)]
)
def test_none_is_a_table_without_rows(mini: Pack, source: str, wanted: Any) -> None:
    record = answer_no_rows("tears", "none").apply(mini.new_record())
    assert value_of(mini, record, source) == wanted


def test_no_number_comes_of_dividing_by_nothing(mini: Pack) -> None:
    record = set_values({"plan.weeks": Quantity(0, "weeks")}, "x").apply(mini.new_record())
    assert value_of(mini, record, "1 / plan.weeks") is UNSET
    assert value_of(mini, record, "1 / plan.weeks > 3") is UNSET


def test_a_clock_that_was_not_recorded_has_no_duration(mini: Pack) -> None:
    assert (
        value_of(mini, mini.new_record(), "minutes_between(operation.start, operation.end)")
        is UNSET
    )
