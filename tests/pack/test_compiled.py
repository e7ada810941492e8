"""What a compiled expression can reach, and that it stays the same when it is kept."""

from __future__ import annotations

import pickle
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from itertools import chain
from types import CodeType

import pytest

from opnote.pack.cache import cached_pack
from opnote.pack.compiled import FUNCTION, NAMES, Expression
from opnote.pack.form import Field, Place
from opnote.pack.pack import Pack

CASE = {"values", "rows", "texts", "text_column", "get"}
"""What code may ask of a case."""


@pytest.fixture(scope="module")
def repair() -> Pack:
    return cached_pack(("meniscal_repair",))


def expressions(thing: object) -> Iterator[Expression]:
    """Every expression of a pack, wherever it stands."""
    if isinstance(thing, Expression):
        yield thing
    elif isinstance(thing, Mapping):
        yield from chain.from_iterable(map(expressions, thing.values()))
    elif isinstance(thing, tuple):
        yield from chain.from_iterable(map(expressions, thing))
    elif is_dataclass(thing) and not isinstance(thing, Field | Place):
        for each in fields(thing):
            yield from expressions(getattr(thing, each.name))


def names_in(code: CodeType) -> set[str]:
    inside = (part for part in code.co_consts if isinstance(part, CodeType))
    return set(code.co_names).union(*map(names_in, inside))


def test_no_expression_of_the_forms_can_reach_beyond_the_case_and_the_functions(
    repair: Pack,
) -> None:
    reached = set[str]().union(*(names_in(e.run.__code__) for e in expressions(repair)))
    assert any(name.startswith(FUNCTION) for name in reached)
    assert reached <= set(NAMES) | CASE
    assert NAMES["__builtins__"] == {}


def test_a_kept_expression_reads_and_gives_the_same(repair: Pack) -> None:
    view = repair.view(repair.new_record())
    kept = pickle.loads(pickle.dumps([check.when for check in repair.checks]))
    for check, again in zip(repair.checks, kept, strict=True):
        assert (again.source, again.type, again.paths) == (
            check.when.source,
            check.when.type,
            check.when.paths,
        )
        if not check.row:
            assert again.run(view, {}) == check.when.run(view, {})
