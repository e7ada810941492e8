"""Reading a case's wordings: parsed, merged, checked against the form, compiled."""

from __future__ import annotations

from dataclasses import replace

from jinja2 import Environment

from opnote.pack.build import wording_fields
from opnote.pack.draft import Draft
from opnote.pack.files import COMMON, Files
from opnote.pack.form import Place
from opnote.pack.pack import DOCUMENTS
from opnote.pack.problem import PackError, Problem
from opnote.pack.wording import (
    Source,
    compile_wording,
    merge,
    parse_wording,
    wording_environment,
)
from opnote.pack.wording_check import check_text, check_wording


def read_wordings(draft: Draft, files: Files) -> None:
    """Add the compiled wordings of all documents to a draft, and what is wrong with them.

    Both directions are checked: a wording names only what the form has, and every field of the
    form is said by a document or declared silent.
    """
    environment = wording_environment()
    fields = wording_fields(draft)
    reader = _Reader(draft, files, environment)
    phrases = [
        source
        for folder in (COMMON, *draft.procedures)
        if (source := reader.source(f"templates/{folder}/phrases.md", optional=True))
    ]
    said: set[str] = set()
    for document in DOCUMENTS:
        skeleton = reader.source(f"templates/{COMMON}/{document}.md", optional=False)
        parts = [
            source
            for procedure in draft.procedures
            if (source := reader.source(f"templates/{procedure}/{document}.md", optional=True))
        ]
        if skeleton is None:
            continue
        merged, problems = merge(document, skeleton, parts, phrases)
        reader.add(problems)
        found = check_wording(merged, fields, draft.limits, draft.figures)
        reader.add(found.problems)
        said |= found.said
        if not found.problems:
            # A phrase that this document doesn't use was not checked against it.
            used = {name: merged.macros[name] for name in found.used_phrases}
            merged = replace(merged, macros=used)
            draft.wordings[document] = compile_wording(merged, fields, draft.limits, environment)
    if len(draft.wordings) == len(DOCUMENTS) and reader.has_read_all:
        _note_unsaid(draft, said)


class _Reader:
    def __init__(self, draft: Draft, files: Files, environment: Environment) -> None:
        self._draft = draft
        self._files = files
        self._environment = environment
        self.has_read_all = True

    def add(self, problems: list[Problem]) -> None:
        """Note problems and warnings once: phrases are read again for each document."""
        for found in problems:
            noted = self._draft.warnings if found.is_warning else self._draft.problems
            if found not in noted:
                noted.append(found)

    def source(self, name: str, optional: bool) -> Source | None:
        """One wording file, parsed; None when it isn't there or can't be parsed."""
        path = self._files.find(name)
        if path is None:
            if not optional:
                self._draft.problem(Place(name, 1), "the file is missing", "add it")
            return None
        try:
            text = path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError) as error:
            self._draft.problem(Place(name, 1), f"can't be read ({error})", "save it as UTF-8")
            return None
        self.add(list(check_text(name, text)))
        try:
            return parse_wording(name, text, self._environment)
        except PackError as error:
            self.has_read_all = False
            self.add(list(error.problems))
            return None


def _note_unsaid(draft: Draft, said: set[str]) -> None:
    for path, made in draft.fields.items():
        if path not in said and not made.silent and made.kind != "ref":
            draft.problem(
                made.place,
                f"no document says '{path}'",
                'print it in a wording, or give the field a reason: silent = "..."',
            )
