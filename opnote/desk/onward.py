"""Where a case goes on: the next question that must be answered, the next page with work. No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from opnote.desk.session import State
    from opnote.record import Record

PageOf = Callable[[str], str]
"""The id of the page that a path stands on."""

AFTER_ROWS: Final = "/"
"""Behind the path of a table: the place below its last row, where another row is added."""

KEYS: Final = "F8"


def to_answer(state: State) -> frozenset[str]:
    """What must be answered and is not; what can only be known later, or be confirmed, is not."""
    record, view = state.record, state.view
    return frozenset(
        path
        for finding in state.assessment.open
        if finding.level == "gap" and not finding.id.startswith(("confirm:", "leftover:"))
        for path in finding.fields
        if path not in record.values
        and path not in record.rows
        and path not in record.unanswered
        and not view.is_hidden(path)
    )


def to_confirm(state: State, page_of: PageOf, page: str) -> list[str]:
    """The values of a page that came from elsewhere and that nobody has confirmed."""
    record, values = state.record, state.view.values
    return [
        path
        for path in record.origins
        if record.is_unconfirmed(path) and path in values and page_of(path) == page
    ]


def next_to_answer(state: State, page_of: PageOf, after: str, within: str = "") -> str | None:
    """The next path on the page of `after` that must be answered; None when there is none.

    `within` is a table, to look no further than its rows.
    """
    wanted = to_answer(state)
    return next(
        (
            path
            for path in _following(state, page_of, after)
            if (path in wanted or _scan_answers(state, path, wanted))
            and path.startswith(f"{within}." if within else "")
        ),
        None,
    )


def _scan_answers(state: State, path: str, wanted: frozenset[str]) -> bool:
    """True for an empty scan whose label would answer what is asked in its row."""
    row = path.rpartition(".")[0]
    fills = state.view.concrete[path].fills
    return path not in state.record.values and any(f"{row}.{f.name}" in wanted for f, _ in fills)


def _following(state: State, page_of: PageOf, after: str) -> Iterator[str]:
    """The paths of a page below one, in the order of the form; rows in that of their table."""
    table = after.removesuffix(AFTER_ROWS)
    page = page_of(table)
    is_past = False
    for path in state.view.concrete:
        if page_of(path) != page:
            continue
        if after.endswith(AFTER_ROWS):
            if is_past and not path.startswith(f"{table}."):
                yield path
            is_past = is_past or path == table
        elif is_past:
            yield path
        else:
            is_past = path == after


def first_to_answer(state: State, page_of: PageOf, page: str) -> str | None:
    """The first path of a page that must be answered; None when there is none."""
    wanted = to_answer(state)
    return next((p for p in state.view.concrete if p in wanted and page_of(p) == page), None)


def next_page(state: State, page_of: PageOf, pages: Sequence[str], page: str) -> str | None:
    """The next page, from one on and round, that asks something or has something to confirm."""
    at = pages.index(page) if page in pages else -1
    wanted = {page_of(path) for path in to_answer(state)}
    return next(
        (
            each
            for each in (*pages[at + 1 :], *pages[: at + 1])
            if each in wanted or to_confirm(state, page_of, each)
        ),
        None,
    )


def came_from_elsewhere(old: Record, new: Record) -> set[str]:
    """What a change has filled that no person typed: nobody has seen it yet, wherever it stands."""
    return {path for path in new.origins if new.values.get(path) is not old.values.get(path)}
