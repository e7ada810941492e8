"""Doses as people write them."""

from __future__ import annotations

import pytest

from opnote.reckon.dose import grams


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
        ("0,6 g", 0.6),
        ("2 grams", 2),
    ],
)
def test_a_mass_is_read_in_either_unit_and_with_either_mark(text: str, mass_g: float) -> None:
    assert grams(text) == pytest.approx(mass_g)


@pytest.mark.parametrize(
    "text", ["", "2", "20 mL", "2 gm", "two g", "usual dose", "mg 600", "-2 g"]
)
def test_what_is_no_mass_is_not_guessed(text: str) -> None:
    assert grams(text) is None
