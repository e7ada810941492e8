"""How often something happens: bands in words, people out of so many, and the interval.

Counts stay whole numbers until the last step, because 1 in 10 is on the edge of a band and a
binary fraction is not exactly there.
"""

from __future__ import annotations

import enum
import math
from fractions import Fraction
from statistics import NormalDist


class Band(enum.StrEnum):
    """The words of CIOMS Working Group III (1995), also used in the EU guideline on SmPC."""

    VERY_COMMON = "very common"
    COMMON = "common"
    UNCOMMON = "uncommon"
    RARE = "rare"
    VERY_RARE = "very rare"
    NOT_KNOWN = "not known"


_LOWER_ENDS = (
    (Fraction(1, 10), Band.VERY_COMMON),
    (Fraction(1, 100), Band.COMMON),
    (Fraction(1, 1000), Band.UNCOMMON),
    (Fraction(1, 10_000), Band.RARE),
)


def band_of_share(share: Fraction) -> Band:
    """Give the band of an exact share; the lower end of each band belongs to it.

    No event at all is "not known": none of 100 doesn't show that something is very rare; see
    `upper_limit_without_events`.

    Units: a proportion. Raises: ValueError: a share below 0 or above 1.
    Source: CIOMS Working Group III, 1995 (read as quoted elsewhere).

    >>> str(band_of_share(Fraction(148, 1000)))
    'very common'
    """
    if not 0 <= share <= 1:
        raise ValueError(f"a share lies between 0 and 1: {share}")
    if share == 0:
        return Band.NOT_KNOWN
    return next((band for end, band in _LOWER_ENDS if share >= end), Band.VERY_RARE)


def wilson_interval(events: int, patients: int, confidence: float = 0.95) -> tuple[float, float]:
    """Give the Wilson score interval (lower, upper) of a proportion, without continuity correction.

    Units: proportions from 0 to 1. Raises: ValueError: no patients, negative events, more events
    than patients, or a confidence not between 0 and 1.
    Source: Wilson, J Am Stat Assoc 1927;22:209-12 (from memory).

    >>> low, high = wilson_interval(7, 100)
    >>> round(low, 4), round(high, 4)
    (0.0343, 0.1375)
    """
    share = float(_share(events, patients))
    if not 0 < confidence < 1:
        raise ValueError(f"confidence lies between 0 and 1: {confidence:g}")
    z = NormalDist().inv_cdf((1 + confidence) / 2)
    shrink = 1 + z * z / patients
    middle = (share + z * z / (2 * patients)) / shrink
    half = z / shrink * math.sqrt(share * (1 - share) / patients + (z / (2 * patients)) ** 2)
    # Rounding must not leave a sliver outside of what the formula gives exactly at the two ends.
    lower = 0.0 if events == 0 else middle - half
    upper = 1.0 if events == patients else middle + half
    return lower, upper


def out_of(events: int, patients: int, denominator: int) -> int:
    """Say how many people of `denominator` that is, halves rounded up to whole people.

    A result of 0 with events above 0 is to be printed as "fewer than 1".

    Units: people. Raises: ValueError: no patients, negative events, more events than patients, or
    a denominator below 1.

    >>> out_of(3, 1000, 1000), out_of(148, 1000, 100)
    (3, 15)
    """
    if denominator < 1:
        raise ValueError(f"a denominator is at least 1: {denominator}")
    return people_of_share(_share(events, patients), denominator)


def people_of_share(share: Fraction, denominator: int) -> int:
    """Say how many people of `denominator` a share is, halves rounded up to whole people.

    Units: a proportion in, people out.

    >>> people_of_share(Fraction(148, 1000), 100)
    15
    """
    return math.floor(share * denominator + Fraction(1, 2))


def upper_limit_without_events(patients: int) -> Fraction:
    """Give the upper 95 per cent limit of a frequency when none of so many had the event.

    The rule of three: 3 divided by the number of patients, never above 1. Good from about 30.

    Units: a proportion. Raises: ValueError: no patients.
    Source: the rule of three, from memory (Hanley and Lippman-Hand, JAMA 1983).

    >>> upper_limit_without_events(300)
    Fraction(1, 100)
    """
    _share(0, patients)
    return min(Fraction(3, patients), Fraction(1))


def _share(events: int, patients: int) -> Fraction:
    if patients < 1:
        raise ValueError(f"a frequency needs at least 1 patient: {patients}")
    if not 0 <= events <= patients:
        raise ValueError(f"events lie between 0 and {patients} patients: {events}")
    return Fraction(events, patients)
