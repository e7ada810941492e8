"""Groups of drugs against the classes of the BNF (from memory) and common practice."""

import pytest

from opnote.reckon.allergy import drug_class


@pytest.mark.parametrize(
    ("name", "group"),
    [
        # BNF, chapter on infection (from memory).
        ("cefazolin", "cephalosporin"),
        ("cefuroxime", "cephalosporin"),
        ("teicoplanin", "glycopeptide"),
        ("vancomycin", "glycopeptide"),
        ("flucloxacillin", "penicillin"),
        ("amoxicillin/clavulanate", "penicillin"),
        ("clindamycin", "lincosamide"),
        ("gentamicin", "aminoglycoside"),
        # BNF, non-steroidal anti-inflammatory drugs (from memory).
        ("ibuprofen", "NSAID"),
        ("diclofenac", "NSAID"),
        ("naproxen", "NSAID"),
        ("ketorolac", "NSAID"),
        ("celecoxib", "NSAID"),
        ("aspirin", "NSAID"),
        # BNF, analgesics and anaesthesia (from memory).
        ("paracetamol", "paracetamol"),
        ("morphine", "opioid"),
        ("codeine phosphate 30 mg", "opioid"),
        ("bupivacaine", "amide local anaesthetic"),
        ("lidocaine", "amide local anaesthetic"),
        ("chloroprocaine", "ester local anaesthetic"),
        # Common practice.
        ("chlorhexidine", "chlorhexidine"),
        ("povidone iodine", "iodine"),
        ("alcohol", "alcohol"),
        ("latex", "latex"),
        ("acrylic adhesive", "acrylic adhesive"),
        ("saline", None),
        ("", None),
    ],
)
def test_groups(name: str, group: str | None) -> None:
    assert drug_class(name) == group
