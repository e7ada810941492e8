"""Wording and record make a Document; one small module a format writes it."""

from opnote.compose.compose import Composed, compose, composed

__all__ = ["Composed", "compose", "composed"]
