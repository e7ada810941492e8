"""How hard a text for patients is to read: sentences, words, syllables, and three grades.

The grades are exact for the counts they're given. Counting syllables is not: English is spelt as it
was said long ago, so the count follows rules of spelling and a list of words that break them.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

_LONG = 3
"""How many syllables make a long word: the polysyllables of SMOG."""

_FEWEST_WORDS = 4
"""A shorter sentence is a heading or a label, and its grade says nothing."""


@dataclass(frozen=True, slots=True)
class Counts:
    """What the formulae need of a text.

    Units: numbers of each; `long_words` are those of three syllables or more, repeats included.
    """

    sentences: int
    words: int
    syllables: int
    long_words: int


def counts_of(text: str) -> Counts:
    """Count the sentences, words and syllables of a text; all are 0 when nothing is to be read.

    >>> counts_of("The cat sat on the mat. The dog ran after the cat.")
    Counts(sentences=2, words=12, syllables=13, long_words=0)
    """
    return _counted(sentences_of(text))


def flesch_kincaid_grade(counts: Counts) -> float:
    """Give the Flesch-Kincaid grade level; below 0 for the very shortest words and sentences.

    Units: years of school in the United States; the reading age in years is about 5 more.
    Raises: ValueError: no sentence or no word.
    Source: Kincaid 1975 (read as quoted elsewhere).

    >>> round(flesch_kincaid_grade(Counts(sentences=1, words=6, syllables=6, long_words=0)), 2)
    -1.45
    """
    _need_words(counts)
    return 0.39 * counts.words / counts.sentences + 11.8 * counts.syllables / counts.words - 15.59


def flesch_reading_ease(counts: Counts) -> float:
    """Give the Flesch reading ease: the higher, the easier; plain English is 60 to 70.

    Units: points, not a per cent: about 121 at most, below 0 for the hardest texts.
    Raises: ValueError: no sentence or no word. Source: Flesch 1948 (read as quoted elsewhere).

    >>> round(flesch_reading_ease(Counts(sentences=1, words=6, syllables=6, long_words=0)), 3)
    116.145
    """
    _need_words(counts)
    return (
        206.835 - 1.015 * counts.words / counts.sentences - 84.6 * counts.syllables / counts.words
    )


def smog_grade(counts: Counts) -> float:
    """Give the SMOG grade, by the full formula and not by the table of square roots.

    It is meant for 30 sentences: 10 from the beginning, 10 from the middle, 10 from the end. Of
    fewer sentences the long words are scaled up to 30, and the grade is an estimate: say so.

    Units: years of school in the United States; about 2 above Flesch-Kincaid, and never below 3.
    Raises: ValueError: no sentence or no word. Source: McLaughlin 1969 (read as quoted elsewhere).

    >>> round(smog_grade(Counts(sentences=30, words=400, syllables=600, long_words=64)), 4)
    11.4731
    """
    _need_words(counts)
    return 1.0430 * math.sqrt(counts.long_words * 30 / counts.sentences) + 3.1291


def hardest(sentences: Iterable[str], count: int = 3) -> tuple[str, ...]:
    """Give the sentences with the highest Flesch-Kincaid grade, hardest first.

    Each text given is taken as one sentence. Those of fewer than 4 words are left out; of two that
    are as hard, the earlier comes first. Fewer than `count` when there aren't as many.

    >>> hardest(["We mend the tear.", "Complications are uncommon after arthroscopy."], 1)
    ('Complications are uncommon after arthroscopy.',)
    """
    graded = []
    for sentence in sentences:
        counts = _counted((sentence,))
        if counts.words >= _FEWEST_WORDS:
            graded.append((flesch_kincaid_grade(counts), sentence))
    graded.sort(key=lambda each: -each[0])
    return tuple(sentence for _, sentence in graded[: max(count, 0)])


def _counted(sentences: Iterable[str]) -> Counts:
    lengths = [[syllables(word) for word in words_of(sentence)] for sentence in sentences]
    spoken = [length for sentence in lengths for length in sentence]
    return Counts(
        sentences=sum(1 for sentence in lengths if sentence),
        words=len(spoken),
        syllables=sum(spoken),
        long_words=sum(1 for length in spoken if length >= _LONG),
    )


def _need_words(counts: Counts) -> None:
    if counts.sentences < 1 or counts.words < 1:
        raise ValueError("a text without a word has no grade")


_STOP = re.compile(r"""(?<![.!?])[.!?]++["'”’)\]»*_]*+(?=\s|$)""")
_NEXT = re.compile(r"\s*+(\S?)")
_LAST = re.compile(r"[\w.]++$")
_GOES_ON = frozenset(
    [
        "dr",
        "mr",
        "mrs",
        "ms",
        "mx",
        "prof",
        "st",
        "vs",
        "al",
        "e.g",
        "i.e",
        "eg",
        "ie",
        "cf",
        "fig",
        "approx",
        "incl",
    ]
)
_MAY_END = frozenset(["etc", "a.m", "p.m", "ltd", "inc", "jr", "sr"])
_FAR = 12
"""How far before a full stop an abbreviation is looked for, in characters."""


def sentences_of(text: str) -> tuple[str, ...]:
    """Split a text into its sentences, each as it stands in the text without the space around it.

    A sentence ends at ".", "!" or "?" before a space, and at each line break. It goes on after
    titles, after "e.g.", "i.e.", "vs.", "et al.", after "No." before a number, after the number of
    a list's item, and after an initial before a capital: "Mr B. Sample". After "etc." and "p.m." it
    ends when a capital follows, and after "..." unless a small letter follows. What holds neither a
    letter nor a digit is no sentence.

    Source: the rules of SMOG (McLaughlin 1969, as quoted elsewhere); the abbreviations are ours.

    >>> sentences_of("Dr. Sample made a cut of 2.5 cm. Any questions?")
    ('Dr. Sample made a cut of 2.5 cm.', 'Any questions?')
    """
    return tuple(
        sentence
        for line in text.splitlines()
        for sentence in _split(line)
        if any(map(str.isalnum, sentence))
    )


def _split(line: str) -> Iterator[str]:
    start = 0
    for stop in _STOP.finditer(line):
        if not _goes_on(line, start, stop):
            yield line[start : stop.end()].strip()
            start = stop.end()
    yield line[start:].strip()


def _goes_on(line: str, start: int, stop: re.Match[str]) -> bool:
    """Tell whether a sentence that began at `start` goes on after a full stop."""
    following = _NEXT.match(line, stop.end())
    after = following[1] if following else ""
    if stop[0].startswith(".."):
        return after.islower()
    if stop[0] != ".":
        return False
    at = stop.start()
    found = _LAST.search(line[max(start, at - _FAR) : at])
    last = found[0] if found else ""
    if last.lower() == "no":
        return after.isdecimal()
    if last.lower() in _MAY_END:
        return not after.isupper()
    if len(last) == 1 and last.isupper():
        return last != "I" and after.isupper()
    heads_an_item = last.isdecimal() and at - start <= _FAR and line[start:at].strip() == last
    return heads_an_item or last.lower() in _GOES_ON


_SIGN = r"(?:[^\W_]|[\u00AD\u0300-\u036F\u200B-\u200D])"
_WORD = re.compile(
    rf"""
    \bNos?\.(?=\s?\d)                               # No. 4
    | \b[^\W\d_](?:\.[^\W\d_])+\b\.?                # e.g. and p.m.
    | [^\W_]{_SIGN}*+
      (?: (?:['’ʼ&‐‑–-]|(?<=\d)[.,:](?=\d)) [^\W_]{_SIGN}*+ )*+   # can't, all-inside, 2,218
      [%°]?
    """,
    re.VERBOSE,
)


def words_of(sentence: str) -> tuple[str, ...]:
    """Give the words of a sentence as they stand in it, without the marks around them.

    A word with a hyphen is one word, and so is a number with its sign: "2,218", "6-8", "95%".
    Words on both sides of a stroke or a dash are two.

    Source: the rules of SMOG (McLaughlin 1969, as quoted elsewhere).

    >>> words_of("An all-inside repair, e.g. with 2.5 cm of thread.")
    ('An', 'all-inside', 'repair', 'e.g.', 'with', '2.5', 'cm', 'of', 'thread')
    """
    return tuple(_WORD.findall(sentence))


_AS_WRITTEN = {
    "a.m": 2, "e.g": 4, "i.e": 2, "p.m": 2, "no.": 2, "nos.": 2, "&": 1, "%": 2, "°": 2,
    "approx": 5, "cm": 4, "dr": 2, "etc": 4, "kg": 3, "mcg": 3, "mg": 3, "ml": 4, "mm": 4,
    "mmhg": 8, "mr": 2, "mrs": 2, "ms": 1, "prof": 3, "vs": 2, "hmm": 1, "shh": 1, "nsaid": 2,
}  # fmt: skip
"""Abbreviations and signs that are read as words: "for example", "millimetres", "per cent"."""

_SPELT_OUT = frozenset(
    "ACI ACL AE AVN BMI CEO DIY DNA ECG EEG EKG EU EUA GA HIV ICU ID ITU IV MRI MRSA OA OK PE RA"
    " TKA UK UKA US USA UTI".split()
)
"""Capitals that are read letter by letter although they hold a vowel."""

_PARTS = re.compile(
    r"(?P<number>\d+(?:[.,]\d+)*+)(?:(?P<th>(?:st|nd|rd|th)\b)|(?P<to>[‐‑–-](?=\d)))?"
    r"|(?P<letters>[A-Za-z]+)(?:'(?P<end>[a-z]{1,2})\b)?"
    r"|(?P<sign>[&%°])"
    r"|(?P<foreign>[^\W\d_A-Za-z]+)"
)
_SPELT = str.maketrans(
    {
        "æ": "ae", "Æ": "Ae", "œ": "oe", "Œ": "Oe", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L",
        "ß": "ss", "đ": "d", "Đ": "D", "’": "'", "ʼ": "'", "é": "ay", "É": "Ay",
    }
)  # fmt: skip


def syllables(word: str) -> int:
    """Count the syllables of a word as it is read aloud; 0 when it holds nothing to read.

    Hyphened parts are added up. Digits are read as English words, with "and" after the hundreds;
    four digits without a comma from 1100 on are read as a year, digits after a point and those of a
    number with a leading zero one by one. Units and a few abbreviations are read in full, other
    letters without a vowel by their names. A run of another alphabet's letters counts as one.

    The rules give the number of CMUdict's first pronunciation for 19 of 20 words. They differ on
    purpose in "fire", "hour" and "require", which dictionaries give one syllable less. Surnames are
    what they miss most.

    Source: rules and exceptions are ours; what is read aloud as in SMOG (McLaughlin 1969).

    >>> [syllables(word) for word in ("knee", "meniscus", "all-inside", "15", "2,218", "95%")]
    [1, 3, 3, 2, 9, 4]
    """
    known = _AS_WRITTEN.get(word.lower()) or _AS_WRITTEN.get(word.lower().strip("."))
    return known or sum(map(_spoken, _PARTS.finditer(_folded(word))))


def _folded(word: str) -> str:
    spelt = unicodedata.normalize("NFC", word).translate(_SPELT)
    decomposed = unicodedata.normalize("NFKD", spelt)
    return "".join(sign for sign in decomposed if unicodedata.category(sign) not in {"Mn", "Cf"})


def _spoken(part: re.Match[str]) -> int:
    if number := part["number"]:
        return _number(number) + (_ordinal(number) if part["th"] else 0) + (part["to"] is not None)
    if letters := part["letters"]:
        end = part["end"]
        if end == "t" and letters[-1] == "n":
            return _word(letters[:-1]) + _not(letters[:-1])
        return _word(letters) + (_ending(letters.lower(), end) if end else 0)
    return _AS_WRITTEN.get(part[0], 1)


_UNDER_TWENTY = (2, 1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 3, 1, 2, 2, 2, 2, 3, 2, 2)
"""Zero to nineteen."""

_TENS = (0, 1, 2, 2, 2, 2, 2, 3, 2, 2)
"""Ten, twenty to ninety."""

_MOST_DIGITS = 15
"""Up to hundreds of trillions; a longer number is read digit by digit."""


def _number(number: str) -> int:
    if re.fullmatch(r"\d{1,3}(?:,\d{3})++(?:\.\d+)?", number):
        number = number.replace(",", "")
        grouped = True
    else:
        grouped = False
    whole, *decimals = re.split("[.,]", number)
    read = sum(1 + _digits(digits) for digits in decimals)
    if len(whole) > _MOST_DIGITS or (len(whole) > 1 and int(whole[0]) == 0):
        return read + _digits(whole)
    if len(whole) == 4 and not grouped and not decimals and _is_year(int(whole)):
        return _year(int(whole))
    return read + _whole(int(whole))


def _is_year(value: int) -> bool:
    return 1100 <= value < 2000 or 2010 <= value < 2100


def _year(value: int) -> int:
    century, rest = divmod(value, 100)
    if rest == 0:
        return _under_hundred(century) + 2  # hundred
    return _under_hundred(century) + (rest < 10) + _under_hundred(rest)  # oh five


def _digits(digits: str) -> int:
    return sum(_UNDER_TWENTY[int(digit)] for digit in digits)


def _whole(value: int) -> int:
    groups = []
    while value >= 1000:
        value, group = divmod(value, 1000)
        groups.append(group)
    groups.append(value)
    if groups == [0]:
        return _UNDER_TWENTY[0]
    scales = 2 * sum(1 for group in groups[1:] if group)  # thousand, million, billion, trillion
    links = len(groups) > 1 and 0 < groups[0] < 100  # a thousand and five
    return sum(map(_under_thousand, groups)) + scales + links


def _under_thousand(value: int) -> int:
    hundreds, rest = divmod(value, 100)
    if hundreds == 0:
        return _under_hundred(rest)
    return _UNDER_TWENTY[hundreds] + 2 + (1 + _under_hundred(rest) if rest else 0)


def _under_hundred(value: int) -> int:
    if value < 20:
        return _UNDER_TWENTY[value] if value else 0
    return _TENS[value // 10] + (_UNDER_TWENTY[value % 10] if value % 10 else 0)


def _ordinal(number: str) -> int:
    """What "second" and "twentieth" have more than "two" and "twenty"."""
    last = int(number[-2:].lstrip(".,"))
    return int((last >= 20 and last % 10 == 0) or (last % 10 == 2 and last != 12))


def _word(letters: str) -> int:
    stem = letters[:-1] if letters[-1] == "s" and letters[:-1].isupper() else letters  # MRIs
    if stem in _SPELT_OUT:
        return _names(stem)
    lower = letters.lower()
    if lower in _AS_WRITTEN:
        return _AS_WRITTEN[lower]
    return _of_spelling(lower) if _VOWELS.search(lower) else _names(stem.lower())


def _names(letters: str) -> int:
    return len(letters) + 2 * letters.lower().count("w")


def _not(verb: str) -> bool:
    """Tell whether "n't" is a syllable of its own: not in "can't", "don't", "aren't"."""
    return not verb.endswith(("a", "i", "o", "re"))


def _ending(letters: str, end: str) -> bool:
    """Tell whether what stands after an apostrophe is a syllable of its own."""
    match end:
        case "s":
            return re.search(r"(?:[sxz]|[cs]h|[cgsz]e)$", letters) is not None
        case "d":
            return letters[-1] in "dt"
        case "ll" | "ve" | "re":
            return letters[-1] not in "aeiouwy"
        case _:
            return False


_EXCEPTIONS = {
    word: count
    for count, words in {
        1: "zeus heist feist",
        2: "people maybe acne hmm guinea argue argued argues continuum herpes naked wicked rugged"
        " ragged jagged embed leopard solely testes colonel",
        3: "nausea recipe systole syncope ganglion",
        4: "diabetes diastole apostrophe",
    }.items()
    for word in words.split()
}

_VOWELS = re.compile("[aeiouy]+")

_MORE = re.compile(
    r"""
    mc (?<=^mc)
    | (?<![ctgs])(?<!ll) ia (?!ge) (?<! [aeiu]lia (?= $ | ns?$ | rs?$ | m)) | (?<=[sctg])ia(?=t|[^ln$s]|s[^m])
    """,
    re.VERBOSE,
)
