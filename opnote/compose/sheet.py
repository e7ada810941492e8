"""A sheet to draw on in millimetres: lines, text, and room for text that must not collide."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from typing import Literal, TypeAlias

from opnote.compose.figure import Drawing
from opnote.reckon.pattern import late

Point: TypeAlias = tuple[float, float]
Anchor: TypeAlias = Literal["start", "middle", "end"]

FONT_FAMILY = "Libertinus Serif, DejaVu Serif, serif"
TEXT_MM = 2.85
"""Size of the text, 8 point, at the scale of 1. Units: millimetres."""
FULL_WIDTH_MM = 170.0
"""The width of a printed page between its margins. Units: millimetres."""
PATIENT_SCALE = 1.15
"""How much larger than at the scale of 1 a patient's drawing is: text of 9.3 point."""
LARGE_SCALE = 2.0
"""The same in large print: text of 16 point, beside print of 18 point."""

_NOT_XML = late("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML 1.0 has no way to hold."""

_NARROW, _WIDE = frozenset("iljtfI.,;:'()|!- \N{NO-BREAK SPACE}"), frozenset("mwMW%@")


def text_width_mm(words: str, size_mm: float = TEXT_MM) -> float:
    """Estimate the width of a text, on the wide side, for whichever of the fonts is found.

    Units: millimetres.
    """
    ems = 0.0
    for sign in words:
        if sign in _NARROW:
            ems += 0.36
        elif sign in _WIDE:
            ems += 0.98
        else:
            ems += 0.76 if sign.isupper() else 0.61
    return ems * size_mm


def wrapped(words: str, width_mm: float, size_mm: float = TEXT_MM) -> list[str]:
    """Break a text into lines that fit a width; a word longer than a line is cut.

    Units: millimetres.
    """
    lines: list[str] = []
    line = ""
    for word in words.split(" "):
        while text_width_mm(word, size_mm) > width_mm and len(word) > 1:
            fits = next(
                n
                for n in range(len(word) - 1, 0, -1)
                if n == 1 or text_width_mm(word[:n], size_mm) <= width_mm
            )
            lines += [line] if line else []
            line = ""
            lines.append(word[:fits])
            word = word[fits:]
        longer = f"{line} {word}" if line else word
        if line and text_width_mm(longer, size_mm) > width_mm:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet. Units: millimetres, y downward."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Box) -> bool:
        """Tell whether two rectangles share any area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line looks. Units: millimetres; `dash` is the pattern of strokes and spaces."""

    width_mm: float
    colour: str = "#000000"
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Label:
    """Text at a point: `x` by its anchor, `y` at the middle of its height. Units: millimetres."""

    words: str
    x: float
    y: float
    anchor: Anchor = "middle"

    @property
    def box(self) -> Box:
        """The room that the text takes at the usual size, with a little air at its ends."""
        width = text_width_mm(self.words)
        left = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        half = TEXT_MM * 0.7
        return Box(left - 0.7, self.y - half, left + width + 0.7, self.y + half)


class Sheet:
    """Collects what is drawn, and remembers which room is taken.

    The sheet is measured in millimetres at the scale of 1; `scale` enlarges the whole of it.
    """

    def __init__(self, width_mm: float, scale: float = 1.0) -> None:
        self.width_mm = width_mm
        self.scale = scale
        self._marks: list[str] = []
        self._taken: list[Box] = []

    def line(self, points: Sequence[Point], pen: Pen, name: str = "") -> None:
        """Draw a line through points; `name` becomes the id of the mark."""
        self._marks.append(f'<path{_id(name)} d="{_outline(points)}" {_stroke(pen)}/>')

    def shape(
        self, points: Sequence[Point], pen: Pen | None, fill: str = "none", name: str = ""
    ) -> None:
        """Draw a closed shape, with an outline if there is a pen."""
        stroke = _stroke(pen, fill) if pen else f'stroke="none" fill="{fill}"'
        self._marks.append(f'<path{_id(name)} d="{_outline(points)} Z" {stroke}/>')

    def label(
        self,
        label: Label,
        *,
        size_mm: float = TEXT_MM,
        bold: bool = False,
        italic: bool = False,
        colour: str = "#000000",
    ) -> None:
        """Write a text and take its room."""
        look = (' font-weight="bold"' if bold else "") + (' font-style="italic"' if italic else "")
        # Not every reader of SVG knows dominant-baseline, so the baseline is reckoned here.
        self._marks.append(
            f'<text x="{label.x:.2f}" y="{label.y + size_mm * 0.34:.2f}" '
            f'font-family="{FONT_FAMILY}" font-size="{size_mm:g}" '
            f'text-anchor="{label.anchor}" fill="{colour}"{look}>{_escaped(label.words)}</text>'
        )
        self._taken.append(label.box)

    def take(self, points: Iterable[Point], margin_mm: float) -> None:
        """Keep text away from points by a margin."""
        self._taken += [
            Box(x - margin_mm, y - margin_mm, x + margin_mm, y + margin_mm) for x, y in points
        ]

    def first_free(self, candidates: Iterable[Label]) -> Label:
        """Give the first label that lies on the sheet and meets nothing; else the least bad one.

        Raises: ValueError: there is no candidate.
        """
        best: tuple[int, Label] | None = None
        for label in candidates:
            collisions = self._collisions(label)
            if collisions == 0:
                return label
            if best is None or collisions < best[0]:
                best = collisions, label
        if best is None:
            raise ValueError("a label needs at least one place to stand")
        return best[1]

    def _collisions(self, label: Label) -> int:
        box = label.box
        # Leaving the sheet is worse than any crowd.
        off_sheet = 1000 if box.left < 0 or box.right > self.width_mm else 0
        return off_sheet + sum(box.meets(other) for other in self._taken)

    def drawing(self, height_mm: float, title: str, description: str) -> Drawing:
        """Give the drawing that the sheet makes when it is cut off below a height."""
        return Drawing(
            self.svg(height_mm, title, description),
            description,
            self.width_mm * self.scale,
            height_mm * self.scale,
        )

    def svg(self, height_mm: float, title: str, description: str) -> str:
        """Give the whole document. Units: millimetres at the scale of 1."""
        head = (
            '<svg xmlns="http://www.w3.org/2000/svg" version="1.1" '
            f'width="{self.width_mm * self.scale:g}mm" height="{height_mm * self.scale:g}mm" '
            f'viewBox="0 0 {self.width_mm:g} {height_mm:g}">'
        )
        words = f"<title>{_escaped(title)}</title><desc>{_escaped(description)}</desc>"
        return "\n".join([head, words, *self._marks, "</svg>"]) + "\n"


def _escaped(words: str) -> str:
    return escape(_NOT_XML.sub("\N{REPLACEMENT CHARACTER}", words), quote=False)


def _id(name: str) -> str:
    return f' id="{escape(name)}"' if name else ""


def _outline(points: Sequence[Point]) -> str:
    return "M " + " L ".join(f"{x:.2f},{y:.2f}" for x, y in points)


def _stroke(pen: Pen, fill: str = "none") -> str:
    dash = f' stroke-dasharray="{",".join(f"{part:g}" for part in pen.dash)}"' if pen.dash else ""
    return (
        f'fill="{fill}" stroke="{pen.colour}" stroke-width="{pen.width_mm:g}" '
        # Round ends would make a line longer than what it measures.
        f'stroke-linecap="butt" stroke-linejoin="round"{dash}'
    )
