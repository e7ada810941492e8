"""The typst compiler, kept between documents because its fonts take longer than a document."""

from __future__ import annotations

import functools
import re
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Final

import typst

_UNDISPLAYABLE: Final = re.compile(
    r'the text `"(?P<text>.+?)"` could not be displayed'
    r'|contains the disallowed codepoint `"(?P<codepoint>.+?)"`'
)
_ESCAPE: Final = re.compile(r"\\u\{([0-9a-f]+)\}")
_ROUNDS: Final = 4
"""Tries until every character without a letterform is named; one is enough unless fonts differ."""

# One compiler can't be used by two threads at once: a document may be exported by a worker while
# the window draws a figure.
_lock = threading.Lock()


def pdf_from(source: Path, inputs: Callable[[frozenset[str]], Mapping[str, str]]) -> bytes:
    """A PDF/UA-1 of the typst source, set in the fonts that typst brings along.

    inputs: the `sys.inputs` of the source, given the characters for which no font has a letter.
    The computer's own fonts are asked for letters that typst's fonts lack (Chinese, Thai, ...);
    they are looked up only then, because that takes a while and differs between computers.
    Raises: typst.TypstError: the source or a drawing is wrong.
    """
    return _settled(source, inputs)[0]


def pages_from(
    source: Path, inputs: Callable[[frozenset[str]], Mapping[str, str]], pixels_an_inch: float
) -> list[bytes]:
    """The pages of the PDF of a typst source as PNG pictures, with the same letters and breaks.

    Raises: typst.TypstError: the source or a drawing is wrong.
    """
    # Only as PDF is a source refused for a letter that no font has: that settles the letters.
    _, missing, own_fonts = _settled(source, inputs)
    with _lock:
        pages = _compiler(own_fonts=own_fonts).compile(
            source, format="png", ppi=pixels_an_inch, sys_inputs=dict(inputs(missing))
        )
    if isinstance(pages, list):
        return pages
    assert isinstance(pages, bytes)  # of a single page it gives no list
    return [pages]


def _settled(
    source: Path, inputs: Callable[[frozenset[str]], Mapping[str, str]]
) -> tuple[bytes, frozenset[str], bool]:
    """The PDF, the characters that no font has, and whether the computer's fonts were needed."""
    missing: frozenset[str] = frozenset()
    try:
        return _compiled(source, inputs(missing), own_fonts=False), missing, False
    except typst.TypstError as error:
        if not _undisplayable(error):
            raise
    for _ in range(_ROUNDS):
        try:
            return _compiled(source, inputs(missing), own_fonts=True), missing, True
        except typst.TypstError as error:
            found = _undisplayable(error)
            if found <= missing:
                raise
            missing |= found
    return _compiled(source, inputs(missing), own_fonts=True), missing, True


def png_from(source: bytes, inputs: Mapping[str, str], pixels_an_inch: float) -> bytes:
    """A one-page typst source as PNG."""
    with _lock:
        png = _compiler(own_fonts=False).compile(
            source, format="png", ppi=pixels_an_inch, sys_inputs=dict(inputs)
        )
    assert isinstance(png, bytes)
    return png


def _compiled(source: Path, inputs: Mapping[str, str], *, own_fonts: bool) -> bytes:
    with _lock:
        pdf = _compiler(own_fonts=own_fonts).compile(
            source, format="pdf", sys_inputs=dict(inputs), pdf_standards=["ua-1"]
        )
    assert isinstance(pdf, bytes)
    return pdf


@functools.cache
def _compiler(*, own_fonts: bool) -> typst.Compiler:
    return typst.Compiler(root=Path(__file__).parent, ignore_system_fonts=not own_fonts)


def _undisplayable(error: typst.TypstError) -> frozenset[str]:
    texts = (
        found["text"] or found["codepoint"] for found in _UNDISPLAYABLE.finditer(error.diagnostic)
    )
    return frozenset(
        character
        for text in texts
        for character in _ESCAPE.sub(lambda escape: chr(int(escape[1], 16)), text)
    )
