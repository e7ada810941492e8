"""The stricter of two recovery plans, one cell at a time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, TypeAlias

Rule: TypeAlias = Literal["less", "more", "first", "last", "shared", "all", "yes", "no"]
"""Which of two answers to one question of a plan is the stricter: the smaller or larger number, the
option that stands first or last in its list, only the choices that both plans have or those of
either, or the answer yes or no."""

RULES_OF_KIND: dict[str, tuple[Rule, ...]] = {
    "quantity": ("less", "more"),
    "integer": ("less", "more"),
    "choice": ("first", "last"),
    "grade": ("first", "last"),
    "choices": ("shared", "all"),
    "yes_no": ("yes", "no"),
}
"""The rules that fit each kind of question."""

Cell: TypeAlias = bool | float | str | tuple[str, ...]
"""One answer of a plan: yes or no, a number, an option, or several options."""


def stricter(rule: Rule, one: Cell, other: Cell, scale: Sequence[str] = ()) -> Cell:
    """Give the stricter of two answers to one question of a recovery plan.

    A plan made of the stricter answers keeps to both plans. Several options come in the order of
    `scale`; there are none when two plans share none.

    Units: numbers in one unit. Shape: `scale` holds the options in the order of their list.
    Raises: ValueError: an option that isn't on the scale, or a rule for another kind of answer.
    Source: repair with ligament surgery: the stricter of two plans in every cell, common practice.

    >>> stricter("first", "partial", "none", ("none", "touch", "partial", "full"))
    'none'
    >>> stricter("less", 90, 120), stricter("more", 16, 12)
    (90, 16)
    """
    match rule, one, other:
        case "less" | "more", int() | float(), int() | float():
            return min(one, other) if rule == "less" else max(one, other)
        case "yes" | "no", bool(), bool():
            return (one or other) if rule == "yes" else (one and other)
        case "first" | "last", str(), str():
            places = {_place(each, scale): each for each in (one, other)}
            return places[min(places) if rule == "first" else max(places)]
        case "shared" | "all", tuple(), tuple():
            kept = set(one) & set(other) if rule == "shared" else {*one, *other}
            return tuple(sorted(kept, key=lambda each: _place(each, scale)))
    raise ValueError(f"'{rule}' can't compare {one!r} and {other!r}")


def _place(option: str, scale: Sequence[str]) -> int:
    if option not in scale:
        raise ValueError(f"'{option}' is none of {', '.join(scale)}")
    return scale.index(option)
