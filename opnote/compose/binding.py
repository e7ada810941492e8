"""Words that belong together on one line: a number and its unit, a day and its month."""

from __future__ import annotations

import re
from typing import Final

_UNITS: Final = (
    "mm|cm|mg|g|kg|mL|L|mmHg|degrees?|per cent|minutes?|hours?|days?|weeks?|months?|years?|"
    "stitch|stitches|points?"
)
_MONTHS: Final = (
    "January|February|March|April|May|June|July|August|September|October|November|December"
)
TOGETHER: Final = (
    rf"\b[0-9][0-9.,]* (?:{_UNITS})\b"
    rf"|\b[0-9]{{1,2}} (?:{_MONTHS})\b"
    r"|\b(?:[Zz]ones?|[Gg]rades?|[Ll]evel|[Pp]age) [0-9A-Z]+\b"
    r"|\bat [0-9]{1,2}:[0-9]{2}\b"
)
"""What a line break must not part. The same in Python and in typst, so without look-around."""
HYPHENATED: Final = r"\bX-rays?\b"
"""Where a line break must not follow the hyphen."""

_FOUND: Final = re.compile(TOGETHER)


def bound(text: str) -> str:
    """The text with no-break spaces where a line must not end."""
    return _FOUND.sub(lambda found: found[0].replace(" ", "\N{NO-BREAK SPACE}"), text)
