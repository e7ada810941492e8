"""The command line keeps its word: exit codes, names of files, one line for a mistake, no Qt."""

from __future__ import annotations

import base64
import io
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import jsonschema  # type: ignore[import-untyped]
import pytest
from PIL import Image

from opnote import __main__ as command_line
from opnote.archive import TheatreList
from opnote.archive.picture_folder import PictureFolder
from opnote.pack.files import shipped_root
from opnote.record import atomic

ROOT = shipped_root()
CASE = ROOT / "forms" / "samples" / "case_a.json"


def run(*arguments: str | Path) -> int:
    return command_line.main([str(argument) for argument in arguments])


@pytest.fixture
def open_case(tmp_path: Path) -> Path:
    """The demo case without the name of the patient."""
    content = json.loads(CASE.read_text())
    del content["values"]["patient.name"]
    path = tmp_path / "open.json"
    path.write_text(json.dumps(content))
    return path


def refusal(capsys: pytest.CaptureFixture[str]) -> str:
    """The one line that refuses; nothing else is said."""
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "Traceback" not in err
    return err.rstrip("\n")


# compose


def test_compose_writes_each_document_in_each_format_and_prints_the_paths(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new" / "out"
    assert run("compose", CASE, "--out", out, "--document", "note,risk_sheet") == 0
    printed = capsys.readouterr().out.split()
    names = [
        f"case_a.{document}.{ending}"
        for document in ("note", "risk_sheet")
        for ending in ("docx", "pdf", "html", "txt")
    ]
    assert [Path(path).name for path in printed] == names
    assert sorted(path.name for path in out.iterdir()) == sorted(names)
    assert (out / "case_a.note.pdf").read_bytes().startswith(b"%PDF")
    assert (out / "case_a.note.docx").read_bytes().startswith(b"PK")


def test_compose_writes_what_was_asked_for_only(tmp_path: Path) -> None:
    assert (
        run("compose", CASE, "--out", tmp_path / "o", "--document", "note", "--format", "txt") == 0
    )
    assert [path.name for path in (tmp_path / "o").iterdir()] == ["case_a.note.txt"]


def test_compose_takes_an_unfinished_case(tmp_path: Path, open_case: Path) -> None:
    assert run("compose", open_case, "--out", tmp_path / "o", "--format", "txt") == 0
    assert "________" in (tmp_path / "o" / "open.note.txt").read_text()


def test_trace_leads_each_sentence_to_its_fields(tmp_path: Path) -> None:
    out = tmp_path / "o"
    assert (
        run("compose", CASE, "--out", out, "--document", "note", "--format", "txt", "--trace") == 0
    )
    trace = json.loads((out / "case_a.note.trace.json").read_text())
    assert (trace["document"], trace["status"]) == ("note", "preliminary")
    lines = {entry["sentence"]: entry["paths"] for entry in trace["sentences"]}
    (named,) = [s for s in lines if "Percival" in s and "born" in s]
    assert {"patient.name", "patient.born"} <= set(lines[named])
    fields = json.loads(CASE.read_text())["values"]
    assert sum(path in fields for paths in lines.values() for path in paths) > 50


def test_an_older_document_is_replaced_whole(tmp_path: Path) -> None:
    out = tmp_path / "o"
    out.mkdir()
    (out / "case_a.note.txt").write_text("old")
    assert run("compose", CASE, "--out", out, "--format", "txt") == 0
    assert (out / "case_a.note.txt").read_text().startswith("PRELIMINARY")


@pytest.mark.parametrize(
    ("option", "value"), [("--document", "letters"), ("--format", "odt"), ("--format", "")]
)
def test_an_unknown_document_or_format_names_the_known_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], option: str, value: str
) -> None:
    with pytest.raises(SystemExit) as stopped:
        run("compose", CASE, "--out", tmp_path, option, value)
    assert stopped.value.code == 2
    assert "use any of" in capsys.readouterr().err


def test_a_format_that_none_of_the_documents_has_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "o"
    assert run("compose", CASE, "--out", out, "--document", "note", "--format", "ics") == 2
    assert refusal(capsys) == (
        "opnote: nothing to write: note as ics; ics is of the recovery_plan alone, "
        "add it to --document"
    )
    assert not out.exists()


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="these always have a screen")
def test_without_a_screen_the_window_is_refused_in_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    assert run() == 2
    assert refusal(capsys).startswith("opnote: no screen is to be seen here; ")


def test_a_target_that_is_a_file_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "file"
    target.write_text("mine")
    assert run("compose", CASE, "--out", target) == 2
    assert refusal(capsys).startswith(f"opnote: {target}: the folder can't be made (")
    assert target.read_text() == "mine"


@pytest.mark.parametrize("reason", ["No space left on device", "Read-only file system"])
def test_a_disk_that_refuses_is_one_line_and_leaves_nothing_half_written(
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    reason: str,
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(28, reason)

    monkeypatch.setattr(os, "fsync", refuse)
    out = tmp_path / "o"
    assert run("compose", CASE, "--out", out, "--format", "txt") == 2
    line = refusal(capsys)
    assert reason in line
    assert line.endswith("choose another folder with --out")
    assert list(out.iterdir()) == []


def test_a_document_that_cannot_be_made_leaves_the_older_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from opnote.compose import formats
    from opnote.compose.files import ComposeError

    def refuse(*_: object) -> bytes:
        raise ComposeError("the PDF can't be made (no font); install opnote anew")

    monkeypatch.setattr(formats, "FORMATS", {**formats.FORMATS, "pdf": refuse})
    out = tmp_path / "o"
    assert run("compose", CASE, "--out", out, "--format", "txt,pdf") == 2
    assert refusal(capsys) == "opnote: the PDF can't be made (no font); install opnote anew"
    assert not out.exists()


def test_writing_goes_through_one_door(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written: list[Path] = []
    monkeypatch.setattr(atomic, "write_atomically", lambda path, data: written.append(path))
    assert run("compose", CASE, "--out", tmp_path / "o", "--format", "txt") == 0
    assert {path.suffix for path in written if path.parent.name == "o"} == {".txt"}
    assert list((tmp_path / "o").iterdir()) == []


# check


def test_check_of_a_ready_case_exits_with_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("check", CASE) == 0
    out = capsys.readouterr().out
    assert out.endswith("Ready to sign.\n")
    assert "18 of 18  RCS England" in out


def test_check_of_an_open_case_exits_with_1_and_says_what_is_open(
    open_case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", open_case) == 1
    out = capsys.readouterr().out
    assert "  open    Name: not recorded.\n          patient.name | " in out
    assert out.endswith("Not ready: 1 open.\n")


def test_check_as_json_has_the_shape_that_was_promised(
    open_case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("check", open_case, "--json") == 1
    content: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert set(content) == {"ready", "findings", "put_aside", "standards"}
    assert content["ready"] is False
    keys = {"id", "level", "message", "fields", "source", "settled"}
    assert all(keys <= set(finding) for finding in content["findings"])
    (gap,) = [finding for finding in content["findings"] if not finding["settled"]]
    assert (gap["id"], gap["level"]) == ("gap:patient.name", "gap")
    assert gap["fields"] == ["patient.name"]
    for standard in content["standards"].values():
        assert set(standard) == {"met", "of", "missing"}
        assert standard["met"] + len(standard["missing"]) == standard["of"]


def test_newer_work_that_was_not_saved_is_told_beside_the_answer(
    tmp_path: Path, open_case: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    here = tmp_path / "list"
    here.mkdir()
    case = here / "case_a.json"
    case.write_bytes(CASE.read_bytes())
    TheatreList(here).write_draft(case, open_case.read_text())
    draft = here / "case_a.draft.json"
    content = json.loads(draft.read_text())
    draft.write_text(json.dumps({**content, "computer": "theatre-2", "token": "0" * 32}))
    assert run("check", case) == 0
    said = capsys.readouterr()
    assert said.out.endswith("Ready to sign.\n")
    assert "there is newer work that was not saved (another window on theatre-2" in said.err
    assert run("check", draft) == 2
    assert refusal(capsys).endswith("save it in the window, or name case_a.json")


def test_check_names_what_is_kept_and_said_nowhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    content = json.loads(CASE.read_text())
    content["values"]["release.done"] = False
    case = tmp_path / "case.json"
    case.write_text(json.dumps(content))
    run("check", case)
    out = capsys.readouterr().out
    assert "Put aside: no longer asked after another answer" in out
    assert "release.passes" in out.partition("Put aside")[2]
    run("check", case, "--json")
    assert "release.passes" in json.loads(capsys.readouterr().out)["put_aside"]
    run("check", CASE)
    assert "Put aside" not in capsys.readouterr().out


def test_check_is_the_same_whatever_screen_there_is(tmp_path: Path) -> None:
    content = json.loads(CASE.read_text())
    content["values"]["patient.name"] = ""
    content["unanswered"] = {"patient.name": "Ähnlich 😀 ≥"}
    case = tmp_path / "case.json"
    case.write_text(json.dumps(content))
    outputs = []
    for encoding in ("utf-8", "ascii", "cp1252"):
        done = subprocess.run(
            [sys.executable, "-m", "opnote", "check", str(case), "--json"],
            capture_output=True,
            env={**os.environ, "PYTHONIOENCODING": encoding},
            check=False,
        )
        assert done.stderr == b""
        outputs.append(json.loads(done.stdout.decode(encoding)))
    assert outputs[0] == outputs[1] == outputs[2]
    assert any("😀" in finding["message"] for finding in outputs[0]["findings"])


# Files that can't be used


@pytest.mark.parametrize("command", ["check", "compose"])
@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"{", ":1:2: not valid JSON: the file ends too early; restore it from a copy"),
        (b"\xff\xfe", ": not UTF-8 text; save it as UTF-8"),
        (b'{"format": 9}', ": format: 9 is not a format that this opnote reads"),
        (
            b'{"format": 1, "procedures": ["meniscal_repare"]}',
            ": procedures: unknown procedure 'meniscal_repare'; did you mean 'meniscal_repair'?",
        ),
        (
            b'{"format": 1, "procedures": ["../common"]}',
            ": procedures: unknown procedure '../common'",
        ),
        (
            b'{"format": 1, "procedures": ["meniscal_repair"], "values": {"side": "lefft"}}',
            ": side: has no option \"lefft\"; did you mean 'left'?",
        ),
    ],
)
def test_a_file_that_cannot_be_used_is_one_line_and_exits_with_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], command: str, content: bytes, says: str
) -> None:
    case = tmp_path / "case.json"
    case.write_bytes(content)
    out = ["--out", str(tmp_path / "o")] if command == "compose" else []
    assert run(command, case, *out) == 2
    assert refusal(capsys).startswith(f"opnote: {case}{says}")
    assert not (tmp_path / "o").exists()


def test_a_file_that_is_not_there_or_is_a_folder_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in (tmp_path / "none.json", tmp_path):
        assert run("check", path) == 2
        assert refusal(capsys).startswith(f"opnote: {path}: can't be read (")


@pytest.mark.parametrize("arguments", [["check"], ["frobnicate"], ["compose", "x"], ["schema"]])
def test_a_command_that_is_not_understood_exits_with_2(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as stopped:
        run(*arguments)
    assert stopped.value.code == 2


# lint


def test_lint_of_what_is_shipped_finds_no_problem(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("lint") == 0
    assert ": 0 problems, " in capsys.readouterr().out


def test_lint_names_each_problem_and_exits_with_1(
    mini_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    note = mini_folder / "templates/common/note.md"
    text = note.read_text()
    line = text[: text.index("{{ remarks }}")].count("\n") + 1
    note.write_text(text.replace("{{ remarks }}", "{{ remark }}"))
    assert run("lint", mini_folder) == 1
    first, *_, last = capsys.readouterr().out.splitlines()
    assert first == (
        f"templates/common/note.md:{line}: unknown field 'remark'; did you mean 'remarks'?"
    )
    assert last == f"{mini_folder}: 1 problems, 0 warnings"


def test_lint_of_a_folder_without_forms_exits_with_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("lint", tmp_path) == 2
    assert refusal(capsys) == (
        f"opnote: {tmp_path}: holds no forms/ folder; name the folder that does"
    )


def test_lint_lists_the_functions_of_the_trade(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("lint", "--functions") == 0
    assert "zone_of_rim(mm) -> number\n" in capsys.readouterr().out


# schema


def test_the_schema_fits_the_demo_cases(capsys: pytest.CaptureFixture[str]) -> None:
    assert run("schema", "meniscal_repair") == 0
    schema = json.loads(capsys.readouterr().out)
    validator = jsonschema.Draft202012Validator(schema)
    validator.check_schema(schema)
    for sample in CASE.parent.glob("*.json"):
        validator.validate(json.loads(sample.read_text()))


def test_the_schema_of_an_unknown_procedure_names_the_known_ones(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert run("schema", "meniscal_repare") == 2
    assert "unknown procedure 'meniscal_repare'; did you mean 'meniscal_repair'?" in refusal(capsys)


# demo and Qt


def test_the_demo_without_a_screen_composes_its_documents(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(command_line, "_FORMATS", ("txt",))
    monkeypatch.chdir(tmp_path)
    assert run("demo") == 0
    assert capsys.readouterr().out.startswith("No screen here: composed the ")
    assert len(list((tmp_path / "out").iterdir())) >= 9


WITHOUT_QT = """
import sys

class NoQt:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in ("PySide6", "shiboken6"):
            raise ImportError(f"{name} was asked for")

sys.meta_path.insert(0, NoQt())
from opnote.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", str(CASE)],
        ["compose", str(CASE), "--out", "o"],
        ["lint"],
        ["schema", "meniscal_repair"],
        ["demo", "--out", "o"],
        ["--version"],
    ],
    ids=lambda arguments: arguments[0],
)
def test_all_but_the_window_works_without_qt(tmp_path: Path, arguments: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_QT, *arguments],
        capture_output=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(Path(command_line.__file__).parent.parent)},
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")


def test_the_window_without_qt_says_that_the_commands_work(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_QT],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(Path(command_line.__file__).parent.parent)},
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.startswith("opnote: the window can't be opened (")
    assert done.stderr.count("\n") == 1


def test_a_reader_that_stops_reading_is_told_by_the_exit_status_alone() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    done = subprocess.run(
        [sys.executable, "-m", "opnote", "schema", "meniscal_repair"],
        stdout=writing,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writing)
    assert (done.returncode, done.stderr) == (141, b"")  # 128 and SIGPIPE, 13


# Pictures


def test_compose_finds_the_pictures_beside_the_case(tmp_path: Path) -> None:
    file = io.BytesIO()
    Image.new("RGB", (640, 480), "red").save(file, "jpeg")
    there = PictureFolder(tmp_path).keep(file.getvalue())
    content = json.loads(CASE.read_text())
    gone = "0" * 64 + ".jpg"
    content["values"]["pictures"] = [
        {"id": f"r{content['next_row'] + index}", "file": name, "shows": "repaired"}
        for index, name in enumerate((there, gone))
    ]
    case = tmp_path / "case.json"
    case.write_text(json.dumps(content))
    assert run("compose", case, "--out", tmp_path / "out", "--format", "html,txt") == 0
    html = (tmp_path / "out" / "case.note.html").read_text()
    assert base64.b64encode(file.getvalue()).decode() in html
    text = (tmp_path / "out" / "case.note.txt").read_text()
    assert text.count("This picture is missing") == 1
    assert "- Picture 1: the repair." in text
