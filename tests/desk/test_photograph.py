"""What is kept of a picture: its pixels, upright, and nothing else of the file."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QColorSpace, QImage
from PySide6.QtWidgets import QApplication

from opnote.desk import photograph
from opnote.desk.photograph import (
    LONGEST_SIDE_PX,
    PictureRefused,
    cut_to,
    from_bytes,
    from_file,
    image_of,
    taken_in,
)
from tests.desk.camera import (
    SECRETS,
    animated_gif,
    animated_png,
    colour_at,
    drawn,
    encoded,
    jpeg_with_exif,
    markers,
    png_with_text,
)

APP0, COMMENT = 0xE0, 0xFE

pytestmark = pytest.mark.usefixtures("qapp")


def test_nothing_that_a_camera_wrote_beside_the_pixels_is_kept(qapp: QApplication) -> None:
    for brought in (jpeg_with_exif(drawn()), png_with_text(drawn())):
        assert any(secret in brought for secret in SECRETS)
        kept = from_bytes(brought, "still")
        assert not any(secret in kept for secret in SECRETS)
        written = list(markers(kept))
        assert [m for m in written if 0xE0 <= m <= 0xEF or m == COMMENT] == [APP0]


def test_colour_profile_is_not_kept_and_colours_stay(qapp: QApplication) -> None:
    image = drawn()
    image.setColorSpace(QColorSpace(QColorSpace.NamedColorSpace.AdobeRgb))
    brought = encoded(image, "png")
    assert b"iCCP" in brought
    kept = from_bytes(brought, "still")
    assert [m for m in markers(kept) if 0xE0 <= m <= 0xEF] == [APP0]
    assert colour_at(image_of(kept), 0.25, 0.5) == "red"


def test_picture_that_the_camera_turned_is_kept_upright(qapp: QApplication) -> None:
    """Orientation 6 says that the first row of the file is the right side (Exif 2.32, 4.6.4 A)."""
    kept = image_of(from_bytes(jpeg_with_exif(drawn(640, 480), orientation=6), "still"))
    assert (kept.width(), kept.height()) == (480, 640)
    assert (colour_at(kept, 0.5, 0.25), colour_at(kept, 0.5, 0.75)) == ("red", "blue")


@pytest.mark.parametrize("ending", ["jpg", "png", "bmp", "tiff", "webp"])
def test_usual_formats_are_read(ending: str, qapp: QApplication) -> None:
    kept = image_of(from_bytes(encoded(drawn(320, 200), ending), "still"))
    assert (kept.width(), kept.height()) == (320, 200)
    assert (colour_at(kept, 0.25, 0.5), colour_at(kept, 0.75, 0.5)) == ("red", "blue")


def test_large_picture_is_made_smaller_and_keeps_its_shape(qapp: QApplication) -> None:
    kept = image_of(from_bytes(encoded(drawn(3000, 1500), "png"), "still"))
    assert (kept.width(), kept.height()) == (LONGEST_SIDE_PX, LONGEST_SIDE_PX // 2)


def test_what_is_transparent_becomes_white(qapp: QApplication) -> None:
    image = QImage(100, 100, QImage.Format.Format_ARGB32)
    image.fill(Qt.GlobalColor.transparent)
    assert colour_at(image_of(taken_in(image)), 0.5, 0.5) == "white"


def test_what_is_cut_off_is_not_in_the_bytes(qapp: QApplication) -> None:
    kept = from_bytes(encoded(drawn(640, 480, strip=True), "png"), "still")
    assert colour_at(image_of(kept), 0.25, 0.05) == "green"
    cut = image_of(cut_to(kept, QRect(0, 64, 640, 416)))
    assert (cut.width(), cut.height()) == (640, 416)
    assert colour_at(cut, 0.25, 0.02) == "red"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "still is empty; choose another file."),
        (b"no picture at all", "still is no picture that can be read; save it as JPEG or PNG."),
        (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"/>',
            "still is no picture that can be read; save it as JPEG or PNG.",
        ),
        (b"%PDF-1.7", "still is no picture that can be read; save it as JPEG or PNG."),
        (animated_gif(), "still moves; save one still of it and choose that."),
    ],
    ids=["empty", "text", "drawing", "pdf", "animated"],
)
def test_what_is_no_still_is_refused_in_one_line(
    data: bytes, words: str, qapp: QApplication
) -> None:
    with pytest.raises(PictureRefused) as refused:
        from_bytes(data, "still")
    assert str(refused.value) == words


def refusal_of(data: bytes) -> str:
    with pytest.raises(PictureRefused) as refused:
        from_bytes(data, "still")
    assert "\n" not in str(refused.value)
    return str(refused.value)


@pytest.mark.qt_log_ignore("Corrupt JPEG data")
def test_damaged_moving_and_tiny_pictures_are_refused(qapp: QApplication) -> None:
    jpeg = encoded(drawn(), "jpg")
    assert "damaged or cut short" in refusal_of(jpeg[: len(jpeg) * 2 // 3])
    png = encoded(drawn(), "png")
    assert "damaged or cut short" in refusal_of(png[: len(png) // 2])
    assert "moves" in refusal_of(animated_png(drawn()))
    assert "only 8 by 8 pixels" in refusal_of(encoded(drawn(8, 8), "png"))


@pytest.mark.parametrize(
    ("ending", "words"),
    [("tiff", "holds several pictures"), ("webp", "moves"), ("gif", "moves")],
)
def test_several_pictures_in_one_file_are_refused(
    ending: str, words: str, qapp: QApplication
) -> None:
    """The files are written by another program's library."""
    file = io.BytesIO()
    first, second = Image.new("RGB", (64, 64), "red"), Image.new("RGB", (64, 64), "blue")
    first.save(file, ending, save_all=True, append_images=[second])
    assert words in refusal_of(file.getvalue())


def test_picture_for_a_printing_press_keeps_its_colours(qapp: QApplication) -> None:
    file = io.BytesIO()
    Image.new("CMYK", (64, 64), (0, 255, 255, 0)).save(file, "jpeg")
    kept = image_of(from_bytes(file.getvalue(), "still")).pixelColor(32, 32)
    assert kept.red() > 180
    assert max(kept.green(), kept.blue()) < 90


def test_picture_of_too_many_pixels_is_refused_before_it_is_decoded(
    qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(photograph, "MOST_PIXELS", 640 * 480 - 1)
    assert "640 by 480 pixels" in refusal_of(encoded(drawn(), "png"))


def test_files_that_cannot_be_taken_are_refused_by_name(
    tmp_path: Path, qapp: QApplication, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(PictureRefused, match=r"^gone\.jpg can't be read \(No such file"):
        from_file(tmp_path / "gone.jpg")
    with pytest.raises(PictureRefused, match=r"is a folder; choose the pictures in it\.$"):
        from_file(tmp_path)
    large = tmp_path / "large.jpg"
    large.write_bytes(encoded(drawn(), "jpg"))
    monkeypatch.setattr(photograph, "MOST_BYTES", 1000)
    with pytest.raises(PictureRefused, match=r"^large\.jpg is larger than"):
        from_file(large)
