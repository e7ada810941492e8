"""What follows from the measures of a meniscal tear."""

from __future__ import annotations

import math

_COOPER_LETTERS = {"medial": "ABC", "lateral": "FED"}
"""Posterior, middle and anterior third."""


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


def cooper_cells(
    meniscus: str, posterior_mm: float, body_mm: float, anterior_mm: float, rim_share: float
) -> str:
    """Name the cells of Cooper's grid that a tear enters: a letter for each third, and its zone.

    Letters run from back to front in the medial meniscus (A, B, C) and from front to back in the
    lateral one (D, E, F). The zone counts thirds of the width from outside: 0 at the
    meniscocapsular junction, 1 to 3 from the outer to the inner third.

    Units: millimetres of the tear in each third; `rim_share` is the width of the rim over that of
    the meniscus. Raises: ValueError: unknown meniscus, or a negative rim.
    Source: Cooper, Arnoczky and Warren, Clin Sports Med 1990 (from memory).

    >>> cooper_cells("medial", 23, 15, 0, 0.28), cooper_cells("lateral", 20, 4, 0, 0.0)
    ('A1, B1', 'E0, F0')
    """
    if meniscus not in _COOPER_LETTERS:
        raise ValueError(f"no meniscus is called '{meniscus}'")
    if rim_share < 0:
        raise ValueError(f"a rim is not narrower than 0: {rim_share:g}")
    zone = 0 if rim_share == 0 else min(3, math.ceil(rim_share * 3))
    entered = zip(_COOPER_LETTERS[meniscus], (posterior_mm, body_mm, anterior_mm), strict=True)
    return ", ".join(sorted(f"{letter}{zone}" for letter, length in entered if length > 0))
