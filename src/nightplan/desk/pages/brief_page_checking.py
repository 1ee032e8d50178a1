# SPDX-License-Identifier: GPL-3.0-or-later
"""Files looked at off the window's thread: checks, hashes for sheets, sheets verified.

Decoders run in worker processes that are kept from check to check; one that crashes or hangs is replaced, and the
check says so in a finding.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, Signal, Slot

if TYPE_CHECKING:
    from nightplan.brief.findings import Depth, Report
    from nightplan.brief.rules import Deliverable
    from nightplan.brief.worker import Workers
    from nightplan.desk.host import DeskHost
    from nightplan.desk.widgets.progress_part import ProgressPart
    from nightplan.model.brief import Sheet
    from nightplan.model.project import Project

Tell = Callable[[float], None]


class Checking(QObject):
    """One job at a time; a newer one calls an older one off."""

    #: Report
    reported = Signal(object)
    #: (what it is for, Sheet)
    sheet_made = Signal(object)
    #: (Sheet, states of its files)
    verified = Signal(object)

    def __init__(
        self,
        host: DeskHost,
        refused: Callable[[str], object],
        failed: Callable[[BaseException], object],
        part: ProgressPart,
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self.work = host.background(self, self._done, refused=refused, failed=failed, part=part)
        self._crew: Workers | None = None
        #: of the job that runs: the deliverable, purpose or sheet that it is about
        self._about: Any = None

    @property
    def busy(self) -> bool:
        return self.work.busy

    def check(
        self, deliverable: Deliverable, paths: Sequence[str], depth: Depth, now: dt.datetime, project: Project
    ) -> None:
        """Hold files against a deliverable; ``reported`` gives the answer."""

        def work(tell: Tell) -> Report:
            from nightplan.brief.check import check
            from nightplan.brief.worker import Workers

            if self._crew is None:
                self._crew = Workers()
            return check(deliverable, paths, depth=depth, now=now, workers=self._crew, progress=tell, project=project)

        self._start("report", deliverable, work)

    def make_sheet(self, report: Report, purpose: str) -> None:
        """Hashes of every file of a report; ``sheet_made`` gives (purpose, Sheet)."""

        def work(tell: Tell) -> Sheet:
            from nightplan.brief.handin import make_sheet

            return make_sheet(report, progress=tell)

        self._start("sheet", purpose, work)

    def verify(self, sheet: Sheet, folder: str | None = None) -> None:
        """Whether the files of a sheet are still the same; ``verified`` gives (Sheet, states)."""

        def work(tell: Tell) -> Any:
            from nightplan.brief.handin import verify

            return verify(sheet, folder, progress=tell)

        self._start("verify", sheet, work)

    def _start(self, name: str, about: Any, work: Callable[[Tell], Any]) -> None:
        self._about = about
        self.work.start(name, work)

    @Slot(object)
    def _done(self, told: tuple[str, Any]) -> None:
        name, result = told
        if name == "report":
            self.reported.emit(result)
        elif name == "sheet":
            self.sheet_made.emit((self._about, result))
        else:
            self.verified.emit((self._about, result))

    def call_off(self) -> None:
        self.work.call_off()

    @Slot()
    def close(self) -> None:
        """Call off, wait for the thread, end the worker processes."""
        self.work.close()
        if self._crew is not None:
            self._crew.close()
            self._crew = None
