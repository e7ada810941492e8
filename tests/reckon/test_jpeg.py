"""The size of a JPEG, against another program's reading of the same bytes."""

from __future__ import annotations

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from opnote.reckon.jpeg import jpeg_size


@pytest.mark.parametrize("progressive", [False, True])
@pytest.mark.parametrize("size", [(1, 1), (640, 480), (333, 2000)])
def test_size_is_that_which_another_program_wrote(size: tuple[int, int], progressive: bool) -> None:
    file = io.BytesIO()
    Image.new("RGB", size).save(file, "jpeg", progressive=progressive, comment=b"\xff\xc0 no frame")
    assert jpeg_size(file.getvalue()) == size


@given(st.binary(max_size=200))
def test_anything_else_has_none(data: bytes) -> None:
    assert jpeg_size(data) is None
    size = jpeg_size(b"\xff\xd8" + data)
    assert size is None or min(size) > 0


def test_another_format_has_none() -> None:
    file = io.BytesIO()
    Image.new("RGB", (9, 9)).save(file, "png")
    assert jpeg_size(file.getvalue()) is None
