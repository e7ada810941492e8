"""The static check of wordings: every name, option, filter, phrase and loop against the form.

The tree is walked with the type of every name; a phrase is walked again for each call with the
types of its arguments. The walk also collects the fields that the document says.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from jinja2 import nodes

from opnote.pack import type as t
from opnote.pack.expression import (
    RESERVED,
    TO_SIGN_ON,
    ExpressionError,
    check_comparison,
    check_option,
)
from opnote.pack.form import Field, FigureUse, Limit
from opnote.pack.problem import Problem, did_you_mean
from opnote.pack.shown import BLOCK_FILTERS, FIRST_VALUE, VALUE_FILTERS
from opnote.pack.wording import COMPARISON_MARKS, Merged, dotted, file_of, mark_of

FIGURE_LINE = re.compile(r"!\[\]\(figure:([a-z0-9_]*)\)")
_DIGIT = re.compile(r"\d")
# The mark of a numbered list, and names: of figures and of the code sets.
_ALLOWED_DIGITS = re.compile(r"(?m)^\s*1\. |figure:[a-z0-9_]+|ICD-10(-CM|-PCS)?\b|OPCS-4\b")
_LOOP_PARTS = ("first", "last", "index")
_TESTS = ("recorded", "empty", "scanned", "drawn")
_FILTER_WANTS: Mapping[str, type | tuple[type, ...]] = {
    "number": t.Number,
    "words": t.Number,
    "counted": t.Number,
    "plural_of": t.Number,
    "weekday": (t.Date, t.DateTime),
    "any_of": t.Choices,
    "any_of_but": t.Choices,
}
_TAGS: Mapping[str, str] = {
    "Assign": "set",
    "AssignBlock": "set",
    "CallBlock": "call",
    "FromImport": "import",
}
"""How a tag is written, where Jinja's name of its node is another."""
_MOST_CALLS_DEEP = 20


@dataclass(frozen=True, slots=True)
class _Kind:
    """The type of a name in a wording: a value's, or that of the loop's own parts."""

    type: t.Type
    constant: Any = None
    paths: frozenset[str] = frozenset()
    is_condition: bool = False


@dataclass(slots=True)
class WordingCheck:
    """What the walk found."""

    fields: Mapping[str, Field]
    limits: Mapping[str, Limit]
    figures: Mapping[str, FigureUse]
    problems: list[Problem] = field(default_factory=list)
    said: set[str] = field(default_factory=set)
    used_phrases: set[str] = field(default_factory=set)


def check_wording(
    merged: Merged,
    fields: Mapping[str, Field],
    limits: Mapping[str, Limit],
    figures: Mapping[str, FigureUse],
) -> WordingCheck:
    """Walk one document's wording; problems carry file and line."""
    check = WordingCheck(fields, limits, figures)
    walker = _Walker(merged, check)
    for macro in merged.macros.values():
        walker.declared(macro)
    walker.body(merged.body, {}, ())
    return check


STYLES = ("caution", "source", "lead", "subject", "author", "running")
"""What a `:::` line may name; subject, author and running don't stand among the blocks."""


_TAG = re.compile(r"\{%.*?%\}|\{\{.*?\}\}|\{#.*?#\}")
_NEXT_SENTENCE = re.compile(r"[a-z)\x00][.?!] +[A-Z\x00]")


def _holds_two_sentences(line: str) -> bool:
    """Whether two sentences stand on a line, which goes as a whole when a value is missing.

    A cell of a table may hold several, and so may what a condition on the line chooses between.
    """
    if line.lstrip().startswith(("|", "#", "{")) or "{%" in line:
        return False
    return bool(_NEXT_SENTENCE.search(_TAG.sub("\x00", line)))


def check_text(name: str, text: str) -> Iterator[Problem]:
    """What can be seen in the text of a file without its tree."""
    for number, line in enumerate(text.split("\n"), start=1):
        style = line.strip().removeprefix(":::").strip()
        if line.strip().startswith(":::") and style and style not in STYLES:
            yield Problem(name, number, f"unknown style '{style}'", did_you_mean(style, STYLES))
        if _holds_two_sentences(line):
            yield Problem(
                name,
                number,
                "two sentences stand on one line, and go together when a value is missing",
                "give each a line of its own",
                is_warning=True,
            )
        if any(ord(mark) >= FIRST_VALUE for mark in line):
            yield Problem(
                name, number, "a private-use character stands in the wording", "delete it"
            )


class _Stop(Exception):
    """One problem in an expression; the walk goes on with the next node."""

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


Names = Mapping[str, _Kind | None]
"""The local names: rows in hand and arguments of phrases; None for `loop`."""


class _Walker:
    def __init__(self, merged: Merged, check: WordingCheck) -> None:
        self._merged = merged
        self._check = check

    def declared(self, macro: nodes.Macro) -> None:
        """A phrase as it is declared: plain arguments only, and no digits even when unused."""
        if macro.defaults:
            self._problem(
                macro,
                f"the phrase '{macro.name}' gives a value a default",
                "give every value where the phrase is used",
            )
        if not macro.name.isidentifier() or macro.name.endswith("_"):
            self._problem(
                macro, f"'{macro.name}' is no name for a phrase", "use words joined by '_'"
            )
        names = [argument.name for argument in macro.args]
        for name in names:
            if name in RESERVED or name.endswith("_") or names.count(name) > 1:
                self._problem(
                    macro,
                    f"the phrase '{macro.name}' can't call a value '{name}'",
                    "call it otherwise",
                )
        for data in macro.find_all(nodes.TemplateData):
            self._data(data)

    def body(self, body: Sequence[nodes.Node], names: Names, calls: tuple[nodes.Call, ...]) -> bool:
        """Walk some nodes; True when they print anything."""
        prints = False
        for node in body:
            try:
                prints = self._statement(node, names, calls) or prints
            except (_Stop, ExpressionError) as stop:
                self._problem(node, stop.message, stop.remedy, calls)
        return prints

    def _statement(self, node: nodes.Node, names: Names, calls: tuple[nodes.Call, ...]) -> bool:
        match node:
            case nodes.Output():
                return self._output(node, names, calls)
            case nodes.If():
                return self._if(node, names, calls)
            case nodes.For():
                return self._for(node, names, calls)
            case nodes.FilterBlock():
                return self._block(node, names, calls)
            case nodes.Macro():
                raise _Stop(
                    f"the phrase '{node.name}' is declared in a document",
                    "move it to phrases.md",
                )
        mark = mark_of(node)
        if mark is not None:
            raise _Stop(f"the section '{mark[1]}' stands inside something else", "move it out")
        kind = type(node).__name__
        tag = _TAGS.get(kind, kind.lower())
        raise _Stop(
            f"'{tag}' is not part of the language of wordings",
            "see forms/README.md, section Wordings",
        )

    def _output(self, node: nodes.Output, names: Names, calls: tuple[nodes.Call, ...]) -> bool:
        prints = False
        for index, part in enumerate(node.nodes):
            if isinstance(part, nodes.TemplateData):
                if not calls:
                    self._data(part)
                prints = prints or bool(part.data.strip())
                continue
            prints = True
            try:
                self._printed(part, names, calls)
                self._stands_alone(node, index, names)
            except (_Stop, ExpressionError) as stop:
                self._problem(part, stop.message, stop.remedy, calls)
        return prints

    def _data(self, part: nodes.TemplateData) -> None:
        """The wording's own words: no number of their own, and only figures that exist."""
        kept = _ALLOWED_DIGITS.sub(lambda found: re.sub(r"\d", "n", found[0]), part.data)
        digit = _DIGIT.search(kept)
        if digit is not None:
            self._problem(
                part,
                f"the number '{_number_at(kept, digit.start())}' stands in the wording",
                "take it from a field, a limit or the risk data",
                line=part.lineno + kept.count("\n", 0, digit.start()),
            )
        for found in FIGURE_LINE.finditer(part.data):
            line = part.lineno + part.data.count("\n", 0, found.start())
            use = self._check.figures.get(found[1])
            if use is None:
                self._problem(
                    part,
                    f"unknown figure '{found[1]}'",
                    did_you_mean(found[1], self._check.figures),
                    line=line,
                )
            else:
                self._check.said.update(use.uses.values())

    def _printed(self, node: nodes.Expr, names: Names, calls: tuple[nodes.Call, ...]) -> None:
        if isinstance(node, nodes.Name) and node.name in TO_SIGN_ON and node.name not in names:
            return
        if isinstance(node, nodes.Call):
            self._phrase(node, names, calls)
            return
        self._check.said |= self._kind(node, names).paths
        self._printable(node, names)

    def _stands_alone(self, line: nodes.Output, index: int, names: Names) -> None:
        """A picture has a line of its own, and what follows it is its caption."""
        part = line.nodes[index]
        if isinstance(part, nodes.Filter) and part.node is not None:
            if isinstance(self._kind(part.node, names).type, t.Picture):
                raise _Stop("a picture can't be filtered", "print it as it is")
            return
        # Only the column of a row in hand can be a picture.
        if not isinstance(part, nodes.Getattr) or not isinstance(
            self._kind(part, names).type, t.Picture
        ):
            return
        before = line.nodes[index - 1] if index else None
        after = line.nodes[index + 1] if index + 1 < len(line.nodes) else None
        if not (
            (
                before is None
                or (isinstance(before, nodes.TemplateData) and before.data[-1:] == "\n")
            )
            and isinstance(after, nodes.TemplateData)
            and after.data[:1] == "\n"
        ):
            raise _Stop(
                "a picture stands in a sentence",
                "give it a line of its own; the lines under it are its caption",
            )

    def _printable(self, node: nodes.Expr, names: Names) -> None:
        """Refuse what is no value of the case: a row, a condition, a number of the wording's own.

        Both answers of a condition and what stands before a filter are looked at as well.
        """
        if isinstance(node, nodes.CondExpr):
            for answer in (node.expr1, node.expr2):
                if answer is not None:
                    self._printable(answer, names)
            return
        if isinstance(node, nodes.Filter) and node.node is not None:
            self._printable(node.node, names)
            return
        kind = self._kind(node, names)
        if kind.is_condition:
            raise _Stop("a condition can't be printed", "write {% if ... %} words {% endif %}")
        if kind.constant is not None and _DIGIT.search(str(kind.constant)):
            raise _Stop(
                f"the number '{kind.constant}' stands in the wording",
                "take it from a field, a limit or the risk data",
            )

    def _phrase(self, node: nodes.Call, names: Names, calls: tuple[nodes.Call, ...]) -> None:
        if not isinstance(node.node, nodes.Name):
            raise _Stop("only phrases can be called", "see forms/README.md, section Wordings")
        name = node.node.name
        macro = self._merged.macros.get(name)
        if macro is None:
            raise _Stop(f"unknown phrase '{name}'", did_you_mean(name, self._merged.macros))
        if node.kwargs or node.dyn_args or node.dyn_kwargs or len(node.args) != len(macro.args):
            wanted = ", ".join(argument.name for argument in macro.args)
            raise _Stop(
                f"the phrase '{name}' takes {len(macro.args)} values, not {len(node.args)}",
                f"write {name}({wanted})",
            )
        if any(call.node.name == name for call in calls if isinstance(call.node, nodes.Name)):
            raise _Stop(f"the phrase '{name}' uses itself, without end")
        if len(calls) >= _MOST_CALLS_DEEP:
            raise _Stop("phrases call phrases too deeply")
        self._check.used_phrases.add(name)
        given = {
            parameter.name: self._kind(argument, names)
            for parameter, argument in zip(macro.args, node.args, strict=True)
        }
        self.body(macro.body, given, (*calls, node))

    def _if(self, node: nodes.If, names: Names, calls: tuple[nodes.Call, ...]) -> bool:
        prints = False
        for branch in (node, *node.elif_):
            paths: frozenset[str] = frozenset()
            try:
                paths = self._condition(branch.test, names)
            except (_Stop, ExpressionError) as stop:
                self._problem(branch, stop.message, stop.remedy, calls)
            if self.body(branch.body, names, calls):
                prints = True
                self._check.said |= paths
        if node.else_:
            prints = self.body(node.else_, names, calls) or prints
            if prints:
                self._check.said |= self._deciding(node, names)
        return prints

    def _deciding(self, node: nodes.If, names: Names) -> frozenset[str]:
        paths: frozenset[str] = frozenset()
        for branch in (node, *node.elif_):
            try:
                paths |= self._condition(branch.test, names)
            except (_Stop, ExpressionError):
                continue
        return paths

    def _for(self, node: nodes.For, names: Names, calls: tuple[nodes.Call, ...]) -> bool:
        if not isinstance(node.target, nodes.Name):
            raise _Stop("a loop takes one row at a time", "write {% for row in rows %}")
        if node.else_ or node.recursive:
            raise _Stop(
                "a loop has no 'else' and doesn't call itself",
                "ask {% if rows is empty %} before it",
            )
        kind = self._kind(node.iter, names)
        if not isinstance(kind.type, t.Rows):
            raise _Stop(f"{kind.type} has no rows to walk", "walk a table of the form")
        row = node.target.name
        taken = (self._check.fields, self._merged.macros, names, RESERVED)
        if any(row in words for words in taken) or row.endswith("_"):
            raise _Stop(f"the row name '{row}' is taken", "call the row otherwise")
        inside: dict[str, _Kind | None] = {
            **names,
            row: _Kind(t.Row(kind.type.field)),
            "loop": None,
        }
        paths = kind.paths
        if node.test is not None:
            paths |= self._condition(node.test, inside)
        prints = self.body(node.body, inside, calls)
        if prints:
            self._check.said |= paths
        return prints

    def _block(self, node: nodes.FilterBlock, names: Names, calls: tuple[nodes.Call, ...]) -> bool:
        if node.filter.node is not None:
            raise _Stop("a block has one filter", "take the others away")
        if node.filter.name not in BLOCK_FILTERS or node.filter.args or node.filter.kwargs:
            raise _Stop(
                f"unknown block filter '{node.filter.name}'",
                did_you_mean(node.filter.name, BLOCK_FILTERS),
            )
        return self.body(node.body, names, calls)

    # Expressions

    def _condition(self, node: nodes.Node, names: Names) -> frozenset[str]:
        kind = self._kind(node, names)
        if not isinstance(kind.type, t.YesNo):
            raise _Stop(f"{kind.type} is no condition", "compare it, or ask 'is recorded'")
        return kind.paths

    def _kind(self, node: nodes.Node, names: Names) -> _Kind:
        match node:
            case nodes.Const(value=value):
                return _constant(value)
            case nodes.Name() | nodes.Getattr():
                return self._path(node, names)
            case nodes.Not():
                return _Kind(t.YesNo(), None, self._condition(node.node, names), True)
            case nodes.And() | nodes.Or():
                left = self._condition(node.left, names)
                right = self._condition(node.right, names)
                return _Kind(t.YesNo(), None, left | right, True)
            case nodes.Test():
                return self._test(node, names)
            case nodes.Compare():
                return self._comparison(node, names)
            case nodes.CondExpr():
                return self._conditional(node, names)
            case nodes.Filter():
                return self._filter(node, names)
            case nodes.Concat():
                raise _Stop(
                    "'~' would lose the fields of its values", "write them one after the other"
                )
            case nodes.BinExpr() | nodes.UnaryExpr():
                raise _Stop("a wording does no arithmetic", "declare a computed field in the form")
            case nodes.Getitem():
                raise _Stop("a wording has no [ ]", "name the field, or walk the table")
            case nodes.Call(node=nodes.Name(name=name)) if name not in self._merged.macros:
                raise _Stop(f"unknown phrase '{name}'", did_you_mean(name, self._merged.macros))
            case nodes.Call():
                raise _Stop("a phrase stands alone in {{ }}", "take what is around it away")
        raise _Stop(f"'{type(node).__name__.lower()}' is not part of the language of wordings")

    def _path(self, node: nodes.Node, names: Names) -> _Kind:
        words = dotted(node)
        if words is None:
            raise _Stop("only the name of a field can stand before a dot")
        name = ".".join(words)
        if words[0] in names:
            return self._local(words, names)
        if words[0] == "limit":
            limit = self._check.limits.get(words[1]) if len(words) == 2 else None
            if limit is None:
                known = [f"limit.{other}" for other in self._check.limits]
                raise _Stop(f"unknown limit '{name}'", did_you_mean(name, known))
            return _Kind(t.Number(limit.unit))
        found = self._check.fields.get(name)
        if found is None or found.table:
            known = [p for p, f in self._check.fields.items() if not f.table]
            known += list(names)
            raise _Stop(f"unknown field '{name}'", did_you_mean(name, known))
        return _Kind(t.type_of(found, self._check.fields), paths=frozenset({name}))

    def _local(self, words: tuple[str, ...], names: Names) -> _Kind:
        kind = names[words[0]]
        if kind is None:
            if len(words) == 2 and words[1] in _LOOP_PARTS:
                if words[1] == "index":
                    return _Kind(t.Number(""))
                return _Kind(t.YesNo(), is_condition=True)
            raise _Stop(
                f"unknown part of the loop '{'.'.join(words)}'",
                did_you_mean(words[-1], _LOOP_PARTS),
            )
        if len(words) == 1:
            return kind
        paths = kind.paths
        for index, word in enumerate(words[1:], start=2):
            if not isinstance(kind.type, t.Row):
                raise _Stop(f"unknown field '{'.'.join(words[:index])}': {kind.type} has no parts")
            column = next((c for c in kind.type.field.columns if c.name == word), None)
            if column is None:
                known = [".".join((*words[: index - 1], c.name)) for c in kind.type.field.columns]
                wrong = ".".join(words[:index])
                raise _Stop(f"unknown field '{wrong}'", did_you_mean(wrong, known))
            paths |= {column.path}
            kind = _Kind(t.type_of(column, self._check.fields))
        return _Kind(kind.type, paths=paths)

    def _test(self, node: nodes.Test, names: Names) -> _Kind:
        if node.name not in _TESTS or node.args or node.kwargs:
            raise _Stop(f"unknown test 'is {node.name}'", did_you_mean(node.name, _TESTS))
        kind = self._kind(node.node, names)
        if node.name == "empty" and not isinstance(kind.type, t.Rows | t.Choices):
            raise _Stop(f"{kind.type} is never empty", "ask 'is recorded'")
        return _Kind(t.YesNo(), None, kind.paths, True)

    def _comparison(self, node: nodes.Compare, names: Names) -> _Kind:
        left = self._kind(node.expr, names)
        paths = left.paths
        for operand in node.ops:
            if operand.op in ("in", "notin"):
                paths |= self._membership(left, operand.expr, names)
                continue
            right = self._kind(operand.expr, names)
            mark = COMPARISON_MARKS[operand.op]
            check_comparison(mark, (left.type, left.constant), (right.type, right.constant))
            paths |= right.paths
            left = right
        return _Kind(t.YesNo(), None, paths, True)

    def _membership(self, left: _Kind, node: nodes.Expr, names: Names) -> frozenset[str]:
        if isinstance(node, nodes.Tuple):
            for item in node.items:
                if not isinstance(item, nodes.Const):
                    raise _Stop("only plain values can stand in the brackets after 'in'")
                member = _constant(item.value)
                check_comparison("==", (left.type, left.constant), (member.type, member.constant))
            return frozenset()
        right = self._kind(node, names)
        if not isinstance(right.type, t.Choices):
            raise _Stop(
                f"nothing can be in {right.type}", "write 'in' before choices or ('a', 'b')"
            )
        check_option(right.type, left.type, left.constant)
        return right.paths

    def _conditional(self, node: nodes.CondExpr, names: Names) -> _Kind:
        paths = self._condition(node.test, names)
        yes = self._kind(node.expr1, names)
        paths |= yes.paths
        if node.expr2 is not None:
            paths |= self._kind(node.expr2, names).paths
        return _Kind(t.Text(), None, paths)

    def _filter(self, node: nodes.Filter, names: Names) -> _Kind:
        known = VALUE_FILTERS.get(node.name)
        if known is None:
            raise _Stop(f"unknown filter '{node.name}'", did_you_mean(node.name, VALUE_FILTERS))
        takes = known[1]
        fits = bool(node.args) if takes is None else len(node.args) == takes
        if not fits or node.kwargs or node.dyn_args or node.dyn_kwargs:
            wanted = "one or more" if takes is None else takes
            raise _Stop(f"the filter '{node.name}' takes {wanted} words, not {len(node.args)}")
        for argument in node.args:
            if not (isinstance(argument, nodes.Const) and isinstance(argument.value, str)):
                raise _Stop(f"the filter '{node.name}' takes words in quotes")
            if _DIGIT.search(argument.value):
                raise _Stop(
                    f"the number '{argument.value}' stands in the wording",
                    "take it from a field, a limit or the risk data",
                )
        if node.node is None or isinstance(node.node, nodes.Call):
            raise _Stop(f"the filter '{node.name}' takes the value of a field")
        kind = self._kind(node.node, names)
        wants = _FILTER_WANTS.get(node.name)
        if wants is not None and not isinstance(kind.type, wants):
            raise _Stop(f"the filter '{node.name}' can't be used on {kind.type}")
        if isinstance(kind.type, t.Row | t.Rows):
            raise _Stop(f"the filter '{node.name}' can't be used on {kind.type}")
        return _Kind(t.Text(), paths=kind.paths)

    def _problem(
        self,
        node: nodes.Node,
        message: str,
        remedy: str = "",
        calls: tuple[nodes.Call, ...] = (),
        line: int | None = None,
    ) -> None:
        if calls:
            call = calls[-1]
            message = f"{message} (in the phrase used at {file_of(call)}:{call.lineno})"
        found = Problem(
            file_of(node, self._merged.document), line or node.lineno or 1, message, remedy
        )
        if found not in self._check.problems:
            self._check.problems.append(found)


def _constant(value: Any) -> _Kind:
    if isinstance(value, bool):
        return _Kind(t.YesNo(), value, is_condition=True)
    if isinstance(value, int | float):
        # None and one are grammar; any other number is a threshold.
        if value not in (0, 1):
            raise _Stop(
                f"the number '{value}' stands in the wording",
                "take it from a field, a limit or the risk data",
            )
        return _Kind(t.Number(None), value)
    if isinstance(value, str):
        return _Kind(t.Text(), value)
    raise _Stop(f"{value!r} is not part of the language of wordings")


def _number_at(text: str, start: int) -> str:
    found = re.compile(r"[\d.,]*\d").match(text, start)
    return found[0] if found else text[start]
