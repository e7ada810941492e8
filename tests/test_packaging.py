"""What a person installs holds what the checkout holds."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

import opnote

ROOT = Path(__file__).resolve().parent.parent

pytestmark = pytest.mark.slow


def built(kind: str, source: Path, folder: Path) -> Path:
    """The wheel or sdist of a source tree, built without the network."""
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", str(folder)],
        cwd=source,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (file,) = folder.iterdir()
    return file


@pytest.fixture(scope="module")
def sdist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return built("sdist", ROOT, tmp_path_factory.mktemp("sdist"))


@pytest.fixture(scope="module")
def wheel(sdist: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the sdist, so that the sdist is proved to hold all it takes."""
    unpacked = tmp_path_factory.mktemp("unpacked")
    # As a command, because the call changed its arguments between versions of Python.
    subprocess.run([sys.executable, "-m", "tarfile", "-e", str(sdist), str(unpacked)], check=True)
    (source,) = unpacked.iterdir()
    return built("wheel", source, tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder that an installer would fill."""
    folder = tmp_path_factory.mktemp("installed")
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder)
    return folder


@pytest.fixture
def run(installed: Path, tmp_path: Path) -> Callable[..., subprocess.CompletedProcess[str]]:
    """Run the installed opnote, far from the checkout."""

    def run_opnote(*arguments: str) -> subprocess.CompletedProcess[str]:
        program = (
            f"import sys; sys.path.insert(0, {str(installed)!r}); import opnote.__main__ as m;"
        )
        return subprocess.run(
            [sys.executable, "-c", f"{program} sys.exit(m.main(sys.argv[1:]))", *arguments],
            cwd=tmp_path,
            env={**os.environ, "OPNOTE_CACHE": str(tmp_path / "cache")},
            capture_output=True,
            text=True,
            check=False,
        )

    return run_opnote


def files_under(folder: Path) -> set[str]:
    """The files of a folder by relative name, without what Python and editors leave behind."""
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts and path.suffix != ".pyc"
    }


@pytest.mark.parametrize("name", ["forms", "templates"])
def test_wheel_holds_all_forms_and_wordings(installed: Path, name: str) -> None:
    shipped = files_under(installed / "opnote" / "shipped" / name)
    assert shipped == files_under(ROOT / name)
    assert shipped


def test_wheel_holds_the_demo_cases(installed: Path) -> None:
    samples = installed / "opnote" / "shipped" / "forms" / "samples"
    assert list(samples.glob("*.json"))


def test_wheel_holds_the_whole_program_and_nothing_else(installed: Path) -> None:
    package = {name for name in files_under(installed / "opnote") if "shipped/" not in name}
    assert package == files_under(ROOT / "opnote")
    assert package >= {"compose/template.docx", "compose/page.typ", "py.typed"}
    assert {path.name for path in installed.iterdir()} == {
        "opnote",
        f"opnote-{opnote.__version__}.dist-info",
    }


def test_wheel_says_its_licence_and_its_command(installed: Path) -> None:
    about = installed / f"opnote-{opnote.__version__}.dist-info"
    assert "License-Expression: Apache-2.0\n" in (about / "METADATA").read_text()
    assert (about / "licenses" / "LICENSE").read_text() == (ROOT / "LICENSE").read_text()
    assert "opnote = opnote.__main__:main" in (about / "entry_points.txt").read_text()


def test_installed_forms_have_no_problem(
    installed: Path, run: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    done = run("lint")
    assert done.returncode == 0, done.stdout + done.stderr
    assert str(installed / "opnote" / "shipped") in done.stdout


def test_installed_opnote_composes_a_demo_case(
    installed: Path, run: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    case = min((installed / "opnote" / "shipped" / "forms" / "samples").glob("*.json"))
    done = run("compose", str(case), "--document", "note", "--out", str(tmp_path / "out"))
    assert done.returncode == 0, done.stderr
    endings = {path.suffix for path in (tmp_path / "out").iterdir()}
    assert endings == {".docx", ".pdf", ".html", ".txt"}


def test_tests_use_the_versions_that_are_pinned() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert all("==" in package for package in project["optional-dependencies"]["test"])


def test_case_file_in_the_readme_can_be_read(
    run: Callable[..., subprocess.CompletedProcess[str]], tmp_path: Path
) -> None:
    readme = (ROOT / "README.md").read_text()
    example = readme.partition("```json\n")[2].partition("```")[0]
    case = tmp_path / "example.json"
    case.write_text(example)
    done = run("check", str(case), "--json")
    assert done.returncode == 1, done.stderr
    assert not json.loads(done.stdout)["ready"]
