"""Zones against the ISAKOS classification (Anderson et al., Am J Sports Med 2011;39:926-32)."""

import pytest

from opnote.reckon.tear import zone_of_rim


@pytest.mark.parametrize(
    ("rim_mm", "zone"),
    [
        (0, 1),
        (2.5, 1),
        (2.999, 1),  # zone 1: rim below 3 mm
        (3, 2),  # zone 2: 3 to 5 mm
        (4.999, 2),
        (5, 3),  # zone 3 from 5 mm on: from memory of the original paper
        (6, 3),
    ],
)
def test_zone_edges(rim_mm: float, zone: int) -> None:
    assert zone_of_rim(rim_mm) == zone


def test_a_negative_rim_is_refused() -> None:
    with pytest.raises(ValueError, match="not narrower than 0 mm"):
        zone_of_rim(-0.1)
