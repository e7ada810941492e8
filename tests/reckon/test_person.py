"""Ways of writing one name."""

import pytest

from opnote.reckon.person import same_name


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("Miss Q. Larkspindle", "Miss Q. Larkspindle", True),
        ("MISS Q LARKSPINDLE", "Q. Larkspindle", True),
        ("Larkspindle", "Miss Q. Larkspindle", True),
        ("Dr Quilla Larkspindle", "Q. Larkspindle", True),
        ("Miss Q. Larkspindle", "Mr T. Larkspindle", False),
        ("Quilla Larkspindle", "Quentin Larkspindle", False),
        ("Miss Q. Larkspindle", "Miss Q. Dunmarrow", False),
        ("Dr", "Dr", False),
        ("", "Larkspindle", False),
    ],
)
def test_names(one: str, other: str, same: bool) -> None:
    assert same_name(one, other) is same
    assert same_name(other, one) is same
