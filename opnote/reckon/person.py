"""Comparing how people are written."""

from __future__ import annotations

import re

_TITLES = frozenset({"mr", "mrs", "ms", "miss", "mx", "dr", "prof", "professor", "sir", "dame"})


def same_name(one: str, other: str) -> bool:
    """Tell whether two ways of writing a name may be of one person.

    Titles, full stops and case don't matter, and an initial stands for any name that begins with
    it; the last name must be the same.

    Source: common practice.

    >>> same_name("Miss Q. Larkspindle", "Quilla Larkspindle")
    True
    >>> same_name("Miss Q. Larkspindle", "Mr T. Larkspindle")
    False
    """
    first, second = _parts(one), _parts(other)
    if not first or not second or first[-1] != second[-1]:
        return False
    given = zip(first[:-1], second[:-1], strict=False)
    return all(_agree(here, there) for here, there in given)


def _parts(name: str) -> list[str]:
    words = re.findall(r"[^\W\d_][\w'-]*", name.casefold())
    return [word for word in words if word not in _TITLES]


def _agree(one: str, other: str) -> bool:
    shorter, longer = sorted((one, other), key=len)
    return one == other or (len(shorter) == 1 and longer.startswith(shorter))
