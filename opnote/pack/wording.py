"""Wordings: Markdown with Jinja, merged, made three-valued and compiled.

A document's wording is its common skeleton with the sections that each procedure contributes, and
the shared phrases before it, as one syntax tree. The tree is checked (see `wording_check`), then
rewritten so that every name becomes a call of the Reader, and only then compiled: no Python object
is ever reached by name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from types import CodeType
from typing import Any

from jinja2 import Environment, TemplateSyntaxError, nodes
from jinja2.compiler import CodeGenerator, Frame
from jinja2.ext import Extension
from jinja2.parser import Parser

from opnote.pack.compiled_wording import READER
from opnote.pack.expression import TO_SIGN_ON
from opnote.pack.form import Field, Limit
from opnote.pack.problem import PackError, Problem
from opnote.pack.shown import BLOCK_FILTERS, CUT, SCOPE_END, VALUE_FILTERS

MOST_DEEP = 60
"""Conditions within conditions, and parts of an expression, that a wording may hold."""

COMPARISON_MARKS: Mapping[str, str] = {
    "eq": "==",
    "ne": "!=",
    "lt": "<",
    "lteq": "<=",
    "gt": ">",
    "gteq": ">=",
}


class _SectionTags(Extension):
    """`{% section id %}...{% endsection %}` contributes; `{% sections id %}` places."""

    tags = {"section", "sections"}  # noqa: RUF012 - Jinja declares it so

    def parse(self, parser: Parser) -> nodes.Node:
        tag = next(parser.stream)
        name = parser.stream.expect("name").value
        if tag.value == "sections":
            return marked("place", name, [], tag.lineno)
        body = parser.parse_statements(("name:endsection",), drop_needle=True)
        return marked("section", name, body, tag.lineno)


def marked(kind: str, name: str, body: list[nodes.Node], line: int) -> nodes.Scope:
    """A node of our own: Jinja allows no new node classes, so a Scope carries the mark."""
    scope = nodes.Scope(body, lineno=line)
    scope.mark = (kind, name)  # type: ignore[attr-defined]
    return scope


def mark_of(node: nodes.Node) -> tuple[str, str] | None:
    """The mark of a section node: its kind and id."""
    found: tuple[str, str] | None = getattr(node, "mark", None)
    return found


class _DirectCalls(CodeGenerator):
    """Calls the Reader's methods directly: Jinja's own way round costs more than the work."""

    def visit_Call(self, node: nodes.Call, frame: Frame, forward_caller: bool = False) -> None:
        method = node.node
        if not (
            isinstance(method, nodes.Getattr)
            and isinstance(method.node, nodes.Name)
            and method.node.name == READER
        ):
            super().visit_Call(node, frame, forward_caller=forward_caller)
            return
        self.write(f"{frame.symbols.ref(READER)}.{method.attr}(")
        for argument in node.args:
            self.visit(argument, frame)
            self.write(", ")
        self.write(")")


@cache
def wording_environment() -> Environment:
    """The Jinja environment of wordings: only our filters, no globals, no tests of its own."""
    environment = Environment(
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        autoescape=False,
        extensions=[_SectionTags],
        optimized=False,
    )
    environment.code_generator_class = _DirectCalls
    environment.globals.clear()
    environment.tests.clear()
    environment.filters.clear()
    environment.filters.update({name: work for name, (work, _) in VALUE_FILTERS.items()})
    environment.filters.update(BLOCK_FILTERS)
    return environment


@dataclass(frozen=True, slots=True)
class Source:
    """One wording file: its name in messages, and its syntax tree."""

    name: str
    tree: nodes.Template


def parse_wording(name: str, text: str, environment: Environment) -> Source:
    """Parse one file; every node of the tree remembers the file. Raises: PackError."""
    try:
        tree = environment.parse(text)
    except TemplateSyntaxError as error:
        message = (error.message or "can't be read").rstrip(".")
        raise PackError(
            [Problem(name, error.lineno, f"wording: {message[:1].lower()}{message[1:]}")]
        ) from error
    except RecursionError as error:
        raise _too_deep(name, 1) from error
    level: list[nodes.Node] = [tree]
    for _ in range(MOST_DEEP):
        for node in level:
            node.source_file = name  # type: ignore[attr-defined]
        level = [child for node in level for child in node.iter_child_nodes()]
    if level:
        raise _too_deep(name, level[0].lineno)
    return Source(name, tree)


def _too_deep(name: str, line: int) -> PackError:
    remedy = "make phrases or sections of its parts"
    return PackError([Problem(name, line, "wording: it is nested too deeply", remedy)])


def file_of(node: nodes.Node, default: str = "") -> str:
    """The file that a node was read from."""
    name: str = getattr(node, "source_file", default)
    return name


@dataclass(frozen=True, slots=True)
class Merged:
    """A document's wording as one tree: the phrases it may use, and its body."""

    document: str
    macros: Mapping[str, nodes.Macro]
    body: tuple[nodes.Node, ...]


def merge(
    document: str, skeleton: Source, contributions: Sequence[Source], phrases: Sequence[Source]
) -> tuple[Merged, list[Problem]]:
    """Put the procedures' sections into the skeleton, in the order of the procedures."""
    problems: list[Problem] = []
    macros: dict[str, nodes.Macro] = {}
    for source in phrases:
        for node in source.tree.body:
            if isinstance(node, nodes.Macro):
                if node.name in macros:
                    problems.append(
                        Problem(
                            source.name,
                            node.lineno,
                            f"the phrase '{node.name}' is there twice",
                            "rename one of them",
                        )
                    )
                macros[node.name] = node
            elif not _is_blank(node):
                problems.append(
                    Problem(
                        source.name,
                        _first_line(node),
                        "only phrases may stand here",
                        "put the text into {% macro name() %} ... {% endmacro %}",
                    )
                )
    sections, more = _sections(contributions)
    problems += more
    placed: set[str] = set()
    body = _placed(list(skeleton.tree.body), sections, placed)
    for name, parts in sections.items():
        if name not in placed:
            for part in parts:
                problems.append(
                    Problem(
                        file_of(part),
                        part.lineno,
                        f"the skeleton has no section '{name}'",
                        f"add {{% sections {name} %}} to {skeleton.name}, or rename the section",
                    )
                )
    return Merged(document, macros, tuple(body)), problems


def _sections(
    contributions: Sequence[Source],
) -> tuple[dict[str, list[nodes.Node]], list[Problem]]:
    sections: dict[str, list[nodes.Node]] = {}
    problems = []
    for source in contributions:
        for node in source.tree.body:
            mark = mark_of(node)
            if mark is not None and mark[0] == "section":
                sections.setdefault(mark[1], []).append(node)
            elif not _is_blank(node):
                problems.append(
                    Problem(
                        source.name,
                        _first_line(node),
                        "this text stands outside a section",
                        "put it between {% section id %} and {% endsection %}",
                    )
                )
    return sections, problems


def _placed(
    body: list[nodes.Node], sections: Mapping[str, list[nodes.Node]], placed: set[str]
) -> list[nodes.Node]:
    result: list[nodes.Node] = []
    for node in body:
        mark = mark_of(node)
        if mark is not None and mark[0] == "place":
            placed.add(mark[1])
            for part in sections.get(mark[1], []):
                assert isinstance(part, nodes.Scope)
                result.extend(part.body)
        else:
            # Sections may also stand in a list or a condition: one title of several procedures.
            if isinstance(node, nodes.FilterBlock | nodes.If):
                node.body = _placed(node.body, sections, placed)
            if isinstance(node, nodes.If):
                node.else_ = _placed(node.else_, sections, placed)
                for branch in node.elif_:
                    branch.body = _placed(branch.body, sections, placed)
            result.append(node)
    return result


def _is_blank(node: nodes.Node) -> bool:
    return isinstance(node, nodes.Output) and all(
        isinstance(part, nodes.TemplateData) and not part.data.strip() for part in node.nodes
    )


def _first_line(node: nodes.Node) -> int:
    """The line on which a node's first visible text stands."""
    for data in node.find_all(nodes.TemplateData):
        text = data.data.lstrip()
        if text:
            return data.lineno + data.data.count("\n", 0, len(data.data) - len(text))
    return node.lineno


def compile_wording(
    merged: Merged,
    fields: Mapping[str, Field],
    limits: Mapping[str, Limit],
    environment: Environment,
) -> CodeType:
    """Rewrite a checked wording into calls of the Reader, and compile it."""
    rewriter = _Rewriter(merged, fields, limits)
    body = [*rewriter.macros(), *rewriter.parts(merged.body)]
    tree = nodes.Template(body, lineno=1)
    tree.set_environment(environment)
    source = environment._generate(tree, merged.document, merged.document)
    return environment._compile(source, f"<{merged.document}>")


def _parts(body: Sequence[nodes.Node]) -> list[list[nodes.Node]]:
    """A wording cut at the empty lines that stand in it whatever the case says.

    An empty line ends a paragraph, list or table: what stands before it and behind it can be
    rendered apart. One within a condition or a loop is no place to cut.
    """
    parts: list[list[nodes.Node]] = [[]]
    is_at_start = True
    for node in _pieces(body):
        if not isinstance(node, nodes.TemplateData):
            parts[-1].append(node)
            is_at_start = _ends_line(node, is_at_start)
            continue
        end = 0
        for found in _EMPTY_LINE.finditer(node.data):
            if found.start() == 0 and not (is_at_start or found[0].count("\n") > 1):
                continue  # it ends a line
            parts[-1].append(_text(node.data[end : found.end()]))
            parts.append([])
            end = found.end()
        parts[-1].append(_text(node.data[end:]))
        is_at_start = _ends_line(node, is_at_start)
    return [part for part in parts if part]


def _pieces(body: Sequence[nodes.Node]) -> Iterator[nodes.Node]:
    """The statements of a body; what is printed between them one by one."""
    for node in body:
        if not isinstance(node, nodes.Output):
            yield node
            continue
        for part in node.nodes:
            yield part if isinstance(part, nodes.TemplateData) else nodes.Output([part])


def _ends_line(node: nodes.Node, is_at_start: bool) -> bool:
    """Whether a line begins behind a node in any case, if one begins before it or not."""
    match node:
        case nodes.TemplateData(data=data):
            return data.endswith("\n") or (is_at_start and not data)
        case nodes.If():
            bodies = [node.body, node.else_, *(branch.body for branch in node.elif_)]
            return is_at_start and all(_body_ends_line(inside) for inside in bodies)
        case nodes.For():
            return is_at_start and _body_ends_line(node.body)
        case nodes.FilterBlock():
            return node.filter.name == "sentence"
        case _:
            return False


def _body_ends_line(body: Sequence[nodes.Node]) -> bool:
    is_at_start = True
    for node in _pieces(body):
        is_at_start = _ends_line(node, is_at_start)
    return is_at_start


_EMPTY_LINE = re.compile(r"(?:\A|\n)(?:[ \t]*\n)+")


def _reader_call(method: str, *arguments: nodes.Expr) -> nodes.Call:
    reader = nodes.Name(READER, "load")
    return nodes.Call(nodes.Getattr(reader, method, "load"), list(arguments), [], None, None)


def _text(text: str) -> nodes.Output:
    return nodes.Output([nodes.TemplateData(text)])


class _Rewriter:
    """Turns names, operators and conditions of a wording into calls of the Reader."""

    def __init__(
        self, merged: Merged, fields: Mapping[str, Field], limits: Mapping[str, Limit]
    ) -> None:
        self._merged = merged
        self._fields = fields
        self._limits = limits

    def macros(self) -> list[nodes.Node]:
        result: list[nodes.Node] = []
        for macro in self._merged.macros.values():
            names = frozenset(argument.name for argument in macro.args)
            result.append(
                nodes.Macro(macro.name, macro.args, [], self.body(macro.body, names), lineno=1)
            )
        return result

    def parts(self, body: Sequence[nodes.Node]) -> list[nodes.Node]:
        """The wording in parts, each of which is rendered only if the reader wants it."""
        result: list[nodes.Node] = []
        for number, part in enumerate(_parts(body)):
            inside = self.body(part, frozenset())
            if number:
                inside.insert(0, _text(CUT))
            wanted = _reader_call("wants", nodes.Const(number))
            result.append(nodes.If(wanted, inside, [], [], lineno=1))
        return result

    def body(self, body: Sequence[nodes.Node], names: frozenset[str]) -> list[nodes.Node]:
        return [new for node in body for new in self._statement(node, names)]

    def _statement(self, node: nodes.Node, names: frozenset[str]) -> list[nodes.Node]:
        match node:
            case nodes.Output():
                return [nodes.Output([self._printed(part, names) for part in node.nodes])]
            case nodes.If():
                return self._if(node, names)
            case nodes.For():
                return [self._for(node, names)]
            case nodes.FilterBlock():
                block = nodes.FilterBlock(self.body(node.body, names), node.filter, lineno=1)
                return [block]
        raise AssertionError(f"{node!r} passed the static check")

    def _printed(self, node: nodes.Expr, names: frozenset[str]) -> nodes.Expr:
        if isinstance(node, nodes.TemplateData):
            return node
        if isinstance(node, nodes.Name) and node.name in TO_SIGN_ON and node.name not in names:
            return _reader_call(TO_SIGN_ON[node.name])
        if isinstance(node, nodes.Call):
            arguments = [self._expression(argument, names) for argument in node.args]
            call = nodes.Call(node.node, arguments, [], None, None)
            return _reader_call("phrase", call)
        return _reader_call("printed_as", self._expression(node, names))

    def _if(self, node: nodes.If, names: frozenset[str]) -> list[nodes.Node]:
        """Branches one after the other; each needs the tests before it to be known as false."""
        refused: list[nodes.Expr] = []
        branches: list[tuple[nodes.Expr, list[nodes.Node]]] = []
        for branch in (node, *node.elif_):
            test = self._expression(_expr(branch.test), names)
            branches.append((_all_of([test, *refused]), branch.body))
            refused.append(_reader_call("negated", test))
        if node.else_:
            branches.append((_all_of(refused), node.else_))
        result: list[nodes.Node] = []
        for test, body in reversed(branches):
            inside = [
                nodes.Output([_reader_call("opened")]),
                *self.body(body, names),
                _text(SCOPE_END),
            ]
            result = [
                nodes.Output([_reader_call("fresh")]),
                nodes.If(_reader_call("decide", test), inside, [], result, lineno=1),
            ]
        return result

    def _for(self, node: nodes.For, names: frozenset[str]) -> nodes.For:
        assert isinstance(node.target, nodes.Name)
        row = node.target.name
        words = dotted(node.iter)
        assert words is not None
        if words[0] in names:
            rows = _reader_call("rows_of", self._path(_expr(node.iter), names))
        else:
            rows = _reader_call("rows", nodes.Const(".".join(words)))
        inside = names | {row}
        test = None
        if node.test is not None:
            test = _reader_call("decide", self._expression(_expr(node.test), inside))
        return nodes.For(
            nodes.Name(row, "store"),
            rows,
            self.body(node.body, inside | {"loop"}),
            [],
            test,
            False,
            lineno=1,
        )

    def _expression(self, node: nodes.Expr, names: frozenset[str]) -> nodes.Expr:
        match node:
            case nodes.Const() | nodes.Tuple():
                return node
            case nodes.Name() | nodes.Getattr():
                return self._path(node, names)
            case nodes.Not():
                return _reader_call("negated", self._expression(node.node, names))
            case nodes.And():
                return _reader_call("both", *self._operands(node, names))
            case nodes.Or():
                return _reader_call("either", *self._operands(node, names))
            case nodes.Test():
                assert node.name in ("recorded", "empty", "scanned", "drawn")
                return _reader_call(node.name, self._expression(node.node, names))
            case nodes.Compare():
                return self._comparison(node, names)
            case nodes.CondExpr():
                no: nodes.Expr = nodes.Const("") if node.expr2 is None else node.expr2
                return _reader_call(
                    "chosen",
                    self._expression(node.test, names),
                    self._expression(node.expr1, names),
                    self._expression(no, names),
                )
            case nodes.Filter():
                assert node.node is not None
                inner = self._expression(node.node, names)
                return nodes.Filter(inner, node.name, node.args, [], None, None)
        raise AssertionError(f"{node!r} passed the static check")

    def _operands(self, node: nodes.BinExpr, names: frozenset[str]) -> list[nodes.Expr]:
        return [self._expression(node.left, names), self._expression(node.right, names)]

    def _comparison(self, node: nodes.Compare, names: frozenset[str]) -> nodes.Expr:
        left = self._expression(node.expr, names)
        tests: list[nodes.Expr] = []
        for operand in node.ops:
            right = self._expression(operand.expr, names)
            if operand.op in ("in", "notin"):
                test: nodes.Expr = _reader_call("among", left, right)
                test = test if operand.op == "in" else _reader_call("negated", test)
            else:
                mark = nodes.Const(COMPARISON_MARKS[operand.op])
                test = _reader_call("compare", mark, left, right)
            tests.append(test)
            left = right
        return _all_of(tests)

    def _path(self, node: nodes.Expr, names: frozenset[str]) -> nodes.Expr:
        words = dotted(node)
        assert words is not None
        if words[0] == "loop" and "loop" in names:
            return node
        if words[0] in names:
            result: nodes.Expr = nodes.Name(words[0], "load")
            for word in words[1:]:
                result = _reader_call("part", result, nodes.Const(word))
            return result
        if words[0] == "limit":
            limit = self._limits[words[1]]
            return _reader_call(
                "limit",
                nodes.Const(limit.name),
                nodes.Const(limit.value),
                nodes.Const(limit.unit),
            )
        return _reader_call("leaf", nodes.Const(".".join(words)))


def _all_of(tests: list[nodes.Expr]) -> nodes.Expr:
    return tests[0] if len(tests) == 1 else _reader_call("both", *tests)


def _expr(node: nodes.Node) -> nodes.Expr:
    """Jinja declares tests and iterables as plain nodes; they are always expressions."""
    assert isinstance(node, nodes.Expr)
    return node


def dotted(node: Any) -> tuple[str, ...] | None:
    """The words of a dotted name; None when it is something else."""
    words: list[str] = []
    while isinstance(node, nodes.Getattr):
        words.append(node.attr)
        node = node.node
    return (node.name, *reversed(words)) if isinstance(node, nodes.Name) else None
