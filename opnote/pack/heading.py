"""The words of a heading or an answer without what writers of lists do differently."""

from __future__ import annotations

import re
import unicodedata

_INITIALS = re.compile(r"(?<=\b\w)\.(?=\w\b)")


def bare_words(text: str) -> str:
    """The words in lower case, without accents and punctuation.

    >>> bare_words("Date  of Birth (dd/mm)"), bare_words("D.O.B.")
    ('date of birth dd mm', 'dob')
    """
    parts = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(mark for mark in parts if not unicodedata.combining(mark))
    return " ".join(re.findall(r"[^\W_]+", _INITIALS.sub("", plain)))
