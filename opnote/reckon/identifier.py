"""Identifiers of people that carry their own check."""

from __future__ import annotations


def nhs_number_is_valid(text: str) -> bool:
    """Tell whether a text is an NHS number: ten digits whose last is the right check digit.

    Spaces and hyphens between digits are allowed. The first nine digits times 10 down to 2 are
    added; 11 minus the remainder on division by 11 is the check digit, 11 counts as 0, and 10
    means that no such number exists. Ten equal digits pass that arithmetic and are refused.

    Source: NHS Data Dictionary, NHS number, modulus 11 (read as quoted elsewhere).

    >>> nhs_number_is_valid("943 476 5919"), nhs_number_is_valid("943 476 5918")
    (True, False)
    """
    digits = text.strip().replace(" ", "").replace("-", "")
    if len(digits) != 10 or not (digits.isascii() and digits.isdigit()):
        return False
    if len(set(digits)) == 1:
        return False
    total = sum(int(digit) * (10 - i) for i, digit in enumerate(digits[:9]))
    return (11 - total % 11) % 11 == int(digits[9])
