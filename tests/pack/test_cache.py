"""A kept pack is the pack that its files make, or it is not used."""

from __future__ import annotations

import marshal
import os
import pickle
import sys
from datetime import date
from pathlib import Path

import pytest

from opnote.assess import assess, scores_of
from opnote.compose import compose
from opnote.pack import loader
from opnote.pack.cache import cached_pack
from opnote.pack.pack import DOCUMENTS, Pack
from opnote.pack.problem import PackError
from opnote.record import Record

NAMES = ("mini_repair",)


def everything(pack: Pack, record: Record) -> tuple[object, ...]:
    view = pack.view(record)
    assessment = assess(pack, view)
    documents = (compose(pack, view, assessment, kind) for kind in DOCUMENTS)
    return (assessment.findings, [(s.met, s.of) for s in scores_of(pack, view)], *documents)


def no_reading(*_: object, **__: object) -> None:
    raise AssertionError("the files were read again")


def test_a_kept_pack_finds_and_says_the_same(
    mini_folder: Path, tmp_path: Path, full_case: Record, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = cached_pack(NAMES, [mini_folder], folder=tmp_path / "kept")
    monkeypatch.setattr(loader, "read_pack", no_reading)
    second = cached_pack(NAMES, [mini_folder], folder=tmp_path / "kept")
    for record in (full_case, first.new_record()):
        assert everything(second, record) == everything(first, record)


def test_a_changed_file_is_noticed(mini_folder: Path, tmp_path: Path) -> None:
    cached_pack(NAMES, [mini_folder], folder=tmp_path / "kept")
    form = mini_folder / "forms/mini_repair/form.toml"
    form.write_text(form.read_text().replace('"Mini repair"', '"Mini mend"'))
    assert cached_pack(NAMES, [mini_folder], folder=tmp_path / "kept").form.titles == {
        "mini_repair": "Mini mend"
    }


def test_a_mistake_made_later_is_told(mini_folder: Path, tmp_path: Path) -> None:
    cached_pack(NAMES, [mini_folder], folder=tmp_path / "kept")
    (mini_folder / "templates/common/note.md").write_text("{{ sides }}")
    with pytest.raises(PackError):
        cached_pack(NAMES, [mini_folder], folder=tmp_path / "kept")


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not a pickle",
        pickle.dumps(3),
        pickle.dumps((3, {})),
        marshal.dumps(3),
    ],
)
def test_a_broken_or_foreign_file_is_read_over(
    mini_folder: Path, tmp_path: Path, full_case: Record, content: bytes
) -> None:
    folder = tmp_path / "kept"
    first = cached_pack(NAMES, [mini_folder], folder=folder)
    (kept,) = folder.glob("*.pack")
    kept.write_bytes(content)
    again = cached_pack(NAMES, [mini_folder], folder=folder)
    assert everything(again, full_case) == everything(first, full_case)
    assert kept.read_bytes() != content


def test_a_kept_pack_that_is_torn_is_read_over(mini_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    cached_pack(NAMES, [mini_folder], folder=folder)
    (kept,) = folder.glob("*.pack")
    whole = kept.read_bytes()
    kept.write_bytes(whole[: len(whole) // 2])
    assert cached_pack(NAMES, [mini_folder], folder=folder).wordings
    assert kept.read_bytes() == whole


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps the folder private itself")
def test_a_folder_that_others_can_write_to_is_not_used(mini_folder: Path, tmp_path: Path) -> None:
    folder = tmp_path / "kept"
    cached_pack(NAMES, [mini_folder], folder=folder)
    (kept,) = folder.glob("*.pack")
    marker = tmp_path / "ran"
    kept.write_bytes(f"cos\nsystem\n(S'touch {marker}'\ntR.".encode())
    os.chmod(folder, 0o777)
    assert cached_pack(NAMES, [mini_folder], folder=folder).form.titles
    assert not marker.exists()
    assert kept.read_bytes().startswith(b"cos")


def test_a_new_folder_is_private(mini_folder: Path, tmp_path: Path) -> None:
    cached_pack(NAMES, [mini_folder], folder=tmp_path / "deep" / "kept")
    assert not (tmp_path / "deep" / "kept").stat().st_mode & 0o077


def test_a_folder_that_cannot_be_made_costs_time_only(mini_folder: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    assert cached_pack(NAMES, [mini_folder], folder=tmp_path / "file" / "kept").wordings


def test_the_day_decides_the_warnings_of_a_kept_pack(mini_folder: Path, tmp_path: Path) -> None:
    def warnings(day: date) -> int:
        return len(cached_pack(NAMES, [mini_folder], day, tmp_path / "kept").warnings)

    assert (warnings(date(2026, 1, 1)), warnings(date(2028, 1, 1))) == (0, 2)
