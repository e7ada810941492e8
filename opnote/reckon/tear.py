"""What follows from the measures of a meniscal tear."""

from __future__ import annotations


def zone_of_rim(rim_mm: float) -> int:
    """Derive the ISAKOS circumferential zone from the width of the rim left outside the tear.

    Zone 1: rim below 3 mm; zone 2: 3 to below 5 mm; zone 3: 5 mm and more. The published table
    prints "3-5" and "> 5"; that exactly 5.0 mm is zone 3 is from memory of the original paper.

    Units: millimetres. Raises: ValueError: the rim is negative.
    Source: Anderson et al., Am J Sports Med 2011;39:926-32.

    >>> zone_of_rim(2.5), zone_of_rim(3), zone_of_rim(5)
    (1, 2, 3)
    """
    if rim_mm < 0:
        raise ValueError(f"a rim is not narrower than 0 mm: {rim_mm:g}")
    if rim_mm < 3:
        return 1
    if rim_mm < 5:
        return 2
    return 3
