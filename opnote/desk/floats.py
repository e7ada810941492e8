"""What lies above other widgets on purpose, and so is no mistake of the layout."""

from __future__ import annotations

from typing import Final

FLOATS: Final = "floats"
"""The property of such widgets: the hits of a search, for one."""
