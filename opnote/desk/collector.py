"""Python's search for unreachable objects, kept out of the way of the first page and of keys.

Starting makes some hundred thousand objects that stay: forms, wordings, widgets. To look through
them again and again costs a tenth of the time to the first page, and later a hitch at some key.
"""

from __future__ import annotations

import gc


def hold_collector() -> None:
    """The window is being started: nothing that is made now goes again."""
    gc.disable()


def release_collector() -> None:
    """The first page is on screen: from now on look through what is made later."""
    if not gc.isenabled():
        gc.freeze()
        gc.enable()
