"""A figure as a sharp picture, for formats that can't hold a drawing."""

from __future__ import annotations

import functools
from typing import Final

from opnote.compose.clean import printable
from opnote.compose.typesetter import png_from

_DOTS_AN_INCH: Final = 300
_PAGE: Final = b"""
#set page(width: auto, height: auto, margin: 0pt, fill: white)
#set text(font: "Libertinus Serif")
#image(bytes(sys.inputs.svg), format: "svg", width: float(sys.inputs.width_mm) * 1mm, alt: "")
"""


@functools.lru_cache(maxsize=16)
def png_of(svg: str, width_mm: float) -> bytes:
    """The drawing as PNG at 300 dots an inch, its letters from typst's own fonts.

    Kept for the last few drawings, because a document is often written again with one word changed.
    """
    inputs = {"svg": printable(svg), "width_mm": f"{width_mm:.4f}"}
    return png_from(_PAGE, inputs, _DOTS_AN_INCH)
