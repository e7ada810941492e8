"""From the fields that a form names to the drawings of the documents."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from opnote.compose.figure import Drawing
from opnote.compose.icon_array import Group, icon_arrays, large_icon_arrays
from opnote.compose.meniscal_map import (
    ResectionDrawn,
    StitchRowDrawn,
    TearDrawn,
    meniscal_map,
)
from opnote.compose.recovery_timeline import Span, recovery_timeline
from opnote.compose.risk_words import pictured, told_studies
from opnote.compose.sheet import LARGE_SCALE, PATIENT_SCALE
from opnote.compose.survival_curve import survival_curve
from opnote.pack.compiled import bare
from opnote.pack.form import LIMIT, FigureUse
from opnote.pack.pack import Pack
from opnote.pack.view import View
from opnote.reckon.menisci import outer_length_mm
from opnote.reckon.survival import Point
from opnote.record import UNSET


def draw(use: FigureUse, view: View, pack: Pack) -> Drawing | None:
    """The drawing of a case; None when nothing is recorded that could be drawn."""
    return _DRAWINGS[use.kind](use.uses, view, pack)


def reads_of(use: FigureUse, pack: Pack) -> frozenset[str]:
    """The fields that a drawing depends on, columns of its tables included."""
    reads = {path for path in use.uses.values() if not path.startswith(LIMIT)}
    for path in tuple(reads):
        reads.update(column.path for column in pack.fields[path].columns)
    if use.kind in _FROM_FIGURES:
        reads |= pack.figure_reads
    return frozenset(reads)


def map_to_draw_on(use: FigureUse, view: View, pack: Pack) -> Drawing | None:
    """The meniscal map of a case, also while there is no tear on it; None without a side."""
    return _meniscal_map(use.uses, view, pack, is_blank_drawn=True)


def draw_large(use: FigureUse, view: View, pack: Pack) -> tuple[Drawing, ...]:
    """The same for large print, in one drawing or several; none for a kind with no such form."""
    return _LARGE_DRAWINGS.get(use.kind, _no_drawing)(use.uses, view, pack)


def _no_drawing(uses: Mapping[str, str], view: View, pack: Pack) -> tuple[Drawing, ...]:
    return ()


def _draw_meniscal_map(uses: Mapping[str, str], view: View, pack: Pack) -> Drawing | None:
    return _meniscal_map(uses, view, pack, is_blank_drawn=False)


def _meniscal_map(
    uses: Mapping[str, str], view: View, pack: Pack, *, is_blank_drawn: bool
) -> Drawing | None:
    side = _value(view, uses["side"])
    if side not in ("left", "right"):
        return None
    tears_path, stitches_path = uses["tears"], uses["stitches"]
    labels: dict[str, str] = {}
    tears: dict[str, TearDrawn] = {}
    rows = view.rows.get(tears_path, ())
    for row in rows:
        path = f"{tears_path}.{row}"
        meniscus = _value(view, f"{path}.meniscus")
        if meniscus not in ("medial", "lateral"):
            continue
        labels[row] = f"Tear {len(labels) + 1}" if len(rows) > 1 else "Tear"
        tears[row] = TearDrawn(
            labels[row],
            meniscus,
            _value(view, f"{path}.from_mm"),
            # A radial or root tear has one place on the rim and no end.
            _value(view, f"{path}.to_mm" if _has_end(view, path) else f"{path}.from_mm"),
            _value(view, f"{path}.rim_mm"),
            _value(view, f"{path}.displaced") in (True, "displaced"),
            view.said(f"{path}.pattern"),
        )
    stitches = []
    for row in view.rows.get(stitches_path, ()):
        path = f"{stitches_path}.{row}"
        tear = _value(view, f"{path}.tear")
        if tear not in tears:
            continue
        stitches.append(
            StitchRowDrawn(
                labels[tear],
                tears[tear].meniscus,
                _value(view, f"{path}.technique"),
                view.said(f"{path}.technique"),
                _value(view, f"{path}.count"),
                _value(view, f"{path}.from_mm"),
                _value(view, f"{path}.to_mm"),
            )
        )
    resections = []
    for row in view.rows.get(uses["resections"], ()):
        path = f"{uses['resections']}.{row}"
        tear = _value(view, f"{path}.tear")
        if tear in tears:
            resections.append(_resection(view, path, tears[tear]))
    gap_mm = pack.form.limits[uses["gap"].removeprefix(LIMIT)].value
    return _kept_map(
        side, tuple(tears.values()), tuple(stitches), tuple(resections), gap_mm, is_blank_drawn
    )


def _resection(view: View, path: str, tear: TearDrawn) -> ResectionDrawn:
    """It lies where its tear runs through its segment, or else in the middle of the segment."""
    segments = dict(zip(("posterior", "body", "anterior"), range(3), strict=True))
    third = outer_length_mm(tear.meniscus) / len(segments)
    middle = None
    if (number := segments.get(_value(view, f"{path}.segment"))) is not None:
        start, end = number * third, (number + 1) * third
        if tear.extent is not None and tear.extent[0] < end and tear.extent[1] > start:
            start, end = max(start, tear.extent[0]), min(end, tear.extent[1])
        middle = (start + end) / 2
    return ResectionDrawn(
        tear.meniscus,
        view.said(f"{path}.segment"),
        middle,
        _value(view, f"{path}.arc_mm"),
        _value(view, f"{path}.width_mm"),
        _value(view, f"{path}.rim_left_mm"),
        tear.extent,
    )


@lru_cache(maxsize=64)
def _kept_map(
    side: str,
    tears: tuple[TearDrawn, ...],
    stitches: tuple[StitchRowDrawn, ...],
    resections: tuple[ResectionDrawn, ...],
    gap_mm: float,
    is_blank_drawn: bool,
) -> Drawing | None:
    """The map is drawn anew only when something on it changed."""
    return meniscal_map(
        side, tears, stitches, resections, gap_mm=gap_mm, is_blank_drawn=is_blank_drawn
    )


def _has_end(view: View, tear: str) -> bool:
    return not view.is_hidden(f"{tear}.to_mm")


def _value(view: View, path: str) -> Any:
    """A value as the drawings take it: bare, and None when it isn't recorded."""
    value = bare(view.values.get(path, UNSET))
    return None if value is UNSET else value


def _draw_recovery_timeline(uses: Mapping[str, str], view: View, pack: Pack) -> Drawing | None:
    return _timeline(uses, view, PATIENT_SCALE)


def _draw_large_timeline(uses: Mapping[str, str], view: View, pack: Pack) -> tuple[Drawing, ...]:
    drawing = _timeline(uses, view, LARGE_SCALE)
    return () if drawing is None else (drawing,)


def _timeline(uses: Mapping[str, str], view: View, scale: float) -> Drawing | None:
    operation = _value(view, uses["start"])
    if operation is None:
        return None
    spans = [
        Span(words, until)
        for words, path in uses.items()
        if words != "start" and (until := _value(view, path)) is not None
    ]
    return recovery_timeline(operation, spans, scale=scale)


def _draw_icon_arrays(uses: Mapping[str, str], view: View, pack: Pack) -> Drawing | None:
    return _kept_arrays(_groups(view, pack))


def _draw_large_arrays(uses: Mapping[str, str], view: View, pack: Pack) -> tuple[Drawing, ...]:
    return _kept_large_arrays(_groups(view, pack))


def _groups(view: View, pack: Pack) -> tuple[Group, ...]:
    return tuple(
        Group(each.title, each.people, each.had, "did not", each.note)
        for each in pictured(pack.risks, view)
    )


@lru_cache(maxsize=64)
def _kept_arrays(groups: tuple[Group, ...]) -> Drawing | None:
    return icon_arrays(groups)


@lru_cache(maxsize=16)
def _kept_large_arrays(groups: tuple[Group, ...]) -> tuple[Drawing, ...]:
    return large_icon_arrays(groups)


def _draw_survival_curve(uses: Mapping[str, str], view: View, pack: Pack) -> Drawing | None:
    return _curve(view, pack, PATIENT_SCALE)


def _draw_large_curve(uses: Mapping[str, str], view: View, pack: Pack) -> tuple[Drawing, ...]:
    drawing = _curve(view, pack, LARGE_SCALE)
    return () if drawing is None else (drawing,)


def _curve(view: View, pack: Pack, scale: float) -> Drawing | None:
    study = next(iter(told_studies(pack.survival, view)), None)
    if study is None:
        return None
    return _kept_curve(study.title, study.points, study.people, study.held, scale)


@lru_cache(maxsize=16)
def _kept_curve(
    title: str, points: tuple[Point, ...], people: int, held: str, scale: float
) -> Drawing:
    return survival_curve(title, points, people, held, scale=scale)


_DRAWINGS: Mapping[str, Callable[[Mapping[str, str], View, Pack], Drawing | None]] = {
    "meniscal_map": _draw_meniscal_map,
    "recovery_timeline": _draw_recovery_timeline,
    "icon_arrays": _draw_icon_arrays,
    "survival_curve": _draw_survival_curve,
}
_FROM_FIGURES = ("icon_arrays", "survival_curve")
"""The drawings of what the risks and the studies of the pack tell for this plan."""

_LARGE_DRAWINGS: Mapping[str, Callable[[Mapping[str, str], View, Pack], tuple[Drawing, ...]]] = {
    "recovery_timeline": _draw_large_timeline,
    "icon_arrays": _draw_large_arrays,
    "survival_curve": _draw_large_curve,
}
"""The meniscal map is life-size, and is read by clinicians only."""
