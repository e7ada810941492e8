"""Wording and record make a Document; one small module a format writes it."""
