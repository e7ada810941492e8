"""What a compiled expression can reach, and that it stays the same when it is kept."""

from __future__ import annotations

import pickle
from collections.abc import Iterator
from types import CodeType

import pytest

from opnote.pack.cache import cached_pack
from opnote.pack.compiled import NAMES, Expression
from opnote.pack.pack import Pack

CASE = {"values", "rows", "texts", "text_column", "get"}
"""What code may ask of a case."""


@pytest.fixture(scope="module")
def repair() -> Pack:
    return cached_pack(("meniscal_repair",))


def expressions(pack: Pack) -> Iterator[Expression]:
    for check in pack.checks:
        yield check.when
    for rule in pack.rules:
        yield from filter(None, (rule.shown_when, rule.required_when, rule.computed, rule.fault))


def names_in(code: CodeType) -> set[str]:
    inside = (part for part in code.co_consts if isinstance(part, CodeType))
    return set(code.co_names).union(*map(names_in, inside))


def test_no_expression_of_the_forms_can_reach_beyond_the_case_and_the_functions(
    repair: Pack,
) -> None:
    reached = set[str]().union(*(names_in(e.run.__code__) for e in expressions(repair)))
    assert reached
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
