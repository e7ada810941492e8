"""What a drawing is to a document: a picture, its size and the words that say the same."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Drawing:
    """A finished drawing.

    `svg` is a whole SVG 1.1 document with no background, in black and greys. `alternative` says
    in words all that the picture says, for people and programs that don't see it.

    Units: width and height in millimetres, the size at which the drawing is meant to be printed.
    """

    svg: str
    alternative: str
    width_mm: float
    height_mm: float
