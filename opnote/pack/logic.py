"""Three-valued logic: what isn't recorded is neither true nor false.

Expressions and wordings call the same functions, so a check and a sentence never disagree.
"""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable
from typing import Any, TypeAlias

from opnote.record import NOT_EXAMINED, UNSET, Unset

Truth: TypeAlias = bool | Unset
"""True, False, or UNSET for "not known"."""

COMPARISONS: dict[str, Callable[[Any, Any], bool]] = {
    "==": operator.eq,
    "!=": operator.ne,
    "<": operator.lt,
    "<=": operator.le,
    ">": operator.gt,
    ">=": operator.ge,
}


def truth_of(value: Any) -> Truth:
    """A yes_no answer as a condition: "not examined" tells nothing."""
    return UNSET if value is UNSET or value == NOT_EXAMINED else bool(value)


def not3(value: Any) -> Truth:
    """Negation; unknown stays unknown."""
    truth = truth_of(value)
    return UNSET if truth is UNSET else not truth


def all3(values: Iterable[Any]) -> Truth:
    """Conjunction: one false makes it false; otherwise one unknown makes it unknown."""
    unknown = False
    for value in values:
        truth = truth_of(value)
        if truth is False:
            return False
        unknown = unknown or truth is UNSET
    return UNSET if unknown else True


def any3(values: Iterable[Any]) -> Truth:
    """Disjunction: one true makes it true; otherwise one unknown makes it unknown."""
    unknown = False
    for value in values:
        truth = truth_of(value)
        if truth is True:
            return True
        unknown = unknown or truth is UNSET
    return UNSET if unknown else False


def compare3(mark: str, left: Any, right: Any) -> Truth:
    """A comparison; unknown when either side isn't recorded."""
    if isinstance(left, Unset) or isinstance(right, Unset):
        return UNSET
    return bool(COMPARISONS[mark](left, right))


def among3(value: Any, members: Any) -> Truth:
    """Whether a value is one of some; unknown when either isn't recorded."""
    if isinstance(value, Unset) or isinstance(members, Unset):
        return UNSET
    return bool(value in members)
