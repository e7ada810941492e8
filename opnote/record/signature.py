"""What a signed case holds besides its values: who signed, when, what was sealed, and addenda."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

SIGNATURE: Final = "signature"
ADDENDA: Final = "addenda"
BEGUN: Final = "addendum_begun"
SIGNED_PARTS: Final = (SIGNATURE, ADDENDA, BEGUN)
"""The parts of a case file that come with a signature."""

AUTHOR: Final = "author"
SUPERVISOR: Final = "supervisor"
"""As what a note is signed."""


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature under the note of a case.

    `role` says as what was signed: AUTHOR, SUPERVISOR, or "" for another. `at` knows its offset
    from UTC. `side` is the side as it was entered once more, "" where the form asks for none.
    `put_aside` are the paths that nobody was asked any more and that are no part of what is sealed.
    `note` is the note as it was signed, and `content` the case file's other parts, both as JSON
    text: they are written again as they were read, whatever the forms have become. `changed` names
    what no longer matches its seal; "" while all does.
    """

    by: str
    role: str
    at: datetime
    side: str
    put_aside: tuple[str, ...]
    note: str
    content: str
    seal: str
    changed: str = ""

    @property
    def is_whole(self) -> bool:
        """True while everything that was signed is as it was."""
        return not self.changed


@dataclass(frozen=True, slots=True)
class Addendum:
    """What was added to a signed note; `seal` also covers the seal before it."""

    by: str
    at: datetime
    text: str
    seal: str


@dataclass(frozen=True, slots=True)
class BegunAddendum:
    """An addendum that is still being written: no part of the note."""

    by: str = ""
    text: str = ""
