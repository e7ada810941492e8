"""Properties of identifiers of people."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.identifier import (
    NATIONAL_SCHEMES,
    identifier_fault,
    identifier_is_valid,
    identifier_shown,
    nhs_number_is_valid,
)


@given(st.text())
def test_a_hospital_number_is_neither_judged_nor_changed(text: str) -> None:
    assert identifier_fault("hospital", text) is None
    assert identifier_shown("hospital", text) == text


@given(st.from_regex(r"[0-9]{10}", fullmatch=True))
def test_showing_an_nhs_number_keeps_its_digits(text: str) -> None:
    assert identifier_shown("nhs", text).replace(" ", "") == text
    assert identifier_is_valid("nhs", text) is nhs_number_is_valid(text)


@given(st.sampled_from(sorted(NATIONAL_SCHEMES)), st.text(max_size=20))
def test_any_text_is_answered(kind: str, text: str) -> None:
    fault = identifier_fault(kind, text)
    assert fault is None or fault.endswith(".")
    if fault is not None:
        assert identifier_shown(kind, text) == text


@pytest.mark.parametrize("kind", sorted(NATIONAL_SCHEMES))
def test_digits_of_other_scripts_are_refused(kind: str) -> None:
    assert "plain letters" in str(identifier_fault(kind, "\u0661\u0662\u0663"))


@pytest.mark.parametrize("kind", ["", "NHS", "xx_yy", "gb_nhs", "../os"])
def test_an_unknown_kind_is_an_error(kind: str) -> None:
    with pytest.raises(ValueError, match="unknown kind of identifier"):
        identifier_fault(kind, "1")
    with pytest.raises(ValueError, match="unknown kind of identifier"):
        identifier_shown(kind, "1")
