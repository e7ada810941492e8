"""The usual practices of the surgeons: filling one in, and keeping one from a case."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, QSettings
from PySide6.QtWidgets import QMenu

from opnote.desk.notice import Notices

if TYPE_CHECKING:
    from opnote.desk.desk import OpenCase
    from opnote.desk.session import State
    from opnote.pack.usual import Practice
    from opnote.record import Edit, Record

SURGEON: Final = "team.surgeon"
KEYS: Final = "Ctrl+U"
_SUBJECT: Final = "practice"
_LAST: Final = "practice"


class PracticeMenu(QObject):
    """What a person can do with usual practices in the open case.

    `folder` holds one file a practice; `case` gives the open case, or None.
    """

    def __init__(
        self,
        menu: QMenu,
        folder: Path,
        settings: QSettings,
        notices: Notices,
        case: Callable[[], OpenCase | None],
    ) -> None:
        super().__init__(menu)
        self._folder = folder
        self._settings = settings
        self._notices = notices
        self._case = case
        self._awaits_confirming = False
        self._of = menu.addMenu("Usual practice &of")
        self._of.aboutToShow.connect(self._list_practices)

    def fill_in(self) -> None:
        """Fill in the practice of the case's surgeon, else the one last used or the only one."""
        case = self._case()
        if case is None or self._is_closed(case):
            return
        found = self._fitting(case)
        if found is None:
            self._notices.say(_SUBJECT, self._why_none())
        else:
            self._fill_from(found)

    def keep(self) -> None:
        """Keep what is usual in the open case, under its surgeon's name."""
        from opnote.archive.folder import plain_stem
        from opnote.pack.usual import SUFFIX, practice_of

        case = self._case()
        if case is None:
            return
        name = str(case.session.record.values.get(SURGEON, "")) or "Usual practice"
        state = case.session.state
        practice = practice_of(state.pack, state.view, name)
        path = self._folder / f"{plain_stem(name)}{SUFFIX}"
        if not practice.size:
            words = "Nothing of this case can be usual yet: answer set-up, stitches, closure, plan."
            self._notices.say(_SUBJECT, words)
        elif path.exists():
            words = f"A usual practice of {name} is kept already."
            replace = partial(self._write, practice, path)
            self._notices.say(_SUBJECT, words, [("Replace it", replace), ("Leave it", self._drop)])
        else:
            self._write(practice, path)

    def offer(self, case: OpenCase) -> None:
        """Offer the surgeon's practice in a case that nobody has begun."""
        record = case.session.record
        if record.signature is not None:
            return
        answered = (*record.values, *record.rows, *record.unanswered)
        if any(path not in record.origins for path in answered):
            return
        found = self._fitting(case)
        if found is not None:
            from opnote.pack.usual import name_in

            words = f"Fill in the usual practice of {name_in(found)}? You confirm it page by page."
            fill = partial(self._fill_from, found)
            self._notices.say(
                _SUBJECT, words, [(f"Fill it in ({KEYS})", fill), ("Not now", self._drop)]
            )

    def _is_closed(self, case: OpenCase) -> bool:
        """True, and it says so, for a signed case, into which nothing is filled."""
        # Late, as most cases aren't signed.
        from opnote.record.seal import closed

        words = closed(case.session.record)
        if words:
            self._notices.say(_SUBJECT, words)
        return bool(words)

    def _fitting(self, case: OpenCase) -> Path | None:
        # Late: the window is painted before packs are imported.
        from opnote.pack.usual import name_in, practices_in
        from opnote.reckon.person import same_name

        paths = practices_in(self._folder)
        surgeon = case.session.record.values.get(SURGEON)
        if surgeon:
            return next((p for p in paths if same_name(name_in(p), str(surgeon))), None)
        last = str(self._settings.value(_LAST, ""))
        return next((p for p in paths if p.name == last), paths[0] if len(paths) == 1 else None)

    def _why_none(self) -> str:
        from opnote.pack.usual import practices_in

        if practices_in(self._folder):
            return "Whose usual practice? Choose it in the menu Edit, Usual practice of."
        return "No usual practice is kept yet. Finish a case, then Edit, Keep as usual practice."

    def _list_practices(self) -> None:
        from opnote.pack.usual import name_in, practices_in

        self._of.clear()
        for path in practices_in(self._folder):
            self._of.addAction(name_in(path)).triggered.connect(partial(self._fill_from, path))
        if self._of.isEmpty():
            self._of.addAction("None kept yet").setEnabled(False)

    def _fill_from(self, path: Path, *_: object) -> None:
        from opnote.pack.usual import PracticeError, fill_in, read_practice

        case = self._case()
        if case is None or self._is_closed(case):
            return
        session = case.session
        try:
            practice, faults = read_practice(path, session.pack)
        except PracticeError as error:
            self._notices.say(_SUBJECT, str(error))
            return
        self._settings.setValue(_LAST, path.name)
        session.follow = partial(_follow, practice)
        before = session.record.values
        session.apply(fill_in(practice, session.pack))
        count = len(session.record.values.keys() - before.keys())
        words = f"{count} answers filled in from the usual practice of {practice.name}, "
        words += "to be confirmed page by page with F8."
        if not count:
            words = f"The usual practice of {practice.name} has no answer that is still empty here."
        if faults:
            more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
            words += f" Left out: {faults[0]}{more}"
        self._notices.say(_SUBJECT, words)
        self._awaits_confirming = bool(count) and not faults

    def follow_up(self, record: Record) -> None:
        """The case has changed: what was said of the values goes with the last of them."""
        if self._awaits_confirming and not any(map(record.is_unconfirmed, record.origins)):
            self._awaits_confirming = False
            self._drop()

    def _write(self, practice: Practice, path: Path) -> None:
        from opnote.pack.usual import PracticeError, keep_practice

        try:
            keep_practice(practice, path)
        except PracticeError as error:
            self._notices.say(_SUBJECT, str(error))
            return
        words = f"{practice.size} answers kept as the usual practice of {practice.name}: {path}"
        self._notices.say(_SUBJECT, words)

    def _drop(self) -> None:
        self._notices.drop(_SUBJECT)


def _follow(practice: Practice, old: State, new: State) -> Edit | None:
    """What the practice says to questions that came up, while the case holds any of it."""
    from opnote.pack.usual import follow
    from opnote.record.record import Origin

    if Origin.PRESET not in old.record.origins.values():
        return None  # it was taken back
    return follow(practice, new.pack, old.view, new.view)
