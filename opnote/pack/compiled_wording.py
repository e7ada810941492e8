"""The compiled wording of a document; Jinja is loaded when the first one is rendered."""

from __future__ import annotations

import marshal
from collections.abc import Callable
from dataclasses import dataclass
from types import CodeType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from opnote.pack.shown import Reader

READER = "reader_"
"""The one name in a compiled wording; no form path can end in an underscore."""


@dataclass(frozen=True, slots=True)
class Wording:
    """A compiled wording of one document."""

    document: str
    code: CodeType

    def render(self, reader: Reader) -> str:
        """The Markdown of a case, each value an opaque character of the reader's table."""
        from opnote.pack.wording import wording_environment

        environment = wording_environment()
        template = environment.template_class.from_code(environment, self.code, {})
        return template.render({READER: reader})

    def __reduce__(self) -> tuple[Callable[..., Wording], tuple[object, ...]]:
        return _from_kept, (self.document, marshal.dumps(self.code))


def _from_kept(document: str, code: bytes) -> Wording:
    return Wording(document, marshal.loads(code))
