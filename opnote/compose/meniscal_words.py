"""The words of a meniscal map: the lines of its legend and the text that stands for it."""

from __future__ import annotations

from opnote.compose.meniscal_plan import (
    Gap,
    Plan,
    ResectionDrawn,
    StitchRowDrawn,
    TearDrawn,
    drawn_extent,
)
from opnote.reckon.menisci import MENISCI, SPREAD_PER_CENT

SCALE_NOTE = (
    "Schematic, to scale along the rim of an average meniscus "
    f"(person to person about {SPREAD_PER_CENT} per cent)."
)
EVEN_NOTE = (
    "The stitches of a row are drawn evenly spread over the stretch that it holds, "
    "stitches at one place beside each other."
)
CUT_NOTE = "What reaches past the roots of the average meniscus is drawn up to the root."
ZERO_WORDS = "posterior root, from which millimetres along the rim are counted"
DISPLACED = "displaced part, place and shape schematic"


def millimetres(value: float) -> str:
    """Write a length with at most one decimal and its unit."""
    return f"{round(value, 1):g} mm"


def title_of(plan: Plan) -> str:
    """Say what the map shows, the side first and in capitals."""
    return f"{plan.side.upper()} knee, menisci seen from above"


def tear_words(tear: TearDrawn) -> str:
    """Describe one tear, with what isn't recorded named as such."""
    named = f"{tear.label}: " if tear.label else ""
    pattern = f"{tear.pattern}, " if tear.pattern else ""
    place = _stretch(tear.extent)
    if tear.extent is not None:
        place += " along the rim from the posterior root"
    return f"{named}{pattern}{tear.meniscus} meniscus, {place}, {_rim(tear)}"


def technique_words(plan: Plan, technique: str | None) -> str:
    """Name a technique and list its rows."""
    rows = [row for row in plan.rows if row.technique == technique]
    name = rows[0].technique_words or "technique not recorded"
    return f"{name}: {'; '.join(_row_words(row) for row in rows)}"


def resection_words(resection: ResectionDrawn) -> str:
    """Say what was taken, by its length and width, and what is left."""
    sizes = (resection.arc_mm, resection.width_mm, resection.rim_left_mm)
    arc, width, left = ("?" if size is None else _number(size) for size in sizes)
    place = f" {resection.place}" if resection.place else ""
    return (
        f"resected: {resection.meniscus}{place}, {arc} by {width} mm, "
        f"{left} mm of rim left; shape schematic"
    )


def gap_words(gap: Gap) -> str:
    """Name a wide gap with its place."""
    return (
        f"gap of {millimetres(gap.to_mm - gap.from_mm)} between stitches at "
        f"{_number(gap.from_mm)} and {millimetres(gap.to_mm)}, {gap.meniscus} meniscus"
    )


def notes_of(plan: Plan) -> list[str]:
    """List the sentences that say how far the drawing may be trusted."""
    extents = [(t.meniscus, t.extent) for t in plan.tears]
    extents += [(r.meniscus, r.extent) for r in plan.rows]
    extents += [(r.meniscus, r.extent) for r in plan.resections]
    cut = any(extent and drawn_extent(name, extent) != extent for name, extent in extents)
    spread = any(row.drawn_positions for row in plan.rows)
    return [SCALE_NOTE, *([EVEN_NOTE] if spread else []), *([CUT_NOTE] if cut else [])]


def alternative_of(plan: Plan) -> str:
    """Say in words all that the map says."""
    sentences = [f"{title_of(plan)}, front at the top."]
    for tear in plan.tears:
        displaced = f"; dashed: {DISPLACED}" if tear.displaced else ""
        sentences.append(f"{capital(tear_words(tear))}{displaced}.")
    sentences += [f"No tear drawn on the {m} meniscus." for m in MENISCI if not _is_torn(plan, m)]
    sentences += [f"{capital(resection_words(each))}." for each in plan.resections]
    for technique, letter in plan.letters.items():
        sentences.append(f"Stitches {letter}, {technique_words(plan, technique)}.")
    if not plan.rows:
        sentences.append("No stitches drawn.")
    sentences += [f"{capital(gap_words(gap))}." for gap in plan.gaps]
    return " ".join([*sentences, *notes_of(plan)])


def _is_torn(plan: Plan, meniscus: str) -> bool:
    return any(tear.meniscus == meniscus for tear in plan.tears)


def _row_words(row: StitchRowDrawn) -> str:
    if row.count is None:
        number = "number not recorded"
    else:
        number = f"{row.count} stitch" if row.count == 1 else f"{row.count} stitches"
    hidden = "" if row.drawn_positions else ", not drawn"
    return f"{number}, {row.meniscus}, {_stretch(row.extent)}{hidden}"


def _stretch(extent: tuple[float, float] | None) -> str:
    if extent is None:
        return "place not recorded"
    if extent[0] == extent[1]:
        return f"at {millimetres(extent[0])}"
    return f"{_number(extent[0])} to {millimetres(extent[1])}"


def _rim(tear: TearDrawn) -> str:
    if tear.rim_mm is not None:
        return f"rim {millimetres(tear.rim_mm)}"
    if tear.extent is None:
        return "rim not recorded"
    return "rim not recorded (drawn dotted in mid-width)"


def _number(value: float) -> str:
    return f"{round(value, 1):g}"


def capital(words: str) -> str:
    """The words with a capital at their start."""
    return words[:1].upper() + words[1:]
