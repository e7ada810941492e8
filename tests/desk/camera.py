"""A camera that doesn't exist: stills drawn here, with what cameras write beside the pixels."""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QRect, Qt
from PySide6.QtGui import QColor, QImage, QImageWriter, QPainter

SECRETS = (b"Thistlewick", b"Nonesuch", b"2026:03:09", b"TEST-0001")
"""What stands in the metadata of a still, and nowhere in its pixels."""

LEFT, RIGHT, STRIP = QColor("#c03020"), QColor("#2040c0"), QColor("#00ff00")
"""A still is red at its left and blue at its right; a name would stand in the green strip."""


def drawn(width: int = 640, height: int = 480, strip: bool = False) -> QImage:
    """A still; with a strip, its top tenth is green."""
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(LEFT)
    painter = QPainter(image)
    painter.fillRect(QRect(width // 2, 0, width - width // 2, height), RIGHT)
    if strip:
        painter.fillRect(QRect(0, 0, width, height // 10), STRIP)
    painter.end()
    return image


def encoded(image: QImage, ending: str) -> bytes:
    """An image as the bytes of a file."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    assert QImageWriter(buffer, QByteArray(ending.encode())).write(image)
    return bytes(buffer.data().data())


def jpeg_with_exif(image: QImage, orientation: int = 1) -> bytes:
    """A JPEG with a comment and an Exif segment right after its start.

    Layout: Exif 2.32 (JEITA CP-3451E), 4.5.2 and 4.6.2, from memory: APP1, "Exif", two zeros, a
    TIFF header, one directory of twelve-byte entries.
    """
    entries = [
        (0x010F, 2, b"Nonesuch Vale Infirmary\0"),  # Make
        (0x0112, 3, orientation),  # Orientation
        (0x0132, 2, b"2026:03:09 08:40:00\0"),  # DateTime
        (0x013B, 2, b"Mr Percival Thistlewick\0"),  # Artist
    ]
    start = 8
    values = start + 2 + 12 * len(entries) + 4
    directory, tail = struct.pack("<H", len(entries)), b""
    for tag, kind, value in entries:
        if isinstance(value, bytes):
            directory += struct.pack("<HHII", tag, kind, len(value), values + len(tail))
            tail += value
        else:
            directory += struct.pack("<HHIHH", tag, kind, 1, value, 0)
    tiff = b"II*\0" + struct.pack("<I", start) + directory + b"\0\0\0\0" + tail
    plain = encoded(image, "jpg")
    app1 = _segment(0xE1, b"Exif\0\0" + tiff)
    return plain[:2] + app1 + _segment(0xFE, b"TEST-0001") + plain[2:]


def _segment(marker: int, content: bytes) -> bytes:
    return bytes((0xFF, marker)) + struct.pack(">H", len(content) + 2) + content


def png_with_text(image: QImage) -> bytes:
    """A PNG with a tEXt chunk. Layout: PNG (Third Edition), 2025, 5.3 and 11.3.3, from memory."""
    return _with_chunk(encoded(image, "png"), b"tEXt", b"Author\0Mr Percival Thistlewick")


def animated_png(image: QImage) -> bytes:
    """A PNG that says that it moves. Layout: PNG (Third Edition), 2025, 11.3.6, from memory."""
    return _with_chunk(encoded(image, "png"), b"acTL", struct.pack(">II", 2, 0))


def _with_chunk(png: bytes, kind: bytes, content: bytes) -> bytes:
    end_of_header = 8 + 4 + 4 + 13 + 4
    chunk = struct.pack(">I", len(content)) + kind + content
    chunk += struct.pack(">I", zlib.crc32(kind + content))
    return png[:end_of_header] + chunk + png[end_of_header:]


def animated_gif() -> bytes:
    """Two pictures of one pixel after one another. Layout: GIF89a, 1990, from memory."""
    picture = b"\x2c\0\0\0\0\x01\0\x01\0\0\x02\x02\x44\x01\0"
    return b"GIF89a\x01\0\x01\0\x80\0\0\xff\0\0\0\0\xff" + 2 * picture + b"\x3b"


def markers(jpeg: bytes) -> Iterator[int]:
    """The markers of a JPEG before its first scan. Layout: ITU-T T.81, annex B."""
    at = 2
    while jpeg[at + 1] != 0xDA:
        assert jpeg[at] == 0xFF
        yield jpeg[at + 1]
        at += 2 + struct.unpack_from(">H", jpeg, at + 2)[0]


def colour_at(image: QImage, across: float, down: float) -> str:
    """What a person would call the colour at a place, as shares of width and height."""
    colour = image.pixelColor(int(image.width() * across), int(image.height() * down))
    names = {"red": LEFT, "blue": RIGHT, "green": STRIP, "white": QColor(Qt.GlobalColor.white)}
    return min(names, key=lambda name: _distance(colour, names[name]))


def _distance(one: QColor, other: QColor) -> int:
    return (
        abs(one.red() - other.red())
        + abs(one.green() - other.green())
        + abs(one.blue() - other.blue())
    )
