"""Doses as people write them."""

from __future__ import annotations

import pytest

from opnote.reckon.dose import grams, is_dose


@pytest.mark.parametrize(
    ("text", "mass_g"),
    [
        ("2 g", 2),
        ("2g", 2),
        (" 2 G iv ", 2),
        ("600 mg", 0.6),
        ("1.5 g", 1.5),
        ("1,5 g", 1.5),
        ("1,200 mg", 1.2),
        ("1200 mg", 1.2),
        ("1.200 mg", 1.2),
        ("0,6 g", 0.6),
        ("2 grams", 2),
    ],
)
def test_a_mass_is_read_in_either_unit_and_with_either_mark(text: str, mass_g: float) -> None:
    assert grams(text) == pytest.approx(mass_g)


@pytest.mark.parametrize(
    "text",
    ["", "2", "20 mL", "2 gm", "two g", "usual dose", "mg 600", "-2 g", "30 mg/kg", "500 mg + 1 g"],
)
def test_what_is_no_mass_is_not_guessed(text: str) -> None:
    assert grams(text) is None


@pytest.mark.parametrize("text", ["2 g", "600 mg IV", "4 million units", "5,000,000 IU", "5 mega"])
def test_an_amount_with_its_unit_is_a_dose(text: str) -> None:
    assert is_dose(text)


@pytest.mark.parametrize("text", ["2", "30 mg/kg", "usual", "20 mL", "units"])
def test_no_amount_is_no_dose(text: str) -> None:
    assert not is_dose(text)
