"""`make screens` fails when what it draws can't be read, or can't be written."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest
from PySide6.QtWidgets import QApplication, QLabel

from opnote.desk import screens
from opnote.desk.floats import FLOATS
from opnote.desk.stage import SMALL, Stage


def clip_a_label(stage: Stage, scheme: str) -> None:
    """A window without a case, on whose ground a label has less room than its words."""
    label = QLabel("Ligaments, nerves, vessels", stage.window)
    label.setProperty(FLOATS, True)
    label.setGeometry(400, 300, 60, 30)
    label.show()
    stage.draw(f"state_spoilt_{scheme}")
    stage.draw(f"state_other_{scheme}")


@pytest.fixture
def spoilt(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qapp: QApplication) -> None:
    """The only state that is drawn has a clipped label."""
    monkeypatch.setenv("OPNOTE_DATA", str(tmp_path))  # put back what a stage makes of it
    table = (("state_spoilt", SMALL, clip_a_label),)
    monkeypatch.setattr(screens, "NOTICES", table)


@pytest.mark.usefixtures("spoilt")
@pytest.mark.parametrize("more", [[], ["--check-only"]])
def test_a_clipped_label_is_told_in_a_line_and_ends_with_1(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str]
) -> None:
    out = tmp_path / "out"
    asked = [str(out), "--only", "state_spoilt", "--part", "notices", "--scheme", "light", *more]
    assert screens.main(asked) == 1
    (line,) = capsys.readouterr().out.splitlines()
    assert line.startswith("state_spoilt_light: clipped: QLabel 'Ligaments, nerves, vessels'")
    drawn = sorted(path.name for path in out.glob("*"))
    assert drawn == ([] if more else ["state_spoilt_light.png"])


def command(out: Path) -> subprocess.CompletedProcess[str]:
    """The command itself, for one drawing."""
    asked = [str(out), "--only", "state_empty_list", "--part", "states", "--scheme", "light"]
    return subprocess.run(
        [sys.executable, "-m", "opnote.desk.screens", *asked],
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.slow
def test_the_command_ends_with_0_when_all_can_be_read_and_written(tmp_path: Path) -> None:
    run = command(tmp_path)
    assert (run.returncode, run.stdout) == (0, "")
    assert (tmp_path / "state_empty_list_light.png").is_file()


@pytest.mark.slow
def test_a_drawing_that_cannot_be_written_is_a_fault(tmp_path: Path) -> None:
    in_the_way = tmp_path / "state_empty_list_light.png"
    in_the_way.mkdir()
    run = command(tmp_path)
    assert run.returncode == 1
    assert f"{in_the_way} can't be written" in run.stdout


@pytest.mark.parametrize("code", [1, -9])
def test_a_part_that_fails_or_is_killed_fails_the_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    def run(parts: list[str], **_: object) -> SimpleNamespace:
        fails = parts[-3:] == ["dark", "--part", "dialogs"]
        return SimpleNamespace(returncode=code if fails else 0)

    monkeypatch.setattr(subprocess, "run", run)
    assert screens.main([str(tmp_path)]) == 1
