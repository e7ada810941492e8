"""Wording and record make a Document; one small module a format writes it."""

from opnote.compose.compose import compose

__all__ = ["compose"]
