"""The words of the running header, short enough to stand on every page."""

from __future__ import annotations

from typing import Final

from opnote.compose.clean import printable
from opnote.compose.document import Document, sentence_text

_LIMIT: Final = 180
"""Characters; about two lines of the header. The document itself says the whole."""


def running_subject(document: Document) -> str:
    """The patient's line as one line of text; what is too long for a header ends in "…"."""
    return _shortened(sentence_text(document.subject))


def running_title(document: Document) -> str:
    """The document's short name, or else its title, as one line of text."""
    return _shortened(document.running or document.title)


def running_state(document: Document) -> str:
    """Who signed the document and when, as one line of text; "" for one that nobody has."""
    return _shortened(document.state)


def _shortened(text: str) -> str:
    line = " ".join(printable(text).split())
    return line if len(line) <= _LIMIT else line[: _LIMIT - 1].rstrip() + "…"
