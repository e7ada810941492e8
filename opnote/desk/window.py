"""The window: it opens cases, hands changes to the panes, and keeps drafts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, datetime
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QByteArray, QLocale, QSettings, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QAction, QCloseEvent, QGuiApplication, QKeySequence, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QHBoxLayout,
    QLabel,
    QMainWindow,
    QMenu,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.chosen import Chosen
from opnote.desk.day import CARRIED, Day, finished_words, next_unfinished
from opnote.desk.entry import PATIENT_NAME, entry_of
from opnote.desk.export import ListExport, write_documents
from opnote.desk.find_box import FindBox
from opnote.desk.help import KEYS_SEQUENCE, HelpPage, Places, how_it_works, keys_page
from opnote.desk.job import Job
from opnote.desk.layout import USUAL_TEXT_SIZE, Layout
from opnote.desk.left_pane import LeftPane
from opnote.desk.library import CaseProblem, Library, ReadCase, clock_words
from opnote.desk.list_reader import ListReader
from opnote.desk.menu_line import MenuLine
from opnote.desk.notice import Action, Notices
from opnote.desk.onward import KEYS as ONWARD_KEYS
from opnote.desk.place import data_folder
from opnote.desk.practice_menu import KEYS as PRACTICE_KEYS
from opnote.desk.practice_menu import PracticeMenu
from opnote.desk.spelling import Spelling
from opnote.desk.theatre_list import Entry
from opnote.desk.tips import TipLine

if TYPE_CHECKING:
    from opnote.desk.desk import OpenCase
    from opnote.desk.printing import Printing
    from opnote.desk.session import Change
    from opnote.desk.workspace import Workspace
    from opnote.pack.pack import Pack
    from opnote.record import Record

SPELLING_MS: Final = 1500
"""After a case is shown for the first time: only then is a dictionary loaded."""

DRAFT_MS: Final = 500
"""The longest time that something typed is not yet on disk."""

PROCEDURES: Final = ("meniscal_repair",)
"""What a new case is about until a department has more."""

_DOCUMENT_ENTRIES: Final = (
    ("note", "Operative &note"),
    ("risk_sheet", "&Risk sheet"),
    ("recovery_plan", "Recovery &plan"),
    ("recovery_card", "Recovery &card"),
    ("letter", "L&etter"),
)
_AFTER_FIRST_MS: Final = 400
_NOT_KEPT: Final = "not kept: "
"""Begins the subjects of the notices that a case can't be kept, one for each case."""

_CHOOSE: Final = "Choose a case of the list, or begin one with Ctrl+N."
_UNWRITTEN: Final = "documents that are still being written"

_MORE: Final = "\N{HORIZONTAL ELLIPSIS}"
_SIZES: Final = (0.85, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0)


class Window(QMainWindow):
    """The one window.

    Signals: case_shown() when a case is on screen and can be typed into; exported(count) when
    documents were written.
    """

    case_shown = Signal()
    exported = Signal(int)

    def __init__(
        self,
        settings: QSettings,
        new_cases: Path,
        now: Callable[[], datetime] = datetime.now,
    ) -> None:
        """Make the window; `new_cases` is the folder of new cases when none is open."""
        super().__init__()
        self._settings = settings
        self._new_cases = new_cases
        self._now = now
        self._library: Library | None = None
        self._read: dict[Path, ReadCase] = {}
        self._open: dict[Path, OpenCase] = {}
        self._case: OpenCase | None = None
        self._workspace: Workspace | None = None
        self._job: Job | None = None
        self._export: Job | None = None
        self._written: list[Path] = []
        self._day = Day()
        self.lists = ListReader(self)
        self._to_read: list[Path] = []
        self._all_read = True
        self._base_font = QApplication.font()
        self._layout = Layout(settings, self)
        self.spelling = Spelling(self)
        self._size = USUAL_TEXT_SIZE
        self.setWindowTitle("opnote")
        self._build()
        self._closes_anyway = False
        self._draft_timer = QTimer(self)
        self._draft_timer.setSingleShot(True)
        self._draft_timer.setInterval(DRAFT_MS)
        self._draft_timer.timeout.connect(self.write_draft)
        application = QApplication.instance()
        assert isinstance(application, QApplication)
        application.focusChanged.connect(self._on_focus_changed)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._on_scheme_changed)

    # What it looks like

    def _build(self) -> None:
        self._left = LeftPane(self)
        self._left.setMinimumWidth(150)
        self._left.cases.case_chosen.connect(self.open_case)
        self._notices = Notices(self)
        self._chosen = Chosen(self._notices, self.open_case)
        self.list_export = ListExport(self._notices, self)
        self.list_export.ended.connect(self._on_writing_ended)
        self.printing: Printing | None = None
        self._blank = QLabel("", self)
        self._blank.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._blank.setWordWrap(True)
        self._middle = QStackedWidget(self)
        self._middle.addWidget(self._blank)
        middle = QWidget(self)
        column = QVBoxLayout(middle)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self._notices)
        self._tips = TipLine(self._settings, middle)
        column.addWidget(self._tips)
        column.addWidget(self._middle, 1)
        self._right = QStackedWidget(self)
        self._right.addWidget(QWidget(self))
        self._split = QSplitter(Qt.Orientation.Horizontal, self)
        self._split.setChildrenCollapsible(False)
        self._split.setHandleWidth(4)
        for pane in (self._left, middle, self._right):
            self._split.addWidget(pane)
        self._split.setStretchFactor(1, 3)
        self._split.setStretchFactor(2, 2)
        self._left.is_arranged = self._layout.keep("left", self._left.split)
        self._layout.keep("panes", self._split)
        self.setCentralWidget(self._split)
        self._build_top()

    def _build_top(self) -> None:
        top = QWidget(self)
        bar = MenuLine(top)
        case = bar.addMenu("&Case")
        self._action(case, "&New case", self.new_case, QKeySequence.StandardKey.New)
        self._action(case, f"&Open a list{_MORE}", self.choose_folder, "Ctrl+Shift+O")
        standard = QKeySequence.StandardKey
        self._action(case, f"Open a &case{_MORE}", self.choose_case, standard.Open)
        self._action(case, f"&Read a list{_MORE}", self.lists.choose)
        self._action(case, "&Paste a list", self.lists.paste)
        case.addSeparator()
        self._save_action = self._action(case, "&Save", self.save, QKeySequence.StandardKey.Save)
        self._action(case, f"&Write the documents{_MORE}", self.choose_export, "Ctrl+E")
        whole = f"Write the documents of the whole &list{_MORE}"
        self._action(case, whole, self.choose_list_export)
        self._action(case, f"&Print{_MORE}", self.print_document, QKeySequence.StandardKey.Print)
        self._action(case, f"Loo&k before printing{_MORE}", self.look_before_printing)
        self._action(case, f"R&isk sheet given to the patient{_MORE}", self.give_sheet)
        self._large_print = self._action(case, "Lar&ge print for the patient", self._on_large_print)
        self._large_print.setCheckable(True)
        self._large_print.setChecked(bool(self._settings.value("large_print", False, type=bool)))
        case.addSeparator()
        self._action(case, "&Quit", self.close, QKeySequence.StandardKey.Quit)
        edit = bar.addMenu("&Edit")
        self._undo = self._action(edit, "Undo", self.undo, QKeySequence.StandardKey.Undo)
        self._redo = self._action(edit, "Redo", self.redo, QKeySequence.StandardKey.Redo)
        edit.addSeparator()
        self._action(edit, f"&Not recorded, because {_MORE}", self._on_not_recorded, "Ctrl+B")
        self._action(edit, "Add a &remark", self._on_remark, "Ctrl+R")
        self._action(edit, "&Confirm what is shown", self._on_confirm_shown, "Ctrl+K")
        self._action(edit, "The &rest of the page is normal", self._on_rest_normal, "Ctrl+G")
        edit.addSeparator()
        self.practice = PracticeMenu(
            edit,
            self._new_cases.parent / "usual_practice",
            self._settings,
            self._notices,
            lambda: self._case,
        )
        self._action(edit, "Fill in the &usual practice", self.practice.fill_in, PRACTICE_KEYS)
        self._action(edit, "&Keep as usual practice", self.practice.keep)
        self._build_go(bar.addMenu("&Go"))
        self._build_view(bar.addMenu("&View"))
        self._menus = bar
        self._build_help(bar.addMenu("&Help"))
        self.find_box = FindBox(top)
        self.find_box.path_chosen.connect(self.go_to)
        self.find_box.left.connect(self._on_find_left)
        self._undo_button = QPushButton("Undo", top)
        self._undo_button.clicked.connect(self.undo)
        self._save_button = QPushButton("Save", top)
        self._save_button.clicked.connect(self._on_save_clicked)
        for button in (self._undo_button, self._save_button):
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setFlat(True)
        line = QHBoxLayout(top)
        line.setContentsMargins(4, 2, 8, 2)
        line.setSpacing(6)
        line.addWidget(bar, 0, Qt.AlignmentFlag.AlignVCenter)
        line.addStretch(1)
        for widget in (self._undo_button, self._save_button, self.find_box):
            line.addWidget(widget)
        self.setMenuWidget(top)
        self._show_history()

    def _build_go(self, menu: QMenu) -> None:
        steps: tuple[tuple[str, Callable[[], object], str], ...] = (
            ("&Confirm and go on", self._on_onward, ONWARD_KEYS),
            ("&Next page", self._on_next_page, "Ctrl+Down"),
            ("Page &before", self._on_page_before, "Ctrl+Up"),
            ("Next &open question", self._on_next_open, "Ctrl+J"),
            ("Next &unfinished case", self.next_case, "Ctrl+L"),
            ("&Show all that is open", self._on_reveal, "Ctrl+Return"),
            ("&Find a field", self._on_find, "Ctrl+F"),
            ("Theatre &list", self._on_to_list, "Alt+1"),
            ("&Pages", self._on_to_pages, "Alt+2"),
            ("P&aper", self._on_to_paper, "Alt+3"),
            ("&Map to draw on", self._on_to_map, "Alt+4"),
        )
        for words, slot, keys in steps:
            # A key that is held down must not run through the pages and confirm them.
            self._action(menu, words, slot, keys).setAutoRepeat(keys != ONWARD_KEYS)
        menu.addSeparator()
        self._goes_on = self._action(menu, "&Go on after an answer", self._on_goes_on)
        self._goes_on.setCheckable(True)
        self._goes_on.setChecked(bool(self._settings.value("goes_on", True, type=bool)))

    def _build_view(self, menu: QMenu) -> None:
        for kind, words in _DOCUMENT_ENTRIES:
            self._action(menu, words, partial(self.show_document, kind))
        menu.addSeparator()
        self._action(menu, "&Usual layout", self.take_usual_layout)
        self._action(menu, "&Larger text", self._on_larger, QKeySequence.StandardKey.ZoomIn)
        self._action(menu, "&Smaller text", self._on_smaller, QKeySequence.StandardKey.ZoomOut)
        menu.addSeparator()
        for scheme, words in (
            (theme.Scheme.SYSTEM, "Colours as the &system"),
            (theme.Scheme.LIGHT, "L&ight"),
            (theme.Scheme.DARK, "&Dark"),
        ):
            self._action(menu, words, partial(self.set_scheme, scheme))

    def _build_help(self, menu: QMenu) -> None:
        self._action(menu, "How it &works", self.show_help, QKeySequence.StandardKey.HelpContents)
        self._action(menu, "&Keys", self.show_keys, KEYS_SEQUENCE)
        menu.addSeparator()
        self._action(menu, "Show the &tips again", self._tips.begin_again)

    def show_help(self) -> None:
        """Say how the window works; F1 there shows the keys."""
        folder = None if self._library is None else self._library.folder
        places = Places(folder, data_folder(), self.spelling.about)
        page = HelpPage("How it works", how_it_works(places), self)
        page.turn_over.activated.connect(page.close)
        page.turn_over.activated.connect(self.show_keys)
        page.show()

    def show_keys(self) -> None:
        """Show every key; F1 there says how the window works."""
        page = HelpPage("Keys", keys_page(self._menus), self)
        page.turn_over.activated.connect(page.close)
        page.turn_over.activated.connect(self.show_help)
        page.show()

    def _action(
        self,
        menu: QMenu,
        words: str,
        slot: Callable[[], object],
        keys: QKeySequence.StandardKey | str | None = None,
    ) -> QAction:
        action = QAction(words, self)
        if isinstance(keys, str):
            action.setShortcut(QKeySequence(keys))
        elif keys is not None:
            action.setShortcuts(keys)
        action.triggered.connect(slot)
        menu.addAction(action)
        return action

    def sizeHint(self) -> QSize:
        """Most of the screen, within reason."""
        return QSize(1440, 860)

    def showEvent(self, event: QShowEvent) -> None:
        """Come back where one was, on a screen that exists."""
        super().showEvent(event)
        if not event.spontaneous():
            self._fit_panes()
            self._layout.put_back("panes", self._split)

    def restore(self) -> None:
        """Take the place and size of the last time, if a screen still shows it."""
        self.set_text_size(self._layout.text_size)
        kept = self._settings.value("geometry")
        if isinstance(kept, QByteArray):
            self.restoreGeometry(kept)
        screen = self.screen().availableGeometry()
        if not screen.intersects(self.frameGeometry()):
            self.move(screen.topLeft())
        if self.width() > screen.width() or self.height() > screen.height():
            self.resize(self.size().boundedTo(screen.size()))

    def take_usual_layout(self) -> None:
        """Give the window, its parts and its text their usual sizes, and show the note."""
        self._layout.forget()
        self._left.is_arranged = False
        if self._workspace is not None:
            self._workspace.paper_pane.begin_with(self._layout.document)
        self.showNormal()
        room = self.screen().availableSize()
        self.resize(self.sizeHint().boundedTo(room))
        self.set_text_size(USUAL_TEXT_SIZE)
        # Once the panes know how wide they must be in the new size of text.
        QTimer.singleShot(0, self, self._fit_panes)

    def _fit_panes(self) -> None:
        width = self.width()
        left = max(200, min(theme.columns(self, 46), round(width * 0.205)))
        right = max(380, round(width * 0.32))
        self._split.setSizes([left, width - left - right, right])

    # Opening

    def open_folder(
        self, folder: Path, first: Path | None = None, *, shows_first: bool = True
    ) -> None:
        """Show the cases of a folder, and open one of them; reading goes on beside.

        With shows_first false none is opened: something else is about to be shown.
        """
        if not self._drafted_all():
            again = partial(self.open_folder, folder, first)
            words = "The list is not changed: it would lose what is not kept yet."
            self._notices.say("folder", words, [("Try to open it again", again)])
            return
        library = Library(folder)
        try:
            paths = library.paths()
        except CaseProblem as problem:
            self._notices.say("folder", str(problem))
            if self._case is None:
                self._show_blank("Open a folder of cases, or begin a new case.")
            return
        self._notices.drop_all()
        if self._job is not None:
            self._job.forget()
        self._drop_unused_pictures()
        self._library = library
        self._read.clear()
        self._open.clear()
        self._case = None
        self._day = Day()
        self._settings.setValue("folder", str(folder))
        self._left.show_folder(folder)
        self._left.cases.entries.set_items([Entry(path, path.stem) for path in paths])
        self._left.has_case = False
        self._left.fit()
        self._show_history()
        self.setWindowTitle("opnote")
        first = first or (paths[0] if paths and shows_first else None)
        self._chosen.begin_list(first)
        words = f"Reading the forms{_MORE}" if first else _CHOOSE
        if not paths:
            words = "No case in this folder yet. Begin one with Ctrl+N."
        self._show_blank(words)
        self._to_read = [path for path in paths if path != first]
        self._all_read = False
        self._start_job(library, [] if first is None else [first])

    def open_later(self, folder: Path | None, first: Path | None = None) -> None:
        """Open a folder once the window has been painted, at the case that was shown last."""
        if folder is not None:
            first = first or self._layout.case_in(folder)
            self._show_blank(f"Reading the forms{_MORE}")
            QTimer.singleShot(0, self, partial(self.open_folder, folder, first))
        else:
            self._show_blank("Open a folder of cases (Ctrl+Shift+O), or begin a case (Ctrl+N).")

    def _start_job(self, library: Library, paths: list[Path]) -> None:
        if library is not self._library:
            return  # another list was opened meanwhile, or the window was closed
        self._job = Job(partial(_read_cases, library, paths))
        # What was on its way when another list was opened still arrives: each says whose it is.
        self._job.results.came.connect(partial(self._on_came, library))
        self._job.results.failed.connect(self._on_failed)
        self._job.results.ended.connect(partial(self._on_read, library))
        self._job.start()

    def _on_came(self, library: Library, thing: object) -> None:
        if library is not self._library:
            return
        if isinstance(thing, ReadCase):
            self._read[thing.path] = thing
            self._chosen.came(thing.path)
        elif isinstance(thing, Entry):
            if thing.path not in self._open:
                self._left.cases.entries.put(thing)
        elif isinstance(thing, _Unreadable):
            entry = Entry(thing.path, thing.path.stem, state="can't be read")
            self._left.cases.entries.put(entry)
            # What else is on screen, a case or a list, can go on.
            if self._chosen.broke(thing.path, thing.words) and self._middle.currentIndex() == 0:
                self._show_blank("This case can't be read.")

    def _on_read(self, library: Library) -> None:
        """Read the rest once the first case is on screen and would not be held up."""
        if library is not self._library:
            return
        rest, self._to_read = self._to_read, []
        if rest and self._library is not None:
            start = partial(self._start_job, self._library, rest)
            QTimer.singleShot(_AFTER_FIRST_MS, self, start)
        else:
            self._all_read = True
            self.lists.note_all_read()

    def _on_failed(self, error: object) -> None:
        self._notices.say("failure", f"Something went wrong that opnote did not foresee: {error!r}")

    def open_case(self, path: Path) -> None:
        """Show a case of the list."""
        read = self._read.get(path)
        if read is None:
            self._chosen.wait_for(path)
            self._left.cases.show_open(self.current_path())
            return
        self._chosen.settle()
        if self._case is not None and self._case.path == path:
            return
        self._save_draft_now()
        if self._case is not None:
            self._day.leave(self._case)
        if path not in self._open:
            self._open[path] = self._opened(read)
        self._show_case(self._open[path], read)
        self._begin_day(self._open[path])

    def _begin_day(self, case: OpenCase) -> None:
        """Carry over into a case; not while a draft waits, which a look must leave as it is."""
        read = None if case.path is None else self._read.get(case.path)
        if read is None or read.draft is not None:
            return
        if carried := self._day.begin(case):
            self._notices.say("carried", carried)

    def _opened(self, read: ReadCase) -> OpenCase:
        # Late, so that the window is on screen before packs and documents are imported.
        from opnote.desk.desk import OpenCase
        from opnote.desk.session import Session

        assert self._library is not None, "no list is open"
        pictures = self._library.pictures
        session = Session(
            read.pack, read.record, is_saved=read.is_saved, pictures=pictures.bytes_of
        )
        case = OpenCase(read.path, session, pictures)
        case.page = self._layout.page_of(read.path)
        case.session.subscribe(self._on_changed)
        return case

    def _show_case(self, case: OpenCase, read: ReadCase) -> None:
        self._notices.drop_all(but=(_NOT_KEPT, "kept"))
        self._put_on_screen(case, read)
        self._offer_draft(read)
        self.practice.offer(case)

    def _put_on_screen(self, case: OpenCase, read: ReadCase) -> None:
        self._case = case
        workspace = self._workspace_for(read)
        workspace.show_case(case)
        self._middle.setCurrentWidget(workspace.case_pane)
        self._right.setCurrentWidget(workspace.paper_pane)
        self._right.setVisible(True)
        self.lists.remind()
        self._left.cases.show_open(case.path)
        self._left.has_case = True
        self._left.fit()
        self._put_entry(read.path)
        self._show_history()
        workspace.case_pane.focus_page()
        self.case_shown.emit()
        self.spelling.use_names_of(read.pack, case.session.record)
        QTimer.singleShot(SPELLING_MS, self, self.load_spelling)

    def load_spelling(self) -> None:
        """Load the dictionary, once the window can be worked with."""
        if self._case is not None:
            session = self._case.session
            self.spelling.load(data_folder(), session.pack, session.record)

    def _workspace_for(self, read: ReadCase) -> Workspace:
        from opnote.desk.habits import habits_of
        from opnote.desk.workspace import Workspace

        if self._workspace is None or self._workspace.pack is not read.pack:
            self._drop_workspace()
            self._workspace = Workspace(
                read.pack,
                self._now,
                self._left.pages,
                self,
                self.spelling,
                habits_of(QLocale()),
            )
            self._workspace.desk.unread_changed.connect(self._show_history)
            self._workspace.desk.unread_changed.connect(self._chosen.put_off)
            self._workspace.desk.goes_on = self._goes_on.isChecked()
            self._workspace.case_pane.page_shown.connect(self._tips.show_next)
            self._workspace.case_pane.page_shown.connect(self._on_page_shown)
            self._workspace.case_pane.said.connect(self._on_said)
            self._middle.addWidget(self._workspace.case_pane)
            self._right.addWidget(self._workspace.paper_pane)
            self._workspace.paper_pane.begin_with(self._layout.document)
            self._layout.keep("paper", self._workspace.paper_pane.split)
            self.find_box.set_form(read.pack.form)
        return self._workspace

    def _drop_workspace(self) -> None:
        if self._workspace is not None:
            self._layout.document = self._workspace.paper_pane.kind
            self._workspace.take_down()
            self._workspace.deleteLater()
            self._workspace = None

    def _show_blank(self, words: str) -> None:
        self._blank.setText(words)
        self._middle.setCurrentIndex(0)
        self._right.setVisible(True)
        self._right.setCurrentIndex(0)
        self.lists.remind()

    def new_case(self) -> None:
        """Begin a case in the folder that is open."""
        library, pack = self.library_for_new(), self.pack_for_new()
        if library is None or pack is None:
            return
        try:
            path = library.new_path("new_case", self._read)
        except CaseProblem as problem:
            self._notices.say("case", str(problem))
            return
        self._read[path] = ReadCase(path, pack.new_record(), pack)
        self._put_entry(path)
        self.open_case(path)

    def library_for_new(self) -> Library | None:
        """Where new cases go; None, and it says why, when there is no such place."""
        if self._library is None:
            try:
                self._new_cases.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                words = f"{self._new_cases} can't be used for new cases ({error.strerror}); "
                self._notices.say("case", f"{words}open another folder with Ctrl+Shift+O")
                return None
            # What is there already must be known, or a list makes the same cases again.
            self.open_folder(self._new_cases, shows_first=False)
        return self._library

    def pack_for_new(self) -> Pack | None:
        """What new cases are made from; None, and it says why, when it can't be read."""
        library = self.library_for_new()
        try:
            return None if library is None else library.pack(PROCEDURES)
        except CaseProblem as problem:
            self._notices.say("case", str(problem))
            return None

    def known_cases(self) -> list[tuple[str, Record]]:
        """The cases of the folder that were read, as they are now, by the names of their files."""
        return [
            (path.name, self._open[path].session.record if path in self._open else read.record)
            for path, read in self._read.items()
        ]

    def take_in(self, reads: Sequence[ReadCase]) -> None:
        """Cases were made in the folder: list them, in the order of their files."""
        for read in reads:
            self._read[read.path] = read
            self._put_entry(read.path)
        self._left.cases.entries.put_in_order()
        self._left.cases.show_open(self.current_path())
        self._left.fit()

    def show_instead(self, pane: QWidget) -> None:
        """Show a pane in the place of the pages and the paper; no case is then open."""
        self._save_draft_now()
        if self._case is not None:
            self._day.leave(self._case)
        self._case = None
        self._chosen.settle()
        self._drop_workspace()
        self._left.pages.set_pages(())
        self._left.cases.show_open(None)
        self._left.fit()
        self._notices.drop_all(but=(_NOT_KEPT, "kept"))
        self._show_history()
        self.setWindowTitle("opnote")
        if self._middle.indexOf(pane) < 0:
            self._middle.addWidget(pane)
        self._middle.setCurrentWidget(pane)
        self._right.setVisible(False)

    def come_back(self, path: Path | None) -> None:
        """Show a case again after another pane, or that there is none."""
        if path in self._read:
            self.open_case(path)
        else:
            self._show_blank(_CHOOSE)

    def say(self, subject: str, words: str, actions: Sequence[Action] = ()) -> None:
        """Show a line above the pages."""
        self._notices.say(subject, words, actions)

    def drop_notice(self, subject: str) -> None:
        """The line about a subject has done its duty."""
        self._notices.drop(subject)

    def today(self) -> date:
        """The day by the window's clock."""
        return self._now().date()

    def choose_folder(self) -> None:
        """Ask for a folder of cases."""
        chosen = QFileDialog.getExistingDirectory(self, "Open a theatre list")
        if chosen:
            self.open_folder(Path(chosen))

    def choose_case(self) -> None:
        """Ask for a case file; its folder is the list."""
        chosen, _ = QFileDialog.getOpenFileName(self, "Open a case", "", "Cases (*.json)")
        if chosen:
            self.open_folder(Path(chosen).parent, Path(chosen))

    # Keeping

    def save(self) -> None:
        """Write the case file."""
        case, library = self._case, self._library
        if case is None or library is None or case.path is None:
            return
        opened_as = case.path
        try:
            path = self._path_to_save(case, library)
            if path != case.path and not self._read[case.path].is_saved:
                # Take its draft over, which is refused while another window has it.
                library.write_draft(case.path, case.session.record)
            library.write(path, case.session.record)
            if path != case.path:
                library.discard_own_draft(case.path)
                self._move(case, case.path, path)
        except CaseProblem as problem:
            beside: list[Action] = [("Save beside it", self.save_beside)]
            self._notices.say("save", str(problem), beside if problem.is_changed_elsewhere else [])
            return
        self._after_saving(case, opened_as)

    def save_beside(self) -> None:
        """Write the case under a name of its own, as somebody else has written its file."""
        case, library = self._case, self._library
        if case is None or library is None or case.path is None:
            return
        theirs = case.path
        try:
            ours = library.new_path(theirs.stem, self._read)
            library.write(ours, case.session.record)
            library.discard_own_draft(theirs)
            self._move(case, theirs, ours)
            self._after_saving(case, theirs)
            self.take_in([library.read(theirs)])
        except CaseProblem as problem:
            self._notices.say("save", str(problem))
            return
        words = f"Saved as {ours.name}. What somebody else wrote is {theirs.name}: compare the two."
        self._notices.say("beside", words)

    def _after_saving(self, case: OpenCase, opened_as: Path) -> None:
        assert case.path is not None
        self._draft_timer.stop()
        case.session.mark_saved()
        for subject in ("save", "close", f"{_NOT_KEPT}{opened_as}"):
            self._notices.drop(subject)
        if unread := self._unread_labels():
            words = f"Saved, but not what can't be read: {', '.join(unread)}."
            self._notices.say("unread", words, [("Go there", self._go_to_unread)])
        self._put_entry(case.path)
        self._show_history()

    def _path_to_save(self, case: OpenCase, library: Library) -> Path:
        """The file of a case; one that was never written is named after its patient."""
        assert case.path is not None
        name = case.session.record.values.get(PATIENT_NAME)
        if case.path.exists() or not isinstance(name, str):
            return case.path
        return library.new_path(name, self._read)

    def _move(self, case: OpenCase, old: Path, new: Path) -> None:
        """A case has got its name."""
        read = self._read.pop(old)
        self._read[new] = ReadCase(new, read.record, read.pack)
        self._open[new] = self._open.pop(old)
        case.path = new
        self._left.cases.entries.rename(old, new)

    def write_draft(self) -> None:
        """Put what was typed beside the case file."""
        if self._case is not None:
            self._draft(self._case)

    def _draft(self, case: OpenCase) -> bool:
        """Put what was typed into a case beside its file; says so when it can't be."""
        if self._library is None or case.path is None:
            return True
        subject = f"{_NOT_KEPT}{case.path}"
        read = self._read.get(case.path)
        try:
            if case.session.is_saved:
                if read is None or read.draft is None:
                    # All was taken back: nothing is left to be offered after a crash.
                    self._library.discard_own_draft(case.path)
            else:
                self._keep_offered_draft(self._library, read)
                self._library.write_draft(case.path, case.session.record)
        except CaseProblem as problem:
            as_read = read is not None and read.record is case.session.record
            if not (case.session.is_saved or as_read):
                actions = [("Try again", partial(self._on_try_again, case))]
                self._notices.say(subject, f"Not kept yet: {problem}", actions)
                return False
            # Nothing was typed that could be lost.
        self._notices.drop(subject)
        return True

    def _on_try_again(self, case: OpenCase) -> None:
        self._draft(case)

    def _drafted_all(self) -> bool:
        """Put every open case that isn't saved on disk; says which can't be."""
        self._draft_timer.stop()
        kept = [self._draft(case) for case in self._open.values()]
        return all(kept)

    def _on_close(self) -> None:
        self.close()

    def _on_close_anyway(self) -> None:
        self._closes_anyway = True
        self.close()

    def _save_draft_now(self) -> None:
        if self._draft_timer.isActive():
            self._draft_timer.stop()
            self.write_draft()

    def _offer_draft(self, read: ReadCase) -> None:
        if read.draft is None:
            return
        at = clock_words(read.draft.saved_at.replace(tzinfo=None), self._now())
        self._notices.say(
            "offer",
            f"There is a newer draft of this case from {at}.",
            [("Use it", self._on_use_draft), ("Throw it away", self._on_throw_draft_away)],
        )

    def _keep_offered_draft(self, library: Library, read: ReadCase | None) -> None:
        """A draft that was offered and not answered is not written over: it becomes a case."""
        if read is None or read.draft is None:
            return
        kept = library.keep_draft(read.path)
        self._draft_answered(read)
        if kept is not None:
            self._notices.say("kept", f"The earlier draft is kept in this folder as {kept.name}.")

    def _on_use_draft(self) -> None:
        from opnote.record import Edit

        read = self._shown_read()
        if read is None or read.draft is None or self._case is None or self._library is None:
            return
        try:
            record, _ = self._library.record_from(read.draft.text, read.path)
        except CaseProblem as problem:
            self._notices.say("offer", f"The draft can't be used. {problem}")
            return
        paths = tuple({*record.values, *record.rows})
        case = self._case
        case.session.apply(Edit("using the draft", paths, lambda _: record))
        self._draft_answered(read)
        self._begin_day(case)

    def _on_throw_draft_away(self) -> None:
        read = self._shown_read()
        if read is None or self._case is None or self._library is None:
            return
        try:
            self._library.discard_draft(read.path)
        except CaseProblem as problem:
            self._notices.say("save", str(problem))
        self._draft_answered(read)
        self._begin_day(self._case)

    def _draft_answered(self, read: ReadCase) -> None:
        self._read[read.path] = ReadCase(read.path, read.record, read.pack)
        self._put_entry(read.path)
        self._notices.drop("offer")

    def _shown_read(self) -> ReadCase | None:
        if self._case is None or self._case.path is None:
            return None
        return self._read.get(self._case.path)

    # Writing documents

    def give_sheet(self) -> None:
        """Ask on which day the patient was given the risk sheet, as it now stands."""
        # Late: the window is painted before the pack is needed.
        from opnote.desk.giving import ask_when_given
        from opnote.desk.habits import habits_of

        if self._case is not None:
            today, habits = self._now().date(), habits_of(QLocale())
            ask_when_given(self._case.session, self._notices, today, habits)

    def _on_large_print(self) -> None:
        self._settings.setValue("large_print", self._large_print.isChecked())

    def choose_export(self) -> None:
        """Ask for a folder and write all documents of the case into it."""
        if self._case is None or self._is_still_writing():
            return
        chosen = QFileDialog.getExistingDirectory(self, "Write the documents into")
        if chosen:
            self.export_to(Path(chosen))

    def export_to(self, folder: Path) -> None:
        """Write all documents of the case, in all formats."""
        if self._case is None or self._case.path is None or self._is_still_writing():
            return
        self._notices.say("export", f"Writing the documents{_MORE}", [])
        self._written = []
        state = self._case.session.state
        self._export = Job(
            partial(
                write_documents,
                state,
                folder,
                self._case.path.stem,
                is_large=self._large_print.isChecked(),
            )
        )
        self._export.results.came.connect(self._on_document_written)
        self._export.results.failed.connect(self._on_export_failed)
        self._export.results.ended.connect(self._on_export_ended)
        self._export.start()

    def _on_document_written(self, path: object) -> None:
        if isinstance(path, Path):
            self._written.append(path)

    def _on_export_failed(self, error: object) -> None:
        self._written = []
        self._notices.say("export", f"The documents can't be written: {error}")

    @property
    def _is_writing(self) -> bool:
        return self._export is not None or self.list_export.is_running

    def _is_still_writing(self) -> bool:
        """True, and it says so, while documents are written: two at once could mix their files."""
        if self._is_writing:
            words = "Documents are still being written: ask again when they are there."
            self._notices.say("writing", words)
        return self._is_writing

    def _on_writing_ended(self) -> None:
        for subject in ("writing", "close"):
            self._notices.drop(subject)

    def _on_export_ended(self) -> None:
        self._export = None
        self._on_writing_ended()
        if self._written:
            count, folder = len(self._written), self._written[0].parent
            self._notices.say("export", f"{count} documents written to {folder}")
            self.exported.emit(count)

    def choose_list_export(self) -> None:
        """Ask for a folder and write the documents of every case of the list into it."""
        if self._is_still_writing():
            return
        if not self._all_read or self._library is None:
            self._notices.say("export", "The list is still being read, or none is open.")
            return
        chosen = QFileDialog.getExistingDirectory(self, "Write the documents of the list into")
        if chosen:
            self.export_list_to(Path(chosen))

    def export_list_to(self, folder: Path) -> None:
        """Write all documents of every case of the list, as the cases are now."""
        if self._library is None or self._is_still_writing():
            return
        states = {path: (read.pack, read.record) for path, read in self._read.items()}
        for path, case in self._open.items():
            states[path] = (case.session.pack, case.session.record)
        listed = [entry.path for entry in self._left.cases.entries.items]
        self.list_export.start(
            listed,
            states,
            folder,
            is_large=self._large_print.isChecked(),
            pictures=self._library.pictures.bytes_of,
        )

    def print_document(self) -> None:
        """Print the document that is on the paper."""
        if self._case is not None and self._workspace is not None:
            state, kind = self._case.session.state, self._workspace.paper_pane.kind
            is_large = self._large_print.isChecked()
            self._printing_now().ask_and_print(state, kind, is_large=is_large)

    def look_before_printing(self) -> None:
        """Show the pages of the document that is on the paper as they would be printed."""
        if self._case is not None and self._workspace is not None:
            state, kind = self._case.session.state, self._workspace.paper_pane.kind
            self._printing_now().look(state, kind, is_large=self._large_print.isChecked())

    def _printing_now(self) -> Printing:
        # Late, so that the window is on screen before what only printing needs is imported.
        from opnote.desk.printing import Printing

        if self.printing is None:
            self.printing = Printing(self._notices, self)
        return self.printing

    # Changing

    def undo(self) -> None:
        """Take the last step back and show where it was."""
        if self._case is not None:
            if self._case.session.undo_label == CARRIED:
                self._notices.drop("carried")
            self._show_touched(self._case.session.undo())

    def redo(self) -> None:
        """Bring back what was undone and show where it is."""
        if self._case is not None:
            self._show_touched(self._case.session.redo())

    def _show_touched(self, paths: frozenset[str]) -> None:
        if self._workspace is None:
            return
        view = self._workspace.desk.state.view
        there = sorted(path for path in paths if not view.is_hidden(path))
        if len(there) == 1:
            self._workspace.go_to(there[0])
        self._show_history()

    def go_to(self, path: str) -> None:
        """Show a field and give it the focus; a column by that of the first row."""
        if self._workspace is None:
            return
        field = self._workspace.pack.field_at(path)
        if field is not None and field.table and path == field.path:
            rows = self._workspace.desk.state.view.rows.get(field.table, ())
            path = f"{field.table}.{rows[0]}.{field.name}" if rows else field.table
        self._workspace.go_to(path)

    def pages(self) -> list[str]:
        """The pages of the open case."""
        return [] if self._workspace is None else list(self._workspace.case_pane.shown_pages())

    def show_page(self, page: str) -> None:
        """Go to a page of the open case and its first question."""
        if self._workspace is not None:
            self._workspace.case_pane.show_page(page)
            self._workspace.case_pane.focus_page()

    def has_read_all(self) -> bool:
        """True when every case of the list was read."""
        return self._all_read

    def current_path(self) -> Path | None:
        """The file of the case that is shown; None when none is."""
        return None if self._case is None else self._case.path

    def record(self) -> Record:
        """The open case as it is now."""
        assert self._case is not None, "no case is open"
        return self._case.session.record

    def _on_changed(self, change: Change) -> None:
        if self._case is None or change.new is not self._case.session.record:
            return
        self._chosen.put_off()
        if self._workspace is not None:
            self._workspace.refresh(change)
        self.practice.follow_up(change.new)
        if not self._draft_timer.isActive():
            self._draft_timer.start()
        if self._case.path is not None:
            self._put_entry(self._case.path)
        self._show_history()

    def _show_history(self) -> None:
        session = None if self._case is None else self._case.session
        undo = None if session is None else session.undo_label
        redo = None if session is None else session.redo_label
        self._undo.setText(f"Undo {undo}" if undo else "Undo")
        self._undo.setEnabled(undo is not None)
        self._redo.setText(f"Redo {redo}" if redo else "Redo")
        self._redo.setEnabled(redo is not None)
        self._undo_button.setText(f"Undo {undo}" if undo else "Undo")
        self._undo_button.setEnabled(undo is not None)
        can_save = session is not None and not session.is_saved
        unread = self._unread_labels()
        words = "Save" if can_save or session is None else "Saved"
        if unread and words == "Saved":
            words = f"Not all is read: {unread[0]}"
        self._save_button.setText(words)
        self._save_button.setEnabled(words != "Saved" and session is not None)
        if not unread:
            self._notices.drop("unread")
        self._save_action.setEnabled(session is not None)

    def _unread_labels(self) -> list[str]:
        """What the fields are called whose boxes hold what can't be read."""
        if self._case is None or self._workspace is None or not self._case.unread:
            return []
        desk = self._workspace.desk
        return list(dict.fromkeys(desk.label_of(path) for path in desk.unread_paths()))

    def _go_to_unread(self) -> None:
        if self._workspace is not None:
            for path in self._workspace.desk.unread_paths()[:1]:
                self.go_to(path)

    def _on_save_clicked(self) -> None:
        if self._case is not None and self._case.session.is_saved:
            self._go_to_unread()
        else:
            self.save()

    def _put_entry(self, path: Path) -> None:
        case = self._open.get(path)
        read = self._read.get(path)
        if case is not None:
            state = case.session.state
        elif read is not None:
            from opnote.desk.session import State

            state = State(read.pack, read.record)
        else:
            return
        assert read is not None
        is_saved = read.is_saved if case is None else case.session.is_saved
        entry = entry_of(read, state, is_saved=is_saved)
        self._left.cases.entries.put(entry)
        if case is not None and case is self._case:
            self.setWindowTitle(", ".join(p for p in (entry.name, entry.side_words) if p))

    # Going about

    def _on_focus_changed(self, old: QWidget | None, new: QWidget | None) -> None:
        # The style shows where the focus is only after a Tab, but it also goes by other keys.
        self.setAttribute(Qt.WidgetAttribute.WA_KeyboardFocusChange)
        if self._case is None or self._workspace is None or new is None:
            return
        self._case.session.end_merging()
        self.spelling.use_names_of(self._case.session.pack, self._case.session.record)
        if self._workspace.case_pane.isAncestorOf(new):
            self._workspace.case_pane.follow_focus(new)

    def _on_goes_on(self) -> None:
        self._settings.setValue("goes_on", self._goes_on.isChecked())
        if self._workspace is not None:
            self._workspace.desk.goes_on = self._goes_on.isChecked()

    def _on_onward(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.go_onward()

    def _on_next_page(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.go_on()

    def _on_page_before(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.go_back()

    def _on_next_open(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.go_to_next_open()

    def next_case(self) -> None:
        """Open the next case of the list that is not ready, at its first open question."""
        entries, here = self._left.cases.entries.items, self.current_path()
        path = next_unfinished(entries, here)
        if path is None:
            self._notices.say("next", finished_words(entries, here))
            return
        self.open_case(path)
        if self._workspace is not None:
            self._workspace.case_pane.go_to_first_open()

    def _on_reveal(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.reveal()
            self._workspace.paper_pane.findings.focus_list()

    def _on_not_recorded(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.answer_not_recorded()

    def _on_remark(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.add_remark()

    def _on_confirm_shown(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.confirm_shown()

    def _on_page_shown(self) -> None:
        self._notices.drop("page")

    def _on_said(self, words: str) -> None:
        self._notices.say("page", words)

    def _on_rest_normal(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.answer_rest_normal()

    def _on_find(self) -> None:
        self.find_box.setFocus()
        self.find_box.selectAll()

    def _on_find_left(self) -> None:
        self._on_to_pages()

    def _on_to_list(self) -> None:
        self._left.cases.setFocus()

    def _on_to_pages(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.focus_page()

    def _on_to_paper(self) -> None:
        if self._workspace is not None:
            self._workspace.paper_pane.focus_paper()

    def _on_to_map(self) -> None:
        if self._workspace is not None and self._workspace.paper_pane.board is not None:
            self.show_document("map")
            self._workspace.paper_pane.focus_paper()

    def show_document(self, kind: str) -> None:
        """Put one of the documents on the paper."""
        if self._workspace is not None:
            self._workspace.paper_pane.show_kind(kind)

    # Looks

    def set_scheme(self, scheme: theme.Scheme) -> None:
        """Light, dark, or as the system."""
        self._settings.setValue("scheme", str(scheme))
        theme.apply_scheme(scheme)
        self._rebuild()

    def _on_scheme_changed(self) -> None:
        theme.apply_scheme(theme.Scheme(str(self._settings.value("scheme", "system"))))
        self._rebuild()

    def _on_larger(self) -> None:
        self.set_text_size(self._size + 1)

    def _on_smaller(self) -> None:
        self.set_text_size(self._size - 1)

    def set_text_size(self, step: int) -> None:
        """One of the sizes of text, the usual one being 1."""
        self._size = max(0, min(len(_SIZES) - 1, step))
        self._layout.note_text_size(self._size)
        font = theme.scaled_font(self._base_font, _SIZES[self._size])
        QApplication.setFont(font)
        # The application tells its widgets later, but the panes are measured as they are built.
        self.setFont(font)
        self._fit_panes()
        self._rebuild()
        # Once the panes know how wide they must be in the new size of text.
        QTimer.singleShot(0, self, partial(self._layout.put_back, "panes", self._split))

    def _rebuild(self) -> None:
        """Make the panes anew: the one time that they are, as everything about them changes."""
        self._left.restyle()
        self._left.fit()
        self.lists.restyle()
        read = self._shown_read()
        if self._case is None or self._workspace is None or read is None:
            return
        focus, pane = QApplication.focusWidget(), self._workspace.case_pane
        panes = (pane, self._workspace.paper_pane)
        in_hand = pane.path_in_hand
        goes = focus is None or any(each.isAncestorOf(focus) for each in panes)
        self._drop_workspace()
        # What stands above the pages is of this case still, and may be half filled in.
        self._put_on_screen(self._case, read)
        if focus is not None and not goes:
            focus.setFocus()
        elif in_hand:
            self.go_to(in_hand)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Nothing is asked while all that was typed is on disk; else the window stays."""
        losses = self._lost_by_closing()
        if losses and not self._closes_anyway:
            anyway = "Stop and close" if losses == [_UNWRITTEN] else "Close anyway"
            actions: list[Action] = [("Try to close again", self._on_close)]
            actions.append((anyway, self._on_close_anyway))
            if self.lists.is_out_of_sight:
                actions.insert(0, ("Go back to it", self.lists.go_back))
            words = f"The window stays open: closing it would lose {' and '.join(losses)}."
            self._notices.say("close", words, actions)
            event.ignore()
            return
        self._settings.setValue("geometry", self.saveGeometry())
        if self._case is not None and self._workspace is not None:
            kind = self._workspace.paper_pane.kind
            self._layout.note_place(self._case.path, self._case.page, kind)
        for job in (self._job, self._export):
            if job is not None:
                job.forget()
        self._drop_unused_pictures()
        self._library = None  # what is still read for it comes too late
        self.list_export.stop()
        self.spelling.forget()
        super().closeEvent(event)

    def _lost_by_closing(self) -> list[str]:
        """What would be lost if the window closed now; what can be kept is kept first."""
        losses = [] if self._drafted_all() else ["what is not kept yet"]
        if self.lists.listing is not None:
            losses.append("the list that was read")
        if self._is_writing:
            losses.append(_UNWRITTEN)
        return losses

    def _drop_unused_pictures(self) -> None:
        if self._library is not None:
            opened = [(self._read[path].record, c.session.record) for path, c in self._open.items()]
            self._library.drop_unused_pictures(opened)


class _Unreadable:
    """A case that can't be read, and why."""

    def __init__(self, path: Path, words: str) -> None:
        self.path = path
        self.words = words


def _read_cases(library: Library, paths: list[Path]) -> Iterator[object]:
    """Read the cases in order, on a worker; the first one is what the window waits for."""
    # The window's panes are imported here too, so that they are there when the case is.
    import_module("opnote.desk.workspace")
    from opnote.desk.session import State

    for path in paths:
        try:
            read = library.read(path)
        except CaseProblem as problem:
            yield _Unreadable(path, str(problem))
            continue
        yield read
        # What the list says of it is worked out here as well, so that typing isn't held up.
        yield entry_of(read, State(read.pack, read.record), is_saved=read.is_saved)
