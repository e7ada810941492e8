"""The meniscal map to draw on: the ends and the rim of a tear are dragged, stitches are put by a
click; all of it also from the keyboard."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from PySide6.QtCore import QByteArray, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPainterPath,
    QPaintEvent,
    QPen,
)
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QLabel,
    QPushButton,
    QRadioButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from opnote.compose.figure import Drawing
from opnote.compose.figures import map_to_draw_on
from opnote.compose.meniscal_map import CENTRE_Y_MM, WIDTH_MM, middle_x_mm
from opnote.desk import theme
from opnote.desk.desk import Desk
from opnote.desk.editor.option_button import RadioOption
from opnote.desk.flow import FlowLayout
from opnote.desk.map_edits import RIM_STEP_MM, STEP_MM, MapEdits, Part, Tear
from opnote.pack.form import FigureUse
from opnote.reckon.menisci import (
    arc_from_point,
    outer_length_mm,
    point_on_arc,
    width_at,
)

_REACH_PX: Final = 11
"""How near to a mark the mouse takes hold of it."""
_BIG_STEP: Final = 5
_LEAST_DRAG_MM: Final = 2.0
"""A shorter drag is a click."""
_BESIDE_MM: Final = 4.0
"""How far beside the tissue the mouse still means the meniscus."""
_SIDE: Final = "side"
_NEXT: Final = "Space takes the next mark."


@dataclass(frozen=True, slots=True)
class Hand:
    """What is in hand: a part of a tear, or the place for the next stitch (`part` is None)."""

    row: str
    part: Part | None


@dataclass(slots=True)
class _Drag:
    """A movement of the mouse that has begun.

    Units: millimetres; `start` and `now` are places (along, inward) on `meniscus`.
    """

    meniscus: str
    tear: Tear | None
    part: Part | None
    start: tuple[float, float]
    now: tuple[float, float]

    @property
    def is_click(self) -> bool:
        return abs(self.now[0] - self.start[0]) < _LEAST_DRAG_MM


class MapCanvas(QWidget):
    """The drawing itself. Shows the record; asks for changes; keeps only what is in hand.

    Signals: said(words) for the line under the drawing.
    """

    said = Signal(str)

    def __init__(self, desk: Desk, use: FigureUse, parent: QWidget) -> None:
        super().__init__(parent)
        self._desk = desk
        self._use = use
        self._edits = MapEdits(desk.pack, use)
        self._drawing: Drawing | None = None
        self._renderer = QSvgRenderer(self)
        self._hand: Hand | None = None
        self._needle_mm: float | None = None
        self._drag: _Drag | None = None
        self.technique = ""
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setAccessibleName("Map of the menisci")
        self.setMinimumSize(240, 80)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        """A map of a hand's breadth."""
        return QSize(380, 320)

    def load(self) -> None:
        """Another case is shown."""
        self._hand = None
        self._needle_mm = None
        self._drag = None
        self.refresh()

    def refresh(self) -> None:
        """The case has changed."""
        state = self._desk.state
        drawing = map_to_draw_on(self._use, state.view, state.pack)
        if drawing is not self._drawing:
            self._drawing = drawing
            svg = "" if drawing is None else drawing.svg
            self._renderer.load(QByteArray(svg.encode()))
        self._follow_drag()
        hands = self._hands()
        if self._hand not in hands:
            self._hand = hands[0] if hands else None
            self._needle_mm = None
        self._tell()
        self.update()

    def _follow_drag(self) -> None:
        """Let go of what can't be drawn on any more; what can is held as it is now."""
        drag = self._drag
        if drag is None:
            return
        if drag.tear is not None:
            row = drag.tear.row
            drag.tear = next((tear for tear in self._tears() if tear.row == row), None)
            is_held = drag.tear is not None and drag.part in (None, *drag.tear.parts)
        else:
            is_held = self._drawing is not None
        if not is_held:
            self._drag = None

    # What is in hand

    def _tears(self) -> list[Tear]:
        if self._drawing is None:
            return []
        return self._edits.tears(self._desk.state.view)

    def _hands(self) -> list[Hand]:
        hands = []
        for tear in self._tears():
            hands += [Hand(tear.row, part) for part in tear.parts]
            if tear.start_mm is not None:
                hands.append(Hand(tear.row, None))
        return hands

    def _tear_in_hand(self) -> Tear | None:
        row = "" if self._hand is None else self._hand.row
        return next((tear for tear in self._tears() if tear.row == row), None)

    def _needle_of(self, tear: Tear) -> float:
        """Where the next stitch would go: where it was put last, else in the middle of the tear."""
        if self._needle_mm is None:
            start, end = tear.reach or (tear.start_mm or 0.0, tear.start_mm or 0.0)
            return (start + end) / 2
        return self._needle_mm

    def _tell(self) -> None:
        """Say what is recorded and in hand, to eyes and to a screen reader."""
        words = self._words()
        # Without a side the words stand where the map would be.
        self.said.emit("" if self._drawing is None else words)
        alternative = "" if self._drawing is None else self._drawing.alternative
        self.setAccessibleDescription(f"{words} {alternative}".strip())

    def _words(self) -> str:
        tear = self._tear_in_hand()
        if self._drawing is None:
            return "Record the operated side first: the map is drawn for one knee."
        if tear is None or self._hand is None:
            return "Drag along the rim of a meniscus to draw a tear, or add it on the page Tears."
        if self._hand.part is None:
            at = _number(self._needle_of(tear))
            if not self.technique:
                return f"{tear.name}: choose a technique above, then click where stitches are."
            return f"{tear.name}: a stitch at {at} mm with Enter. Delete takes the nearest away."
        if self._hand.part is Part.RIM:
            rim = tear.rim_mm
            how = "not recorded" if rim is None else f"{_number(rim)} mm"
            return f"{tear.name}, {tear.meniscus}: rim {how}. Left and Right change it; {_NEXT}"
        along = tear.start_mm if self._hand.part is Part.START else tear.end_mm
        how = "not recorded" if along is None else f"at {_number(along)} mm"
        named = f"{tear.name}, {tear.meniscus}: {self._hand.part.value} {how}."
        return f"{named} Up and Down move it; {_NEXT}"

    # Keys

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Space takes the next mark in hand, arrows move it, Enter and Delete are for stitches."""
        if event.modifiers() & ~(
            Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier
        ):
            event.ignore()
            return
        steps = _BIG_STEP if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
        key = event.key()
        if key == Qt.Key.Key_Space:
            self._take_next()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self._move_along(steps if key == Qt.Key.Key_Up else -steps)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self._move_across(steps if key == Qt.Key.Key_Right else -steps)
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.put_stitch()
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.take_stitch()
        else:
            event.ignore()

    def _take_next(self) -> None:
        hands = self._hands()
        if hands:
            at = hands.index(self._hand) if self._hand in hands else -1
            self._hand = hands[(at + 1) % len(hands)]
        self._tell()
        self.update()

    def _move_along(self, steps: int) -> None:
        tear = self._tear_in_hand()
        if tear is None or self._hand is None:
            return
        if self._hand.part is None:
            start, end = tear.reach or (0.0, outer_length_mm(tear.meniscus))
            there = round(self._needle_of(tear)) + steps * STEP_MM
            self._needle_mm = min(max(there, start), end)
            self._tell()
            self.update()
        elif self._hand.part is not Part.RIM:
            along, inward = tear.place_of(self._hand.part)
            self._move(tear, self._hand.part, along + steps * STEP_MM, inward)

    def _move_across(self, steps: int) -> None:
        tear = self._tear_in_hand()
        if tear is not None:
            along, inward = tear.place_of(Part.RIM)
            self._move(tear, Part.RIM, along, inward + steps * RIM_STEP_MM)

    def _move(self, tear: Tear, part: Part, along: float, inward: float) -> None:
        self._desk.apply(self._edits.move(tear, part, along, inward), self)

    def put_stitch(self) -> None:
        """Place a stitch of the chosen technique where the needle is."""
        tear = self._tear_in_hand()
        if tear is not None and self._is_ready_for_stitches(tear):
            view = self._desk.state.view
            along = self._needle_of(tear)
            self._desk.apply(self._edits.add_stitch(view, tear, self.technique, along), self)

    def take_stitch(self) -> None:
        """Take away the stitch of the chosen technique that is nearest to the needle."""
        tear = self._tear_in_hand()
        if tear is None:
            return
        view = self._desk.state.view
        edit = self._edits.take_stitch(view, tear, self.technique, self._needle_of(tear))
        if edit is not None:
            self._desk.apply(edit, self)
        else:
            self.said.emit("There is no stitch of this technique to take away.")

    def _is_ready_for_stitches(self, tear: Tear) -> bool:
        if tear.start_mm is None:
            self.said.emit("Draw the tear first: drag its two ends.")
        elif self._desk.state.view.is_hidden(self._edits.stitches_path):
            self.said.emit("Answer first, on the page Tears, that the tear was repaired.")
        elif not self.technique:
            self.said.emit("Choose a technique above, then click where the stitches are.")
        else:
            return True
        return False

    # The mouse

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take hold of a mark, or begin to draw."""
        if event.button() is not Qt.MouseButton.LeftButton or self._drawing is None:
            event.ignore()
            return
        held = self._mark_at(event.position())
        if held is not None:
            tear, part = held
            place = tear.place_of(part)
            self._hand = Hand(tear.row, part)
            self._drag = _Drag(tear.meniscus, tear, part, place, place)
        else:
            found = self._place_at(event.position())
            if found is None:
                return
            meniscus, along, inward = found
            there = self._tear_at(meniscus, along)
            self._drag = _Drag(meniscus, there, None, (along, inward), (along, inward))
        self._tell()
        self.update()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Show where what is held would go."""
        drag = self._drag
        if drag is None:
            held = self._mark_at(event.position())
            shape = Qt.CursorShape.SizeAllCursor if held else Qt.CursorShape.CrossCursor
            self.setCursor(shape if self._drawing is not None else Qt.CursorShape.ArrowCursor)
            return
        drag.now = self._on_meniscus(drag.meniscus, event.position())
        along, inward = drag.now
        if drag.part is Part.RIM:
            self.said.emit(f"Rim {_number(round(max(inward, 0) / RIM_STEP_MM) * RIM_STEP_MM)} mm")
        elif drag.part is not None or not drag.is_click:
            start = "" if drag.part else f"{_number(round(drag.start[0]))} to "
            self.said.emit(f"{start}{_number(round(max(along, 0)))} mm from the posterior root")
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Ask for the change that was drawn."""
        drag, self._drag = self._drag, None
        if drag is None:
            return
        drag.now = self._on_meniscus(drag.meniscus, event.position())
        if drag.part is not None and drag.tear is not None:
            if drag.now != drag.start:
                self._move(drag.tear, drag.part, *drag.now)
        elif drag.tear is not None:
            self._hand = Hand(drag.tear.row, None)
            self._needle_mm = drag.now[0]
            if self._is_ready_for_stitches(drag.tear):
                if drag.is_click:
                    self.put_stitch()
                else:
                    edit = self._edits.add_range(
                        drag.tear, self.technique, drag.start[0], drag.now[0]
                    )
                    self._desk.apply(edit, self)
        elif not drag.is_click:
            edit = self._edits.new_tear(drag.meniscus, drag.start[0], drag.now[0])
            self._desk.apply(edit, self)
            tears = self._tears()
            if tears:
                self._hand = Hand(tears[-1].row, Part.END)
        self.refresh()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        """Two clicks are two stitches."""
        self.mousePressEvent(event)

    def _mark_at(self, at: QPointF) -> tuple[Tear, Part] | None:
        """The mark under the mouse."""
        found = [
            (math.hypot(mark.x() - at.x(), mark.y() - at.y()), number, tear, part)
            for number, tear in enumerate(self._tears())
            for part in tear.parts
            for mark in [self.place_on_screen(tear.meniscus, *tear.place_of(part))]
        ]
        near = min(found, key=lambda each: each[:2], default=None)
        return None if near is None or near[0] > _REACH_PX else near[2:]

    def _tear_at(self, meniscus: str, along: float) -> Tear | None:
        for tear in self._tears():
            reach = tear.reach
            if tear.meniscus == meniscus and reach and reach[0] - 1 <= along <= reach[1] + 1:
                return tear
        return None

    # Places

    @property
    def _side(self) -> str:
        return str(self._desk.state.view.values.get(self._use.uses[_SIDE], ""))

    def _scale(self) -> float:
        """Pixels a millimetre of the sheet."""
        assert self._drawing is not None
        return min(self.width() / WIDTH_MM, self.height() / self._drawing.height_mm)

    def _sheet(self) -> QRectF:
        assert self._drawing is not None
        scale = self._scale()
        width = WIDTH_MM * scale
        return QRectF((self.width() - width) / 2, 0, width, self._drawing.height_mm * scale)

    def place_on_screen(self, meniscus: str, along: float, inward: float) -> QPointF:
        """Where a place on a meniscus stands in the drawing.

        Units: millimetres in, pixels of this widget out.
        """
        x, y = point_on_arc(self._side, meniscus, along, inward)
        scale, sheet = self._scale(), self._sheet()
        return QPointF(
            sheet.left() + (middle_x_mm(self._side) + x) * scale,
            sheet.top() + (CENTRE_Y_MM + y) * scale,
        )

    def _on_meniscus(self, meniscus: str, at: QPointF) -> tuple[float, float]:
        """The place of a point on one meniscus; in the opening, that of the nearer root."""
        scale, sheet = self._scale(), self._sheet()
        along, inward = arc_from_point(
            self._side,
            meniscus,
            (at.x() - sheet.left()) / scale - middle_x_mm(self._side),
            (at.y() - sheet.top()) / scale - CENTRE_Y_MM,
        )
        return min(max(along, 0.0), outer_length_mm(meniscus)), inward

    def _place_at(self, at: QPointF) -> tuple[str, float, float] | None:
        """The meniscus under the mouse and the place on it; None beside both."""
        for meniscus in ("medial", "lateral"):
            along, inward = self._on_meniscus(meniscus, at)
            if -_BESIDE_MM <= inward <= width_at(meniscus, along) + _BESIDE_MM:
                where = self.place_on_screen(meniscus, along, inward)
                if math.hypot(where.x() - at.x(), where.y() - at.y()) <= _REACH_PX:
                    return meniscus, along, inward
        return None

    # Drawing

    def paintEvent(self, event: QPaintEvent) -> None:
        """The sheet, white in both themes, the marks that can be held, and what is being drawn."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        if self._drawing is None:
            painter.setPen(self.palette().color(self.foregroundRole()))
            align = Qt.AlignmentFlag.AlignCenter.value | Qt.TextFlag.TextWordWrap.value
            painter.drawText(self.rect().adjusted(16, 16, -16, -16), align, self._words())
            return
        sheet = self._sheet()
        painter.fillRect(sheet, theme.PAPER)
        self._renderer.render(painter, sheet)
        for tear in self._tears():
            for part in tear.parts:
                self._paint_mark(painter, tear, part)
        self._paint_needle(painter)
        self._paint_drag(painter)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(theme.PAPER_LINK, 2))
            painter.drawRect(sheet.adjusted(1, 1, -1, -1))

    def _paint_mark(self, painter: QPainter, tear: Tear, part: Part) -> None:
        """A ring for an end, a square for the rim; filled when in hand, dashed while unset."""
        at = self.place_on_screen(tear.meniscus, *tear.place_of(part))
        in_hand = self._hand == Hand(tear.row, part)
        is_set = {
            Part.START: tear.start_mm,
            Part.END: tear.end_mm,
            Part.RIM: tear.rim_mm,
        }[part] is not None
        style = Qt.PenStyle.SolidLine if is_set else Qt.PenStyle.DotLine
        painter.setPen(QPen(theme.PAPER_LINK, 1.8, style))
        painter.setBrush(QBrush(theme.PAPER_LINK if in_hand else theme.PAPER))
        size = 5.5 if in_hand else 4.5
        if part is Part.RIM:
            painter.drawRect(QRectF(at.x() - size, at.y() - size, 2 * size, 2 * size))
        else:
            painter.drawEllipse(at, size, size)

    def _paint_needle(self, painter: QPainter) -> None:
        tear = self._tear_in_hand()
        if tear is None or self._hand is None or self._hand.part is not None:
            return
        along = self._needle_of(tear)
        tip = self.place_on_screen(tear.meniscus, along, -0.6)
        left, right = (self.place_on_screen(tear.meniscus, along + d, -3.6) for d in (-1.2, 1.2))
        path = QPainterPath(tip)
        path.lineTo(left)
        path.lineTo(right)
        path.closeSubpath()
        painter.setPen(QPen(theme.PAPER, 1))
        painter.setBrush(theme.PAPER_LINK)
        painter.drawPath(path)

    def _paint_drag(self, painter: QPainter) -> None:
        drag = self._drag
        if drag is None:
            return
        start, end, inward = drag.start[0], drag.now[0], drag.start[1]
        if drag.tear is not None and drag.part is not None:
            tear = drag.tear
            reach = tear.reach
            start, end = reach or (drag.now[0], drag.now[0])
            inward = tear.place_of(Part.RIM)[1]
            if drag.part is Part.RIM:
                inward = max(drag.now[1], 0.0)
            elif tear.has_end and reach is not None:
                kept = tear.end_mm if drag.part is Part.START else tear.start_mm
                start, end = sorted((drag.now[0], kept if kept is not None else drag.now[0]))
            else:
                start = end = drag.now[0]
        elif drag.is_click:
            return
        elif drag.tear is not None:
            inward = -1.2
        first, last = sorted((start, end))
        steps = max(2, math.ceil(last - first))
        path = QPainterPath(self.place_on_screen(drag.meniscus, first, inward))
        for i in range(1, steps + 1):
            along = first + (last - first) * i / steps
            path.lineTo(self.place_on_screen(drag.meniscus, along, inward))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(theme.PAPER_LINK, 3))
        painter.drawPath(path)
        painter.setBrush(theme.PAPER_LINK)
        if drag.part is not None and drag.part is not Part.RIM:
            painter.drawEllipse(self.place_on_screen(drag.meniscus, drag.now[0], inward), 5, 5)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show the frame of the focus, and say what is in hand."""
        super().focusInEvent(event)
        self._tell()


class _TechniqueButton(RadioOption):
    """A technique of stitching; arrows go from one to the next."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The keys of a set of radio buttons."""
        QRadioButton.keyPressEvent(self, event)


class MapBoard(QWidget):
    """The map with the techniques above it and a line of words under it."""

    def __init__(self, desk: Desk, use: FigureUse, parent: QWidget) -> None:
        super().__init__(parent)
        techniques = QWidget(self)
        flow = FlowLayout(techniques, gap=4)
        lead = QLabel("Stitches drawn:", techniques)
        lead.setMinimumHeight(theme.line_height(self))
        flow.addWidget(lead)
        self._group = QButtonGroup(self)
        for option in desk.pack.fields[f"{use.uses['stitches']}.technique"].options:
            button = _TechniqueButton(option.label, "", techniques)
            button.setAccessibleName(f"Stitches drawn: {option.label}")
            button.setToolTip(f"Click on the tear to draw stitches: {option.label}")
            button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            button.setProperty("technique", option.value)
            self._group.addButton(button)
            flow.addWidget(button)
        self._group.buttonToggled.connect(self._on_technique)
        away = QPushButton("Take a stitch away", techniques)
        away.setAutoDefault(False)
        away.setMinimumHeight(theme.line_height(self))
        away.setToolTip("Delete, with the map in hand")
        flow.addWidget(away)
        self.canvas = MapCanvas(desk, use, self)
        words = QLabel(self)
        words.setWordWrap(True)
        words.setTextFormat(Qt.TextFormat.PlainText)
        words.setMinimumHeight(2 * theme.line_height(self) - 12)
        words.setAlignment(Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft)
        self.canvas.said.connect(words.setText)
        away.clicked.connect(self.canvas.take_stitch)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(6)
        column.addWidget(techniques)
        column.addWidget(self.canvas, 1)
        column.addWidget(words)

    def load(self) -> None:
        """Another case is shown: which technique it had is chosen anew."""
        self._group.setExclusive(False)
        for button in self._group.buttons():
            button.setChecked(False)
        self._group.setExclusive(True)
        self.canvas.technique = ""
        self.canvas.load()

    def refresh(self) -> None:
        """The case has changed."""
        self.canvas.refresh()

    def _on_technique(self, button: QAbstractButton, chosen: bool) -> None:
        if chosen:
            self.canvas.technique = str(button.property("technique"))
            self.canvas.refresh()


def _number(value: float) -> str:
    return f"{round(value, 1):g}"
