# SPDX-License-Identifier: GPL-3.0-or-later
"""The menus of a window: words, keys, and which of them can be chosen now."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, SignalInstance, Slot
from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMenu

from nightplan.desk.language_menu import LanguageMenu
from nightplan.desk.pages import PAGES
from nightplan.desk.widgets.plain_label import tip_text
from nightplan.desk.widgets.side_bar import ALWAYS
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.menu_titles import MenuTitles
    from nightplan.desk.window import MainWindow


class Menus(QObject):
    """Fills the menus of a window's menu bar; what an entry does is done by the window and its helpers."""

    def __init__(self, window: MainWindow, bar: MenuTitles) -> None:
        super().__init__(window)
        self.window = window
        self._file(bar.file)
        self._edit(bar.edit)
        self._project(bar.project)
        self._view(bar.view)
        self._help(bar.help)
        self.offer_pages(window.document.is_open)
        self.update_state()

    def _act(
        self,
        menu: QMenu,
        text: str,
        shortcut: QKeySequence.StandardKey | str | None,
        slot: Callable[..., object] | SignalInstance,
    ) -> QAction:
        action = menu.addAction(text)
        if isinstance(shortcut, str):
            # several, with a blank between them; the first is the one that is shown
            action.setShortcuts([QKeySequence(key) for key in shortcut.split()])
        elif shortcut is not None:
            action.setShortcut(QKeySequence(shortcut))
        action.triggered.connect(slot)
        return action

    def _file(self, menu: QMenu) -> None:
        window, files = self.window, self.window.files
        key = QKeySequence.StandardKey
        self._act(menu, tr("&New project…"), key.New, files.new_project)
        self._act(menu, tr("New &window"), "Ctrl+Shift+N", files.new_window)
        self._act(menu, tr("&Open…"), key.Open, files.ask_open)
        self.recent_menu = menu.addMenu(tr("Open &recent"))
        self.recent_menu.aboutToShow.connect(self._fill_recent)
        self._act(menu, tr("Open a sam&ple"), None, files.open_sample)
        menu.addSeparator()
        self.save_action = self._act(menu, tr("&Save"), key.Save, files.save)
        self.save_as_action = self._act(menu, tr("Save &as…"), "Ctrl+Shift+S", files.save_as)
        self.export_menu = menu.addMenu(tr("&Export"))
        window.exporter.fill(self.export_menu)
        self.revert_action = self._act(menu, tr("Re&vert to the file…"), None, files.revert)
        self.versions_action = self._act(menu, tr("Earl&ier versions…"), None, files.earlier_versions)
        self._act(menu, tr("Recover &unsaved changes…"), None, window.recovery.offer_all)
        menu.addSeparator()
        self._act(menu, tr("&Close window"), "Ctrl+W Ctrl+F4", window.close)
        # not the standard key: Windows has none
        self._act(menu, tr("&Quit"), "Ctrl+Q", window.quit_wanted)

    @Slot()
    def _fill_recent(self) -> None:
        self.recent_menu.clear()
        for path in self.window.services.recent():
            action = self.recent_menu.addAction(Path(path).name.replace("&", "&&"))
            action.setToolTip(tip_text(path))
            action.setData(path)
            action.triggered.connect(self._open_recent)
        if self.recent_menu.isEmpty():
            self.recent_menu.addAction(tr("Nothing yet")).setEnabled(False)

    @Slot()
    def _open_recent(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.window.files.open_path(str(action.data()))

    @Slot()
    def _undo(self) -> None:
        """The status line would go on saying that what was taken back is done."""
        document = self.window.document
        label = None if document.history is None else document.history.undo_label
        if label is not None:
            document.undo()
            self.window.say(tr("Taken back: {change}.", change=label))

    @Slot()
    def _redo(self) -> None:
        document = self.window.document
        label = None if document.history is None else document.history.redo_label
        if label is not None:
            document.redo()
            self.window.say(tr("Done again: {change}.", change=label))

    def _edit(self, menu: QMenu) -> None:
        self.undo_action = self._act(menu, tr("&Undo"), QKeySequence.StandardKey.Undo, self._undo)
        self.redo_action = self._act(menu, tr("&Redo"), "Ctrl+Shift+Z Ctrl+Y", self._redo)

    def _project(self, menu: QMenu) -> None:
        work = self.window.work
        self.settings_action = self._act(menu, tr("&Dates, week and settings…"), "Ctrl+,", work.edit_settings)
        menu.addSeparator()
        self.accept_action = self._act(menu, tr("&Accept the plan as baseline"), "Ctrl+B", work.accept_baseline)
        self.compare_action = self._act(menu, tr("&Compare with the baseline"), "Ctrl+Shift+B", work.compare_baseline)
        self.busy_action = self._act(menu, tr("&Busy times from a calendar…"), None, self._ask_busy)
        self.free_action = self._act(menu, tr("Take busy times &out…"), None, self._ask_remove_busy)
        menu.addSeparator()
        self.missed_action = self._act(menu, tr("&Evenings not ticked off…"), "Ctrl+M", work.ask_missed)

    @Slot()
    def _ask_busy(self) -> None:
        self.window.busy_times.ask()

    @Slot()
    def _ask_remove_busy(self) -> None:
        self.window.busy_times.ask_remove()

    def _view(self, menu: QMenu) -> None:
        self.page_actions: list[QAction] = []
        for n, (page, (title, _module, _class)) in enumerate(PAGES.items()):
            action = self._act(menu, title, f"Ctrl+{n + 1}" if n < 9 else None, self._page_chosen)
            action.setData(page)
            self.page_actions.append(action)
        menu.addSeparator()
        colours = menu.addMenu(tr("&Colours"))
        group = QActionGroup(self)
        for choice, label in (("system", tr("As the &system")), ("night", tr("&Night")), ("light", tr("&Light"))):
            action = colours.addAction(label)
            action.setCheckable(True)
            action.setChecked(self.window.themes.choice == choice)
            action.setData(choice)
            group.addAction(action)
        group.triggered.connect(self._colours_chosen)
        self.language_menu = LanguageMenu(menu.addMenu(tr("L&anguage")), self.window.host)
        self._act(menu, tr("&Larger text"), "Ctrl++ Ctrl+=", self._larger)
        self._act(menu, tr("&Smaller text"), "Ctrl+-", self._smaller)
        self._act(menu, tr("Text as &usual"), "Ctrl+0", self._usual)

    @Slot()
    def _page_chosen(self) -> None:
        action = self.sender()
        if isinstance(action, QAction):
            self.window.go_to(str(action.data()))

    @Slot(QAction)
    def _colours_chosen(self, action: QAction) -> None:
        self.window.services.set_theme_choice(str(action.data()))
        self.window.themes.choose(str(action.data()))

    @Slot()
    def _larger(self) -> None:
        self._text(self.window.themes.percent + 10)

    @Slot()
    def _smaller(self) -> None:
        self._text(self.window.themes.percent - 10)

    @Slot()
    def _usual(self) -> None:
        self._text(100)

    def _text(self, percent: int) -> None:
        self.window.themes.set_percent(percent)
        self.window.services.set_text_percent(self.window.themes.percent)

    def _help(self, menu: QMenu) -> None:
        self._act(menu, tr("The &numbers explained"), QKeySequence.StandardKey.HelpContents, self.help_numbers)
        self._act(menu, tr("&Keys"), "Ctrl+F1", self.help_keys)
        self._act(menu, tr("&About nightplan"), None, self._about)

    @Slot()
    def help_numbers(self) -> None:
        self._help_part("numbers")

    @Slot()
    def help_keys(self) -> None:
        self._help_part("keys")

    def _help_part(self, part: str) -> None:
        self.window.go_to("help")
        page = self.window.pages.get("help")
        if page is not None and hasattr(page, "show_part"):
            page.show_part(part)

    @Slot()
    def _about(self) -> None:
        from nightplan import __version__

        self.window.services.tell(
            self.window,
            tr("About nightplan"),
            tr(
                "nightplan {version}. Free software under the GNU General Public License, version 3 or "
                "later. It comes without any warranty; the organiser's rules decide, and sleep is no "
                "buffer.",
                version=__version__,
            ),
        )

    def update_state(self) -> None:
        """Undo and redo with what they would do; what needs a project only where there is one."""
        d = self.window.document
        history = d.history
        undo, redo = (None, None) if history is None else (history.undo_label, history.redo_label)
        # an ampersand in a name is no mnemonic
        self.undo_action.setText(tr("&Undo: {step}", step=undo.replace("&", "&&")) if undo else tr("&Undo"))
        self.redo_action.setText(tr("&Redo: {step}", step=redo.replace("&", "&&")) if redo else tr("&Redo"))
        self.undo_action.setEnabled(bool(undo))
        self.redo_action.setEnabled(bool(redo))
        for action in (self.save_action, self.save_as_action, self.compare_action, self.export_menu.menuAction()):
            action.setEnabled(d.is_open)
        changing = (self.settings_action, self.accept_action, self.missed_action, self.busy_action, self.free_action)
        for action in changing:
            action.setEnabled(d.is_open and not d.looking)
        self.versions_action.setEnabled(d.is_open and d.path is not None and not d.looking)
        self.revert_action.setEnabled(d.is_open and d.path is not None and d.dirty)

    def offer_pages(self, is_open: bool) -> None:
        for action in self.page_actions:
            action.setEnabled(is_open or action.data() == ALWAYS)
