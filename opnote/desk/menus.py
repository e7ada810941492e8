"""What stands in the menus, with its keys."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Final

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu

from opnote.desk import theme
from opnote.desk.help import KEYS_SEQUENCE
from opnote.desk.onward import KEYS as ONWARD_KEYS
from opnote.desk.practice_menu import KEYS as PRACTICE_KEYS
from opnote.desk.top_line import Keys, TopLine

if TYPE_CHECKING:
    from opnote.desk.window import Window

_MORE: Final = "\N{HORIZONTAL ELLIPSIS}"
_STANDARD: Final = QKeySequence.StandardKey
_DOCUMENTS: Final = (
    ("note", "Operative &note"),
    ("risk_sheet", "&Risk sheet"),
    ("recovery_plan", "Recovery &plan"),
    ("recovery_card", "Recovery &card"),
    ("letter", "L&etter"),
)
Entry = tuple[str, Callable[[], object], Keys]


def fill_menus(top: TopLine, window: Window) -> QMenu:
    """Put every entry into the menus; gives the menu of practices, which changes later."""
    _fill_case(top, window)
    edit = _fill_edit(top, window)
    _fill_go(top, window)
    _fill_view(top, window)
    _fill_help(top, window)
    return edit


def _add(top: TopLine, menu: QMenu, *entries: Entry | None) -> list[QAction]:
    """Add entries in their order, with a line for each None."""
    added = []
    for entry in entries:
        if entry is None:
            menu.addSeparator()
        else:
            added.append(top.entry(menu, *entry))
    return added


def _fill_case(top: TopLine, window: Window) -> None:
    menu = top.menus.addMenu("&Case")
    lists, keeping, writing = window.lists, window.keeping, window.writing
    _add(
        top,
        menu,
        ("&New case", window.new_case, _STANDARD.New),
        (f"&Open a list{_MORE}", window.choose_folder, "Ctrl+Shift+O"),
        (f"Open a &case{_MORE}", window.choose_case, _STANDARD.Open),
        (f"&Read a list{_MORE}", lists.choose, None),
        ("&Paste a list", lists.paste, None),
        None,
        ("&Save", keeping.save, _STANDARD.Save),
        (f"&Write the documents{_MORE}", writing.choose_folder, "Ctrl+E"),
        (f"Write the documents of the whole &list{_MORE}", writing.choose_folder_of_list, None),
        (f"&Print{_MORE}", writing.print_document, _STANDARD.Print),
        (f"Loo&k before printing{_MORE}", writing.look_before_printing, None),
        (f"R&isk sheet given to the patient{_MORE}", writing.give_sheet, None),
    )
    top.entry_to_tick(menu, "Lar&ge print for the patient", writing.set_large, writing.is_large)
    _add(top, menu, None, ("&Quit", window.close, _STANDARD.Quit))


def _fill_edit(top: TopLine, window: Window) -> QMenu:
    menu = top.menus.addMenu("&Edit")
    top.add_undo(menu, window.undo, window.redo)
    on_pages = window.on_pages
    _add(
        top,
        menu,
        None,
        (f"&Not recorded, because {_MORE}", on_pages(lambda p: p.answer_not_recorded()), "Ctrl+B"),
        ("Add a &remark", on_pages(lambda p: p.add_remark()), "Ctrl+R"),
        ("&Confirm what is shown", on_pages(lambda p: p.confirm_shown()), "Ctrl+K"),
        ("The &rest of the page is normal", on_pages(lambda p: p.answer_rest_normal()), "Ctrl+G"),
        None,
    )
    practice = window.make_practice(menu)
    _add(
        top,
        menu,
        ("Fill in the &usual practice", practice.fill_in, PRACTICE_KEYS),
        ("&Keep as usual practice", practice.keep, None),
    )
    return menu


def _fill_go(top: TopLine, window: Window) -> None:
    menu = top.menus.addMenu("&Go")
    on_pages = window.on_pages
    onward = top.entry(menu, "&Confirm and go on", on_pages(lambda p: p.go_onward()), ONWARD_KEYS)
    # A key that is held down must not run through the pages and confirm them.
    onward.setAutoRepeat(False)
    _add(
        top,
        menu,
        ("&Next page", on_pages(lambda p: p.go_on()), "Ctrl+Down"),
        ("Page &before", on_pages(lambda p: p.go_back()), "Ctrl+Up"),
        ("Next &open question", on_pages(lambda p: p.go_to_next_open()), "Ctrl+J"),
        ("Next &unfinished case", window.next_case, "Ctrl+L"),
        ("&Sign the note", window.signing.ask, "Ctrl+Return"),
        ("&Find a field", window.focus_find_box, "Ctrl+F"),
        ("Theatre &list", window.focus_list, "Alt+1"),
        ("&Pages", on_pages(lambda p: p.focus_page()), "Alt+2"),
        ("P&aper", window.focus_paper, "Alt+3"),
        ("&Map to draw on", window.focus_map, "Alt+4"),
        None,
    )
    top.entry_to_tick(menu, "&Go on after an answer", window.set_goes_on, window.goes_on)


def _fill_view(top: TopLine, window: Window) -> None:
    menu = top.menus.addMenu("&View")
    _add(
        top,
        menu,
        *((words, partial(window.show_document, kind), None) for kind, words in _DOCUMENTS),
        None,
        ("&Usual layout", window.take_usual_layout, None),
        ("&Larger text", window.enlarge_text, _STANDARD.ZoomIn),
        ("&Smaller text", window.reduce_text, _STANDARD.ZoomOut),
        None,
        ("Colours as the &system", partial(window.set_scheme, theme.Scheme.SYSTEM), None),
        ("L&ight", partial(window.set_scheme, theme.Scheme.LIGHT), None),
        ("&Dark", partial(window.set_scheme, theme.Scheme.DARK), None),
    )


def _fill_help(top: TopLine, window: Window) -> None:
    menu = top.menus.addMenu("&Help")
    _add(
        top,
        menu,
        ("How it &works", window.show_help, _STANDARD.HelpContents),
        ("&Keys", window.show_keys, KEYS_SEQUENCE),
        None,
        ("Show the &tips again", window.show_tips_again, None),
    )
