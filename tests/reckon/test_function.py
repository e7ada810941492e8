"""The functions that forms may call."""

import doctest
import importlib
import inspect
import pkgutil
from datetime import date, time

import pytest

import opnote.reckon
from opnote.reckon.fixation import cover_ratio, covered_mm, density_mm, expected_count
from opnote.reckon.function import FUNCTIONS

TYPES = {
    "mm", "min", "degrees", "days", "weeks", "years", "number", "date", "time", "datetime",
    "text", "yes_no",
}  # fmt: skip


@pytest.mark.parametrize("name", FUNCTIONS)
def test_each_function_says_its_types_and_itself(name: str) -> None:
    function = FUNCTIONS[name]
    assert function.name == name
    assert {*function.arguments, function.result} <= TYPES
    assert function.says.strip()
    assert "\n" not in function.says


@pytest.mark.parametrize("name", sorted(set(FUNCTIONS) - {"least", "most"}))
def test_each_function_takes_as_many_arguments_as_it_declares(name: str) -> None:
    function = FUNCTIONS[name]
    inspect.signature(function.call).bind(*function.arguments)


@pytest.mark.parametrize(
    ("name", "arguments", "result"),
    [
        ("zone_of_rim", (2.5,), 1),
        ("minutes_between", (time(23, 40), time(0, 20)), 40),
        ("days_between", (date(2026, 2, 25), date(2026, 3, 9)), 12),
        ("age_years", (date(2001, 2, 14), date(2026, 3, 9)), 25),
        ("date_after_days", (date(2026, 3, 9), 12), date(2026, 3, 21)),
        ("date_after_weeks", (date(2026, 3, 9), 6.0), date(2026, 4, 20)),
        ("date_after_months", (date(2026, 1, 31), 1), date(2026, 2, 28)),
        ("posterior_mm", ("medial", 10, 48), pytest.approx(23.02)),
        ("body_mm", ("medial", 10, 48), pytest.approx(14.98)),
        ("anterior_mm", ("medial", 10, 48), 0),
        ("arc_length_mm", ("lateral",), 90.25),
        ("segment_width_mm", ("medial", "body"), 7.8),
        ("circumference_percent", ("medial", 99.06), 100),
        ("excised_percent", ("medial", 11, 7), pytest.approx(9.29, abs=0.01)),
        ("covered_mm", (3, 7), 21),
        ("cover_ratio", (3, 7, 21), 1),
        ("density_mm", (30, 5), 6),
        ("expected_count", (38, 5), 8),
        ("allowed_gap_mm", ("lateral", 24, 33), 13),
        ("crosses_hiatus", ("medial", 24, 33), False),
        ("least_limiter_mm", (4,), 12),
        ("depth_past_capsule_mm", (14, 5), 1),
        ("nhs_number_is_valid", ("943 476 5919",), True),
        ("round_to", (2.5, 1), 3),
        ("round_to", (-2.5, 1), -2),
        ("round_to", (0.15, 0.1), 0.2),
        ("round_to", (37, 5), 35),
        ("absolute", (-3,), 3),
        ("least", (3, 2), 2),
        ("most", (3, 2), 3),
    ],
)
def test_worked_examples(name: str, arguments: tuple[object, ...], result: object) -> None:
    assert FUNCTIONS[name].call(*arguments) == result


@pytest.mark.parametrize(
    ("name", "arguments"),
    [
        ("zone_of_rim", (-1,)),
        ("age_years", (date(2026, 3, 9), date(2001, 2, 14))),
        ("date_after_weeks", (date(2026, 3, 9), 1.5)),
        ("date_after_months", (date(2026, 3, 9), 10**9)),
        ("posterior_mm", ("both", 10, 48)),
        ("body_mm", ("medial", 48, 10)),
        ("arc_length_mm", ("both",)),
        ("segment_width_mm", ("medial", "root")),
        ("cover_ratio", (3, 7, 0)),
        ("density_mm", (30, 0)),
        ("expected_count", (38, 0)),
        ("depth_past_capsule_mm", (-1, 5)),
        ("round_to", (3, 0)),
    ],
)
def test_what_has_no_answer_is_unset(name: str, arguments: tuple[object, ...]) -> None:
    assert FUNCTIONS[name].call(*arguments) is None


@pytest.mark.parametrize(
    ("call", "arguments"),
    [
        (covered_mm, (-1, 7)),
        (covered_mm, (1, -7)),
        (cover_ratio, (3, 7, 0)),
        (density_mm, (38, 0)),
        (expected_count, (38, 0)),
    ],
)
def test_outside_a_form_a_slip_is_an_error(call: object, arguments: tuple[float, ...]) -> None:
    assert callable(call)
    with pytest.raises(ValueError, match=r"not negative|above 0"):
        call(*arguments)


@pytest.mark.parametrize(
    "module", [info.name for info in pkgutil.iter_modules(opnote.reckon.__path__)]
)
def test_examples_in_docstrings_hold(module: str) -> None:
    result = doctest.testmod(importlib.import_module(f"opnote.reckon.{module}"))
    assert result.failed == 0
