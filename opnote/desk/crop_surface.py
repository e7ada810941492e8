"""A picture of which a part can be marked, by dragging over it or by the arrow keys."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPalette,
    QPen,
    QPixmap,
    QRegion,
    QResizeEvent,
)
from PySide6.QtWidgets import QWidget

from opnote.desk import theme
from opnote.desk.photograph import LEAST_SIDE_PX

_STEP: Final = 0.02
"""What one press of an arrow cuts, as a share of the side."""
_FRAME: Final = 3


class CropSurface(QWidget):
    """Shows a picture; what is outside the marked part is darkened.

    An arrow moves the edge behind it: Down cuts from the top, Left from the right. With Shift it
    moves the edge before it, and gives back. Escape marks the whole again.

    Signals: part_changed() when another part is marked.
    """

    part_changed = Signal()

    def __init__(self, parent: QWidget, most: QSize) -> None:
        """Make it; it wants no more room than `most`. Units: pixels."""
        super().__init__(parent)
        self._most = most
        self._image = QImage()
        self._scaled = QPixmap()
        self._part = QRectF()
        self._from: QPointF | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.CrossCursor)

    def show_picture(self, image: QImage) -> None:
        """Show a picture, all of it marked."""
        self._image = image
        self._scaled = QPixmap()
        self._part = QRectF(QRect(0, 0, image.width(), image.height()))
        self._from = None
        self.updateGeometry()
        self._tell()

    @property
    def part(self) -> QRect | None:
        """The marked part of the picture; None while that is all of it. Units: its pixels."""
        part = self._part.toAlignedRect().intersected(self._image.rect())
        return None if part == self._image.rect() else part

    def mark_all(self) -> None:
        """Mark the whole picture."""
        self._mark(QRectF(self._image.rect()))

    def sizeHint(self) -> QSize:
        """As large as it may be."""
        if self._image.isNull():
            return QSize(0, 0)
        frame = QSize(2 * _FRAME, 2 * _FRAME)
        size = self._image.size().scaled(self._most - frame, Qt.AspectRatioMode.KeepAspectRatio)
        return size + frame

    def minimumSizeHint(self) -> QSize:
        """Half of that will do."""
        return self.sizeHint() / 2

    def _shown(self) -> QRectF:
        """Where the picture stands in the widget."""
        room = self.rect().adjusted(_FRAME, _FRAME, -_FRAME, -_FRAME)
        size = self._image.size().scaled(room.size(), Qt.AspectRatioMode.KeepAspectRatio)
        return QRectF(room.left(), room.top(), size.width(), size.height())

    def _mark(self, part: QRectF) -> None:
        if part != self._part:
            self._part = part
            self._tell()

    def _tell(self) -> None:
        self.setAccessibleDescription(self._words())
        self.update()
        self.part_changed.emit()

    def _words(self) -> str:
        part = self.part
        if part is None:
            return "All of the picture is marked. Arrow keys cut from its edges."
        width, height = self._image.width(), self._image.height()
        cut = {
            "the left": part.left() / width,
            "the right": 1 - (part.left() + part.width()) / width,
            "the top": part.top() / height,
            "the bottom": 1 - (part.top() + part.height()) / height,
        }
        said = [f"{share:.0%} from {edge}" for edge, share in cut.items() if share > 0]
        return f"Marked without {', '.join(said)}."

    # Mouse

    def _in_picture(self, at: QPointF) -> QPointF:
        """A place of the widget in pixels of the picture, at its edge when it is outside."""
        shown = self._shown()
        scale = self._image.width() / max(shown.width(), 1.0)
        x = min(max((at.x() - shown.left()) * scale, 0.0), float(self._image.width()))
        y = min(max((at.y() - shown.top()) * scale, 0.0), float(self._image.height()))
        return QPointF(x, y)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """A corner of the part to keep."""
        if event.button() is Qt.MouseButton.LeftButton:
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self._from = self._in_picture(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """The corner over against it."""
        if self._from is not None:
            part = QRectF(self._from, self._in_picture(event.position())).normalized()
            if min(part.width(), part.height()) >= LEAST_SIDE_PX:
                self._mark(part)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """The part is marked."""
        self._from = None

    # Keyboard

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """The arrows move the edges; all other keys are for what is around."""
        grows = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        wide, high = self._image.width() * _STEP, self._image.height() * _STEP
        part = QRectF(self._part)
        match event.key():
            case Qt.Key.Key_Down if grows:
                part.setBottom(part.bottom() + high)
            case Qt.Key.Key_Down:
                part.setTop(part.top() + high)
            case Qt.Key.Key_Up if grows:
                part.setTop(part.top() - high)
            case Qt.Key.Key_Up:
                part.setBottom(part.bottom() - high)
            case Qt.Key.Key_Right if grows:
                part.setRight(part.right() + wide)
            case Qt.Key.Key_Right:
                part.setLeft(part.left() + wide)
            case Qt.Key.Key_Left if grows:
                part.setLeft(part.left() - wide)
            case Qt.Key.Key_Left:
                part.setRight(part.right() - wide)
            case Qt.Key.Key_Escape if self.part is not None:
                part = QRectF(self._image.rect())
            case _:
                event.ignore()
                return
        part = part.intersected(QRectF(self._image.rect()))
        if min(part.width(), part.height()) >= LEAST_SIDE_PX:
            self._mark(part)

    # Drawing

    def resizeEvent(self, event: QResizeEvent) -> None:
        """It is drawn anew at its size."""
        self._scaled = QPixmap()
        super().resizeEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the picture, the marked part as it is and the rest darkened."""
        if self._image.isNull():
            return
        painter = QPainter(self)
        shown = self._shown()
        if self._scaled.isNull():
            ratio = self.devicePixelRatioF()
            self._scaled = QPixmap.fromImage(
                self._image.scaled(
                    (shown.size() * ratio).toSize(),
                    Qt.AspectRatioMode.IgnoreAspectRatio,
                    Qt.TransformationMode.SmoothTransformation,
                )
            )
        painter.drawPixmap(shown, self._scaled, QRectF(self._scaled.rect()))
        accent = self.palette().color(QPalette.ColorRole.Accent)
        if self.part is not None:
            scale = shown.width() / self._image.width()
            kept = QRectF(
                shown.left() + self._part.left() * scale,
                shown.top() + self._part.top() * scale,
                self._part.width() * scale,
                self._part.height() * scale,
            )
            painter.setClipRegion(_around(shown.toRect(), kept.toRect()))
            painter.fillRect(shown, theme.PICTURE_SHADE)
            painter.setClipping(False)
            for colour, style in (
                (theme.PAPER, Qt.PenStyle.SolidLine),
                (theme.PAPER_INK, Qt.PenStyle.DotLine),
            ):
                painter.setPen(QPen(colour, 2, style))
                painter.drawRect(kept)
        if self.hasFocus():
            painter.setPen(QPen(accent, 2))
            painter.drawRect(shown.adjusted(-2, -2, 2, 2))


def _around(whole: QRect, inside: QRect) -> QRegion:
    return QRegion(whole).subtracted(QRegion(inside))
