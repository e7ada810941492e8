"""Text that every file format can hold: typed text without what would harm a file."""

from __future__ import annotations

import re
from typing import Final

_LINE_BREAK: Final = re.compile("\r\n|[\r\v\f\x1c-\x1e\x85\u2028\u2029]")
# Forbidden in XML 1.0: controls, lone surrogates, U+FFFE and U+FFFF. Forbidden in PDF/UA: U+FEFF.
# The C1 controls have no meaning in a note. The bidirectional overrides, embeddings and isolates
# could turn round the words that follow them ("LEFT" or a dose), and carry no content themselves;
# right-to-left letters need none of them.
_UNPRINTABLE: Final = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f-\x84\x86-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufeff\ufffe\uffff]"
)


def printable(text: str) -> str:
    """The text without what no file may hold; each kind of line break as "\\n", a tab as a space.

    Source: Extensible Markup Language (XML) 1.0, production [2] Char; ISO 14289-1, 7.21.7.
    """
    if text.isprintable():
        return text
    return _UNPRINTABLE.sub("", _LINE_BREAK.sub("\n", text).replace("\t", " "))
