"""Python code for checked expressions, built as syntax trees and never from text.

Each function gives the tree of one construction of the language. The names that the trees use are
those of `compiled.NAMES`; `v` is the case and `r` the rows in hand.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Sequence

_LOAD = ast.Load()


def name(word: str) -> ast.Name:
    """A name of `NAMES`, or of a row that is walked."""
    return ast.Name(word, _LOAD)


def plain(value: str | float | bool) -> ast.Constant:
    """A plain value."""
    return ast.Constant(value)


def call(function: str, *arguments: ast.expr) -> ast.Call:
    """A call of a name."""
    return ast.Call(name(function), list(arguments), [])


def look_up(where: str, path: ast.expr) -> ast.Call:
    """What a case holds under a path: `where` is "values" or "rows"."""
    get = ast.Attribute(ast.Attribute(name("v"), where, _LOAD), "get", _LOAD)
    return ast.Call(get, [path, name("UNSET")], [])


def texts() -> ast.Attribute:
    """The paths of all free text."""
    return ast.Attribute(name("v"), "texts", _LOAD)


def text_column(row: ast.expr, column: str) -> ast.Call:
    """A column of the table of free text."""
    return ast.Call(ast.Attribute(name("v"), "text_column", _LOAD), [row, plain(column)], [])


def path_in(table: str, row: ast.expr, column: str) -> ast.BinOp:
    """The path of a column in a row that is surely there."""
    start = ast.BinOp(plain(f"{table}."), ast.Add(), row)
    return ast.BinOp(start, ast.Add(), plain(f".{column}"))


def given_row(row: str) -> ast.Subscript:
    """A row in hand from the start."""
    return ast.Subscript(name("r"), plain(row), _LOAD)


def walked_row(row: str) -> ast.Name:
    """A row that `any`, `all` or `sum` walks; `of_row` brings it."""
    return name(f"row_{row}")


def of_row(row: str, body: ast.expr) -> ast.Lambda:
    """What is asked of each row."""
    given = ast.arguments([], [ast.arg(f"row_{row}")], None, [], [], None, [])
    return ast.Lambda(given, body)


def is_unset(value: ast.expr) -> ast.Compare:
    """Whether a value is not recorded."""
    return ast.Compare(value, [ast.Is()], [name("UNSET")])


def is_recorded(value: ast.expr, wanted: bool) -> ast.Compare:
    """Whether a value is recorded, or is not."""
    return ast.Compare(value, [ast.IsNot() if wanted else ast.Is()], [name("UNSET")])


class Builder:
    """Builds what has to hold a value while it looks at it."""

    def __init__(self) -> None:
        self._held = 0

    def _hold(self, value: ast.expr) -> tuple[ast.expr, ast.Name]:
        """A value that is worked out here, and its name from here on."""
        self._held += 1
        word = f"held_{self._held}"
        return ast.NamedExpr(ast.Name(word, ast.Store()), value), name(word)

    def known(
        self, operands: Sequence[ast.expr], result: Callable[[Sequence[ast.expr]], ast.expr]
    ) -> ast.expr:
        """A result of known operands; unset as soon as one is."""
        tests: list[ast.expr] = []
        held: list[ast.expr] = []
        for operand in operands:
            if isinstance(operand, ast.Constant):
                held.append(operand)
                continue
            worked_out, here = self._hold(operand)
            tests.append(is_unset(worked_out))
            held.append(here)
        if not tests:
            return result(held)
        test = tests[0] if len(tests) == 1 else ast.BoolOp(ast.Or(), tests)
        return ast.IfExp(test, name("UNSET"), result(held))

    def compared(self, left: ast.expr, op: ast.cmpop, right: ast.expr) -> ast.expr:
        """A comparison, unset when a side is."""
        return self.known((left, right), lambda held: ast.Compare(held[0], [op], [held[1]]))

    def among(self, value: ast.expr, members: tuple[str | float | bool, ...]) -> ast.expr:
        """Whether a value is one of some plain ones."""
        fixed = ast.Tuple([plain(member) for member in members], _LOAD)
        return self.known((value,), lambda held: ast.Compare(held[0], [ast.In()], [fixed]))

    def joined(self, truths: Sequence[ast.expr], is_all: bool) -> ast.expr:
        """All of some truths, or any of them; the first that decides ends the work."""
        held = [self._hold(truth) for truth in truths]
        unknown: list[ast.expr] = [is_unset(here) for _, here in held]
        result: ast.expr = ast.IfExp(ast.BoolOp(ast.Or(), unknown), name("UNSET"), plain(is_all))
        for worked_out, _ in reversed(held):
            decides = ast.Compare(worked_out, [ast.Is()], [plain(not is_all)])
            result = ast.IfExp(decides, plain(not is_all), result)
        return result

    def chosen(self, truth: ast.expr, yes: ast.expr, no: ast.expr) -> ast.expr:
        """One of two by a truth, unset when that is."""
        return self.known((truth,), lambda held: ast.IfExp(held[0], yes, no))
