"""Regular expressions that are compiled when they are first used.

The rules for free text have some hundred of them, and a program that has just been started has no
text yet: compiling them all would take longer than opening the window.
"""

from __future__ import annotations

import re
from typing import Any, cast


class _Late:
    def __init__(self, text: str, flags: int) -> None:
        self._text = text
        self._flags = flags

    def __getattr__(self, name: str) -> Any:
        # Only what was never asked for comes here: from then on it costs nothing more.
        found = getattr(re.compile(self._text, self._flags), name)
        setattr(self, name, found)
        return found


def late(text: str, flags: int = 0) -> re.Pattern[str]:
    """A regular expression; a mistake in it is told when it is first used."""
    return cast("re.Pattern[str]", _Late(text, flags))
