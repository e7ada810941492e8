"""Nothing is lost, nothing is half-written, and nobody's work is written over."""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from opnote.archive import ArchiveError, CaseFile, TheatreList
from opnote.archive.folder import MOST_BYTES

NINE = datetime(2026, 3, 9, 9, 0, tzinfo=UTC)


class FakeClock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = NINE

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture(autouse=True)
def _locks_stay_here(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A process that is killed leaves its lock file; here that is in a folder of the test."""
    folder = str(tmp_path_factory.mktemp("locks"))
    monkeypatch.setattr(tempfile, "tempdir", folder)
    monkeypatch.setenv("TMPDIR", folder)


@pytest.fixture
def clock() -> FakeClock:
    return FakeClock()


@pytest.fixture
def theatre_list(tmp_path: Path, clock: FakeClock) -> TheatreList:
    return TheatreList(tmp_path, clock)


@pytest.fixture
def case(tmp_path: Path) -> Path:
    path = tmp_path / "case_a.json"
    path.write_text('{"side": "left"}')
    return path


def draft_by_a_process_that_is_gone(case: Path, text: str) -> None:
    """Have another process write a draft and die without a word."""
    program = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from opnote.archive import TheatreList\n"
        "case = Path(sys.argv[1])\n"
        "TheatreList(case.parent).write_draft(case, sys.argv[2])\n"
        "os._exit(9)\n"
    )
    done = subprocess.run([sys.executable, "-c", program, str(case), text], check=False)
    assert done.returncode == 9


def message(caught: pytest.ExceptionInfo[ArchiveError]) -> str:
    """What people read: one line that starts with the file and holds a remedy after a semicolon."""
    line = str(caught.value)
    assert "\n" not in line
    assert "; " in line
    return line


# Listing


def test_cases_are_listed_by_name_without_drafts_and_other_files(
    tmp_path: Path, theatre_list: TheatreList
) -> None:
    for name in ["b.json", "A.json", "c.JSON", "b.draft.json", "list.txt", ".hidden.json", ".json"]:
        (tmp_path / name).write_text("{}")
    (tmp_path / "folder.json").mkdir()
    (tmp_path / ".0123456789abcdef.part").write_text("{")
    (tmp_path / "dangling.json").symlink_to(tmp_path / "nowhere.json")
    assert theatre_list.cases() == (
        CaseFile(tmp_path / "A.json", "A"),
        CaseFile(tmp_path / "b.json", "b"),
        CaseFile(tmp_path / "c.JSON", "c"),
    )


def test_unfinished_file_hides_no_case(
    tmp_path: Path, theatre_list: TheatreList, case: Path
) -> None:
    (tmp_path / ".0123456789abcdef.part").write_text('{"side": "ri')
    assert [found.name for found in theatre_list.cases()] == ["case_a"]
    assert theatre_list.read(case) == '{"side": "left"}'


def test_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(ArchiveError) as caught:
        TheatreList(tmp_path / "nowhere").cases()
    assert message(caught).startswith(f"{tmp_path / 'nowhere'}: it isn't there")


def test_case_of_which_only_a_draft_was_written_is_found(
    tmp_path: Path, theatre_list: TheatreList, case: Path
) -> None:
    theatre_list.write_draft(case, "{}")
    begun = theatre_list.new_path("Marrowgate")
    theatre_list.write_draft(begun, '{"side": "right"}')
    assert theatre_list.unsaved() == (CaseFile(tmp_path / "Marrowgate.json", "Marrowgate"),)
    found = theatre_list.draft(begun)
    assert found is not None
    assert found.text == '{"side": "right"}'


# Reading and writing


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(text=st.text(st.characters(codec="utf-8")))
def test_what_was_written_is_read_back(tmp_path: Path, text: str) -> None:
    theatre_list = TheatreList(tmp_path)
    path = tmp_path / "case.json"
    path.unlink(missing_ok=True)
    theatre_list.write(path, text)
    assert TheatreList(tmp_path).read(path) == text.removeprefix("\ufeff")
    assert os.listdir(tmp_path) == ["case.json"]


def test_mark_that_some_editors_put_first_is_no_part_of_the_text(
    theatre_list: TheatreList, case: Path
) -> None:
    case.write_bytes(b'\xef\xbb\xbf{"side": "left"}')
    assert theatre_list.read(case) == '{"side": "left"}'


def test_line_ends_stay_as_they_are(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    theatre_list.write(case, "{\r\n}\n")
    assert case.read_bytes() == b"{\r\n}\n"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\xff\xfe{}", "byte 1 isn't text in UTF-8"),
        (b'{"name": "M\xfcller"}', "byte 12 isn't text in UTF-8"),
        (b" " * (MOST_BYTES + 1), "larger than any case file"),
    ],
    ids=["UTF-16", "Latin-1", "too large"],
)
def test_file_that_is_no_case_is_refused(
    theatre_list: TheatreList, case: Path, data: bytes, words: str
) -> None:
    case.write_bytes(data)
    with pytest.raises(ArchiveError) as caught:
        theatre_list.read(case)
    assert message(caught).startswith(f"{case}: {words}")


def test_file_of_the_greatest_size_is_read(theatre_list: TheatreList, case: Path) -> None:
    case.write_bytes(b" " * MOST_BYTES)
    assert len(theatre_list.read(case)) == MOST_BYTES


def test_missing_case_is_named(tmp_path: Path, theatre_list: TheatreList) -> None:
    with pytest.raises(ArchiveError) as caught:
        theatre_list.read(tmp_path / "gone.json")
    assert message(caught).startswith(f"{tmp_path / 'gone.json'}: it isn't there")


def test_folder_is_no_case(tmp_path: Path, theatre_list: TheatreList) -> None:
    with pytest.raises(ArchiveError, match="this is no ordinary file; choose"):
        theatre_list.read(tmp_path)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no named pipes in folders")
def test_pipe_is_not_waited_for(tmp_path: Path, theatre_list: TheatreList) -> None:
    os.mkfifo(tmp_path / "pipe.json")
    with pytest.raises(ArchiveError, match="no ordinary file"):
        theatre_list.read(tmp_path / "pipe.json")
    with pytest.raises(ArchiveError, match="no ordinary file"):
        theatre_list.write(tmp_path / "pipe.json", "{}")


def test_name_with_a_line_break_stays_in_one_line(
    tmp_path: Path, theatre_list: TheatreList
) -> None:
    with pytest.raises(ArchiveError) as caught:
        theatre_list.read(tmp_path / "a\nb.json")
    message(caught)


def test_half_a_character_is_named_and_the_old_file_stays(
    theatre_list: TheatreList, case: Path
) -> None:
    theatre_list.read(case)
    with pytest.raises(ArchiveError, match=r"character 3 \('\\ud83e'\) is half a character"):
        theatre_list.write(case, "ab\ud83e")
    assert case.read_text() == '{"side": "left"}'


def test_more_than_could_be_read_back_is_not_written(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    with pytest.raises(ArchiveError, match="shorten the longest text"):
        theatre_list.write(case, " " * (MOST_BYTES + 1))
    assert case.read_text() == '{"side": "left"}'


@pytest.mark.parametrize("name", ["case_a.draft.json", "case_a.txt", "case_a", ".case_a.json"])
def test_name_that_would_not_be_listed_is_refused(
    tmp_path: Path, theatre_list: TheatreList, name: str
) -> None:
    with pytest.raises(ArchiveError, match="choose another name"):
        theatre_list.write(tmp_path / name, "{}")
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize(
    ("call", "code", "words"),
    [
        ("fsync", errno.ENOSPC, "the disk is full; free some space"),
        ("fsync", errno.EDQUOT, "the disk is full; free some space"),
        ("replace", errno.EROFS, "no permission (Read-only file system); ask who owns the folder"),
        ("replace", errno.EACCES, "no permission (Permission denied); ask who owns the folder"),
        ("fsync", errno.EIO, "the system refuses (Input/output error); save in another folder"),
    ],
)
def test_refusal_is_said_and_the_old_file_stays_whole(
    theatre_list: TheatreList,
    case: Path,
    monkeypatch: pytest.MonkeyPatch,
    call: str,
    code: int,
    words: str,
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(code, os.strerror(code))

    theatre_list.read(case)
    monkeypatch.setattr(os, call, refuse)
    with pytest.raises(ArchiveError) as caught:
        theatre_list.write(case, '{"side": "right"}')
    assert message(caught).startswith(f"{case}: {words}")
    with pytest.raises(ArchiveError, match=r"case_a\.draft\.json: "):
        theatre_list.write_draft(case, '{"side": "right"}')
    assert case.read_text() == '{"side": "left"}'
    assert os.listdir(case.parent) == ["case_a.json"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a disk that is always full")
def test_disk_that_is_full_while_writing_is_said(
    theatre_list: TheatreList, case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    open_as_usual = Path.open

    def open_on_a_full_disk(self: Path, mode: str = "r") -> object:
        return open("/dev/full", "wb") if mode == "xb" else open_as_usual(self, mode)

    theatre_list.read(case)
    monkeypatch.setattr(Path, "open", open_on_a_full_disk)
    with pytest.raises(ArchiveError, match="the disk is full"):
        theatre_list.write(case, '{"side": "right"}')
    monkeypatch.undo()
    assert case.read_text() == '{"side": "left"}'


def test_write_after_a_refusal_goes_through(
    theatre_list: TheatreList, case: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    theatre_list.read(case)
    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(ArchiveError):
        theatre_list.write(case, '{"side": "right"}')
    monkeypatch.undo()
    theatre_list.write(case, '{"side": "right"}')
    assert case.read_text() == '{"side": "right"}'


# Other people


def test_case_changed_by_somebody_else_is_not_written_over(
    theatre_list: TheatreList, case: Path
) -> None:
    theatre_list.read(case)
    case.write_text('{"side": "right"}')
    with pytest.raises(ArchiveError, match=r"changed this case since .*; save beside it"):
        theatre_list.write(case, "{}")
    assert case.read_text() == '{"side": "right"}'


def test_change_after_our_own_writing_is_seen_too(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    theatre_list.write(case, "first")
    theatre_list.write(case, "second")
    case.write_text("theirs")
    with pytest.raises(ArchiveError, match="changed this case"):
        theatre_list.write(case, "third")


def test_change_that_keeps_size_and_time_is_seen(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    times = case.stat()
    case.write_text('{"side": "LEFT"}')
    os.utime(case, ns=(times.st_atime_ns, times.st_mtime_ns))
    with pytest.raises(ArchiveError, match="changed this case"):
        theatre_list.write(case, "{}")


def test_reading_again_allows_writing_again(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    case.write_text("theirs")
    theatre_list.read(case)
    theatre_list.write(case, "ours, after a look at theirs")
    assert case.read_text() == "ours, after a look at theirs"


def test_case_that_was_never_opened_is_not_written_over(
    theatre_list: TheatreList, case: Path
) -> None:
    with pytest.raises(ArchiveError, match="there is a case of that name already"):
        theatre_list.write(case, "{}")
    assert case.read_text() == '{"side": "left"}'


def test_somebody_who_wrote_the_same_is_no_obstacle(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    case.write_text("both")
    theatre_list.write(case, "both")
    assert case.read_text() == "both"


def test_case_that_was_removed_is_written_again(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    case.unlink()
    theatre_list.write(case, "{}")
    assert case.read_text() == "{}"


# Drafts


def test_draft_leaves_the_case_file_alone(
    theatre_list: TheatreList, clock: FakeClock, case: Path
) -> None:
    theatre_list.write_draft(case, "first")
    clock.now += timedelta(seconds=1)
    theatre_list.write_draft(case, "second")
    assert case.read_text() == '{"side": "left"}'
    found = theatre_list.draft(case)
    assert found is not None
    assert (found.text, found.saved_at) == ("second", NINE + timedelta(seconds=1))


def test_draft_keeps_even_half_a_character(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.write_draft(case, "ab\ud83e")
    found = theatre_list.draft(case)
    assert found is not None
    assert found.text == "ab\ud83e"


def test_draft_of_a_running_process_is_no_orphan(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.write_draft(case, "typed a moment ago")
    found = theatre_list.draft(case)
    assert found is not None
    assert not found.is_orphan


def test_no_draft_is_none(theatre_list: TheatreList, case: Path) -> None:
    assert theatre_list.draft(case) is None


def test_draft_of_a_process_that_is_gone_is_offered(theatre_list: TheatreList, case: Path) -> None:
    draft_by_a_process_that_is_gone(case, "the last minute before the plug was pulled")
    found = theatre_list.draft(case)
    assert found is not None
    assert found.is_orphan
    assert found.text == "the last minute before the plug was pulled"


def test_draft_that_says_what_the_case_says_is_not_offered(
    theatre_list: TheatreList, case: Path
) -> None:
    draft_by_a_process_that_is_gone(case, case.read_text())
    found = theatre_list.draft(case)
    assert found is not None
    assert not found.is_orphan


def test_draft_without_a_case_file_is_offered(tmp_path: Path, theatre_list: TheatreList) -> None:
    draft_by_a_process_that_is_gone(tmp_path / "begun.json", "{}")
    found = theatre_list.draft(tmp_path / "begun.json")
    assert found is not None
    assert found.is_orphan


def test_number_of_a_process_that_is_given_out_again_deceives_nobody(
    theatre_list: TheatreList, case: Path
) -> None:
    draft_by_a_process_that_is_gone(case, "from before the power cut")
    draft = case.with_name("case_a.draft.json")
    stored = json.loads(draft.read_text())
    draft.write_text(json.dumps({**stored, "process": os.getpid()}))
    found = theatre_list.draft(case)
    assert found is not None
    assert found.is_orphan


def test_orphan_is_not_written_over_before_somebody_looked_at_it(
    theatre_list: TheatreList, case: Path
) -> None:
    draft_by_a_process_that_is_gone(case, "an hour of work")
    with pytest.raises(ArchiveError, match="open the case again to look at it"):
        theatre_list.write_draft(case, "something else")
    found = theatre_list.draft(case)
    assert found is not None
    assert found.text == "an hour of work"
    theatre_list.write_draft(case, "gone on from there")


def test_second_window_on_a_case_is_told(theatre_list: TheatreList, case: Path) -> None:
    program = (
        "import sys\n"
        "from pathlib import Path\n"
        "from opnote.archive import TheatreList\n"
        "case = Path(sys.argv[1])\n"
        "TheatreList(case.parent).write_draft(case, 'theirs')\n"
        "print('ready', flush=True)\n"
        "sys.stdin.read()\n"
    )
    with subprocess.Popen(
        [sys.executable, "-c", program, str(case)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    ) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "ready\n"
        found = theatre_list.draft(case)
        assert found is not None
        assert not found.is_orphan
        with pytest.raises(ArchiveError, match=rf"another window \(process {other.pid}\); close"):
            theatre_list.write_draft(case, "ours")
        other.communicate()
    found = theatre_list.draft(case)
    assert found is not None
    assert found.is_orphan
    theatre_list.write_draft(case, "ours")


def test_draft_from_another_computer_is_left_alone_for_a_day(
    theatre_list: TheatreList, clock: FakeClock, case: Path
) -> None:
    theatre_list.write_draft(case, "typed elsewhere")
    draft = case.with_name("case_a.draft.json")
    stored = json.loads(draft.read_text())
    draft.write_text(json.dumps({**stored, "computer": "theatre-4", "token": "0" * 32}))
    with pytest.raises(ArchiveError, match="another window on theatre-4"):
        theatre_list.write_draft(case, "ours")
    found = theatre_list.draft(case)
    assert found is not None
    assert not found.is_orphan
    clock.now += timedelta(days=1)
    found = theatre_list.draft(case)
    assert found is not None
    assert found.is_orphan


def test_saved_case_needs_no_draft(theatre_list: TheatreList, case: Path) -> None:
    theatre_list.read(case)
    theatre_list.write_draft(case, "typed")
    theatre_list.write(case, "typed and a little more")
    assert theatre_list.draft(case) is None
    assert os.listdir(case.parent) == ["case_a.json"]


def test_draft_that_nobody_took_up_outlives_saving(theatre_list: TheatreList, case: Path) -> None:
    draft_by_a_process_that_is_gone(case, "an hour of work")
    theatre_list.read(case)
    theatre_list.write(case, "something else")
    found = theatre_list.draft(case)
    assert found is not None
    assert found.text == "an hour of work"


def test_draft_that_was_taken_up_and_saved_goes(theatre_list: TheatreList, case: Path) -> None:
    draft_by_a_process_that_is_gone(case, "an hour of work")
    theatre_list.read(case)
    theatre_list.write(case, "an hour of work")
    assert theatre_list.draft(case) is None


def test_a_new_name_is_none_of_those_in_use(theatre_list: TheatreList, tmp_path: Path) -> None:
    used = [tmp_path / "new_case.json", tmp_path / "NEW_case_2.json"]
    assert theatre_list.new_path("new case", used) == tmp_path / "new_case_3.json"


def test_draft_that_is_kept_becomes_a_case_and_makes_room(
    theatre_list: TheatreList, case: Path
) -> None:
    draft_by_a_process_that_is_gone(case, "an hour of work")
    kept = theatre_list.keep_draft(case)
    assert kept == case.with_name("case_a_earlier_draft.json")
    assert theatre_list.read(kept) == "an hour of work"
    theatre_list.write_draft(case, "begun anew")
    assert theatre_list.keep_draft(case.with_name("case_b.json")) is None


def test_only_an_own_draft_is_let_go_when_nothing_was_typed(
    theatre_list: TheatreList, case: Path
) -> None:
    draft_by_a_process_that_is_gone(case, "an hour of work")
    theatre_list.discard_own_draft(case)
    assert theatre_list.draft(case) is not None
    theatre_list.write_draft(case, "mine")
    theatre_list.discard_own_draft(case)
    assert theatre_list.draft(case) is None


def test_discarded_draft_is_gone(theatre_list: TheatreList, case: Path) -> None:
    draft_by_a_process_that_is_gone(case, "a slip")
    theatre_list.discard_draft(case)
    theatre_list.discard_draft(case)
    assert theatre_list.draft(case) is None
    theatre_list.write_draft(case, "begun anew")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"case": 3}',
        '{"case": "", "saved_at": "soon", "token": "", "process": 1, "computer": ""}',
        '{"case": "", "saved_at": "2026-03-09", "token": [], "process": 1, "computer": ""}',
        '{"case": "", "saved_at": "2026-03-09", "token": "", "process": 1e999, "computer": ""}',
        "[" * 100_000,
    ],
)
def test_file_that_only_looks_like_a_draft_is_named(
    theatre_list: TheatreList, case: Path, text: str
) -> None:
    draft = case.with_name("case_a.draft.json")
    draft.write_text(text)
    words = f"{draft}: isn't a draft that opnote has written; move it"
    with pytest.raises(ArchiveError) as caught:
        theatre_list.draft(case)
    assert message(caught).startswith(words)
    with pytest.raises(ArchiveError) as caught:
        theatre_list.write_draft(case, "ours")
    assert message(caught).startswith(words)
    assert draft.read_text() == text


def test_token_that_names_a_file_elsewhere_is_never_opened(
    tmp_path: Path, theatre_list: TheatreList, case: Path
) -> None:
    theatre_list.write_draft(case, "typed")
    draft = case.with_name("case_a.draft.json")
    stored = json.loads(draft.read_text())
    draft.write_text(json.dumps({**stored, "token": f"/../../{tmp_path}/case_a"}))
    found = theatre_list.draft(case)
    assert found is not None
    assert found.is_orphan
    assert case.read_text() == '{"side": "left"}'


# Names


@pytest.mark.parametrize(
    ("stem", "name"),
    [
        ("Marrowgate, left knee", "Marrowgate_left_knee.json"),
        ("case_a", "case_a_2.json"),
        ("CASE_A", "CASE_A_2.json"),
        ("kept", "kept_2.json"),
        ("../../etc/passwd", "etc_passwd.json"),
        ("case.draft", "case_draft.json"),
        ("Müller-Lüdenscheidt", "Müller-Lüdenscheidt.json"),
        ("  ", "case.json"),
        ("...", "case.json"),
        ("nul", "case_nul.json"),
        ("COM1", "case_COM1.json"),
        ("x" * 300, "x" * 80 + ".json"),
    ],
)
def test_new_name_is_free_and_good_everywhere(
    tmp_path: Path, theatre_list: TheatreList, case: Path, stem: str, name: str
) -> None:
    theatre_list.write_draft(tmp_path / "kept.json", "{}")
    path = theatre_list.new_path(stem)
    assert path == tmp_path / name
    theatre_list.write(path, "{}")
    assert CaseFile(path, path.stem) in theatre_list.cases()
