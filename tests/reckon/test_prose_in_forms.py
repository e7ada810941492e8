"""Side, notation and allergy as forms call them."""

import pytest

from opnote.reckon.function import FUNCTIONS


@pytest.mark.parametrize(
    ("name", "arguments", "result"),
    [
        ("names_other_side", ("The right knee was scrubbed.", "left"), True),
        ("names_other_side", ("The left knee was scrubbed.", "left"), False),
        ("names_other_side", ("The left knee was scrubbed.", "both"), None),
        ("other_side_words", ("Right knee. R knee. Right leg.", "left"), "Right, R"),
        ("other_side_words", ("The left knee.", "left"), None),
        ("other_side_words", ("The left knee.", "both"), None),
        ("names_other_meniscus", ("The lateral meniscus was repaired.", "medial"), True),
        ("names_other_meniscus", ("The lateral meniscus was repaired.", "lateral"), False),
        ("names_other_meniscus", ("The lateral meniscus was torn.", "Medial, lateral"), False),
        ("names_other_meniscus", ("The lateral meniscus was repaired.", "none"), None),
        ("names_other_nerve", ("The peroneal nerve was protected.", "posteromedial"), True),
        ("names_other_nerve", ("The peroneal nerve was protected.", "posterolateral"), False),
        (
            "notation_fault",
            ("20 cc and .5 mg, again 20 cc",),
            'write 20 mL, not "20 cc"; write 0.5 mg, not ".5 mg"',
        ),
        ("notation_fault", ("0.5 mg",), None),
        ("in_allergy", ("penicillin rash", "flucloxacillin"), True),
        ("in_allergy", ("penicillin rash", "cefazolin"), False),
        ("cross_reacts", ("penicillin rash", "cefazolin"), True),
        ("cross_reacts", ("penicillin rash", "flucloxacillin"), False),
    ],
)
def test_answers(name: str, arguments: tuple[str, ...], result: object) -> None:
    assert FUNCTIONS[name].call(*arguments) == result
