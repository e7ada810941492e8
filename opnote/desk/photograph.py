"""Pictures of the operation: what is taken in, made anew from its pixels alone.

What is kept is never what was brought in: it is decoded, turned upright, made no larger than a
page can show, and written anew. So nothing of the file outlasts it but what can be seen.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData, QRect, QSize, Qt
from PySide6.QtGui import QColorSpace, QImage, QImageReader, QImageWriter, QPainter

MOST_BYTES: Final = 60_000_000
MOST_PIXELS: Final = 60_000_000
LEAST_SIDE_PX: Final = 32
"""What is smaller shows nothing; it is the picture of a button or a mark."""
LONGEST_SIDE_PX: Final = 2000
"""At 82 mm, the width of a picture on paper, that is 600 dots an inch."""

_QUALITY: Final = 90
_FORMATS: Final = frozenset({"jpeg", "png", "bmp", "tiff", "webp", "gif"})
_ENDINGS: Final = ("jpg", "jpeg", "png", "bmp", "tif", "tiff", "webp", "gif")
FILTER: Final = f"Pictures ({' '.join(f'*.{ending}' for ending in _ENDINGS)})"
"""For choosing files."""
_END_OF_JPEG: Final = b"\xff\xd9"
_SCAN_OF_JPEG: Final = b"\xff\xda"


class PictureRefused(Exception):
    """What was brought in can't be kept; one line that names it and what helps."""


def is_offered(mime: QMimeData) -> bool:
    """True when something dropped or pasted may hold a picture."""
    return mime.hasImage() or any(url.isLocalFile() for url in mime.urls())


def offered(mime: QMimeData) -> list[Path | QImage]:
    """The files or the picture that something dropped or pasted holds; empty when none."""
    files = [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
    if files:
        return [*files]
    image = mime.imageData()
    return [image] if mime.hasImage() and isinstance(image, QImage) else []


def taken_in(offer: Path | QImage) -> bytes:
    """The bytes to keep of a file or of a pasted picture. Raises: PictureRefused."""
    return _encoded(offer, "What was pasted") if isinstance(offer, QImage) else from_file(offer)


def from_file(path: Path) -> bytes:
    """The bytes to keep of a file. Raises: PictureRefused."""
    try:
        if path.is_dir():
            raise PictureRefused(f"{path.name} is a folder; choose the pictures in it.")
        size = path.stat().st_size
        if size > MOST_BYTES:
            most = MOST_BYTES // 1_000_000
            raise PictureRefused(
                f"{path.name} is larger than {most} MB; save a smaller copy and choose that."
            )
        data = path.read_bytes()
    except OSError as error:
        raise PictureRefused(
            f"{path.name} can't be read ({error.strerror or error}); choose another file."
        ) from error
    return from_bytes(data, path.name)


def from_bytes(data: bytes, name: str) -> bytes:
    """The bytes to keep of a picture in any usual format. Raises: PictureRefused."""
    if not data:
        raise PictureRefused(f"{name} is empty; choose another file.")
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    try:
        image = _decoded(reader, data, name)
    finally:
        # Before the buffer goes: a reader of TIFF looks at it once more.
        del reader
    return _encoded(image, name)


def _decoded(reader: QImageReader, data: bytes, name: str) -> QImage:
    """The one still that a reader has, upright. Raises: PictureRefused."""
    reader.setDecideFormatFromContent(True)
    reader.setAutoTransform(True)
    known = reader.canRead() and bytes(reader.format().data()).decode() in _FORMATS
    if not known:
        raise PictureRefused(f"{name} is no picture that can be read; save it as JPEG or PNG.")
    if _is_animated(reader, data):
        raise PictureRefused(f"{name} moves; save one still of it and choose that.")
    if reader.imageCount() > 1:
        raise PictureRefused(f"{name} holds several pictures; save the one to keep by itself.")
    size = reader.size()
    if size.width() * size.height() > MOST_PIXELS:
        raise PictureRefused(
            f"{name} has {size.width()} by {size.height()} pixels; save a smaller copy."
        )
    image = reader.read()
    if image.isNull() or _is_cut_short(data):
        raise PictureRefused(f"{name} is damaged or cut short; copy it again from the camera.")
    return image


def cut_to(data: bytes, part: QRect) -> bytes:
    """The bytes to keep of a part of a kept picture. Units: pixels. Raises: PictureRefused."""
    return _encoded(image_of(data).copy(part), "The marked part")


def image_of(data: bytes) -> QImage:
    """A kept picture, decoded; null when its bytes are none."""
    return QImage.fromData(data)


@lru_cache(maxsize=48)
def on_screen(data: bytes, width: int, height: int) -> QImage:
    """A kept picture at the size at which it is shown. Units: pixels of the screen."""
    return image_of(data).scaled(
        QSize(width, height),
        Qt.AspectRatioMode.IgnoreAspectRatio,
        Qt.TransformationMode.SmoothTransformation,
    )


def _is_animated(reader: QImageReader, data: bytes) -> bool:
    if reader.supportsAnimation() and reader.imageCount() != 1:
        return True
    # Qt reads the first still of an animated PNG. Source: PNG (Third Edition), 2025: acTL stands
    # before the first IDAT.
    return data.startswith(b"\x89PNG") and b"acTL" in data[: data.find(b"IDAT")]


def _is_cut_short(data: bytes) -> bool:
    """True for a JPEG without its end, of which Qt gives what there is.

    Source: ITU-T T.81 (1992), annex B: within a scan no marker but restarts can stand.
    """
    return data.startswith(b"\xff\xd8") and data.rfind(_END_OF_JPEG) < data.rfind(_SCAN_OF_JPEG)


def _encoded(image: QImage, name: str) -> bytes:
    """A picture as a fresh JPEG. Raises: PictureRefused."""
    if min(image.width(), image.height()) < LEAST_SIDE_PX:
        raise PictureRefused(
            f"{name} has only {image.width()} by {image.height()} pixels; choose a larger picture."
        )
    if max(image.width(), image.height()) > LONGEST_SIDE_PX:
        image = image.scaled(
            LONGEST_SIDE_PX,
            LONGEST_SIDE_PX,
            Qt.AspectRatioMode.KeepAspectRatio,
            Qt.TransformationMode.SmoothTransformation,
        )
    if image.format() is QImage.Format.Format_CMYK8888:
        image = image.convertToFormat(QImage.Format.Format_RGB32)
    if image.colorSpace().isValid():
        image = image.convertedToColorSpace(QColorSpace(QColorSpace.NamedColorSpace.SRgb))
    image.setDevicePixelRatio(1)
    # Painted, not copied: a copy would take the texts and the colour profile of the file along.
    fresh = QImage(image.size(), QImage.Format.Format_RGB32)
    fresh.fill(Qt.GlobalColor.white)
    painter = QPainter(fresh)
    painter.drawImage(0, 0, image)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"jpeg"))
    writer.setQuality(_QUALITY)
    if not writer.write(fresh):
        raise PictureRefused(f"{name} can't be kept ({writer.errorString()}); save it as PNG.")
    return bytes(buffer.data().data())
