"""Identifiers of people: the examples that python-stdnum publishes with each scheme."""

import pytest
from stdnum.gb import nhs

from opnote.reckon.identifier import (
    NATIONAL_SCHEMES,
    identifier_fault,
    identifier_is_valid,
    identifier_shown,
)


@pytest.mark.parametrize(
    ("kind", "good", "wrong"),
    [
        ("be_nn", "85 07 30 033 28", "12345678901"),
        ("br_cpf", "390.533.447-05", "231.002.999-00"),
        ("ca_bc_phn", "9698 658 215", "9698648215"),
        ("ch_ssn", "7569217076985", "756.9217.0769.84"),
        ("cz_rc", "710319/2745", "7103192746"),
        ("dk_cpr", "211062-5629", "511062-5629"),
        ("ee_ik", "36805280109", "36805280108"),
        ("es_dni", "54362315-K", "54362315Z"),
        ("fi_hetu", "131052-308T", "131052-308U"),
        ("fr_nir", "2 95 10 99 126 111 93", "295109912611199"),
        ("ie_pps", "6433435F", "6433435E"),
        ("is_kennitala", "450401-3150", "530575-0299"),
        ("it_codicefiscale", "RCCMNL83S18D969H", "RCCMNL83S18D969"),
        ("nl_bsn", "1112.22.333", "1112.52.333"),
        ("pl_pesel", "44051401359", "44051401358"),
        ("se_personnummer", "880320-0016", "880320-0018"),
        ("za_idnr", "7503305044089", "8503305044089"),
    ],
)
def test_published_examples(kind: str, good: str, wrong: str) -> None:
    assert identifier_fault(kind, good) is None
    assert identifier_is_valid(kind, good)
    fault = identifier_fault(kind, wrong)
    assert fault is not None
    assert NATIONAL_SCHEMES[kind] in fault
    assert identifier_shown(kind, wrong) == wrong


@pytest.mark.parametrize(
    ("kind", "text", "shown"),
    [
        ("ch_ssn", "7569217076985", "756.9217.0769.85"),
        ("nl_bsn", "111222333", "1112.22.333"),
        ("dk_cpr", "2110625629", "211062-5629"),
        ("pl_pesel", " 44051401359 ", "44051401359"),
        ("nhs", "9434765919", "943 476 5919"),  # NHS Data Dictionary: 3, 3 and 4 digits
        ("nhs", "943-476-5919", "943 476 5919"),
        ("nhs", "9434765918", "9434765918"),
        ("hospital", " 00-a 17", " 00-a 17"),
    ],
)
def test_shown_as_it_is_written(kind: str, text: str, shown: str) -> None:
    assert identifier_shown(kind, text) == shown


@pytest.mark.parametrize(
    "text", ["943 476 5919", "943 476 5918", "943 476 5870", "943 476 5871", "987 654 4321"]
)
def test_two_checks_of_nhs_numbers_agree(text: str) -> None:
    assert identifier_is_valid("nhs", text) is nhs.is_valid(text)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("943 476 5918", "check digit"),
        ("123 456 7890", "check digit"),  # no check digit fits
        ("943 476 591", "this has 9"),
        ("943 476 59190", "this has 11"),
        ("943 476 591X", "digits only"),
        ("", "digits only"),
        ("111 111 1111", "equal digits"),  # passes the arithmetic
        ("000 000 0000", "equal digits"),
    ],
)
def test_faults_of_nhs_numbers(text: str, fault: str) -> None:
    assert fault in str(identifier_fault("nhs", text))
