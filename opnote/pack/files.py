"""Where a pack's files are: a department's folder stands in front of the shipped one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

COMMON = "common"


def shipped_root() -> Path:
    """The folder that holds the shipped `forms/` and `templates/`."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "shipped"
    return inside if inside.is_dir() else package.parent


def procedures_in(roots: Sequence[Path]) -> tuple[str, ...]:
    """The procedures that these folders know, by name."""
    found = {
        path.parent.name
        for root in roots
        for path in (root / "forms").glob("*/form.toml")
        if path.parent.name != COMMON
    }
    return tuple(sorted(found))


@dataclass(frozen=True, slots=True)
class Files:
    """Pack files over several roots: a department's stand in front of the shipped ones."""

    roots: tuple[Path, ...]

    def find(self, name: str) -> Path | None:
        """The first file of that name."""
        return next((root / name for root in self.roots if (root / name).is_file()), None)

    def all(self, pattern: str) -> list[tuple[str, Path]]:
        """Every file that matches, each name once, sorted by name."""
        found: dict[str, Path] = {}
        for root in self.roots:
            for path in root.glob(pattern):
                found.setdefault(path.relative_to(root).as_posix(), path)
        return sorted(found.items())
