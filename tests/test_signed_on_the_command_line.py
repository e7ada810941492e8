"""The command line knows a signed case, and one that was changed after that."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from opnote import __main__ as command_line
from opnote.compose.photograph import no_pictures
from opnote.compose.sign import sign
from opnote.pack.case import case_text, read_case
from opnote.pack.files import shipped_root
from opnote.pack.loader import load_pack
from opnote.pack.pack import Pack
from opnote.record import Record
from opnote.record.seal import with_addendum

SAMPLES = shipped_root() / "forms" / "samples"
AT = datetime(2026, 3, 9, 11, 30, tzinfo=UTC)
SIGNED = "signed as author by Miss Q. Larkspindle on 9 March 2026, 11:30 (UTC+00:00)"


@pytest.fixture(scope="module")
def cache(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("packs")


@pytest.fixture(autouse=True)
def _one_cache(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The pack is compiled once for all of these tests."""
    monkeypatch.setenv("OPNOTE_CACHE", str(cache))


@pytest.fixture(scope="module")
def pack() -> Pack:
    return load_pack(["meniscal_repair"], [shipped_root()])


@pytest.fixture(scope="module")
def record(pack: Pack) -> Record:
    text = (SAMPLES / "case_a.json").read_text(encoding="utf-8")
    unsigned, _ = read_case(text, "case_a.json", lambda _: pack)
    return sign(pack, unsigned, "Miss Q. Larkspindle", AT, "left", no_pictures)


@pytest.fixture
def signed(tmp_path: Path, pack: Pack, record: Record) -> Path:
    added = with_addendum(record, "Dr T. Thornquill", AT, "The foot lifts fully.")
    path = tmp_path / "signed.json"
    path.write_text(case_text(added, pack.form), encoding="utf-8")
    return path


@pytest.fixture
def broken(signed: Path) -> Path:
    """The signed case with another word of its addendum."""
    text = signed.read_text(encoding="utf-8").replace("lifts fully", "lifts")
    path = signed.with_name("broken.json")
    path.write_text(text, encoding="utf-8")
    return path


def run(*arguments: str | Path) -> int:
    return command_line.main([str(argument) for argument in arguments])


def test_check_of_a_signed_case_says_who_signed_and_exits_with_0(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", signed) == 0
    assert f"Amended: {SIGNED}, with an addendum by Dr T. Thornquill" in capsys.readouterr().out


def test_check_as_json_gives_the_signature_of_a_signed_case(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", "--json", signed) == 0
    content = json.loads(capsys.readouterr().out)
    assert content["ready"] is True
    assert content["signature"] == {
        "by": "Miss Q. Larkspindle",
        "role": "author",
        "at": "2026-03-09T11:30:00+00:00",
        "side": "left",
        "changed": "",
        "addenda": [{"by": "Dr T. Thornquill", "at": "2026-03-09T11:30:00+00:00"}],
    }


def test_check_of_a_case_changed_after_signing_exits_with_1_and_says_what_helps(
    broken: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", broken) == 1
    last = capsys.readouterr().out.splitlines()[-1]
    assert last.startswith(f"Changed after it was {SIGNED}: addendum 1 is not what was signed.")
    assert last.endswith("Restore the file from a copy.")


def test_compose_writes_a_signed_note_as_it_was_signed(signed: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run("compose", signed, "--out", out, "--document", "note", "--format", "txt") == 0
    text = (out / "signed.note.txt").read_text(encoding="utf-8")
    assert text.startswith(f"Amended: {SIGNED}")
    assert "The foot lifts fully." in text


def test_compose_marks_a_case_changed_after_signing_and_exits_with_1(
    broken: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert run("compose", broken, "--out", out, "--document", "note", "--format", "txt") == 1
    text = (out / "broken.note.txt").read_text(encoding="utf-8")
    assert text.startswith("CHANGED AFTER SIGNING")
    said = capsys.readouterr()
    assert said.out.strip() == str(out / "broken.note.txt")
    assert said.err.count("\n") == 1
    assert f"{broken}: Changed after it was {SIGNED}" in said.err


def test_a_signature_that_cannot_be_read_is_one_line_and_exits_with_2(
    signed: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = json.loads(signed.read_text(encoding="utf-8"))
    case["signature"]["at"] = "yesterday"
    signed.write_text(json.dumps(case), encoding="utf-8")
    assert run("check", signed) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert "signature.at: 'yesterday' is no time with its offset from UTC" in said.err


def test_the_demo_cases_stay_unsigned() -> None:
    cases = [json.loads(path.read_text(encoding="utf-8")) for path in SAMPLES.glob("*.json")]
    assert cases
    assert not [case for case in cases if "signature" in case]
