"""Pictures are kept whole, found by name, and let go only when nothing speaks of them."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import pytest

from opnote.archive.folder import ArchiveError
from opnote.archive.picture_folder import PictureFolder, names_in

ONE, TWO = b"\xff\xd8 the first", b"\xff\xd8 the second"


@pytest.fixture
def pictures(tmp_path: Path) -> PictureFolder:
    return PictureFolder(tmp_path)


def test_kept_picture_is_found_by_its_name(pictures: PictureFolder, tmp_path: Path) -> None:
    name = pictures.keep(ONE)
    assert name == hashlib.sha256(ONE).hexdigest() + ".jpg"
    assert (tmp_path / "pictures" / name).read_bytes() == ONE
    assert pictures.bytes_of(name) == ONE
    assert PictureFolder(tmp_path).bytes_of(name) == ONE


def test_same_picture_twice_is_one_file(pictures: PictureFolder, tmp_path: Path) -> None:
    assert pictures.keep(ONE) == pictures.keep(ONE)
    assert len(list((tmp_path / "pictures").iterdir())) == 1


def test_folder_is_not_made_before_a_picture_is_kept(
    pictures: PictureFolder, tmp_path: Path
) -> None:
    assert pictures.bytes_of("0" * 64 + ".jpg") is None
    assert list(tmp_path.iterdir()) == []


def test_damaged_picture_is_none(pictures: PictureFolder, tmp_path: Path) -> None:
    name = pictures.keep(ONE)
    (tmp_path / "pictures" / name).write_bytes(ONE[:-1])
    assert PictureFolder(tmp_path).bytes_of(name) is None


@pytest.mark.parametrize("name", ["../secret.jpg", "", "case_a.json", "0" * 64 + ".jpg/../x"])
def test_name_that_is_none_reads_no_file(
    name: str, pictures: PictureFolder, tmp_path: Path
) -> None:
    pictures.keep(ONE)
    (tmp_path / "secret.jpg").write_bytes(TWO)
    (tmp_path / "case_a.json").write_bytes(TWO)
    assert pictures.bytes_of(name) is None


def test_folder_that_refuses_is_named_in_one_line(pictures: PictureFolder, tmp_path: Path) -> None:
    (tmp_path / "pictures").write_text("a file")
    with pytest.raises(ArchiveError, match=re.escape(f"{tmp_path / 'pictures'}: ")) as refused:
        pictures.keep(ONE)
    assert "\n" not in str(refused.value)
    assert pictures.brought_in == set()


def test_picture_that_nothing_names_is_let_go(pictures: PictureFolder, tmp_path: Path) -> None:
    gone, stays = pictures.keep(ONE), pictures.keep(TWO)
    pictures.drop_unused({gone, stays}, {stays})
    assert [path.name for path in (tmp_path / "pictures").iterdir()] == [stays]


@pytest.mark.parametrize("file", ["case_a.json", "case_a.draft.json", "CASE_B.JSON"])
def test_picture_that_a_case_or_a_draft_names_stays(
    file: str, pictures: PictureFolder, tmp_path: Path
) -> None:
    name = pictures.keep(ONE)
    (tmp_path / file).write_text(f'{{"case": "{{\\"file\\": \\"{name}\\"}}"}}')
    pictures.drop_unused({name}, set())
    assert (tmp_path / "pictures" / name).exists()


def test_picture_that_was_not_asked_about_stays(pictures: PictureFolder, tmp_path: Path) -> None:
    name = pictures.keep(ONE)
    pictures.drop_unused(set(), set())
    assert (tmp_path / "pictures" / name).exists()


def test_folder_goes_with_its_last_picture(pictures: PictureFolder, tmp_path: Path) -> None:
    pictures.drop_unused({pictures.keep(ONE)}, set())
    assert list(tmp_path.iterdir()) == []


def test_names_are_found_in_the_text_of_a_case(pictures: PictureFolder) -> None:
    name = pictures.keep(ONE)
    assert names_in(f'{{"pictures": [{{"file": "{name}"}}]}}, "other": "x.jpg"') == {name}
