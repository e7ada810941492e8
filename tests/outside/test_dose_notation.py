"""Dose notation against the published lists (read as quoted elsewhere)."""

import pytest

from opnote.reckon.notation import notation_faults

JC = "Joint Commission, Do Not Use list, 2004"
ISMP = "ISMP, list of error-prone abbreviations, 2021"
BNF = "BNF, prescription writing"


@pytest.mark.parametrize(
    ("text", "found", "remedy", "source"),
    [
        # Joint Commission, Do Not Use list, 2004.
        ("5000 U heparin", "5000 U", "5000 units", JC),
        ("10 u insulin", "10 u", "10 units", JC),
        ("400 IU", "400 IU", "400 international units", JC),
        ("aspirin QD", "QD", "daily", JC),
        ("aspirin Q.D.", "Q.D.", "daily", JC),
        ("aspirin qd", "qd", "daily", JC),
        ("aspirin q.d.", "q.d.", "daily", JC),
        ("aspirin QOD", "QOD", "every other day", JC),
        ("aspirin Q.O.D.", "Q.O.D.", "every other day", JC),
        ("aspirin qod", "qod", "every other day", JC),
        ("aspirin q.o.d.", "q.o.d.", "every other day", JC),
        ("5.0 mg", "5.0 mg", "5 mg", JC),
        ("2.50 mg", "2.50 mg", "2.5 mg", JC),
        (".5 mg", ".5 mg", "0.5 mg", JC),
        ("MS 4 mg", "MS", "morphine sulfate, or magnesium sulfate", JC),
        ("MSO4", "MSO4", "morphine sulfate", JC),
        ("MgSO4", "MgSO4", "magnesium sulfate", JC),
        # ISMP 2021.
        ("fentanyl 50 µg", "50 µg", "50 micrograms", ISMP),
        ("fentanyl 50 μg", "50 μg", "50 micrograms", ISMP),
        ("3 l of saline", "3 l", "3 L", ISMP),
        ("D/C tomorrow", "D/C", "discharge or discontinue", ISMP),
        ("per os", "per os", "by mouth", ISMP),
        ("4 mg IJ", "4 mg IJ", "4 mg by injection", ISMP),
        ("10 mg IN", "10 mg IN", "10 mg intranasal", ISMP),
        ("75 mg OD", "75 mg OD", "75 mg daily", ISMP),
        ("75 mg o.d.", "75 mg o.d.", "75 mg daily", ISMP),
        ("2 drops OS", "drops OS", "drops, and the eye or ear in words", ISMP),
        ("2 drops to AU", "drops to AU", "drops, and the eye or ear in words", ISMP),
        ("temazepam 10 mg qhs", "qhs", "nightly at bedtime", ISMP),
        ("temazepam 10 mg qn", "qn", "nightly at bedtime", ISMP),
        ("q1d", "q1d", "daily", ISMP),
        ("q6PM", "q6PM", "daily at 6 PM", ISMP),
        ("q4°", "q4°", "every 4 hours", ISMP),
        ("40 mg SC", "40 mg SC", "40 mg subcut", ISMP),
        ("40 mg SQ", "40 mg SQ", "40 mg subcut", ISMP),
        ("40 mg sub q", "sub q", "subcut", ISMP),
        ("insulin SSI", "insulin SSI", "insulin by sliding scale", ISMP),
        ("> 5 mg", ">", "more than", ISMP),
        ("< 5 mg", "<", "less than", ISMP),
        ("@ 10 mL/h", "@", "at", ISMP),
        ("25 units/10 units", "25 units/", "25 units and", ISMP),
        ("5 mg & 10 mg", "5 mg &", "5 mg and", ISMP),
        ("20 mL + adrenaline", "20 mL +", "20 mL and", ISMP),
        ("propranolol20 mg", "propranolol20 mg", "propranolol 20 mg", ISMP),
        ("10mg", "10mg", "10 mg", ISMP),
        ("10 mg. as needed", "mg.", "mg, with no stop", ISMP),
        ("100000 units", "100000 units", "100,000 units", ISMP),
        # BNF, prescription writing.
        ("0.5 g", "0.5 g", "500 mg", BNF),
        ("1500 mg", "1500 mg", "1.5 g", BNF),
        ("100 mcg", "100 mcg", "100 micrograms", BNF),
        ("50 ng", "50 ng", "50 nanograms", BNF),
        ("20 cc", "20 cc", "20 mL", BNF),
        ("20 cm3 of saline", "20 cm3", "20 mL", BNF),
    ],
)
def test_items_of_the_lists_are_found(text: str, found: str, remedy: str, source: str) -> None:
    (fault,) = notation_faults(text)
    assert (fault.found, fault.remedy, fault.source) == (found, f"write {remedy}", source)


@pytest.mark.parametrize(
    "text",
    [
        # Joint Commission: a trailing zero may say how well a lesion was measured.
        "5.0 mm",
        "10 mg",
        "2.5 mg",
        "0.5 mg",
        "5000 units",
        # BNF: "3 mg, not 3.0 mg", "0.5 mL", "500 mg", "100 micrograms".
        "3 mg",
        "0.5 mL",
        "500 mg",
        "1 g",
        "100 micrograms",
        "20 mL",
        # ISMP: commas in large numbers.
        "100,000 units",
    ],
)
def test_the_safe_forms_of_the_lists_are_left_alone(text: str) -> None:
    assert notation_faults(text) == ()
