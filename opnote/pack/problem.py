"""What is wrong in a pack, as a value: collected, never raised one at a time."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One fault or warning in a file of the pack, with its place and the remedy."""

    file: str
    line: int
    message: str
    remedy: str = ""
    is_warning: bool = False

    def __str__(self) -> str:
        said = f"{self.message}; {self.remedy}" if self.remedy else self.message
        kind = "warning: " if self.is_warning else ""
        return f"{self.file}:{self.line}: {kind}{said}"


class PackError(Exception):
    """The pack can't be used; `problems` says why, all of them."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems))
        super().__init__("\n".join(str(problem) for problem in self.problems))


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """A remedy that names the likeliest intended word; the few known words when none is near."""
    words = sorted(set(known))
    near = difflib.get_close_matches(word, words, n=1, cutoff=0.6)
    if near:
        return f"did you mean '{near[0]}'?"
    if 0 < len(words) <= 12:
        return "use one of " + ", ".join(f"'{w}'" for w in words)
    return ""
