"""Mistakes put into the small pack, and what the check says to them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

import pytest

from opnote.pack.loader import load_pack
from opnote.pack.problem import PackError

Faults: TypeAlias = Callable[..., list[str]]
Line: TypeAlias = Callable[[str, str], int]


@pytest.fixture
def change(mini_folder: Path) -> Callable[[str, str, str], None]:
    """Replace a text that stands once in a file of the small pack."""

    def replace(file: str, old: str, new: str) -> None:
        path = mini_folder / file
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file}"
        path.write_text(text.replace(old, new), encoding="utf-8")

    return replace


@pytest.fixture
def line(mini_folder: Path) -> Line:
    """The line of a file on which a text stands first."""

    def found(file: str, words: str) -> int:
        lines = (mini_folder / file).read_text(encoding="utf-8").split("\n")
        return next(number for number, each in enumerate(lines, start=1) if words in each)

    return found


@pytest.fixture
def problems(mini_folder: Path) -> Callable[[], list[str]]:
    """What the check says to the small pack as it stands now; nothing when it loads."""

    def check() -> list[str]:
        try:
            load_pack(("mini_repair",), [mini_folder])
        except PackError as error:
            return [str(problem) for problem in error.problems]
        return []

    return check


@pytest.fixture
def said(
    change: Callable[[str, str, str], None], line: Line, problems: Callable[[], list[str]]
) -> Callable[..., list[str]]:
    """Make one mistake; gives what is said to it, with the line of `at` written as LINE."""

    def mistake(file: str, old: str, new: str, at: str = "") -> list[str]:
        change(file, old, new)
        number = line(file, at or new.split("\n")[0])
        here = f"{file}:{number}: "
        return [text.replace(here, "LINE: ") for text in problems()]

    return mistake
