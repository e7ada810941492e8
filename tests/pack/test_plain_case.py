"""A case file in order is read without the validator, and as the validator would read it."""

from __future__ import annotations

import copy
import json
from functools import lru_cache
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from opnote.pack import case
from opnote.pack.case import RecordError, read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.pack.plain_case import plain_contents
from opnote.pack.problem import PackError
from opnote.record import Record

SAMPLES = sorted((shipped_root() / "forms" / "samples").glob("*.json"))
CASES: dict[str, Any] = {path.stem: json.loads(path.read_text("utf-8")) for path in SAMPLES}
ODD: list[Any] = [
    None,
    True,
    0,
    1,
    -1,
    2.5,
    "",
    "r1",
    "left",
    "5 mm",
    "2026-03-09",
    "2026-03-09T08:00",
    "typed",
    "computed",
    "\ud83d",
    [],
    ["left"],
    {},
    {"id": "r1"},
    [{"id": "r1"}],
    [{"id": "r1", "x": 1}],
    {"at": "2026-03-09T08:00", "by": "ward"},
    {"value": 1, "because": "x", "edition": "y"},
    [{"on": "2026-03-09", "edition": "1", "said": {"side": {"value": "1", "words": "x"}}}],
]


@lru_cache
def pack_of(procedures: tuple[str, ...]) -> Pack:
    return load_pack(procedures)


def outcome(text: str) -> tuple[Record | None, tuple[str, ...]]:
    try:
        return read_case(text, "case", lambda names: pack_of(tuple(names)))[0], ()
    except RecordError as error:
        return None, error.lines
    except PackError as error:
        return None, tuple(map(str, error.problems))


@pytest.mark.parametrize("name", list(CASES))
def test_a_demo_case_needs_no_validator(name: str) -> None:
    raw = CASES[name]
    assert plain_contents(raw, pack_of(tuple(raw["procedures"])).form) is not None


@st.composite
def mutated(draw: st.DrawFn) -> Any:
    """A demo case with something odd put in some places, or taken out of them."""
    raw = copy.deepcopy(CASES[draw(st.sampled_from(sorted(CASES)))])
    for _ in range(draw(st.integers(1, 3))):
        holder: Any = raw
        while True:
            keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
            if not keys:
                break
            key = draw(st.sampled_from(keys))
            if isinstance(holder[key], dict | list) and holder[key] and draw(st.integers(0, 4)):
                holder = holder[key]
                continue
            what = draw(st.sampled_from(("replace", "replace", "remove", "add")))
            if what == "replace":
                holder[key] = copy.deepcopy(draw(st.sampled_from(ODD)))
            elif what == "remove":
                del holder[key]
            elif isinstance(holder, dict):
                added = draw(st.sampled_from(("side", "tears", "x", "id", "\ud83d", "r1")))
                holder[added] = copy.deepcopy(draw(st.sampled_from(ODD)))
            break
    return raw


@pytest.mark.slow
@settings(max_examples=400, deadline=None, suppress_health_check=list(HealthCheck))
@given(raw=mutated())
def test_a_file_is_read_or_refused_as_the_validator_does(raw: Any) -> None:
    text = json.dumps(raw)
    found = outcome(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(case, "plain_contents", lambda raw, form: None)
        validated = outcome(text)
    assert repr(found) == repr(validated)
