"""Properties of codes that are offered."""

from hypothesis import given
from hypothesis import strategies as st

from opnote.reckon.codes import excludes1, icd10cm, icd10pcs, opcs4, side_of_code

SIDE = st.sampled_from(["left", "right"])
WORDS = st.text(max_size=10) | st.sampled_from(
    ["medial", "lateral", "not_stated", "bucket_handle", "radial", "acute", "old", "body",
     "repair", "excision", "total_excision", "open", "arthroscopic", "left", "right"]
)  # fmt: skip


@given(SIDE, WORDS, WORDS, WORDS, WORDS)
def test_each_code_that_is_offered_is_of_its_side(
    side: str, one: str, two: str, three: str, four: str
) -> None:
    offered = [icd10cm(side, one, two, three, four), icd10pcs(side, one, two), *opcs4(side, one)]
    said = {side_of_code(code) for code in offered if code} - {None}
    assert said <= {side}


@given(WORDS.filter(lambda word: word not in ("left", "right")), WORDS, WORDS, WORDS, WORDS)
def test_nothing_is_offered_without_a_side(
    side: str, one: str, two: str, three: str, four: str
) -> None:
    assert icd10cm(side, one, two, three, four) is None
    assert icd10pcs(side, one, two) is None
    assert opcs4(side, one) == ()


@given(st.text(max_size=10), st.text(max_size=10))
def test_any_text_may_be_asked_for_its_side(one: str, other: str) -> None:
    assert side_of_code(one) in (None, "left", "right")
    assert excludes1([one, other]) in ((), ((one, other),), ((other, one),))
