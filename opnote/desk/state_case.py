"""Cases made from the demo cases for looking at: empty, half filled, full; and a list of others."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, Final

_BLANKED: Final = {"origins", "reasons", "unanswered", "due", "leftover"}
_LAST_FILLED: Final = "eua.rotation"
"""Where the half-filled case stops: the knee is about to be looked into."""

EMPTY: Final = "empty"
HALF_FILLED: Final = "half_filled"
BOTH_MENISCI: Final = "both_menisci"
MADE: Final = (EMPTY, HALF_FILLED, BOTH_MENISCI)
LIST: Final = """\
No;Name;Hospital number;NHS number;Born;Side;Planned operation;Date;Start;Surgeon;Ward
1;"Quillfeather, Ann";TEST-0071;943 476 5919;1/2/1990;L;Repair of the meniscus;9/3/2026;08:30;;Fern
2;"Underbough, Bo";TEST-0072;943 476 5918;31/02/1990;R;Arthroscopy;9/3/2026;09:45;;Fern
3;"Thimblewick, Cy";TEST-0073;;3/4/1991;both;Arthroscopy;9/3/2026;11:00;;Moss
4;"Quillfeather, Ann";TEST-0071;;1/2/1990;Left;Repair;9/3/2026;12:15;;Fern
5;"Marrow, Di";TEST-0075;;5/6/1987;Right;Arthroscopy;9/3/2026;13:30;;Moss
"""
"""A list with what goes wrong in lists; its first number is the NHS Data Dictionary's example."""

Case = dict[str, Any]


def write_made_cases(samples: Path, folder: Path) -> None:
    """Write the cases that are made from the demo cases A and B into a folder."""
    case_a, case_b = (
        json.loads((samples / f"case_{letter}.json").read_text(encoding="utf-8")) for letter in "ab"
    )
    made = {
        EMPTY: _with_values(case_a, {}),
        HALF_FILLED: _half_filled(case_a),
        BOTH_MENISCI: _both_menisci(case_b, case_a),
    }
    for stem, case in made.items():
        (folder / f"{stem}.json").write_text(json.dumps(case, indent=2), encoding="utf-8")


def _with_values(case: Case, values: Case) -> Case:
    blank: Case = {key: {} for key in _BLANKED}
    return {**case, **blank, "confirmed": [], "values": values}


def _half_filled(case: Case) -> Case:
    """The first half of a case, with two contradictions: in its motion and in its times."""
    paths = list(case["values"])
    kept = paths[: paths.index(_LAST_FILLED) + 1]
    values = {path: case["values"][path] for path in kept}
    return _with_values(case, {**values, "exam.flexion": "5 degrees", "theatre.end": "07:15"})


def _both_menisci(case: Case, other: Case) -> Case:
    """A tear of each meniscus, and three procedures besides."""
    values = dict(case["values"])
    next_row = int(case["next_row"])
    tear = {**other["values"]["tears"][0], "id": f"r{next_row}"}
    first = values["other_procedures"][0]
    more = [
        {**first, "id": f"r{next_row + 1 + index}", "kind": kind}
        for index, kind in enumerate(("tenodesis", "loose_body"))
    ]
    stitches = [
        {**row, "id": f"r{next_row + 3 + index}", "tear": tear["id"]}
        for index, row in enumerate(other["values"]["stitches"])
    ]
    values["joint.medial"] = "abnormal"
    values["tears"] = [*values["tears"], tear]
    values["stitches"] = [*values["stitches"], *stitches]
    values["other_procedures"] = [first, *more]
    return {**case, "values": values, "next_row": next_row + 3 + len(stitches)}
