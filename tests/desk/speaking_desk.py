# SPDX-License-Identifier: GPL-3.0-or-later
"""Opens every page and dialog in the language of the environment and prints, as JSON, texts that were not translated
(with the marking language) and texts that do not fit: ``python speaking_desk.py SAMPLE [FOLDER for pictures]``.

Run by the tests in a process of its own: the language is settled when the program starts.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from desk_fakes import FakeServices
from desk_sweep import cut_off, every_widget
from PySide6.QtCore import QAbstractTableModel, QSettings, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDialog,
    QGroupBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QTextEdit,
    QWidget,
)

from nightplan.desk.app import make_app
from nightplan.desk.pages import PAGES
from nightplan.desk.theme import ThemeKeeper
from nightplan.desk.window import MainWindow
from nightplan.files.store import load
from nightplan.speech import LANGUAGES

sample = Path(sys.argv[1])
pictures = Path(sys.argv[2]) if len(sys.argv) > 2 else None
settings = tempfile.mkdtemp()

_LETTERS = re.compile(r"[^\W\d_]{2,}")
#: words that are the same in every language: units, keys, names of formats and of the program
_SAME = re.compile(
    r"\b(nightplan|Ctrl|Shift|Alt|Enter|Return|Del|Esc|Space|Home|End|Up|Down|Left|Right|Tab|F\d+|PNG|JPEG|TIFF|EXR|ZIP|PDF|SVG|"
    r"HTML|CSV|GPL|UTC|[A-Z][a-z]+/[A-Z]\w+|Mon|Tue|Wed|Thu|Fri|Sat|Sun|Monday|Tuesday|Wednesday|Thursday|Friday|"
    r"Saturday|Sunday|Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec|HH:mm|SPDX|CC|BY|SA|NC|ND|LicenseRef)\b|\S+\.\w{2,9}"
)


def texts(root: QWidget) -> Iterator[tuple[str, str]]:
    """Where a text stands, and the text."""
    for widget in every_widget(root):
        name = type(widget).__name__
        yield f"{name} name", widget.accessibleName()
        yield f"{name} description", widget.accessibleDescription()
        yield f"{name} tip", widget.toolTip()
        if isinstance(widget, QLabel | QAbstractButton | QLineEdit):
            yield f"{name} text", widget.text()
        if isinstance(widget, QLineEdit | QPlainTextEdit | QTextEdit):
            yield f"{name} hint", widget.placeholderText()
        if isinstance(widget, QGroupBox):
            yield f"{name} title", widget.title()
        if isinstance(widget, QDialog):
            yield f"{name} title", widget.windowTitle()
        if isinstance(widget, QTextEdit):
            yield from ((f"{name} line", line) for line in widget.toPlainText().splitlines())
        if isinstance(widget, QComboBox):
            yield from ((f"{name} entry", widget.itemText(n)) for n in range(widget.count()))
        model = widget.model() if isinstance(widget, QAbstractItemView) else None
        if model is not None:
            # a list has one column and does not tell
            columns = model.columnCount() if isinstance(model, QAbstractTableModel) else 1
            for row in range(min(model.rowCount(), 60)):
                for column in range(columns):
                    for role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
                        value = model.index(row, column).data(role)
                        if isinstance(value, str):
                            yield f"{name} cell", value
            for n in range(columns):
                value = model.headerData(n, Qt.Orientation.Horizontal)
                if isinstance(value, str):
                    yield f"{name} heading", value
    for action in root.findChildren(QAction):
        yield "action", action.text()
        if action.toolTip().replace("&", "") != action.text().replace("&", ""):
            yield "action tip", action.toolTip()


def own(value: object) -> Iterator[str]:
    """Every text of the project itself."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for part in value.values():
            yield from own(part)
    elif isinstance(value, list):
        for part in value:
            yield from own(part)


class Sweep:
    def __init__(self) -> None:
        for kind in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
            QSettings.setPath(kind, QSettings.Scope.UserScope, settings)
        self.app = make_app(["nightplan"])
        folder = Path(settings, "desk")
        folder.mkdir()
        raw = json.loads(sample.read_text("utf-8"))
        self.project = load(sample)
        last = max((e.evening for e in self.project.log), default=self.project.announced)
        self.services = FakeServices(folder, last + dt.timedelta(days=9))
        self.services.settings().setValue("library", [str(sample.parent)])
        self.keeper = ThemeKeeper("night", 100)
        self.keeper.apply()
        self.window = MainWindow(self.services, self.keeper)
        self.window.work.missed_asked = True
        self.window.resize(1360, 860)
        self.known = sorted({*own(raw), *LANGUAGES.values(), sample.name, str(sample.parent)}, key=len, reverse=True)
        self.left: dict[str, list[str]] = {}
        self.cut: dict[str, list[str]] = {}

    def rest(self) -> None:
        for _ in range(3000):
            QTest.qWait(10)
            page = self.window.pages.get(self.window.stack.current) if hasattr(self.window.stack, "current") else None
            work = getattr(page, "work", None)
            document = self.window.document
            if (not document.is_open or (document.fresh and not document.worker.busy)) and not getattr(
                work, "busy", False
            ):
                break
        QTest.qWait(400)

    def look(self, name: str, root: QWidget) -> None:
        strange = set()
        for where, text in texts(root):
            # what is between the marks was translated; what is left over was not
            rest = re.sub(r"⟦[^⟦⟧]*⟧", "", text)
            while rest != (less := re.sub(r"⟦[^⟦⟧]*⟧", "", rest)):
                rest = less
            for word in self.known:
                if len(word) > 1 and word in rest:
                    rest = rest.replace(word, "")
            rest = _SAME.sub("", rest.replace("&", ""))
            if _LETTERS.search(rest):
                strange.add(f"{where}: {text[:90]!r}")
        if strange:
            self.left[name] = sorted(strange)
        if found := cut_off(root):
            self.cut[name] = found
        if pictures is not None:
            pictures.mkdir(parents=True, exist_ok=True)
            root.grab().save(str(pictures / f"{name}.png"))

    def run(self) -> None:
        self.window.show()
        QTest.qWait(50)
        self.look("empty", self.window)
        self.window.document.new(self.project)
        self.window.show_document()
        self.rest()
        for page in PAGES:
            self.window.go_to(page)
            self.rest()
            self.look(page, self.window)
            shown = self.window.pages[page]
            for key in ("stages", "evenings", "honesty", "apply", "end") if page == "look-back" else ():
                shown.show_part(key)
                self.rest()
                self.look(f"{page}-{key}", shown)
            for key in ("numbers", "keys") if page == "help" else ():
                shown.show_part(key)
                self.look(f"{page}-{key}", shown)
        self.dialogs()
        self.window.setProperty("discard", True)
        self.window.close()

    def dialogs(self) -> None:
        from nightplan.desk.missed import MissedEvenings
        from nightplan.desk.project_settings import EditProject
        from nightplan.desk.wizard import NewProject

        guide = NewProject(self.services, self.keeper.theme, self.window)
        guide.title.setText("Kite")
        guide.dates.deadline.setText("30 April 2028")
        self.known.append("30 April 2028")
        self.known.append("Kite")
        guide.show()
        for step in range(4):
            if step:
                guide._next()
            for _ in range(500):
                QTest.qWait(20)
                if step < 3 or (guide.detail.text() and not guide.worker.busy):
                    break
            QTest.qWait(100)
            self.look(f"guide-{step}", guide)
        guide.close()
        for name, dialog in (
            ("settings", EditProject(self.services, self.keeper.theme, self.project, self.window)),
            ("missed", MissedEvenings(self.window.host, self.window)),
        ):
            dialog.show()
            QTest.qWait(100)
            self.look(name, dialog)
            dialog.close()


sweep = Sweep()
sweep.run()
QApplication.processEvents()
print(json.dumps({"left": sweep.left, "cut": sweep.cut}, ensure_ascii=False))
