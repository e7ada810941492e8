"""The file formats a document can be written in, by the ending of the file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Final

from opnote.compose.document import Document
from opnote.compose.files import ComposeError, write_atomically


# The imports wait for the first document of their format: Word's library alone takes longer to
# load than the rest of the command line.
def _docx(document: Document) -> bytes:
    from opnote.compose.docx import docx_bytes

    return docx_bytes(document)


def _pdf(document: Document) -> bytes:
    from opnote.compose.pdf import pdf_bytes

    return pdf_bytes(document)


def _html(document: Document) -> bytes:
    from opnote.compose.html import html_from

    return html_from(document).encode()


def _text(document: Document) -> bytes:
    from opnote.compose.text import text_from

    return text_from(document).encode()


def _ics(document: Document) -> bytes:
    from opnote.compose.ics import ics_from

    return ics_from(document)


FORMATS: Final[Mapping[str, Callable[[Document], bytes]]] = MappingProxyType(
    {"docx": _docx, "pdf": _pdf, "html": _html, "txt": _text, "ics": _ics}
)
"""From the ending of a file, without its dot, to the function that gives the file's bytes."""


def formats_of(document: Document) -> tuple[str, ...]:
    """The endings that make sense for a document: a calendar only where it has appointments."""
    return tuple(name for name in FORMATS if name != "ics" or document.appointments)


def write_document(document: Document, path: Path) -> None:
    """Write the document in the format that the path's ending names.

    Raises: ComposeError: no such format, or the file can't be written.
    """
    ending = path.suffix.lower().removeprefix(".")
    if ending not in FORMATS:
        known = ", ".join(f".{name}" for name in FORMATS)
        raise ComposeError(f"{path}: no document ends in '{path.suffix}'; use one of {known}")
    write_atomically(path, FORMATS[ending](document))
