"""A picture: chosen, pasted or dropped, looked at, and cut where a name is burnt in."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QFileDialog, QLabel, QSizePolicy, QVBoxLayout, QWidget

from opnote.archive.folder import ArchiveError
from opnote.desk.crop_surface import CropSurface
from opnote.desk.editor.editor import Editor, Surroundings
from opnote.desk.flow import FlowLayout
from opnote.desk.passing_button import PassingButton
from opnote.desk.photograph import (
    FILTER,
    PictureRefused,
    cut_to,
    image_of,
    taken_in,
)
from opnote.desk.picture_offers import NOTHING_OFFERED, PictureOffers, WrongLines
from opnote.desk.picture_window import PictureWindow
from opnote.pack.form import Field
from opnote.record import UNSET, Unset, Value

_MOST: Final = QSize(420, 232)
_LETTERS: Final = 12
_CHOOSE: Final = "Choose a file\N{HORIZONTAL ELLIPSIS}"
_REPLACE: Final = "Replace\N{HORIZONTAL ELLIPSIS}"
_REMINDER: Final = (
    "A name, number or date may be burnt into the picture: look along its edges. Drag over the "
    "part to keep, or press the arrow keys."
)


class PictureEditor(Editor):
    """Answers a `picture` field: what it holds is the name of the kept file."""

    def __init__(self, field: Field, surroundings: Surroundings, parent: QWidget) -> None:
        super().__init__(field, surroundings, parent)
        self._value: Value | Unset = UNSET
        self._problem = ""
        self._window: PictureWindow | None = None
        self._offers = PictureOffers(self)
        self._offers.came.connect(self._on_came)
        self._offers.refused.connect(self._on_refused)
        self.surface = CropSurface(self, _MOST)
        self.surface.part_changed.connect(self._on_part_changed)
        self._words = QLabel(self)
        self._words.setWordWrap(True)
        self._words.setTextFormat(Qt.TextFormat.PlainText)
        self._choose = self._button(_CHOOSE, self._on_choose)
        self._paste = self._button("Paste", self._offers.paste)
        self._cut = self._button("Keep the marked part", self._on_cut)
        self._whole = self._button("Mark all", self.surface.mark_all)
        self._closer = self._button("Look closer", self._on_look_closer)
        self._wrong = WrongLines(self)
        buttons = QWidget(self)
        row = FlowLayout(buttons, gap=6)
        for button in (self._cut, self._whole, self._closer, self._choose, self._paste):
            row.addWidget(button)
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        buttons.setSizePolicy(policy)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(4)
        column.addWidget(self.surface)
        column.addWidget(self._words)
        column.addWidget(buttons)
        column.addWidget(self._wrong)
        self._show()

    def _button(self, words: str, slot: object) -> PassingButton:
        button = PassingButton(words, self)
        button.clicked.connect(slot)
        return button

    # What every editor can do

    def set_value(self, value: Value | Unset) -> None:
        """Show a picture, unless it is the one that is shown."""
        if value != self._value:
            self._value, self._problem = value, ""
            self._show()

    def set_quiet(self, quiet: bool) -> None:
        """A picture is never preset, so that there is nothing to be quiet about."""

    def set_spoken(self, name: str, description: str) -> None:
        """Give the controls the name and the description that a screen reader says."""
        self.surface.setAccessibleName(f"{name}, shown")
        for button in (self._cut, self._whole, self._closer, self._choose, self._paste):
            button.setAccessibleName(f"{name}: {button.text().rstrip(chr(0x2026)).lower()}")
            button.setAccessibleDescription(description)

    def controls(self) -> Sequence[QWidget]:
        """The widgets that take the focus, in order."""
        return (self.surface, self._cut, self._whole, self._closer, self._choose, self._paste)

    def focus_first(self) -> None:
        """Put the focus on the picture, or where one is chosen."""
        first = self._choose if self.surface.isHidden() else self.surface
        first.setFocus(Qt.FocusReason.TabFocusReason)

    @property
    def problem(self) -> str:
        """Why what was brought in last is not kept; "" when it is."""
        return self._problem

    # Bringing in

    def take(self, offer: Path | QImage) -> None:
        """Keep a picture in place of the one that is shown."""
        try:
            data = taken_in(offer)
        except PictureRefused as refused:
            self._say(str(refused))
            return
        self._keep(data)

    def _on_came(self, offers: Sequence[Path | QImage]) -> None:
        self.take(offers[0])
        if len(offers) > 1 and not self._problem:
            self._say("One picture stands here; add the others with 'Add pictures'.")

    def _on_refused(self) -> None:
        self._say(NOTHING_OFFERED)

    def _keep(self, data: bytes) -> None:
        try:
            name = self.surroundings.pictures().keep(data)
        except ArchiveError as error:
            self._say(str(error))
            return
        self._problem = ""
        if name == self._value:
            self._show()
            return
        self._value = name
        self._show()
        self.focus_first()
        self.value_edited.emit(name)

    def _on_choose(self) -> None:
        chosen, _ = QFileDialog.getOpenFileName(self, "Choose a picture", "", FILTER)
        if chosen:
            self.take(Path(chosen))

    # Cutting

    def _on_part_changed(self) -> None:
        is_cut = self.surface.part is not None
        self._cut.setEnabled(is_cut)
        self._whole.setEnabled(is_cut)

    def _on_cut(self) -> None:
        part = self.surface.part
        if part is not None:
            self.cut(part)

    def cut(self, part: QRect) -> None:
        """Keep a part of the picture only. Units: its pixels."""
        data = self._bytes()
        if data is not None:
            try:
                self._keep(cut_to(data, part))
            except PictureRefused as refused:
                self._say(str(refused))

    def _on_look_closer(self) -> None:
        data = self._bytes()
        if data is None:
            return
        about = ": ".join(filter(None, (self.window().windowTitle(), self.field.label)))
        self._close_window()
        self._window = PictureWindow(image_of(data), about, self)
        self._window.cut_wanted.connect(self.cut)
        self._window.show()
        self._window.surface.setFocus()

    def _close_window(self) -> None:
        if self._window is not None:
            self._window.close()
            self._window.deleteLater()
            self._window = None

    # Showing

    def _bytes(self) -> bytes | None:
        if not isinstance(self._value, str):
            return None
        return self.surroundings.pictures().bytes_of(self._value)

    def _show(self) -> None:
        self._close_window()
        data = self._bytes()
        if data is not None:
            self.surface.show_picture(image_of(data))
            words = _REMINDER
        elif isinstance(self._value, str):
            stem, _, ending = self._value.rpartition(".")
            words = (
                f"This picture is missing: its file {stem[:_LETTERS]}\N{HORIZONTAL ELLIPSIS}"
                f".{ending} is not in the folder 'pictures' beside the case, or is damaged. Put it "
                "back there, or choose the picture again."
            )
        else:
            words = "Drop a picture here, choose a file, or paste it (Ctrl+V)."
        self._words.setText(words)
        for shown in (self.surface, self._cut, self._whole, self._closer):
            shown.setVisible(data is not None)
        # Beside a picture Ctrl+V is enough, and its buttons stay on one line.
        self._paste.setVisible(data is None)
        self._choose.setText(_CHOOSE if data is None else _REPLACE)
        self._on_part_changed()
        self._say(self._problem)

    def _say(self, problem: str) -> None:
        self._problem = problem
        self._wrong.say([problem] if problem else [], (self._choose, self._paste))
