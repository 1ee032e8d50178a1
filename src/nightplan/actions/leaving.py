# SPDX-License-Identifier: GPL-3.0-or-later
"""Write something of the project to a file; the ending says as what, ``what`` says which part."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.model.results import Forecast, Plan
from nightplan.speech import tr, trc

if TYPE_CHECKING:
    from nightplan.exports.look import Look

_CHARTS = ("strip", "hours-left", "odds", "buffer")
#: ending -> what it may hold, the first one unless another is asked for
PARTS: dict[str, tuple[str, ...]] = {
    ".ics": ("calendar",),
    ".csv": ("plan", "log", "futures", "burn-down", "assets"),
    ".png": (*_CHARTS, "credits", "contact-sheet"),
    ".svg": _CHARTS,
    ".pdf": ("report", "one-page", "wall-sheet", *_CHARTS),
    ".html": ("report", "making-of"),
    ".txt": ("credits",),
    ".md": ("summary", "credits", "making-of"),
}
ENDINGS = tuple(PARTS)
LOOKS = ("light", "night", "print")
DEFAULT_FUTURES = 20_000
#: length of a making-of film in minutes
DEFAULT_MINUTES = 3.0


@dataclass(frozen=True, slots=True)
class Wanted:
    """What to write and how."""

    as_of: dt.date
    #: aware: the moment that a calendar entry says it was changed at
    stamp: dt.datetime
    what: str | None = None
    paper: str = "a4"
    look: str = "light"
    futures: int = DEFAULT_FUTURES
    seed: int = 1
    minutes: float = DEFAULT_MINUTES


@dataclass(frozen=True, slots=True)
class Left:
    """What was written, and the project, which remembers what a calendar was told."""

    project: Project
    path: Path
    what: str
    size: int


def part_for(path: Path, what: str | None) -> str:
    """Which part the file will hold. Raises BadInput where the ending or the part is not known."""
    parts = PARTS.get(path.suffix.lower())
    if parts is None:
        raise BadInput.at("to", str(path), tr("the file's ending is one of {endings}", endings=" ".join(ENDINGS)))
    if what is None:
        return parts[0]
    if what not in parts:
        raise BadInput.at(
            "what",
            what,
            tr(
                "a file that ends in {ending} holds {parts}",
                ending=path.suffix.lower(),
                parts=trc("between the last of several that may be", " or ").join(parts),
            ),
        )
    return what


def leave(
    project: Project,
    path: Path,
    wanted: Wanted,
    *,
    plan: Plan | None = None,
    forecast: Forecast | None = None,
    progress: Callable[[float], None] | None = None,
    folder: Path | None = None,
    remember: Callable[[Project], object] | None = None,
) -> Left:
    """Write the file whole or not at all.

    Args:
        plan: as it stands on ``wanted.as_of``, where the caller has it already; the same for ``forecast``.
        folder: where the project file lies; captures and assets are named from there.
        remember: given the project where it changed, before the file is written: a calendar that was told
            and forgotten would be told once more with the same number.

    Raises:
        BadInput: an ending, part, paper or look that is not known, or a file that cannot be written.
    """
    from nightplan.exports.save import write_bytes

    what = part_for(path, wanted.what)
    data, after = _Maker(project, wanted, plan, forecast, progress, folder).made(path.suffix.lower(), what)
    if remember is not None and after is not project and after != project:
        remember(after)
    write_bytes(path, data)
    return Left(after, path, what, len(data))


#: of the time that an export takes, where the odds are not there yet
_ODDS_SHARE = 0.2


class _Maker:
    """Computes plan and odds when the first part asks for them."""

    def __init__(
        self,
        project: Project,
        wanted: Wanted,
        plan: Plan | None,
        forecast: Forecast | None,
        progress: Callable[[float], None] | None,
        folder: Path | None,
    ) -> None:
        self.project, self.wanted, self.progress, self.folder = project, wanted, progress, folder
        self._plan, self._forecast = plan, forecast
        self._drawn_from = 0.0

    @property
    def plan(self) -> Plan:
        if self._plan is None:
            from nightplan.engine.plan import plan

            self._plan = plan(self.project, self.wanted.as_of)
        return self._plan

    @property
    def forecast(self) -> Forecast:
        if self._forecast is None:
            from nightplan.engine.forecast import forecast

            w = self.wanted
            progress = self._from(0.0, _ODDS_SHARE)
            self._drawn_from = _ODDS_SHARE
            self._forecast = forecast(self.project, w.as_of, futures=w.futures, seed=w.seed, progress=progress)
        return self._forecast

    def _from(self, least: float, most: float = 1.0) -> Callable[[float], None] | None:
        """A progress that goes from one share of the whole to another."""
        told = self.progress
        return None if told is None else lambda share: told(least + (most - least) * share)

    @property
    def drawing(self) -> Callable[[float], None] | None:
        """The progress of what is drawn, after the odds where they had to be worked out."""
        return self._from(self._drawn_from)

    def made(self, ending: str, what: str) -> tuple[bytes, Project]:
        if what == "calendar":
            from nightplan.exports.calendar_out import TOLD, calendar_text

            data, memory = calendar_text(self.project, self.plan, stamp=self.wanted.stamp)
            return data, self.project.but(**{TOLD: memory})
        if what in _CHARTS:
            return self._chart(what, ending), self.project
        if what == "one-page":
            from nightplan.exports.page_pdf_one import one_page_pdf

            paper = self.wanted.paper
            data = one_page_pdf(self.project, self.forecast, self.plan, size=paper, progress=self.drawing)
            return data, self.project
        if what == "report":
            return self._report(ending), self.project
        if what == "wall-sheet":
            from nightplan.exports.wall_sheet import wall_sheet_pdf

            data = wall_sheet_pdf(self.project, self.plan, size=self.wanted.paper, progress=self.drawing)
            return data, self.project
        if what == "summary":
            from nightplan.exports.page_pdf_summary import summary_markdown

            return summary_markdown(self.project, self.forecast, self.plan).encode(), self.project
        return self._other(ending, what), self.project

    def _other(self, ending: str, what: str) -> bytes:
        from nightplan.exports import tables

        if what == "credits":
            return self._credits(ending)
        if what == "making-of":
            return self._making_of(ending)
        if what == "contact-sheet":
            return self._contact_sheet()
        if what == "assets":
            from nightplan.actions.assets import assets_csv

            return assets_csv(self.project).encode()
        if what == "log":
            return tables.csv_text(tables.log_table(self.project)).encode()
        if what == "plan":
            return tables.csv_text(tables.plan_table(self.project, self.plan)).encode()
        return tables.csv_text(tables.table(what, self.project, self.plan, self.forecast)).encode()

    def _credits(self, ending: str) -> bytes:
        from nightplan.actions.assets import credits_of
        from nightplan.exports import credits

        rows = credits_of(self.project)
        if ending == ".png":
            return credits.credits_png(self.project.title, rows)
        make = credits.credits_markdown if ending == ".md" else credits.credits_text
        return make(self.project.title, rows).encode()

    def _making_of(self, ending: str) -> bytes:
        from nightplan.actions.assets import credits_of
        from nightplan.actions.journal import making_of
        from nightplan.exports.credits import credit_line
        from nightplan.exports.making_of import outline_html, outline_markdown

        lines = tuple(credit_line(c) for c in credits_of(self.project))
        outline = making_of(self.project, self.wanted.minutes, credits=lines)
        if ending == ".md":
            return outline_markdown(outline).encode()
        pictures: dict[str, bytes] = {}
        if self.folder is not None:
            from nightplan.files.captures import placed, thumbnail
            from nightplan.files.errors import FilesError

            for shown in (s for c in outline.chapters for s in c.captures):
                try:
                    pictures[shown.path] = thumbnail(placed(shown.path, self.folder), self.folder).read_bytes()
                except (BadInput, FilesError, OSError):
                    # its name and note are in the page all the same
                    continue
        return outline_html(outline, pictures).encode()

    def _contact_sheet(self) -> bytes:
        from nightplan.actions.journal import journal
        from nightplan.exports import words
        from nightplan.files.captures import contact_sheet, placed

        if self.folder is None:
            raise BadInput(tr("captures: save the project first, their places are known from there"))
        folder = self.folder

        def place(path: str) -> Path | BadInput:
            try:
                return placed(path, folder)
            except BadInput as error:
                return error

        rows = [
            (place(c.path), f"{words.day(d.date)} {c.note}".strip()) for d in journal(self.project) for c in d.captures
        ]
        return contact_sheet(rows[-400:], title=self.project.title, progress=self.progress)

    def _report(self, ending: str) -> bytes:
        from nightplan.actions.second_opinion import second_opinion

        earned = second_opinion(self.project, self.forecast.as_of)
        if ending == ".pdf":
            from nightplan.exports.page_pdf import report_pdf

            paper, odds = self.wanted.paper, self.forecast
            return report_pdf(self.project, odds, self.plan, size=paper, earned=earned, progress=self.drawing)
        from nightplan.exports.report import report_html

        return report_html(self.project, self.forecast, self.plan, earned=earned, progress=self.drawing).encode()

    def _look(self) -> Look:
        from nightplan.exports import look

        if self.wanted.look not in LOOKS:
            raise BadInput.at("look", self.wanted.look, tr("one of {looks} is accepted", looks=", ".join(LOOKS)))
        return look.LOOKS[self.wanted.look]

    def _chart(self, what: str, ending: str) -> bytes:
        look = self._look()
        from nightplan.exports import figures
        from nightplan.exports.save import figure_bytes
        from nightplan.exports.strip import evening_strip

        figure: Any
        if what == "strip":
            figure = evening_strip(self.project, self.plan, self.forecast, look)
        elif what == "hours-left":
            figure = figures.burn_down(self.project, self.forecast, look)
        elif what == "odds":
            figure = figures.slip_risk(self.project, self.forecast, look)
        else:
            figure = figures.buffer_used(self.project, self.forecast, look)
        return figure_bytes(figure, ending[1:])
