"""NHS numbers against the modulus 11 check of the NHS Data Dictionary."""

import pytest

from opnote.reckon.identifier import nhs_number_is_valid


@pytest.mark.parametrize(
    ("text", "is_valid"),
    [
        ("943 476 5919", True),  # worked example; sum 299, remainder 2, check digit 9
        ("943 476 5918", False),
        ("931 331 7125", True),  # sum 204, remainder 6, check digit 5
        ("654 100 3238", True),  # sum 168, remainder 3, check digit 8
        ("123 233 1234", False),  # sum 115, remainder 5, check digit 6, not 4
        ("123 456 7890", False),  # sum 210, remainder 1: 10 is no check digit
        ("987 654 4321", False),  # sum 339, remainder 9, check digit 2, not 1
        ("999 000 0018", True),  # 243 + 1 * 2 = 245, remainder 3, check digit 8; test range
        ("9434765919", True),
        ("943-476-5919", True),
        ("943 476 591", False),
        ("943 476 59190", False),
        ("", False),
        ("943 476 591X", False),
        # Digits of other scripts are no digits of an identifier.
        ("\u0669\u0664\u0663\u0664\u0667\u0666\u0665\u0669\u0661\u0669", False),
    ],
)
def test_check_digit(text: str, is_valid: bool) -> None:
    assert nhs_number_is_valid(text) is is_valid


@pytest.mark.parametrize("last", "0123456789")
def test_a_remainder_of_one_leaves_no_valid_number(last: str) -> None:
    # 9 * (10 + 9 + 8) = 243; 243 = 22 * 11 + 1.
    assert not nhs_number_is_valid(f"999 000 000{last}")


@pytest.mark.parametrize("digit", "0123456789")
def test_ten_equal_digits_are_refused_though_they_pass_the_arithmetic(digit: str) -> None:
    assert not nhs_number_is_valid(digit * 10)
