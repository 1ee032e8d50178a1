# SPDX-License-Identifier: GPL-3.0-or-later
"""Files that leave the program: written in the background, put in their place when they are whole.

A file is written beside its place under a name of its own; several files are written into a folder of their own within
the one that they go to. Only when all is there, and nobody has cancelled it, is it moved over what was there before; so
a cancelled or failed export leaves what was there as it was.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Slot
from PySide6.QtWidgets import QWidget

from nightplan.desk.background import Report
from nightplan.model.errors import NightplanError
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.desk.host import DeskHost
    from nightplan.desk.widgets.progress_part import ProgressPart

#: writes to a path, in the background; what it answers is given to ``Leaving.before``
Write = Callable[[Path, Report], Any]


@dataclass(frozen=True)
class Leaving:
    """A file that is to be written, or several that go into one folder."""

    #: title of the question where to
    title: str
    #: a file name; not asked for a folder
    suggested: str
    #: as a file dialog wants them: ``PDF (*.pdf)``
    filters: str
    #: on the window's thread, when the place is known: takes what it needs of the project as it is then
    begin: Callable[[], Write]
    #: on the window's thread, when the file is whole, before it is put in its place; may raise NightplanError
    before: Callable[[Any], None] | None = None
    #: what is asked for is a folder; what writes makes a folder of that path and fills it
    into_folder: bool = False


def file_name(title: str, rest: str) -> str:
    """A file name out of a title, with ``rest`` behind it: words and points, no letter that a system refuses."""
    stem = re.sub(r"[^\w.-]+", "-", title.lower()).strip("-.")
    return f"{stem or 'project'}{rest}"


@dataclass(frozen=True)
class _Run:
    leaving: Leaving
    target: Path
    scrap: Path

    def place(self) -> None:
        """Put what is whole where it belongs; raises OSError."""
        if not self.leaving.into_folder:
            _move(self.scrap, self.target)
            return
        for made in sorted(self.scrap.iterdir()):
            _move(made, self.target / made.name)
        self.scrap.rmdir()


class ExportRun(QObject):
    """Belongs to a window; one export at a time, with its progress in the status line."""

    def __init__(self, host: DeskHost, window: QWidget, part: ProgressPart) -> None:
        super().__init__(window)
        self.host, self.window, self.part = host, window, part
        self.work = host.background(self, self._written, refused=self._refused, failed=self._failed, part=part)
        part.stop_wanted.connect(self.cancel)
        self._run: _Run | None = None
        host.document.closing.connect(self._close)

    @property
    def busy(self) -> bool:
        return self._run is not None

    def ask(self, leaving: Leaving) -> None:
        """Ask where to, then write."""
        folder = os.path.dirname(self.host.document.path or "") or os.path.expanduser("~")

        def chosen(path: str | None) -> None:
            if path is not None:
                self.start(leaving, Path(path))

        if leaving.into_folder:
            self.host.services.ask_folder(self.window, leaving.title, folder, chosen)
            return
        suggested = os.path.join(folder, leaving.suggested)
        self.host.services.ask_save(self.window, suggested, chosen, title=leaving.title, filters=leaving.filters)

    def start(self, leaving: Leaving, target: Path) -> None:
        """Write the file; refused while another one is being written."""
        if self._run is not None:
            self.host.say(tr("{name} is being written; wait for it or cancel it first.", name=self._run.target.name))
            return
        # realpath: a link stays a link
        real = Path(os.path.realpath(target))
        mark = f"-{os.urandom(4).hex()}.part"
        beside = real.with_name(f".{real.stem[:40]}{mark}{real.suffix}")
        scrap = real / f".files{mark}" if leaving.into_folder else beside
        write = leaving.begin()

        def work(report: Report) -> Any:
            try:
                result = write(scrap, report)
                # raises where it was cancelled, even if all is written
                report(1.0)
            except BaseException:
                _remove(scrap)
                raise
            return result

        self._run = _Run(leaving, target, scrap)
        name = target.name if len(target.name) <= 28 else f"{target.name[:20]}…{target.suffix}"
        # a % in a name would be read as a place for the share
        shown = tr("Writing {name}…", name=name.replace("%", "-"))
        told = tr("Writing {name}…", name=target.name)
        self.part.name(told, f"{shown} %p %", tr("Cancel writing {name}", name=target.name))
        self.host.say(told)
        self.work.start("export", work)

    @Slot()
    def cancel(self) -> None:
        """Give the file up; what was in its place stays."""
        run = self._over()
        if run is not None:
            self.work.call_off()
            _remove(run.scrap)
            self.host.say(tr("Cancelled: {name} was not written.", name=run.target.name))

    @Slot()
    def _close(self) -> None:
        """The window goes: nothing half-written stays."""
        run = self._over()
        self.work.close()
        if run is not None:
            _remove(run.scrap)

    def _over(self) -> _Run | None:
        run, self._run = self._run, None
        return run

    @Slot(object)
    def _written(self, told: tuple[str, Any]) -> None:
        run = self._over()
        if run is None:
            return
        try:
            if run.leaving.before is not None:
                run.leaving.before(told[1])
            run.place()
        except NightplanError as error:
            _remove(run.scrap)
            self._say_not(run, str(error))
        except OSError as error:
            _remove(run.scrap)
            self._say_not(run, _cannot(run.target, error))
        else:
            self.host.say(tr("Written: {name}", name=run.target.name))

    @Slot(object)
    def _refused(self, sentence: str) -> None:
        run = self._over()
        if run is not None:
            # the name that it had until it was whole means nothing to the artist
            self._say_not(run, sentence.replace(run.scrap.name, run.target.name))

    @Slot(object)
    def _failed(self, error: BaseException) -> None:
        run = self._over()
        if run is None:
            return
        if isinstance(error, OSError):
            self._say_not(run, _cannot(run.target, error))
            return
        self.host.say(tr("{name} was not written, by a fault of ours.", name=run.target.name))
        self.host.services.fault(error)

    def _say_not(self, run: _Run, why: str) -> None:
        self.host.say(tr("Not written: {name}.", name=run.target.name))
        self.host.services.tell(self.window, tr("Not written"), why)


def _cannot(target: Path, error: OSError) -> str:
    return tr(
        "{target} cannot be written ({strerror}).", target=target, strerror=error.strerror or type(error).__name__
    )


def _move(made: Path, place: Path) -> None:
    real = Path(os.path.realpath(place))
    if real.exists():
        shutil.copymode(real, made)
    os.replace(made, real)


def _remove(scrap: Path) -> None:
    if scrap.is_dir():
        shutil.rmtree(scrap, ignore_errors=True)
    with contextlib.suppress(OSError):
        scrap.unlink(missing_ok=True)
