"""The window: it opens cases, hands changes to the panes, and keeps drafts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QByteArray, QLocale, QSettings, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QCloseEvent, QGuiApplication, QShowEvent
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QLabel,
    QMainWindow,
    QMenu,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from opnote.desk import theme
from opnote.desk.case_reader import CaseReader, Unreadable
from opnote.desk.chosen import Chosen
from opnote.desk.day import CARRIED, Day, finished_words, next_unfinished
from opnote.desk.entry import PATIENT_NAME, entry_of
from opnote.desk.held_cases import HeldCases
from opnote.desk.help import HelpPage, Places, how_it_works, keys_page
from opnote.desk.keeping import NOT_KEPT, Keeping
from opnote.desk.layout import USUAL_TEXT_SIZE, Layout
from opnote.desk.left_pane import LeftPane
from opnote.desk.library import CaseProblem, Library, ReadCase
from opnote.desk.list_reader import ListReader
from opnote.desk.menus import fill_menus
from opnote.desk.notice import Action, Notices
from opnote.desk.place import data_folder
from opnote.desk.practice_menu import PracticeMenu
from opnote.desk.signing import Signing
from opnote.desk.spelling import Spelling
from opnote.desk.theatre_list import Entry
from opnote.desk.tips import TipLine
from opnote.desk.top_line import TopLine
from opnote.desk.writing import Writing

if TYPE_CHECKING:
    from opnote.desk.case_pane import CasePane
    from opnote.desk.desk import OpenCase
    from opnote.desk.session import Change
    from opnote.desk.workspace import Workspace
    from opnote.pack.pack import Pack
    from opnote.record import Record

SPELLING_MS: Final = 1500
"""After a case is shown for the first time: only then is a dictionary loaded."""

PROCEDURES: Final = ("meniscal_repair",)
"""What a new case is about until a department has more."""

_AFTER_FIRST_MS: Final = 400
_CHOOSE: Final = "Choose a case of the list, or begin one with Ctrl+N."
_UNWRITTEN: Final = "documents that are still being written"

_MORE: Final = "\N{HORIZONTAL ELLIPSIS}"
_SIZES: Final = (0.85, 1.0, 1.15, 1.3, 1.5, 1.75, 2.0)


class Window(QMainWindow):
    """The one window.

    Signals: case_shown() when a case is on screen and can be typed into.
    """

    case_shown = Signal()

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
        self._held = HeldCases()
        self._workspace: Workspace | None = None
        self._day = Day()
        self.lists = ListReader(self)
        self.signing = Signing(self)
        self._reader = CaseReader(self._held, lambda: not self.is_complete(), self)
        self._reader.came.connect(self._on_came)
        self._reader.failed.connect(self._on_failed)
        self._reader.read_all.connect(self.lists.note_all_read)
        self._base_font = QApplication.font()
        self._layout = Layout(settings, self)
        self.spelling = Spelling(self)
        self._size = USUAL_TEXT_SIZE
        self.setWindowTitle("opnote")
        self._build()
        self._closes_anyway = False
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
        self._notices.left.connect(self._on_find_left)
        self._chosen = Chosen(self._notices, self.open_case)
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
        self.writing = Writing(self, self._held, self._notices, self._settings)
        self.keeping = Keeping(self, self._held, self._notices)
        self._top = TopLine(self)
        self.find_box = self._top.find_box
        self.find_box.path_chosen.connect(self.go_to)
        self.find_box.left.connect(self._on_find_left)
        self._top.save_button.clicked.connect(self._on_save_clicked)
        fill_menus(self._top, self)
        self.setMenuWidget(self._top)
        self.show_history()

    def make_practice(self, menu: QMenu) -> PracticeMenu:
        """Make what fills in a surgeon's usual practice; its choices stand in a menu."""
        folder = self._new_cases.parent / "usual_practice"
        self.practice = PracticeMenu(
            menu, folder, self._settings, self._notices, lambda: self._held.shown
        )
        return self.practice

    def show_tips_again(self) -> None:
        """Begin again with the tips for first use."""
        self._tips.begin_again()

    def show_help(self) -> None:
        """Say how the window works; F1 there shows the keys."""
        folder = None if self._held.library is None else self._held.library.folder
        places = Places(folder, data_folder(), self.spelling.about)
        page = HelpPage("How it works", how_it_works(places), self)
        page.turn_over.activated.connect(page.close)
        page.turn_over.activated.connect(self.show_keys)
        page.show()

    def show_keys(self) -> None:
        """Show every key; F1 there says how the window works."""
        page = HelpPage("Keys", keys_page(self._top.menus), self)
        page.turn_over.activated.connect(page.close)
        page.turn_over.activated.connect(self.show_help)
        page.show()

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
        losses = [] if self.keeping.draft_all() else ["what is not kept yet"]
        losses += self._unreadable()
        if losses:
            again = partial(self.open_folder, folder, first)
            words = f"The list is not changed: it would lose {' and '.join(losses)}."
            actions = self._way_to_unreadable()
            actions.append(("Try to open it again", again))
            self._notices.say("folder", words, actions)
            return
        library = Library(folder)
        try:
            paths = library.paths()
        except CaseProblem as problem:
            self._notices.say("folder", str(problem))
            if self._held.shown is None:
                self._show_blank("Open a folder of cases, or begin a new case.")
            return
        self._notices.drop_all()
        self._reader.forget()
        self._drop_unused_pictures()
        self._held.begin(library)
        self._day = Day()
        self._settings.setValue("folder", str(folder))
        self._left.show_folder(folder)
        self._left.cases.entries.set_items([Entry(path, path.stem) for path in paths])
        self._left.has_case = False
        self._left.fit()
        self.show_history()
        self.setWindowTitle("opnote")
        first = first or (paths[0] if paths and shows_first else None)
        self._chosen.begin_list(first)
        words = f"Reading the forms{_MORE}" if first else _CHOOSE
        if not paths:
            words = "No case in this folder yet. Begin one with Ctrl+N."
        self._show_blank(words)
        self._reader.begin(library, first, [path for path in paths if path != first])

    def open_later(self, folder: Path | None, first: Path | None = None) -> None:
        """Open a folder once the window has been painted, at the case that was shown last."""
        if folder is not None:
            first = first or self._layout.case_in(folder)
            self._show_blank(f"Reading the forms{_MORE}")
            QTimer.singleShot(0, self, partial(self.open_folder, folder, first))
        else:
            self._show_blank("Open a folder of cases (Ctrl+Shift+O), or begin a case (Ctrl+N).")

    def _on_came(self, thing: object) -> None:
        """A case of the list was read, or something is known of it."""
        if isinstance(thing, ReadCase):
            self._held.read[thing.path] = thing
            self._chosen.came(thing.path)
        elif isinstance(thing, Entry):
            if thing.path not in self._held.opened:
                self._left.cases.entries.put(thing)
        elif isinstance(thing, Unreadable):
            entry = Entry(thing.path, thing.path.stem, state="can't be read")
            self._left.cases.entries.put(entry)
            # What else is on screen, a case or a list, can go on.
            if self._chosen.broke(thing.path, thing.words) and self._middle.currentIndex() == 0:
                self._show_blank("This case can't be read.")
                listed = self.listed_paths()
                following = listed[listed.index(thing.path) + 1 :] if thing.path in listed else []
                if following:
                    self._chosen.expect(following[0])

    def _on_failed(self, error: object) -> None:
        self._notices.say("failure", f"Something went wrong that opnote did not foresee: {error!r}")

    def open_case(self, path: Path) -> None:
        """Show a case of the list."""
        read = self._held.read.get(path)
        if read is None:
            self._chosen.wait_for(path)
            self._left.cases.show_open(self.current_path())
            return
        self._chosen.settle()
        if self._held.shown_path == path:
            return
        self.keeping.write_draft_now()
        if self._held.shown is not None:
            self._day.leave(self._held.shown)
        if path not in self._held.opened:
            self._held.opened[path] = self._opened(read)
        self._show_case(self._held.opened[path], read)
        self.begin_day(self._held.opened[path])

    def begin_day(self, case: OpenCase) -> None:
        """Carry over into a case; not while a draft waits, which a look must leave as it is."""
        read = None if case.path is None else self._held.read.get(case.path)
        if read is None or read.draft is not None:
            return
        if carried := self._day.begin(case):
            self._notices.say("carried", carried)

    def _opened(self, read: ReadCase) -> OpenCase:
        # Late, so that the window is on screen before packs and documents are imported.
        from opnote.desk.desk import OpenCase
        from opnote.desk.session import Session

        assert self._held.library is not None, "no list is open"
        pictures = self._held.library.pictures
        session = Session(
            read.pack, read.record, is_saved=read.is_saved, pictures=pictures.bytes_of
        )
        case = OpenCase(read.path, session, pictures)
        case.page = self._layout.page_of(read.path)
        case.session.subscribe(self._on_changed)
        return case

    def _show_case(self, case: OpenCase, read: ReadCase) -> None:
        self._notices.drop_all(but=(NOT_KEPT, "kept"))
        self._put_on_screen(case, read)
        self.keeping.offer(read)
        self.signing.begin(case)
        self.practice.offer(case)

    def _put_on_screen(self, case: OpenCase, read: ReadCase) -> None:
        self._held.shown = case
        workspace = self._workspace_for(read)
        workspace.show_case(case)
        self._middle.setCurrentWidget(workspace.case_pane)
        self._right.setCurrentWidget(workspace.right)
        self._right.setVisible(True)
        self.lists.remind()
        self._left.cases.show_open(case.path)
        self._left.has_case = True
        self._left.fit()
        self.put_entry(read.path)
        self.show_history()
        workspace.case_pane.focus_page()
        self.case_shown.emit()
        self.spelling.use_names_of(read.pack, case.session.record)
        QTimer.singleShot(SPELLING_MS, self, self.load_spelling)

    def load_spelling(self) -> None:
        """Load the dictionary, once the window can be worked with."""
        if self._held.shown is not None:
            session = self._held.shown.session
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
                self._layout.document,
            )
            self._workspace.completed.connect(self._on_completed)
            self._workspace.desk.unread_changed.connect(self.show_history)
            self._workspace.desk.unread_changed.connect(self._chosen.put_off)
            self._workspace.desk.goes_on = self.goes_on
            self._workspace.case_pane.page_shown.connect(self._tips.show_next)
            self._workspace.case_pane.page_shown.connect(self._on_page_shown)
            self._workspace.case_pane.said.connect(self._on_said)
            self._middle.addWidget(self._workspace.case_pane)
            self._right.addWidget(self._workspace.right)
            self.find_box.set_form(read.pack.form)
        return self._workspace

    def _on_completed(self) -> None:
        """The paper has come, and with it what is open in the case."""
        if self._workspace is not None:
            self.signing.attach(self._workspace)
            self._layout.keep("paper", self._workspace.paper_pane.split)
            for path in self._held.opened:
                self.put_entry(path)

    def is_complete(self) -> bool:
        """True unless the paper and the findings of the case on screen are still being loaded."""
        return self._workspace is None or not self._workspace.is_behind

    def _is_behind_with(self, path: Path) -> bool:
        """True while it isn't known yet what is open in the case on screen."""
        return not self.is_complete() and self._held.shown_path == path

    def _drop_workspace(self) -> None:
        if self._workspace is not None:
            self._layout.document = self._workspace.document
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
            path = library.new_path("new_case", self._held.read)
        except CaseProblem as problem:
            self._notices.say("case", str(problem))
            return
        self._held.read[path] = ReadCase(path, pack.new_record(), pack)
        self.put_entry(path)
        self.open_case(path)

    def library_for_new(self) -> Library | None:
        """Where new cases go; None, and it says why, when there is no such place."""
        if self._held.library is None:
            try:
                self._new_cases.mkdir(parents=True, exist_ok=True)
            except OSError as error:
                words = f"{self._new_cases} can't be used for new cases ({error.strerror}); "
                self._notices.say("case", f"{words}open another folder with Ctrl+Shift+O")
                return None
            # What is there already must be known, or a list makes the same cases again.
            self.open_folder(self._new_cases, shows_first=False)
        return self._held.library

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
        return [(path.name, record) for path, (_, record) in self._held.records().items()]

    def listed_paths(self) -> list[Path]:
        """The cases of the list, in its order."""
        return [entry.path for entry in self._left.cases.entries.items]

    def rename_entry(self, old: Path, new: Path) -> None:
        """A case of the list has got another file."""
        self._left.cases.entries.rename(old, new)

    def take_in(self, reads: Sequence[ReadCase]) -> None:
        """Cases were made in the folder: list them, in the order of their files."""
        for read in reads:
            self._held.read[read.path] = read
            self.put_entry(read.path)
        self._left.cases.entries.put_in_order()
        self._left.cases.show_open(self.current_path())
        self._left.fit()

    def show_instead(self, pane: QWidget) -> None:
        """Show a pane in the place of the pages and the paper; no case is then open."""
        self.keeping.write_draft_now()
        if self._held.shown is not None:
            self._day.leave(self._held.shown)
        self._held.shown = None
        self._chosen.settle()
        self._drop_workspace()
        self._left.pages.set_pages(())
        self._left.cases.show_open(None)
        self._left.fit()
        self._notices.drop_all(but=(NOT_KEPT, "kept"))
        self.show_history()
        self.setWindowTitle("opnote")
        if self._middle.indexOf(pane) < 0:
            self._middle.addWidget(pane)
        self._middle.setCurrentWidget(pane)
        self._right.setVisible(False)

    def come_back(self, path: Path | None) -> None:
        """Show a case again after another pane, or that there is none."""
        if path in self._held.read:
            self.open_case(path)
        else:
            self._show_blank(_CHOOSE)

    def say(self, subject: str, words: str, actions: Sequence[Action] = ()) -> None:
        """Show a line above the pages."""
        self._notices.say(subject, words, actions)

    def drop_notice(self, subject: str) -> None:
        """The line about a subject has done its duty."""
        self._notices.drop(subject)

    def now(self) -> datetime:
        """The window's clock."""
        return self._now()

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

    # Changing

    def undo(self) -> None:
        """Take the last step back and show where it was."""
        if self._held.shown is not None:
            if self._held.shown.session.undo_label == CARRIED:
                self._notices.drop("carried")
            self._show_touched(self._held.shown.session.undo())

    def redo(self) -> None:
        """Bring back what was undone and show where it is."""
        if self._held.shown is not None:
            self._show_touched(self._held.shown.session.redo())

    def _show_touched(self, paths: frozenset[str]) -> None:
        if self._workspace is None:
            return
        view = self._workspace.desk.state.view
        there = sorted(path for path in paths if not view.is_hidden(path))
        if len(there) == 1:
            self._workspace.go_to(there[0])
        self.show_history()

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
        return self._reader.has_read_all

    def current_path(self) -> Path | None:
        """The file of the case that is shown; None when none is."""
        return self._held.shown_path

    @property
    def workspace(self) -> Workspace | None:
        """The panes of the case that is shown; None when none is."""
        return self._workspace

    @property
    def held(self) -> HeldCases:
        """The list that is open, with its cases."""
        return self._held

    def record(self) -> Record:
        """The open case as it is now."""
        assert self._held.shown is not None, "no case is open"
        return self._held.shown.session.record

    def _on_changed(self, change: Change) -> None:
        if self._held.shown is None or change.new is not self._held.shown.session.record:
            return
        self._chosen.put_off()
        if self._workspace is not None:
            self._workspace.refresh(change)
        self.practice.follow_up(change.new)
        self.keeping.note_change()
        if self._held.shown.path is not None:
            self.put_entry(self._held.shown.path)
        self.show_history()

    def show_history(self) -> None:
        """Say at the top what can be undone, and whether all is saved."""
        session = None if self._held.shown is None else self._held.shown.session
        unread = self.unread_labels()
        self._top.show_history(session, unread)
        if not unread:
            self._notices.drop("unread")

    def unread_labels(self) -> list[str]:
        """What the fields are called whose boxes hold what can't be read."""
        return [] if self._held.shown is None else self._held.shown.unread_labels()

    def go_to_unread(self) -> None:
        """Go to the first text in a box that can't be read."""
        if self._workspace is not None:
            for path in self._workspace.desk.unread_paths()[:1]:
                self.go_to(path)

    def _on_save_clicked(self) -> None:
        if self._held.shown is not None and self._held.shown.session.is_saved:
            self.go_to_unread()
        else:
            self.keeping.save()

    def put_entry(self, path: Path) -> None:
        """Bring what the list says of a case up to date."""
        if self._is_behind_with(path):
            return
        case = self._held.opened.get(path)
        read = self._held.read.get(path)
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
        if case is not None and case is self._held.shown:
            self.setWindowTitle(", ".join(p for p in (entry.name, entry.side_words) if p))

    # Going about

    def _on_focus_changed(self, old: QWidget | None, new: QWidget | None) -> None:
        # The style shows where the focus is only after a Tab, but it also goes by other keys.
        self.setAttribute(Qt.WidgetAttribute.WA_KeyboardFocusChange)
        if self._held.shown is None or self._workspace is None or new is None:
            return
        self._held.shown.session.end_merging()
        self.spelling.use_names_of(self._held.shown.session.pack, self._held.shown.session.record)
        if self._workspace.case_pane.isAncestorOf(new):
            self._workspace.case_pane.follow_focus(new)

    def on_pages(self, step: Callable[[CasePane], object]) -> Callable[[], None]:
        """What does a step on the pages of the case on screen, and nothing when there is none."""

        def take() -> None:
            if self._workspace is not None:
                step(self._workspace.case_pane)

        return take

    @property
    def goes_on(self) -> bool:
        """True when an answer that is whole leads to the next question."""
        return bool(self._settings.value("goes_on", False, type=bool))

    def set_goes_on(self, goes_on: bool) -> None:
        """Whether an answer that is whole leads to the next question."""
        self._settings.setValue("goes_on", goes_on)
        if self._workspace is not None:
            self._workspace.desk.goes_on = goes_on

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

    def _on_page_shown(self) -> None:
        self._notices.drop("page")

    def _on_said(self, words: str) -> None:
        self._notices.say("page", words)

    def focus_find_box(self) -> None:
        """Put the focus where a field is looked for."""
        self.find_box.setFocus()
        self.find_box.selectAll()

    def _on_find_left(self) -> None:
        if self._workspace is not None:
            self._workspace.case_pane.focus_page()

    def focus_list(self) -> None:
        """Put the focus on the theatre list."""
        self._left.cases.setFocus()

    def focus_paper(self) -> None:
        """Put the focus on the paper."""
        if self._workspace is not None:
            self._workspace.paper_pane.focus_paper()

    def focus_map(self) -> None:
        """Show the map and put the focus on it."""
        if self._workspace is not None and self._workspace.paper_pane.board is not None:
            self.show_document("map")
            self._workspace.paper_pane.focus_paper()

    def shown_document(self) -> str:
        """The kind of document that is on the paper."""
        return self._layout.document if self._workspace is None else self._workspace.document

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

    def enlarge_text(self) -> None:
        """The next larger size of text."""
        self.set_text_size(self._size + 1)

    def reduce_text(self) -> None:
        """The next smaller size of text."""
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
        read = self._held.shown_read
        if self._held.shown is None or self._workspace is None or read is None:
            return
        focus, pane = QApplication.focusWidget(), self._workspace.case_pane
        panes = (pane, self._workspace.paper_pane)
        in_hand = pane.path_in_hand
        goes = focus is None or any(each.isAncestorOf(focus) for each in panes)
        self._drop_workspace()
        # What stands above the pages is of this case still, and may be half filled in.
        self._put_on_screen(self._held.shown, read)
        if focus is not None and not goes:
            focus.setFocus()
        elif in_hand:
            self.go_to(in_hand)

    def _on_close(self) -> None:
        self.close()

    def _on_close_anyway(self) -> None:
        self._closes_anyway = True
        self.close()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Nothing is asked while all that was typed is on disk; else the window stays."""
        losses = self._lost_by_closing()
        if losses and not self._closes_anyway:
            anyway = "Stop and close" if losses == [_UNWRITTEN] else "Close anyway"
            actions: list[Action] = [("Try to close again", self._on_close)]
            actions.append((anyway, self._on_close_anyway))
            if self.lists.is_out_of_sight:
                actions.insert(0, ("Go back to it", self.lists.go_back))
            actions[:0] = self._way_to_unreadable()
            words = f"The window stays open: closing it would lose {' and '.join(losses)}."
            self._notices.say("close", words, actions)
            event.ignore()
            return
        self._settings.setValue("geometry", self.saveGeometry())
        if self._held.shown is not None and self._workspace is not None:
            kind = self._workspace.document
            self._layout.note_place(self._held.shown.path, self._held.shown.page, kind)
        self._reader.forget()
        self._drop_unused_pictures()
        self._held.library = None  # what is still read for it comes too late
        self.writing.stop()
        self.spelling.forget()
        super().closeEvent(event)

    def _lost_by_closing(self) -> list[str]:
        """What would be lost if the window closed now; what can be kept is kept first."""
        losses = [] if self.keeping.draft_all() else ["what is not kept yet"]
        losses += self._unreadable()
        if self.lists.listing is not None:
            losses.append("the list that was read")
        if self.writing.is_writing:
            losses.append(_UNWRITTEN)
        return losses

    def _unreadable(self) -> list[str]:
        """The texts in boxes that no case can keep, each by its case and its field."""
        return [
            f"what can't be read in {label} ({_name_of(path, case)})"
            for path, case in self._held.opened.items()
            for label in case.unread_labels()
        ]

    def _way_to_unreadable(self) -> list[Action]:
        """A button that leads to the first text that no case can keep; none when there is none."""
        found = (
            (path, unread[0])
            for path, case in self._held.opened.items()
            if (unread := case.unread_paths())
        )
        first = next(found, None)

        def go() -> None:
            if first is not None:
                self.open_case(first[0])
                self.go_to(first[1])

        return [] if first is None else [("Go there", go)]

    def _drop_unused_pictures(self) -> None:
        library, read = self._held.library, self._held.read
        if library is not None:
            opened = [
                (read[path].record, case.session.record) for path, case in self._held.opened.items()
            ]
            library.drop_unused_pictures(opened)


def _name_of(path: Path, case: OpenCase) -> str:
    """Whose case it is, or else its file."""
    return str(case.session.record.values.get(PATIENT_NAME) or path.stem)
