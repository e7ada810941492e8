"""Labels, identifiers and codes as forms call them."""

from datetime import date

import pytest

from opnote.reckon.function import FUNCTIONS

ON = date(2026, 3, 9)
# HL7 FHIR, Device example, with a date of manufacture.
SCAN = "(01)00844588003288(11)121120(17)141120(10)7654321D(21)10987654d321"
LOST = "010084458800328810ABC12321SER456"


@pytest.mark.parametrize(
    ("name", "arguments", "result"),
    [
        ("label_device", (SCAN, ON), "00844588003288"),
        ("label_lot", (SCAN, ON), "7654321D"),
        ("label_serial", (SCAN, ON), "10987654d321"),
        ("label_made", (SCAN, ON), date(2012, 11, 20)),
        ("label_expires", (SCAN, ON), date(2014, 11, 20)),
        ("label_fault", (SCAN, ON), None),
        ("label_serial", ("+A999123457", ON), None),
        ("label_device", (LOST, ON), None),
        ("label_lot", (LOST, ON), None),
        ("label_expires", ("hello", ON), None),
        ("identifier_is_valid", ("nhs", "943 476 5919"), True),
        ("identifier_is_valid", ("nhs", "943 476 5918"), False),
        ("identifier_is_valid", ("hospital", "A-17"), True),
        ("identifier_is_valid", ("passport", "A-17"), None),
        ("identifier_fault", ("dk_cpr", "211062-5629"), None),
        ("identifier_fault", ("nhs", "1" * 10), "Ten equal digits are no NHS number."),
        ("identifier_shown", ("nhs", "9434765919"), "943 476 5919"),
        ("identifier_shown", ("passport", "A-17"), None),
        ("icd10cm_code", ("right", "medial", "bucket_handle", "acute", "body"), "S83.211A"),
        ("icd10cm_code", ("", "medial", "bucket_handle", "acute", "body"), None),
        ("icd10_who_code", ("old",), "M23.2"),
        ("pcs_code", ("right", "repair", "arthroscopic"), "0SQC4ZZ"),
        ("pcs_code", ("right", "total_excision", "arthroscopic"), None),
        ("opcs_codes", ("right", "repair"), "W82.3, Z94.2"),
        ("opcs_codes", ("", "repair"), None),
        ("side_of_code", ("S83.252A",), "left"),
        ("side_of_code", ("W82.3",), None),
        ("codes_exclude", ("S83.211A", "M23.221"), True),
        ("codes_exclude", ("S83.211A", "M23.251"), False),
    ],
)
def test_worked_examples(name: str, arguments: tuple[object, ...], result: object) -> None:
    assert FUNCTIONS[name].call(*arguments) == result


def test_a_scan_that_cannot_be_read_says_why_and_what_to_do() -> None:
    fault = FUNCTIONS["label_fault"].call(LOST, ON)
    assert "may have swallowed" in str(fault)
    assert "type the lot and serial number" in str(fault)
