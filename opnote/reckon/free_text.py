"""What free text names or counts: words that aren't denied, and numbers of stitches or devices.

Word patterns, no grammar: what is found is a question to the person who wrote it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from opnote.reckon.pattern import late

_NUMBERS = (
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
    "twenty",
)
_NUMBER = rf"(?P<number>\d{{1,2}}|{'|'.join(_NUMBERS)})"
_NEW_NUMBER = r"(?<![\w.,\N{EN DASH}-])(?<!no\. )(?<!no )(?<!size )"
"""Not within another number, nor the size of a suture."""
_OF_A_REPAIR = (
    r"all-inside|inside-out|outside-in|hybrid|vertical|horizontal|oblique|mattress|meniscal|anchor"
    r"|non-absorbable|absorbable|separate|single|simple|stacked|crossed|[02]-0|hook|strong|further"
)
_IN_ALL = r"(?:in all|in total|altogether|overall)"

_DENIED = late(
    r"\b(?:no|not|never|without|nor|neither|free of|absence of|exclud\w*|avoid\w*)\b"
    r"(?:[\s,/-]+(?!but\b|except\b|only\b|the\b|was\b|were\b|is\b|are\b|had\b)[\w-]+){0,4}[\s,/-]*$",
    re.IGNORECASE,
)
_DENIED_AFTER = late(
    r"^\s*(?:\w+\s+){0,2}?(?:was|were|is|are|has|have)\s+(?:not|never)\s+(?:been\s+)?"
    r"(?:seen|found|noted|present|visible|made|caused|there)\b",
    re.IGNORECASE,
)
_CLAUSE_END = late(r"[.;:\n]|,\s+(?:but|then)\b")
_FAR = 80
"""How far around a word its clause is read, in characters: keeps the work linear."""


def mentions(text: str, words: str) -> bool:
    """Tell whether a text names one of some words, whole and not denied in its clause.

    `words` are separated by commas, and may be several words each or signs such as "®". Case
    doesn't matter, nor does the kind of space between words.

    Source: common practice.

    >>> mentions("The condyle was scuffed.", "scuff, scuffed")
    True
    >>> mentions("No chondral scuff.", "scuff, scuffed")
    False
    """
    return any(not _is_denied(text, found) for found in _named(words).finditer(text))


def most_counted(text: str, nouns: str) -> int | None:
    """Give the largest number that a text gives to one of some nouns; None when it gives none.

    `nouns` are separated by commas. Numbers count as digits and as words up to twenty, with words
    about a meniscal stitch between: "six all-inside stitches".

    Source: common practice.

    >>> most_counted("Four inside-out and 3 all-inside stitches.", "stitch, stitches")
    3
    """
    return max(_counts(_counted(nouns), text), default=None)


def counted_in_all(text: str, nouns: str) -> int | None:
    """Give the number that a text gives to some nouns as the total; None when it gives none.

    Source: common practice.

    >>> counted_in_all("Seven stitches in all.", "stitch, stitches")
    7
    """
    return next(_counts(_counted_in_all(nouns), text), None)


@lru_cache(maxsize=64)
def _named(words: str) -> re.Pattern[str]:
    return late(_either(words), re.IGNORECASE)


@lru_cache(maxsize=64)
def _counted(nouns: str) -> re.Pattern[str]:
    return late(rf"{_NEW_NUMBER}{_of(nouns)}", re.IGNORECASE)


@lru_cache(maxsize=64)
def _counted_in_all(nouns: str) -> re.Pattern[str]:
    counted = _of(nouns)
    unnamed = counted.replace("?P<number>", "?P<other>")
    return late(
        rf"\btotal of\s+{counted}|{_NEW_NUMBER}{unnamed}[\s,(]{{1,3}}{_IN_ALL}\b", re.IGNORECASE
    )


def _of(nouns: str) -> str:
    return rf"{_NUMBER}\s+(?:(?:{_OF_A_REPAIR})[\s,]+){{0,4}}(?:{_either(nouns)})"


def _either(words: str) -> str:
    """A pattern of whole words; beside a sign such as "®" there need be no space."""
    patterns = []
    for word in filter(None, (word.strip() for word in words.split(","))):
        start = r"(?<!\w)" if word[0].isalnum() else ""
        end = r"(?!\w)" if word[-1].isalnum() else ""
        patterns.append(start + r"\s+".join(map(re.escape, word.split())) + end)
    # No word matches nothing.
    return "|".join(patterns) or r"(?!)"


def _counts(pattern: re.Pattern[str], text: str) -> Iterator[int]:
    for found in pattern.finditer(text):
        said = next(group for group in found.groupdict().values() if group is not None).lower()
        yield int(said) if said.isdecimal() else _NUMBERS.index(said) + 1


def _is_denied(text: str, found: re.Match[str]) -> bool:
    before = text[max(0, found.start() - _FAR) : found.start()]
    after = text[found.end() : found.end() + _FAR]
    clause = before[max((end.end() for end in _CLAUSE_END.finditer(before)), default=0) :]
    return bool(_DENIED.search(clause) or _DENIED_AFTER.match(after))
