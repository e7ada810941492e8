"""Which words are known: a dictionary of the computer, the forms, the case, and one's own. No Qt.

Nothing is looked up in a network and no word list is shipped: the dictionary is the system's or the
user's (Hunspell files, `<language>.aff` and `.dic`), read by the optional package chunspell.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from typing import Final, Protocol

from opnote.pack.files import shipped_root
from opnote.pack.pack import Pack
from opnote.record import Record
from opnote.record.atomic import write_atomically

MOST_SUGGESTIONS: Final = 5
OWN_WORDS: Final = "my_words.txt"
OWN_DICTIONARIES: Final = "dictionaries"
_PACKAGE: Final = "hunspell"
_WORD: Final = re.compile(r"[^\W\d_]+(?:['\N{RIGHT SINGLE QUOTATION MARK}][^\W\d_]+)*")
_TAG: Final = re.compile(r"\{\{.*?\}\}|\{%.*?%\}", re.DOTALL)
_SHORTEST: Final = 3
_NAMES: Final = frozenset(("patient.name", "operation.unit"))


class _Hunspell(Protocol):
    def spell(self, word: str) -> bool: ...

    def suggest(self, word: str) -> Sequence[str]: ...

    def add_dic(self, dpath: str) -> int: ...


@dataclass(frozen=True, slots=True)
class Word:
    """A word of a text. Units: its place, and one past its end, in characters."""

    text: str
    start: int
    end: int


def dictionary_folders(own: Path, environment: Mapping[str, str]) -> list[Path]:
    """Where dictionaries are looked for, the user's own folder first.

    Source: hunspell(1) for DICPATH; the folders of the systems, from memory.
    """
    folders = [own / OWN_DICTIONARIES]
    folders += [Path(part) for part in environment.get("DICPATH", "").split(os.pathsep) if part]
    if sys.platform == "darwin":
        folders += [Path.home() / "Library" / "Spelling", Path("/Library/Spelling")]
    elif sys.platform != "win32":
        shared = environment.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
        folders += [
            Path(shared) / "hunspell",
            Path("/usr/share/hunspell"),
            Path("/usr/share/myspell"),
            Path("/usr/share/myspell/dicts"),
        ]
    return folders


def find_dictionary(language: str, folders: Iterable[Path]) -> Path | None:
    """The `.dic` file for a language such as "en_GB": of that region, else of the language alone.

    Another region is not taken: it would call half the words of this one wrong.
    """
    listed = list(folders)
    for name in (language, language.replace("_", "-"), language.partition("_")[0]):
        for folder in listed:
            found = folder / f"{name}.dic"
            if found.is_file() and found.with_suffix(".aff").is_file():
                return found
    return None


def added_dictionaries(language: str, folders: Iterable[Path]) -> list[Path]:
    """Lists of medical words beside the dictionary, such as `en_med_glut.dic`."""
    short = language.partition("_")[0]
    return [path for folder in folders for path in sorted(folder.glob(f"{short}_med*.dic"))]


@dataclass(frozen=True, slots=True)
class NoSpeller:
    """Why no spelling is checked, in one sentence."""

    because: str


class Speller:
    """Answers whether a word is known, each word once."""

    def __init__(self, dictionary: _Hunspell, source: Path, own_file: Path) -> None:
        self.source = source
        self._dictionary = dictionary
        self._own_file = own_file
        self._own = set(_read_own(own_file))
        self._forms: frozenset[str] = frozenset()
        self._names: frozenset[str] = frozenset()
        self._known: dict[str, bool] = {}
        self._passed: dict[str, bool] = {}

    def use_forms(self, words: frozenset[str]) -> None:
        """Take the words of the forms as known."""
        self._forms = words
        self._passed.clear()

    def use_names(self, names: frozenset[str]) -> bool:
        """Take the names of a case as known; False when they are those it had."""
        changed = names != self._names
        if changed:
            self._names = names
            self._passed.clear()
        return changed

    def is_known(self, word: str) -> bool:
        """True for a word of any of the lists."""
        folded = _folded(word)
        if folded in self._forms or folded in self._names or folded in self._own:
            return True
        known = self._known.get(word)
        if known is None:
            known = self._known[word] = self._looked_up(word)
        return known

    def unknown_in(self, text: str) -> Iterator[Word]:
        """The words of a text that no list holds.

        Abbreviations, short words, and words that touch a digit, as units do, are left alone.
        """
        for match in _WORD.finditer(text):
            # With each key a whole paragraph comes by: of all but the new word the verdict stands.
            passed = self._passed.get(match[0])
            if passed is None:
                passed = self._passed[match[0]] = self._passes(match[0])
            if not passed:
                start, end = match.span()
                if not (text[start - 1 : start].isdigit() or text[end : end + 1].isdigit()):
                    yield Word(match[0], start, end)

    def _passes(self, word: str) -> bool:
        has_capital_inside = any(letter.isupper() for letter in word[1:])
        return len(word) < _SHORTEST or has_capital_inside or self.is_known(word)

    def suggestions(self, word: str) -> list[str]:
        """Up to five words that may be meant. It may take a third of a second."""
        try:
            return list(self._dictionary.suggest(_plain(word)))[:MOST_SUGGESTIONS]
        except UnicodeError:
            return []

    def add(self, word: str) -> None:
        """Keep a word in the user's own list.

        Raises: OSError.
        """
        self._own.add(_folded(word))
        self._passed.clear()
        kept = [*_read_own(self._own_file), _plain(word)]
        self._own_file.parent.mkdir(parents=True, exist_ok=True)
        write_atomically(self._own_file, "".join(f"{each}\n" for each in kept).encode())

    def _looked_up(self, word: str) -> bool:
        plain = _plain(word)
        try:
            return self._dictionary.spell(plain) or self._dictionary.spell(plain.lower())
        except UnicodeError:
            return True  # letters that the dictionary can't write: it can't judge them


def load_speller(
    language: str, own: Path, environment: Mapping[str, str] = os.environ
) -> Speller | NoSpeller:
    """The speller for a language such as "en_GB"; `own` is the folder of the user's settings."""
    if find_spec(_PACKAGE) is None:
        return NoSpeller(
            "Spelling is not checked: the extra isn't installed (pip install 'opnote[spell]')."
        )
    package = import_module(_PACKAGE)
    folders = dictionary_folders(own, environment)
    # The package brings one dictionary, which is right for one region only.
    brought = Path(str(package.__file__)).parent / "dictionaries"
    found = find_dictionary(language, folders) or find_dictionary(language, [brought])
    if found is None:
        return NoSpeller(
            f"Spelling is not checked: no dictionary for {language} was found. "
            f"Put {language}.aff and {language}.dic into {own / OWN_DICTIONARIES}."
        )
    try:
        made: _Hunspell = package.Hunspell(found.stem, hunspell_data_dir=str(found.parent))
        for added in added_dictionaries(language, folders):
            made.add_dic(str(added))
    except (OSError, UnicodeError) as error:
        return NoSpeller(f"Spelling is not checked: {found} can't be read ({error}).")
    return Speller(made, found, own / OWN_WORDS)


def words_of_forms(pack: Pack) -> frozenset[str]:
    """Every word that the forms, their wordings and their glossary use."""
    texts: list[str] = []
    for page in pack.form.pages:
        texts.append(page.title)
    for field in pack.form.every_field():
        texts += [field.label, field.group, field.help, field.said_yes, field.said_no]
        texts += [field.row_label, field.none_label, field.none_said]
        for option in field.options:
            texts += [option.label, option.said, option.help]
    for term in pack.glossary:
        texts += [*term.words, term.plain]
    for check in pack.checks:
        texts += [piece.text for piece in (*check.say, *check.settle)]
    for path in (shipped_root() / "templates").glob("*/*.md"):
        texts.append(_TAG.sub(" ", path.read_text(encoding="utf-8")))
    return _all_words(texts)


def names_of_case(pack: Pack, record: Record) -> frozenset[str]:
    """The words of the names in a case: the patient, the team, the hospital."""
    people = {path for path, field in pack.fields.items() if field.kind == "person"} | _NAMES
    named = [
        str(value)
        for path, value in record.values.items()
        if path in people or _column(path) in people
    ]
    return _all_words(named)


def _column(path: str) -> str:
    parts = path.split(".")
    return f"{parts[0]}.{parts[-1]}"


def _all_words(texts: Iterable[str]) -> frozenset[str]:
    return frozenset(_folded(match[0]) for text in texts for match in _WORD.finditer(text))


def _read_own(file: Path) -> list[str]:
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeError):
        return []
    return [_folded(line.strip()) for line in lines if line.strip()]


def _plain(word: str) -> str:
    return word.replace("\N{RIGHT SINGLE QUOTATION MARK}", "'")


def _folded(word: str) -> str:
    return _plain(word).casefold()
