"""How each kind of field is answered: one module a kind, made by one function."""

from opnote.desk.editor.editor import Editor
from opnote.desk.editor.make import make_editor

__all__ = ["Editor", "make_editor"]
