"""The command line. Composing, checking and linting never import Qt."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from opnote import __version__

if TYPE_CHECKING:
    from opnote.compose.document import Document
    from opnote.pack.pack import Pack
    from opnote.record import Record

READY, NOT_READY, UNUSABLE = 0, 1, 2
READER_GONE = 141
"""What a shell says of a program whose reader has gone: it is not the answer "ready"."""

_DOCUMENTS = ("note", "risk_sheet", "recovery_plan", "recovery_card", "letter")
_CALENDAR = "ics"
_OF_CALENDAR = "recovery_plan"
"""A format of the recovery plan alone: its days for a calendar."""
_FORMATS = ("docx", "pdf", "html", "txt", _CALENDAR)

_CAUTION = (
    "For qualified clinicians. The clinician who signs answers for what a document says; local "
    "policy comes first."
)


class Refused(Exception):
    """What was asked can't be done; the lines say why and what helps."""

    def __init__(self, lines: Sequence[str]) -> None:
        super().__init__("\n".join(lines))
        self.lines = tuple(lines)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run opnote; gives the exit code: 0 all is well, 1 not ready, 2 unusable input."""
    for stream in (sys.stdout, sys.stderr):
        # A screen that can't show a letter shows its number; that is no reason to stop.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    given = _parser().parse_args(arguments)
    run: Callable[[argparse.Namespace], int] = given.run
    try:
        code = run(given)
        sys.stdout.flush()
        return code
    except Refused as refused:
        for line in refused.lines:
            print(f"opnote: {line}", file=sys.stderr)
        return UNUSABLE
    except BrokenPipeError:
        # Whoever read our output has seen enough; nothing more may be written at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return READER_GONE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="opnote",
        description="From what was done in theatre to a checked, structured operative note.",
        epilog=_CAUTION,
    )
    parser.add_argument("--version", action="version", version=f"opnote {__version__}")
    parser.set_defaults(run=_window, folder=None)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    demo = commands.add_parser(
        "demo",
        help="the demo theatre list: the window, or its documents with --out",
        description="Open the demo theatre list (invented people) in the window; with --out, "
        "compose all its documents into a folder instead.",
    )
    demo.add_argument("--out", type=Path, metavar="DIR", help="compose the documents into DIR")
    demo.set_defaults(run=_demo)

    compose = commands.add_parser(
        "compose",
        help="write the documents of a case",
        description="Write DIR/<case name>.<document>.<format> for each document and format, "
        "and print the paths.",
        epilog=_CAUTION,
    )
    compose.add_argument("case", type=Path, metavar="CASE.json")
    compose.add_argument("--out", type=Path, required=True, metavar="DIR")
    compose.add_argument(
        "--document",
        type=_names(_DOCUMENTS),
        default=_DOCUMENTS,
        metavar="NAMES",
        help=f"any of {', '.join(_DOCUMENTS)}, with commas between; all unless told",
    )
    compose.add_argument(
        "--format",
        type=_names(_FORMATS),
        default=_FORMATS,
        metavar="NAMES",
        help=f"any of {', '.join(_FORMATS)}, with commas between; all unless told. "
        f"{_CALENDAR} is a calendar of the recovery plan's days",
    )
    compose.add_argument(
        "--large-print",
        action="store_true",
        help="set what a patient reads, risk sheet and recovery plan, in letters of 18 points",
    )
    compose.add_argument(
        "--trace",
        action="store_true",
        help="also write <case name>.<document>.trace.json: each sentence with the fields it "
        "comes from",
    )
    compose.set_defaults(run=_compose)

    check = commands.add_parser(
        "check",
        help="what is missing or contradicts itself in a case",
        description="Print the findings of a case. Exit code 0 when it is ready to sign or "
        "signed, 1 when something is open or was changed after signing, 2 when the file can't be "
        "used.",
    )
    check.add_argument("case", type=Path, metavar="CASE.json")
    check.add_argument("--json", action="store_true", help="print JSON")
    check.set_defaults(run=_check)

    lint = commands.add_parser(
        "lint",
        help="check forms and wordings",
        description="Check the shipped forms and wordings, or those of each folder that holds "
        "forms/ and templates/. Exit code 1 when there is a problem.",
    )
    lint.add_argument("folders", type=Path, nargs="*", metavar="DIR")
    lint.add_argument(
        "--functions", action="store_true", help="list the functions that expressions may use"
    )
    lint.set_defaults(run=_lint)

    schema = commands.add_parser(
        "schema",
        help="JSON Schema of a case file",
        description="Print the JSON Schema of a case file of these procedures.",
    )
    schema.add_argument("procedures", nargs="+", metavar="PROCEDURE")
    schema.set_defaults(run=_schema)
    return parser


def _names(known: Sequence[str]) -> Callable[[str], tuple[str, ...]]:
    def parse(text: str) -> tuple[str, ...]:
        names = tuple(dict.fromkeys(name.strip() for name in text.split(",") if name.strip()))
        unknown = [name for name in names if name not in known]
        if unknown or not names:
            raise argparse.ArgumentTypeError(
                f"unknown name '{''.join(unknown[:1])}'; use any of {', '.join(known)}"
            )
        return names

    return parse


# Packs and cases


def _pack(procedures: Sequence[str]) -> Pack:
    from opnote.pack.cache import cached_pack
    from opnote.pack.problem import PackError

    try:
        return cached_pack(procedures)
    except PackError as error:
        raise Refused([str(problem) for problem in error.problems]) from error


def _known(procedures: Sequence[str], where: str = "") -> Sequence[str]:
    """The procedures that are asked for, all of which opnote has; `where` begins a refusal."""
    from opnote.pack.files import procedures_in, shipped_root
    from opnote.pack.problem import did_you_mean

    known = procedures_in((shipped_root(),))
    unknown = [name for name in procedures if name not in known]
    if unknown:
        raise Refused(
            [f"{where}unknown procedure '{name}'; {did_you_mean(name, known)}" for name in unknown]
        )
    return procedures


def _tell_of_draft(path: Path) -> None:
    """Say on the side that a case has newer work which its file doesn't hold."""
    from opnote.archive import ArchiveError, TheatreList

    try:
        where = TheatreList(path.parent).typed_elsewhere(path)
    except ArchiveError as error:
        print(error, file=sys.stderr)
    else:
        if where:
            words = f"there is newer work that was not saved ({where}); this is about the file"
            print(f"{path}: {words}", file=sys.stderr)


def _read(path: Path) -> tuple[Record, Pack]:
    from opnote.archive.folder import CASE_SUFFIX, DRAFT_MARK
    from opnote.pack.case import RecordError, read_case

    if path.name.endswith(DRAFT_MARK + CASE_SUFFIX):
        case = path.name.replace(DRAFT_MARK + CASE_SUFFIX, CASE_SUFFIX)
        raise Refused([f"{path}: this is a draft of a case; save it in the window, or name {case}"])
    _tell_of_draft(path)
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise Refused([f"{path}: not UTF-8 text; save it as UTF-8"]) from error
    except OSError as error:
        raise Refused([f"{path}: can't be read ({error.strerror}); check the name"]) from error
    try:
        where = f"{path}: procedures: "
        return read_case(text, str(path), lambda names: _pack(_known(names, where)))
    except RecordError as error:
        raise Refused(error.lines) from error


def _print_json(content: object) -> None:
    """JSON that holds every letter on any screen: with its number, where it must be."""
    is_unicode = (sys.stdout.encoding or "").lower().replace("-", "").startswith("utf")
    print(json.dumps(content, ensure_ascii=not is_unicode, indent=1))


# Commands


def _window(given: argparse.Namespace) -> int:
    return _open_window(given.folder)


def _open_window(folder: Path | None) -> int:
    if not _may_have_display():
        raise Refused(["no screen is to be seen here; the commands work without one, see --help"])
    try:
        from opnote.desk.collector import hold_collector

        hold_collector()
        from opnote.desk.app import run
    except ImportError as error:
        raise Refused(
            [f"the window can't be opened ({error}); the commands work without it, see --help"]
        ) from error
    return run(folder, sys.argv[:1])


def _has_screen() -> bool:
    is_blind = os.environ.get("QT_QPA_PLATFORM", "") in ("offscreen", "minimal")
    return not is_blind and _may_have_display()


def _may_have_display() -> bool:
    """False where the window would abort for want of a display before it could say so."""
    if sys.platform in ("win32", "darwin"):
        return True
    names = ("QT_QPA_PLATFORM", "DISPLAY", "WAYLAND_DISPLAY")
    return any(os.environ.get(name) for name in names)


def _samples() -> Path:
    from opnote.pack.files import shipped_root

    return shipped_root() / "forms" / "samples"


def _demo(given: argparse.Namespace) -> int:
    if given.out is None and _has_screen():
        return _open_window(_demo_folder())
    out = given.out or Path("out")
    written: list[Path] = []
    for case in sorted(_samples().glob("*.json")):
        written += _composed(case, _read(case), out, _DOCUMENTS, _FORMATS)
    if given.out is None:
        print(f"No screen here: composed the {len(written)} demo documents into {out}/ instead.")
    else:
        print("\n".join(str(path) for path in written))
    return READY


def _demo_folder() -> Path:
    """A copy of the demo cases that can be written to; an earlier copy is kept as it is."""
    import shutil

    from opnote.pack.cache import user_folder

    folder = user_folder("OPNOTE_DATA", "data") / "demo_list"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for case in _samples().glob("*.json"):
            if not (folder / case.name).exists():
                shutil.copyfile(case, folder / case.name)
    except OSError as error:
        raise Refused([f"{folder}: can't be written ({error.strerror})"]) from error
    return folder


def _compose(given: argparse.Namespace) -> int:
    record, pack = _read(given.case)
    written = _composed(
        given.case,
        (record, pack),
        given.out,
        given.document,
        given.format,
        is_traced=given.trace,
        is_large=given.large_print,
    )
    print("\n".join(str(path) for path in written))
    if record.signature is None or record.signature.is_whole:
        return READY
    print(f"opnote: {given.case}: {_state_line(record, 0)}", file=sys.stderr)
    return NOT_READY


def _composed(
    case: Path,
    read: tuple[Record, Pack],
    out: Path,
    documents: Sequence[str],
    formats: Sequence[str],
    *,
    is_traced: bool = False,
    is_large: bool = False,
) -> list[Path]:
    from opnote.archive.picture_folder import PictureFolder
    from opnote.assess import assess
    from opnote.compose import compose
    from opnote.compose.document import in_large_print
    from opnote.compose.files import ComposeError, write_atomically
    from opnote.compose.formats import FORMATS, formats_of

    record, pack = read
    view = pack.view(record)
    assessment = assess(pack, view)
    pictures = PictureFolder(case.parent)
    contents: dict[Path, bytes] = {}
    try:
        # All of it is made before any of it is written.
        for kind in documents:
            document = compose(pack, view, assessment, kind, pictures.bytes_of)
            if is_large:
                document = in_large_print(document)
            stem = f"{case.stem}.{kind}"
            for name in formats:
                if name in formats_of(document):
                    contents[out / f"{stem}.{name}"] = FORMATS[name](document)
            if is_traced:
                contents[out / f"{stem}.trace.json"] = _trace(document)
        if not contents:
            raise Refused([_nothing_to_write(documents, formats)])
        out.mkdir(parents=True, exist_ok=True)
        for path, data in contents.items():
            write_atomically(path, data)
    except ComposeError as error:
        raise Refused([str(error)]) from error
    except OSError as error:
        raise Refused(
            [f"{out}: the folder can't be made ({error.strerror}); choose another with --out"]
        ) from error
    return list(contents)


def _nothing_to_write(documents: Sequence[str], formats: Sequence[str]) -> str:
    asked = f"nothing to write: {', '.join(documents)} as {', '.join(formats)}"
    if _CALENDAR not in formats or _OF_CALENDAR in documents:
        return f"{asked}; the recovery plan has no day yet that could stand in a calendar"
    return f"{asked}; {_CALENDAR} is of the {_OF_CALENDAR} alone, add it to --document"


def _trace(document: Document) -> bytes:
    """Each sentence of a document with the fields that it comes from."""
    from opnote.compose.document import sentence_text

    sentences = [
        {
            "sentence": sentence_text(sentence),
            "paths": list(dict.fromkeys(run.path for run in sentence if run.path is not None)),
        }
        for sentence in document.sentences()
        if sentence
    ]
    content = {"document": document.kind, "status": str(document.status), "sentences": sentences}
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()


_LEVEL_TITLES = {
    "contradiction": "Contradictions: two things that can't both be true",
    "gap": "Gaps: asked for, and not there",
    "adverse": "Adverse: true and unwelcome, to be explained",
    "unusual": "Unusual: true perhaps, needs a reason",
    "due": "Due: known only after signing, to be booked",
}


def _check(given: argparse.Namespace) -> int:
    from opnote.assess import assess, scores_of

    record, pack = _read(given.case)
    view = pack.view(record)
    assessment = assess(pack, view)
    scores = scores_of(pack, view)
    is_ready = assessment.is_ready if record.signature is None else record.signature.is_whole
    if given.json:
        content: dict[str, Any] = {
            "ready": is_ready,
            **_signature(record),
            "findings": [
                {
                    "id": finding.id,
                    "level": finding.level,
                    "message": finding.message,
                    "fields": list(finding.fields),
                    "source": finding.source,
                    "settled": finding.settled,
                }
                for finding in assessment.findings
            ],
            "put_aside": list(view.put_aside()),
            "standards": {
                score.standard.id: {
                    "met": score.met,
                    "of": score.of,
                    "missing": [element.title for element in score.missing],
                }
                for score in scores
            },
        }
        _print_json(content)
    else:
        _print_findings(assessment, scores)
        _print_put_aside(view.put_aside())
        print(_state_line(record, len(assessment.open)))
    return READY if is_ready else NOT_READY


def _state_line(record: Record, count: int) -> str:
    if record.signature is None:
        return "Ready to sign." if not count else f"Not ready: {count} open."
    # Late, as most cases aren't signed.
    from opnote.pack.signature_words import state_words

    words = state_words(record)
    return words if record.signature.is_whole else f"{words} Restore the file from a copy."


def _signature(record: Record) -> dict[str, Any]:
    """Who signed and when, for programs; nothing for a case that isn't signed."""
    signature = record.signature
    if signature is None:
        return {}
    told = {
        "by": signature.by,
        "role": signature.role,
        "at": signature.at.isoformat(),
        "side": signature.side,
        "changed": signature.changed,
        "addenda": [{"by": each.by, "at": each.at.isoformat()} for each in record.addenda],
    }
    return {"signature": told}


def _print_findings(assessment: Any, scores: Sequence[Any]) -> None:
    for level, title in _LEVEL_TITLES.items():
        found = [finding for finding in assessment.findings if finding.level == level]
        if found:
            print(title)
        for finding in found:
            mark = "settled" if finding.settled else "open"
            print(f"  {mark:8}{finding.message}")
            print(f"          {', '.join(finding.fields)} | {finding.source}")
    print("Standards")
    for score in scores:
        missing = "; ".join(element.title for element in score.missing)
        tail = f"; missing: {missing}" if missing else ""
        print(f"  {score.met} of {score.of}  {score.standard.title}{tail}")


def _print_put_aside(paths: Sequence[str]) -> None:
    if paths:
        print("Put aside: no longer asked after another answer; kept, and said in no document")
        print(f"          {', '.join(paths)}")


def _lint(given: argparse.Namespace) -> int:
    if given.functions:
        from opnote.reckon.function import FUNCTIONS

        for function in FUNCTIONS.values():
            print(f"{function.name}({', '.join(function.arguments)}) -> {function.result}")
            print(f"    {function.says}")
        return READY
    from opnote.assess.lint import lint_folder
    from opnote.pack.files import shipped_root

    is_broken = False
    for folder in given.folders or [shipped_root()]:
        if not (folder / "forms").is_dir():
            raise Refused([f"{folder}: holds no forms/ folder; name the folder that does"])
        problems = lint_folder(folder)
        for problem in problems:
            print(problem)
        is_broken = is_broken or any(not problem.is_warning for problem in problems)
        faults = sum(not problem.is_warning for problem in problems)
        warnings = len(problems) - faults
        print(f"{folder}: {faults} problems, {warnings} warnings")
    return NOT_READY if is_broken else READY


def _schema(given: argparse.Namespace) -> int:
    from opnote.pack.case import case_schema

    _print_json(case_schema(_pack(_known(given.procedures)).form))
    return READY


if __name__ == "__main__":
    sys.exit(main())
