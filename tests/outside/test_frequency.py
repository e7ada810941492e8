"""Bands and intervals against CIOMS and two statistics libraries."""

from fractions import Fraction

import pytest

from opnote.reckon.frequency import (
    Band,
    band_of_share,
    out_of,
    upper_limit_without_events,
    wilson_interval,
)


@pytest.mark.parametrize(
    ("events", "patients", "band"),
    [
        # CIOMS Working Group III, 1995: lower end included, upper end excluded.
        (1, 10, Band.VERY_COMMON),
        (999, 10_000, Band.COMMON),
        (1, 100, Band.COMMON),
        (999, 100_000, Band.UNCOMMON),
        (1, 1000, Band.UNCOMMON),
        (999, 1_000_000, Band.RARE),
        (1, 10_000, Band.RARE),
        (9999, 100_000_000, Band.VERY_RARE),
        # "Cannot be estimated from the data."
        (0, 100, Band.NOT_KNOWN),
    ],
)
def test_bands_begin_at_the_published_fractions(events: int, patients: int, band: Band) -> None:
    assert band_of_share(Fraction(events, patients)) is band


@pytest.mark.parametrize(
    ("events", "patients", "lower", "upper"),
    [
        # statsmodels proportion_confint(method="wilson") and scipy proportion_ci agree.
        (7, 100, 0.0343192611, 0.1374951474),
        # By hand with z = 1.959964, z2 = 3.841459, for 0 of 10: upper = z2 / (10 + z2).
        (0, 10, 0.0, 0.2775327998),
        # The mirror image: 1 - 0.2775327998.
        (10, 10, 0.7224672002, 1.0),
    ],
)
def test_wilson_interval_agrees_with_other_libraries(
    events: int, patients: int, lower: float, upper: float
) -> None:
    assert wilson_interval(events, patients) == pytest.approx((lower, upper), abs=1e-9)


@pytest.mark.parametrize(
    ("events", "patients", "lower", "upper"),
    [
        # Rounded per cents of published repairs, with z = 1.96: Nepple, JBJS 2012: 131 of 566.
        (131, 566, 0.199, 0.268),
        # Alhamdi, OTSR 2024: 27 of 39 gives 54 to 81 per cent.
        (27, 39, 0.54, 0.81),
        # Tenuta and Arciero, AJSM 1994: 36 of 40 gives 77 to 96 per cent.
        (36, 40, 0.77, 0.96),
    ],
)
def test_wilson_interval_of_published_counts(
    events: int, patients: int, lower: float, upper: float
) -> None:
    assert wilson_interval(events, patients) == pytest.approx((lower, upper), abs=0.0055)


@pytest.mark.parametrize(
    ("events", "patients", "denominator", "people"),
    [
        (3, 1000, 1000, 3),  # 0.3 per cent is 3 in 1,000
        (3, 1000, 10_000, 30),  # on a sheet of 10,000: 30
        (2, 10_000, 10_000, 2),  # 0.02 per cent is 2 in 10,000
        (1, 2000, 1000, 1),  # exactly a half is rounded up
        (4999, 10_000_000, 1000, 0),  # just below a half is rounded down
    ],
)
def test_people_are_whole_and_halves_go_up(
    events: int, patients: int, denominator: int, people: int
) -> None:
    assert out_of(events, patients, denominator) == people


def test_rule_of_three() -> None:
    # Hanley and Lippman-Hand, JAMA 1983: none of n, upper limit 3 / n; 3 / 300 = 1 / 100.
    assert upper_limit_without_events(300) * 100 == 1
