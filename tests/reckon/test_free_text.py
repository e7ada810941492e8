"""Words that a text names and doesn't deny, and numbers that it counts."""

import pytest

from opnote.reckon.free_text import counted_in_all, mentions, most_counted

STITCHES = "stitch, stitches, suture, sutures"
SCUFF = "scuff, scuffed, scuffing, chondral damage"


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("The medial condyle was scuffed by the needle.", True),
        ("A small scuff of the condyle, left alone.", True),
        ("CHONDRAL  DAMAGE at the margin", True),
        ("Not only tight, but the condyle was scuffed.", True),
        ("No complication. Scuff of the trochlea.", True),
        ("No scuff.", False),
        ("There was no visible chondral damage.", False),
        ("Passed without any scuffing of the cartilage.", False),
        ("A scuff was not seen.", False),
        ("Without difficulty the condyle was scuffed.", True),
        ("Not only a scuff but a flap.", True),
        ("A scuff is not deep.", True),
        ("Scuffle in the corridor.", False),
        ("Neither scuff nor chondral damage.", False),
        ("", False),
    ],
)
def test_words_that_are_named_and_not_denied(text: str, named: bool) -> None:
    assert mentions(text, SCUFF) is named


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("Anchors by Nonesuch® were used.", True),
        ("Nonesuch (TM) cannula", True),
        ("Made by Nonesuch Ltd.", True),
        ("An incision of 4 cm; a further inch was not needed.", False),
    ],
)
def test_signs_of_trade(text: str, named: bool) -> None:
    assert mentions(text, "®, ™, (R), (TM), Ltd, Inc, GmbH") is named


@pytest.mark.parametrize(
    ("text", "most", "total"),
    [
        ("Six stitches were placed.", 6, None),
        ("3 all-inside and 4 inside-out stitches.", 4, None),
        ("Seven stitches in all: 3 all-inside, 4 inside-out.", 7, 7),
        ("A total of 5 vertical mattress sutures.", 5, 5),
        ("5 meniscal sutures in total", 5, 5),
        ("Twelve non-absorbable 2-0 stitches altogether.", 12, 12),
        ("Skin with 3 nylon sutures.", None, None),
        ("2-0 sutures were used.", None, None),
        ("The stitches were 6 mm apart.", None, None),
        ("1.5 stitches", None, None),
        ("No. 2 stitches", None, None),
        ("size 2 sutures", None, None),
        ("5\N{EN DASH}6 stitches", None, None),
        ("", None, None),
    ],
)
def test_numbers_of_stitches(text: str, most: int | None, total: int | None) -> None:
    assert (most_counted(text, STITCHES), counted_in_all(text, STITCHES)) == (most, total)


def test_no_word_is_nowhere() -> None:
    assert mentions("text", "") is False
    assert most_counted("3 stitches", " , ") is None


def test_long_text_takes_no_long_time() -> None:
    # A pattern that goes back over its own steps would not come to an end here.
    assert most_counted("6 vertical " * 20_000, STITCHES) is None
    assert mentions("no " * 50_000 + "scuff", SCUFF) is False
