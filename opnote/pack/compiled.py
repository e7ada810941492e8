"""Compiled expressions, and what they call while they run.

An expression is kept as Python code that was built from its checked syntax tree, so that a pack
which was checked once needs no second look when it is read from the cache. The code knows the names
of `NAMES` and nothing else; what a case holds reaches it as data.
"""

from __future__ import annotations

import ast
import marshal
import operator
import warnings
from collections.abc import Callable, Iterable, Mapping
from types import CodeType, FunctionType
from typing import Any, Final, Protocol, TypeAlias

from opnote.pack import type as t
from opnote.pack.logic import Truth, all3, among3, any3, not3, truth_of
from opnote.reckon.function import FUNCTIONS
from opnote.record import UNSET, Quantity


class Values(Protocol):
    """What an expression reads: the effective values of a case by concrete path."""

    @property
    def values(self) -> Mapping[str, Any]:
        """Visible recorded or computed values."""

    @property
    def rows(self) -> Mapping[str, tuple[str, ...]]:
        """The row ids of visible tables."""

    @property
    def texts(self) -> tuple[str, ...]:
        """The paths of all free text."""

    def text_column(self, path: str, column: str) -> str:
        """A column of the table of free text."""


Rows: TypeAlias = Mapping[str, str]
"""The row in hand for each row name: `{"tear": "r3"}`."""
Run: TypeAlias = Callable[[Values, Rows], Any]


class Expression:
    """A checked expression: its source, the type of its result, and the paths that it reads.

    `run` works it out for a case; it is compiled when it is first asked for.
    """

    __slots__ = ("_code", "_tree", "paths", "run", "source", "type")

    source: str
    type: t.Type
    paths: frozenset[str]
    run: Run

    def __init__(self, source: str, kind: t.Type, paths: frozenset[str], tree: ast.expr) -> None:
        self.source = source
        self.type = kind
        self.paths = paths
        self._tree: ast.expr | None = tree
        self._code: bytes = b""

    def __getattr__(self, name: str) -> Run:
        # Only what has no value yet comes here, so that running costs nothing more.
        if name != "run":
            raise AttributeError(name)
        self.run = _function(marshal.loads(self._kept()))
        return self.run

    def _kept(self) -> bytes:
        tree = self._tree
        if tree is not None:
            self._code, self._tree = marshal.dumps(_compiled(tree)), None
        return self._code

    def __reduce__(self) -> tuple[Callable[..., Expression], tuple[object, ...]]:
        return _from_kept, (self.source, self.type, self.paths, self._kept())


def _from_kept(source: str, kind: t.Type, paths: frozenset[str], code: bytes) -> Expression:
    expression = Expression.__new__(Expression)
    expression.source = source
    expression.type = kind
    expression.paths = paths
    expression._tree = None
    expression._code = code
    return expression


def _compiled(tree: ast.expr) -> CodeType:
    given = ast.arguments([], [ast.arg("v"), ast.arg("r")], None, [], [], None, [])
    whole = ast.fix_missing_locations(ast.Expression(ast.Lambda(given, tree)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # a plain value "is recorded": odd, and allowed
        code = compile(whole, "<expression>", "eval")
    return next(part for part in code.co_consts if isinstance(part, CodeType))


def _function(code: CodeType) -> Run:
    return FunctionType(code, NAMES)


def bare(value: Any) -> Any:
    """A value as arithmetic sees it: a quantity without its unit."""
    return value.amount if value.__class__ is Quantity else value


def column(values: Values, table: str, row: Any, name: str) -> Any:
    """A column of the row that a reference names; unset where it names none."""
    if row is UNSET:
        return UNSET
    return bare(values.values.get(f"{table}.{row}.{name}", UNSET))


def lifted(work: Callable[..., Any], *operands: Any) -> Any:
    """Work on known operands; unknown when one is, or when there is no such number."""
    for operand in operands:
        if operand is UNSET:
            return UNSET
    try:
        return work(*operands)
    except (ZeroDivisionError, OverflowError):
        return UNSET


def called(call: Callable[..., Any], *arguments: Any) -> Any:
    """What a function of the language gives; unset where it has no answer."""
    for argument in arguments:
        if argument is UNSET:
            return UNSET
    try:
        result = call(*arguments)
    except (ValueError, ZeroDivisionError, OverflowError):
        return UNSET
    return UNSET if result is None else result


OfRow: TypeAlias = Callable[[str], Any]
"""What is asked of each row of a table."""


def _kept_rows(rows: Iterable[str], keep: OfRow | None) -> Iterable[tuple[str, Truth]]:
    """The rows that may count, each with whether it does."""
    for row in rows:
        kept = True if keep is None else truth_of(keep(row))
        if kept is not False:
            yield row, kept


def any_row(rows: Any, test: OfRow, keep: OfRow | None = None) -> Any:
    """Whether a row that is kept passes."""
    if rows is UNSET:
        return UNSET
    return any3(all3((kept, test(row))) for row, kept in _kept_rows(rows, keep))


def all_rows(rows: Any, test: OfRow, keep: OfRow | None = None) -> Any:
    """Whether each row that is kept passes."""
    if rows is UNSET:
        return UNSET
    return all3(any3((not3(kept), test(row))) for row, kept in _kept_rows(rows, keep))


def sum_of_rows(rows: Any, number: OfRow, keep: OfRow | None = None) -> Any:
    """The sum over the rows that are kept; unknown when one number, or one row's part in it, is."""
    if rows is UNSET:
        return UNSET
    total: Any = 0
    for row, kept in _kept_rows(rows, keep):
        amount = number(row)
        if kept is UNSET or amount is UNSET:
            return UNSET
        total += amount
    return total


FUNCTION: Final = "function_"
"""What stands before the name of a function of the language."""

NAMES: Final[dict[str, Any]] = {
    "__builtins__": {},
    "UNSET": UNSET,
    "add": operator.add,
    "subtract": operator.sub,
    "multiply": operator.mul,
    "divide": operator.truediv,
    "negative": operator.neg,
    "length": len,
    "bare": bare,
    "column": column,
    "lifted": lifted,
    "called": called,
    "any_row": any_row,
    "all_rows": all_rows,
    "sum_of_rows": sum_of_rows,
    "truth_of": truth_of,
    "not3": not3,
    "among3": among3,
    **{f"{FUNCTION}{name}": function.call for name, function in FUNCTIONS.items()},
}
"""All that compiled code can name."""
