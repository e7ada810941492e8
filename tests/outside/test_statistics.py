"""Intervals and survival curves against a reference statistics package, and published figures.

The package is scipy: `binomtest(...).proportion_ci(method="wilson")` and `ecdf` of censored data,
which is the Kaplan-Meier estimate.
"""

from __future__ import annotations

import random
from importlib import import_module

import pytest

from opnote.pack.loader import load_pack
from opnote.reckon.frequency import wilson_interval
from opnote.reckon.survival import kaplan_meier, survival_at

stats = import_module("scipy.stats")  # comes without types


@pytest.mark.parametrize("patients", [1, 7, 39, 88, 311, 3024, 699_965])
@pytest.mark.parametrize("share", [0.0, 0.01, 0.15, 0.5, 0.93, 1.0])
@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
def test_wilson_intervals(patients: int, share: float, confidence: float) -> None:
    events = round(share * patients)
    expected = stats.binomtest(events, patients).proportion_ci(confidence, method="wilson")
    found = wilson_interval(events, patients, confidence)
    assert found == pytest.approx((expected.low, expected.high), abs=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_kaplan_meier_curves(seed: int) -> None:
    chance = random.Random(seed)
    cases = [(chance.randint(1, 40) / 4, chance.random() < 0.4) for _ in range(60)]
    failed = [at for at, has_failed in cases if has_failed]
    censored = [at for at, has_failed in cases if not has_failed]
    expected = stats.ecdf(stats.CensoredData(uncensored=failed, right=censored)).sf
    estimate = kaplan_meier(cases)
    for step in estimate.steps:
        assert step.survival == pytest.approx(float(expected.evaluate(step.at)), abs=1e-12)


# Per cents as the papers print them, by risk: the handbook's table of outcome and harm.
PUBLISHED = {
    "retear_bucket_medial": (14.8, 1),  # Costa et al. 2022: 46 of 311
    "retear_bucket": (14.8, 1),
    "retear": (23.1, 1),  # Nepple et al. 2012: 131 of 566
    "trim_after_ligament": (6.6, 1),  # New Zealand registry 2023: 201 of 3024
    "replacement": (13.7, 1),  # Rodriguez-Merchan 2018: 49 of 356, 13.76 cut, not rounded
    "infection": (0.135, 3),  # Abram et al. 2018: 944 of 699 965
    "clot_lung": (0.078, 3),  # the same: 546
    "any_serious": (0.317, 3),  # the same: 2218
    "release_sore": (52, 0),  # Gaudiani et al. 2020: 46 of 88
}


def test_each_count_gives_the_published_per_cent() -> None:
    risks = {risk.id: risk for risk in load_pack(("meniscal_repair",)).risks}
    counted = {
        name: (risk.events, risk.patients)
        for name, risk in risks.items()
        if risk.events is not None and risk.patients is not None
    }
    assert counted.keys() - PUBLISHED.keys() == {"still_catches"}  # DREAM gives the count alone
    for name, (percent, decimals) in PUBLISHED.items():
        events, patients = counted[name]
        assert 100 * events / patients == pytest.approx(percent, abs=0.9 * 10**-decimals), name


def test_nearest_study_gives_the_published_per_cent() -> None:
    # Alhamdi et al. 2024: 27 of 39, 69 per cent.
    (nearest,) = {
        risk.nearest for risk in load_pack(("meniscal_repair",)).risks if risk.nearest is not None
    }
    assert round(100 * nearest.events / nearest.patients) == 69


def test_shipped_curve_has_the_published_points() -> None:
    # Saltzman et al.: free of a new tear 93.6 per cent at 6 months, 84.6 at 1 year, 78.4 at 2 and
    # 69.9 at 3 years, of 78 knees.
    (study,) = load_pack(("meniscal_repair",)).survival
    assert study.people == 78
    for at, survival in ((0.5, 0.936), (1, 0.846), (2, 0.784), (3, 0.699)):
        reading = survival_at(study.points, at)
        assert reading is not None
        assert reading.is_exact
        assert reading.survival == pytest.approx(survival)
    # The words of the sheet say the same in whole people.
    assert all(number in study.words for number in ("94", "85", "78", "70"))
