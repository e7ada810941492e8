"""The questions of a signed case: they can be read and copied, and show that they are closed.

A click on an answer still asks the session, which refuses it in a line: nothing is silent.
"""

from __future__ import annotations

from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QAbstractButton, QLineEdit, QPlainTextEdit, QWidget

from opnote.desk.editor.option_button import CheckOption, RadioOption
from opnote.desk.rows_table import RowHead

_LOCKED = "locked"
"""Marks what was closed here, and not for a reason of its own."""


def lock(sheet: QWidget, *, is_locked: bool) -> None:
    """Close the questions on a sheet, or open them again."""
    boxes: list[QLineEdit | QPlainTextEdit] = [*sheet.findChildren(QLineEdit)]
    boxes += sheet.findChildren(QPlainTextEdit)
    for box in boxes:
        if box.isReadOnly() is not is_locked and (is_locked or box.property(_LOCKED)):
            box.setReadOnly(is_locked)
            box.setProperty(_LOCKED, is_locked)
    for button in sheet.findChildren(QAbstractButton):
        # Answers stay in the way of Tab, and what unfolds a row only shows more.
        if isinstance(button, RadioOption | CheckOption | RowHead):
            continue
        if is_locked and button.isEnabled():
            button.setEnabled(False)
            button.setProperty(_LOCKED, True)
        elif not is_locked and button.property(_LOCKED):
            button.setEnabled(True)
            button.setProperty(_LOCKED, False)
    sheet.setPalette(_locked_palette(sheet) if is_locked else QPalette())


def _locked_palette(sheet: QWidget) -> QPalette:
    """Boxes without a ground of their own and with faint edges, as on a sheet that is filled in."""
    role = QPalette.ColorRole
    around = sheet.parentWidget()
    usual = (sheet if around is None else around).palette()
    palette = QPalette()
    for ground in (role.Base, role.Button):
        palette.setColor(ground, usual.color(role.AlternateBase))
    palette.setColor(role.Dark, usual.color(role.Midlight))
    return palette
