"""The expression language of forms: a small typed subset of Python's expression syntax.

An expression is parsed with `ast`, checked against the types of the form, and turned node by node
into a tree of our own that is compiled when it is needed. Only the node types handled here exist in
the language; text is never evaluated.
"""

from __future__ import annotations

import ast
import keyword
import re
import warnings
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from opnote.pack import expression_code as code
from opnote.pack import type as t
from opnote.pack.compiled import FUNCTION, Expression
from opnote.pack.form import TEXTS, Field
from opnote.pack.problem import did_you_mean
from opnote.pack.scope import Scope
from opnote.reckon.function import FUNCTIONS
from opnote.record import NOT_EXAMINED

MOST_CHARACTERS = 2000
MOST_DEEP = 40
"""A longer expression, or one nested deeper, is refused: nobody could read it."""

TO_SIGN_ON: Mapping[str, str] = {
    "rule": "ruled",
    "signature_line": "signature_line",
    "supervisor_signature_line": "supervisor_signature_line",
}
"""What a wording prints for a hand to write on, by the name of what prints it."""

RESERVED = frozenset(
    (*keyword.kwlist, *("true", "false", "limit", "recorded", "empty", "loop", "none"), *TO_SIGN_ON)
)
"""Words of the language, which no field or row can be called."""

_COMPARISON_MARKS: Mapping[type[ast.cmpop], str] = {
    ast.Eq: "==",
    ast.NotEq: "!=",
    ast.Lt: "<",
    ast.LtE: "<=",
    ast.Gt: ">",
    ast.GtE: ">=",
}
_ARITHMETIC: Mapping[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "add"),
    ast.Sub: ("-", "subtract"),
    ast.Mult: ("*", "multiply"),
    ast.Div: ("/", "divide"),
}
_WALKS: Mapping[str, str] = {"any": "any_row", "all": "all_rows", "sum": "sum_of_rows"}
_AGGREGATES = (*_WALKS, "len")


_NESTING = " -.(+*/"
"""Nothing nests without one of these; where they are few, the depth need not be counted."""


class ExpressionError(Exception):
    """An expression that can't mean anything on this form."""

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of an expression: its type, its code, and for a plain value that value.

    `is_truth` tells that the code gives true, false or unset, never "not examined".
    """

    type: t.Type
    code: ast.expr
    constant: Any = None
    is_truth: bool = False


def compile_expression(source: str, scope: Scope, wants: type | None = None) -> Expression:
    """Check and compile one expression.

    `wants` is the class of type that the result must have, such as `YesNo` for a condition.
    Raises: ExpressionError, with the remedy, for anything outside the language or the form.
    """
    if len(source) > MOST_CHARACTERS:
        raise ExpressionError(
            f"the expression has {len(source)} characters", f"keep it under {MOST_CHARACTERS}"
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what Python remarks on is refused below in any case
            tree = ast.parse(source.strip(), mode="eval")
    except (SyntaxError, RecursionError, MemoryError, ValueError) as error:
        what = error.msg if isinstance(error, SyntaxError) else "it is nested too deeply"
        slip = _common_slip(source)
        raise ExpressionError(
            f"can't read the expression '{source}': {slip[0] or what}", slip[1]
        ) from error
    if sum(map(source.count, _NESTING)) > MOST_DEEP - 3 and _depth(tree) > MOST_DEEP:
        raise ExpressionError("the expression is nested too deeply", "make two of it")
    compiler = _Compiler()
    part = compiler.part(tree.body, scope)
    if wants is not None and not isinstance(part.type, wants):
        raise ExpressionError(
            f"'{source}' is {part.type}, not {wants()}", "compare it with something"
        )
    return Expression(source, part.type, frozenset(compiler.paths), part.code)


_LITERAL = re.compile(r"'[^']*'|\"[^\"]*\"")
_SLIPS: Sequence[tuple[re.Pattern[str], str, str]] = (
    (re.compile(r"[‘’“”]"), "a curly quote", "write straight quotes, 'left'"),
    (re.compile(r"&&"), "'&&' is no word here", "write 'and'"),
    (re.compile(r"\|\|"), "'||' is no word here", "write 'or'"),
    (re.compile(r"<>"), "'<>' is no comparison", "write '!='"),
    (re.compile(r"!(?!=)"), "'!' is no word here", "write 'not'"),
    (re.compile(r"(?<![=!<>])=(?!=)"), "'=' compares nothing", "write '=='"),
    (
        re.compile(r"\b(AND|OR|NOT|IN|IS)\b"),
        "a word of the language in capitals",
        "write it in small letters",
    ),
    (
        re.compile(r"\b\d+(\.\d+)? *(?!(and|or|if|else|for|in|not|is)\b)[A-Za-z%]"),
        "a number with its unit",
        "write the number alone: the field knows its unit",
    ),
)
"""Slips that people make who know other languages, each with what it is and what helps."""


def _common_slip(source: str) -> tuple[str, str]:
    """What an expression that can't be read most likely got wrong, and the remedy; "" twice."""
    bare = _LITERAL.sub("''", source)
    for pattern, what, remedy in _SLIPS:
        if pattern.search(bare):
            return what, remedy
    if bare.count("'") % 2 or bare.count('"') % 2:
        return "quotes that are never closed", "close them"
    if bare.count("(") != bare.count(")"):
        return "brackets that don't close", "count them"
    return "", ""


def _depth(tree: ast.AST) -> int:
    """How deep a tree goes; counted level by level, so that no depth is too much to count."""
    depth, level = 0, [tree]
    while level and depth <= MOST_DEEP:
        level = [
            child
            for node in level
            for child in ast.iter_child_nodes(node)
            if isinstance(child, ast.expr | ast.comprehension)
        ]
        depth += 1
    return depth


def check_row_name(name: str, scope: Scope) -> None:
    """Refuse a name that would hide something else. Raises: ExpressionError."""
    if name in RESERVED or name in scope.fields or scope.is_group(name) or name in scope.rows:
        raise ExpressionError(f"the row name '{name}' is taken", "call the row otherwise")


def compile_rows(source: str, scope: Scope) -> tuple[str, Field]:
    """Read "s in stitches"; gives the row name and its table. Raises: ExpressionError."""
    name, _, path = source.partition(" in ")
    check_row_name(name, scope)
    table = scope.fields.get(path)
    if table is None or table.kind != "rows":
        tables = [p for p, f in scope.fields.items() if f.kind == "rows"]
        raise ExpressionError(f"'{path}' is no table", did_you_mean(path, tables))
    return name, table


class _Compiler:
    def __init__(self) -> None:
        self.paths: set[str] = set()
        self._code = code.Builder()
        self._walked: set[str] = set()

    def part(self, node: ast.expr, scope: Scope) -> _Part:
        match node:
            case ast.Constant(value=value):
                return self._constant(value)
            case ast.Name() | ast.Attribute():
                return self._path(node, scope)
            case ast.BoolOp(op=op, values=operands):
                return self._boolean(op, operands, scope)
            case ast.UnaryOp(op=ast.Not(), operand=operand):
                inner = self._condition(operand, scope)
                return _truth(code.call("not3", inner))
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                number = self._number(operand, scope)
                negative = code.call("lifted", code.name("negative"), number.code)
                return _Part(number.type, negative)
            case ast.BinOp(left=left, op=op, right=right):
                return self._arithmetic(left, op, right, scope)
            case ast.Compare(left=left, ops=ops, comparators=comparators):
                return self._comparisons(left, ops, comparators, scope)
            case ast.IfExp(test=test, body=body, orelse=orelse):
                return self._conditional(test, body, orelse, scope)
            case ast.Call():
                return self._call(node, scope)
        raise ExpressionError(
            f"'{ast.unparse(node)}' is not part of the expression language",
            "see forms/README.md, section Expressions",
        )

    # Names and constants

    def _constant(self, value: object) -> _Part:
        if isinstance(value, bool):
            raise ExpressionError(f"'{value}' is not a word here", f"write '{str(value).lower()}'")
        if isinstance(value, int | float):
            return _Part(t.Number(None), code.plain(value), value)
        if isinstance(value, str):
            return _Part(t.Text(), code.plain(value), value)
        raise ExpressionError(f"{value!r} is not part of the expression language")

    def _path(self, node: ast.expr, scope: Scope) -> _Part:
        words = _dotted(node)
        if words is None:
            raise ExpressionError(f"'{ast.unparse(node)}' is no path")
        if words in (("true",), ("false",)):
            answer = words == ("true",)
            return _Part(t.YesNo(), code.plain(answer), answer, is_truth=True)
        if words[0] == "limit":
            return self._limit(words, scope)
        if words[0] in scope.rows:
            return self._from_row(words, scope)
        path = ".".join(words[:2]) if ".".join(words[:2]) in scope.fields else words[0]
        found = scope.fields.get(path)
        used = path.count(".") + 1
        if found is None or found.table or len(words) > used:
            raise self._unknown(".".join(words), scope)
        self.paths.add(path)
        kind = self._type(found, scope)
        return _Part(kind, _read(found, kind))

    def _limit(self, words: tuple[str, ...], scope: Scope) -> _Part:
        name = words[1] if len(words) == 2 else ""
        limit = scope.limits.get(name)
        if limit is None:
            raise ExpressionError(
                f"unknown limit '{'.'.join(words)}'",
                did_you_mean(f"limit.{name}", (f"limit.{known}" for known in scope.limits)),
            )
        return _Part(t.Number(limit.unit), code.plain(limit.value), limit.value)

    def _from_row(self, words: tuple[str, ...], scope: Scope) -> _Part:
        """A path that starts at a row in hand, following refs: `s.tear.rim_mm`."""
        name = words[0]
        table = scope.rows[name]
        read: ast.expr
        read = code.walked_row(name) if name in self._walked else code.given_row(name)
        kind: t.Type = t.Row(table)
        self.paths.add(table.path)
        for index, word in enumerate(words[1:], start=2):
            if not isinstance(kind, t.Row):
                raise ExpressionError(f"'{'.'.join(words)}': {kind} has no parts")
            table = kind.field
            column = scope.fields.get(f"{table.path}.{word}")
            if column is None or column.table != table.path:
                column = next((c for c in table.columns if c.name == word), None)
            if column is None:
                known = [".".join((*words[: index - 1], c.name)) for c in table.columns]
                wrong = ".".join(words[:index])
                raise ExpressionError(f"unknown field '{wrong}'", did_you_mean(wrong, known))
            self.paths.add(column.path)
            kind = self._type(column, scope)
            read = _read_column(read, index == 2, column, kind)
        return _Part(kind, read)

    def _unknown(self, path: str, scope: Scope) -> ExpressionError:
        if path in scope.fields and scope.fields[path].table:
            return ExpressionError(
                f"'{path}' is a column: it has a value in each row, not one of its own",
                f"write any(... for {scope.fields[path].each} in {scope.fields[path].table})",
            )
        known = [p for p, f in scope.fields.items() if not f.table]
        known += [f"{n}.{c.name}" for n, row in scope.rows.items() for c in row.columns]
        return ExpressionError(f"unknown field '{path}'", did_you_mean(path, known))

    def _type(self, found: Field, scope: Scope) -> t.Type:
        return t.type_of(found, scope.fields)

    # Operators

    def _condition(self, node: ast.expr, scope: Scope) -> ast.expr:
        """The code of a condition, which gives true, false or unset."""
        part = self.part(node, scope)
        if not isinstance(part.type, t.YesNo):
            raise ExpressionError(
                f"'{ast.unparse(node)}' is {part.type}, not a condition",
                "compare it, or ask 'is recorded'",
            )
        return part.code if part.is_truth else code.call("truth_of", part.code)

    def _number(self, node: ast.expr, scope: Scope) -> _Part:
        part = self.part(node, scope)
        if not isinstance(part.type, t.Number):
            raise ExpressionError(f"'{ast.unparse(node)}' is {part.type}, not a number")
        return part

    def _boolean(self, op: ast.boolop, operands: Sequence[ast.expr], scope: Scope) -> _Part:
        truths = [self._condition(operand, scope) for operand in operands]
        return _truth(self._code.joined(truths, is_all=isinstance(op, ast.And)))

    def _arithmetic(self, left: ast.expr, op: ast.operator, right: ast.expr, scope: Scope) -> _Part:
        known = _ARITHMETIC.get(type(op))
        if known is None:
            raise ExpressionError(
                f"'{ast.unparse(ast.BinOp(left, op, right))}' uses an operator "
                "that is not in the language",
                "use + - * /",
            )
        mark, work = known
        a, b = self._number(left, scope), self._number(right, scope)
        unit = _unit_of_result(mark, a.type, b.type, ast.unparse(ast.BinOp(left, op, right)))
        return _Part(t.Number(unit), code.call("lifted", code.name(work), a.code, b.code))

    def _conditional(self, test: ast.expr, body: ast.expr, orelse: ast.expr, scope: Scope) -> _Part:
        condition = self._condition(test, scope)
        yes, no = self.part(body, scope), self.part(orelse, scope)
        if type(yes.type) is not type(no.type):
            raise ExpressionError(
                f"'{ast.unparse(body)}' is {yes.type} but '{ast.unparse(orelse)}' is {no.type}",
                "both answers of a condition must be alike",
            )

        kind = yes.type
        if isinstance(kind, t.Number) and isinstance(no.type, t.Number):
            source = f"{ast.unparse(body)} if ... else {ast.unparse(orelse)}"
            kind = t.Number(_unit_of_result("+", kind, no.type, source))
        chosen = self._code.chosen(condition, yes.code, no.code)
        return _Part(kind, chosen, is_truth=yes.is_truth and no.is_truth)

    def _comparisons(
        self,
        left: ast.expr,
        ops: Sequence[ast.cmpop],
        comparators: Sequence[ast.expr],
        scope: Scope,
    ) -> _Part:
        truths = []
        for op, right in zip(ops, comparators, strict=True):
            truths.append(self._comparison(left, op, right, scope))
            left = right
        return _truth(truths[0] if len(truths) == 1 else self._code.joined(truths, is_all=True))

    def _comparison(self, left: ast.expr, op: ast.cmpop, right: ast.expr, scope: Scope) -> ast.expr:
        if isinstance(op, ast.Is | ast.IsNot):
            return self._is_recorded(left, op, right, scope)
        a = self.part(left, scope)
        if isinstance(op, ast.In | ast.NotIn):
            member = self._membership(a, left, right, scope)
            return member if isinstance(op, ast.In) else code.call("not3", member)
        mark = _COMPARISON_MARKS[type(op)]
        b = self.part(right, scope)
        check_comparison(mark, (a.type, a.constant), (b.type, b.constant))
        return self._code.compared(a.code, op, b.code)

    def _is_recorded(
        self, left: ast.expr, op: ast.cmpop, right: ast.expr, scope: Scope
    ) -> ast.expr:
        if not (isinstance(right, ast.Name) and right.id == "recorded"):
            raise ExpressionError(
                f"'is {ast.unparse(right)}' is not in the language",
                "write 'is recorded' or 'is not recorded'; compare with '=='",
            )
        return code.is_recorded(self.part(left, scope).code, isinstance(op, ast.Is))

    def _membership(self, a: _Part, left: ast.expr, right: ast.expr, scope: Scope) -> ast.expr:
        if isinstance(right, ast.Tuple):
            members = []
            for item in right.elts:
                part = self.part(item, scope)
                if part.constant is None:
                    raise ExpressionError(f"'{ast.unparse(item)}' must be a plain value")
                check_comparison("==", (a.type, a.constant), (part.type, part.constant))
                members.append(part.constant)
            return self._code.among(a.code, tuple(members))
        b = self.part(right, scope)
        if not isinstance(b.type, t.Choices):
            raise ExpressionError(
                f"'{ast.unparse(right)}' is {b.type}: nothing can be in it",
                "write 'in' before choices, or before values in brackets such as ('a', 'b')",
            )
        check_option(b.type, a.type, a.constant)
        return code.call("among3", a.code, b.code)

    # Calls

    def _call(self, node: ast.Call, scope: Scope) -> _Part:
        if not isinstance(node.func, ast.Name) or node.keywords:
            raise ExpressionError(f"'{ast.unparse(node)}' is not part of the expression language")
        name = node.func.id
        if name in _AGGREGATES:
            return self._aggregate(name, node, scope)
        function = FUNCTIONS.get(name)
        if function is None:
            raise ExpressionError(
                f"unknown function '{name}'", did_you_mean(name, [*FUNCTIONS, *_AGGREGATES])
            )
        if len(node.args) != len(function.arguments):
            raise ExpressionError(
                f"{name}() takes {len(function.arguments)} values, not {len(node.args)}",
                f"it takes {', '.join(function.arguments)}",
            )
        arguments = []
        for argument, wanted in zip(node.args, function.arguments, strict=True):
            part = self.part(argument, scope)
            if not _fits(part.type, wanted):
                raise ExpressionError(
                    f"{name}(): '{ast.unparse(argument)}' is {part.type}, not {wanted}"
                )
            arguments.append(part.code)
        work = code.name(f"{FUNCTION}{name}")
        return _Part(_result_type(function.result), code.call("called", work, *arguments))

    def _aggregate(self, name: str, node: ast.Call, scope: Scope) -> _Part:
        if len(node.args) != 1:
            raise ExpressionError(f"{name}() takes one thing", f"write {name}(... for x in rows)")
        inner = node.args[0]
        if name == "len":
            return self._length(inner, scope)
        if not isinstance(inner, ast.GeneratorExp) or len(inner.generators) != 1:
            raise ExpressionError(
                f"{name}() needs 'for ... in ...' inside", f"write {name}(... for x in rows)"
            )
        loop = inner.generators[0]
        if not isinstance(loop.target, ast.Name) or len(loop.ifs) > 1 or loop.is_async:
            raise ExpressionError(f"'{ast.unparse(inner)}' is not part of the expression language")
        rows = self.part(loop.iter, scope)
        if not isinstance(rows.type, t.Rows):
            raise ExpressionError(f"'{ast.unparse(loop.iter)}' is {rows.type}, not a table")
        row = loop.target.id
        check_row_name(row, scope)
        inside = scope.with_row(row, rows.type.field)
        self._walked.add(row)
        asked = [self._condition(test, inside) for test in loop.ifs]
        kind: t.Type = t.YesNo()
        if name == "sum":
            number = self._number(inner.elt, inside)
            kind, each = number.type, number.code
        else:
            each = self._condition(inner.elt, inside)
        self._walked.remove(row)
        of_row = [code.of_row(row, body) for body in (each, *asked)]
        return _Part(kind, code.call(_WALKS[name], rows.code, *of_row), is_truth=name != "sum")

    def _length(self, inner: ast.expr, scope: Scope) -> _Part:
        part = self.part(inner, scope)
        if not isinstance(part.type, t.Rows | t.Choices):
            raise ExpressionError(f"'{ast.unparse(inner)}' is {part.type}: it has no length")
        return _Part(t.Number(""), code.call("lifted", code.name("length"), part.code))


def _truth(made: ast.expr) -> _Part:
    return _Part(t.YesNo(), made, is_truth=True)


def _dotted(node: ast.expr) -> tuple[str, ...] | None:
    words: list[str] = []
    while isinstance(node, ast.Attribute):
        words.append(node.attr)
        node = node.value
    if not isinstance(node, ast.Name):
        return None
    return (node.id, *reversed(words))


def _read(found: Field, kind: t.Type) -> ast.expr:
    """What the case holds for a field that stands alone."""
    if found is TEXTS:
        return code.texts()
    if found.kind == "rows":
        return code.look_up("rows", code.plain(found.path))
    return _as_number(code.look_up("values", code.plain(found.path)), kind)


def _read_column(row: ast.expr, is_there: bool, column: Field, kind: t.Type) -> ast.expr:
    """What the case holds in a column; `is_there` for a row that no reference may have missed."""
    if column.table == TEXTS.path:
        return code.text_column(row, column.name)
    if not is_there:
        table, name = code.plain(column.table), code.plain(column.name)
        return code.call("column", code.name("v"), table, row, name)
    path = code.path_in(column.table, row, column.name)
    return _as_number(code.look_up("values", path), kind)


def _as_number(value: ast.expr, kind: t.Type) -> ast.expr:
    """Only a number can be a quantity, whose unit arithmetic leaves out."""
    return code.call("bare", value) if isinstance(kind, t.Number) else value


def _unit_of_result(mark: str, left: t.Type, right: t.Type, source: str) -> str | None:
    a = left.unit if isinstance(left, t.Number) else None
    b = right.unit if isinstance(right, t.Number) else None
    if mark in "+-":
        if a and b and a != b:
            raise ExpressionError(f"'{source}' mixes {a} and {b}", "convert one of them first")
        return a or b
    if mark == "/" and a and a == b:
        return ""
    return (a or b) if not (a and b) else None


def check_comparison(mark: str, left: tuple[t.Type, Any], right: tuple[t.Type, Any]) -> None:
    """Refuse a comparison that could never be meant.

    Each side is its type and, for a plain value, that value. Raises: ExpressionError.
    """
    (a, fixed_a), (b, fixed_b) = left, right
    if isinstance(b, t.Choice | t.YesNo) and fixed_b is None and fixed_a is not None:
        a, fixed_a, b, fixed_b = b, fixed_b, a, fixed_a
    if isinstance(a, t.Choice | t.YesNo | t.Text) and mark not in ("==", "!="):
        raise ExpressionError(f"{a} has no order", "compare it with '==' or 'in'")
    if isinstance(a, t.Choice) and isinstance(fixed_b, str):
        if fixed_b not in a.values:
            raise ExpressionError(
                f"'{a.path}' has no option '{fixed_b}'", did_you_mean(fixed_b, a.values)
            )
        return
    if isinstance(a, t.YesNo) and fixed_b is not None:
        if fixed_b is True or fixed_b is False or fixed_b == NOT_EXAMINED:
            return
        raise ExpressionError(
            f"yes or no is compared with {fixed_b!r}",
            f"compare it with true, false or '{NOT_EXAMINED}'",
        )
    if isinstance(a, t.Number) and isinstance(b, t.Number):
        if a.unit and b.unit and a.unit != b.unit:
            raise ExpressionError(
                f"a number of {a.unit} is compared with a number of {b.unit}",
                "convert one of them first",
            )
        return
    if isinstance(a, t.Row) and isinstance(b, t.Row) and mark in ("==", "!="):
        if a.field.path != b.field.path:
            raise ExpressionError(f"{a} is compared with {b}", "compare rows of one table")
        return
    comparable = isinstance(a, t.Text | t.Choice) and isinstance(b, t.Text | t.Choice)
    if mark in ("==", "!=") and comparable:
        return
    if type(a) is type(b) and isinstance(a, t.Date | t.Time | t.DateTime | t.YesNo):
        return
    raise ExpressionError(f"{a} is compared with {b}", "compare like with like")


def check_option(choices: t.Choices, kind: t.Type, constant: Any) -> None:
    """Refuse a value that choices can't hold. Raises: ExpressionError."""
    if isinstance(constant, str) and constant not in choices.values:
        raise ExpressionError(
            f"'{choices.path}' has no option '{constant}'", did_you_mean(constant, choices.values)
        )
    if not isinstance(kind, t.Text | t.Choice):
        raise ExpressionError(f"{kind} can't be one of {choices}")


_RESULTS: Mapping[str, t.Type] = {
    "date": t.Date(),
    "time": t.Time(),
    "text": t.Text(),
    "yes_no": t.YesNo(),
    "number": t.Number(None),
}


def _fits(kind: t.Type, wanted: str) -> bool:
    match wanted:
        case "text":
            return isinstance(kind, t.Text | t.Choice)
        case "date":
            return isinstance(kind, t.Date)
        case "time":
            return isinstance(kind, t.Time)
        case "datetime":
            return isinstance(kind, t.DateTime)
        case "yes_no":
            return isinstance(kind, t.YesNo)
        case _:
            return isinstance(kind, t.Number) and (
                wanted == "number" or not kind.unit or kind.unit == wanted
            )


def _result_type(name: str) -> t.Type:
    return _RESULTS.get(name, t.Number(name))
