# SPDX-License-Identifier: GPL-3.0-or-later
"""The numbers in an artist's words, with a worked example from the core itself; the keys."""

from __future__ import annotations

import datetime as dt
from functools import cache

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPushButton, QTextBrowser, QVBoxLayout, QWidget

from nightplan.desk import words
from nightplan.desk.host import DeskHost
from nightplan.desk.pages import PAGES, Page
from nightplan.desk.theme import Theme
from nightplan.speech import dates, tr

KEYS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        tr("Everywhere"),
        (
            (tr("Ctrl+1 … Ctrl+{last}"), tr("go to a page")),
            (tr("Ctrl+N"), tr("new project: announcement day")),
            (tr("Ctrl+O, Ctrl+S, Ctrl+Shift+S"), tr("open, save, save as")),
            (tr("Ctrl+Z, Ctrl+Shift+Z"), tr("undo, redo")),
            (tr("Ctrl+,"), tr("dates, week and settings")),
            (tr("Ctrl+B, Ctrl+Shift+B"), tr("accept the plan as baseline, compare with it")),
            (tr("Ctrl+M"), tr("evenings not ticked off")),
            (tr("Ctrl++, Ctrl+-, Ctrl+0"), tr("larger, smaller, usual text")),
            (tr("Ctrl+W, Ctrl+Q"), tr("close the window, quit")),
            (tr("F1, Ctrl+F1"), tr("the numbers explained, these keys")),
            (tr("Tab, Shift+Tab"), tr("to the next control and back")),
        ),
    ),
    (
        tr("Evening strip"),
        (
            (tr("Left, Right, Home, End"), tr("from evening to evening, first, last")),
            (tr("Up, Down"), tr("through the work of an evening")),
            (tr("Menu key or Shift+F10"), tr("what can be done with this evening")),
            ("+, -", tr("zoom")),
        ),
    ),
    (
        tr("Stages"),
        (
            (tr("F2 or Enter"), tr("change the value in a cell")),
            (tr("Alt+Up, Alt+Down"), tr("earlier, later")),
            (tr("Menu key or Shift+F10"), tr("leave out, bring back, tier, what it waits for")),
        ),
    ),
    (
        tr("Tonight"),
        (
            (tr("Ctrl+Return"), tr("tick off the evening")),
            (tr("Ctrl+Shift+M"), tr("I did not work")),
            (tr("Ctrl+J"), tr("after a tick: captures of that evening")),
        ),
    ),
    (
        tr("Brief"),
        (
            (tr("Enter or F2"), tr("change the cell of a rule; on a finding: go to its rule")),
            (tr("Space"), tr("your own tick, and back")),
            (tr("Alt+Up, Alt+Down, Delete"), tr("earlier, later, out")),
            ("A, R, Z", tr("a pasted rule: take over, refuse, ask again")),
        ),
    ),
    (
        tr("Evenings not ticked off"),
        (("M", tr("missed")), ("W", tr("worked: to the Tonight page")), ("L", tr("ask me later"))),
    ),
)


@cache
def example() -> dict[str, str]:
    """The worked example, computed by the core: four pieces of work, eight evenings."""
    from nightplan.engine.estimates import Estimate
    from nightplan.engine.forecast import forecast
    from nightplan.model.parse import project_from_raw

    names = (("rig", "Rig"), ("animate", "Animate"), ("light", "Light"), ("edit", "Edit"))
    raw = {
        "format": "nightplan",
        "version": 1,
        "title": tr("Worked example"),
        "zone": "UTC",
        "announced": "2027-03-01",
        "gates": [
            {"id": "lock", "name": "Lock", "on": "2027-03-26"},
            {"id": "deadline", "name": "Hand-in", "at": "2027-03-31T23:59", "zone": "UTC"},
        ],
        "week": [
            {"day": "tue", "start": "20:30", "hours": 2.5, "chance": 0.9},
            {"day": "thu", "start": "20:30", "hours": 2.5, "chance": 0.9},
        ],
        "stages": [
            {
                "id": f"stage-{key}",
                "name": name,
                "after": [f"stage-{names[n - 1][0]}"] if n else [],
                "items": [{"id": key, "name": name, "likely": 3, "high": 5}],
            }
            for n, (key, name) in enumerate(names)
        ],
    }
    found = forecast(project_from_raw(raw), dt.date(2027, 3, 1))
    lock = found.gate("lock")
    item = Estimate(3, 5)
    mean = 4 * item.mean
    return {
        "likely": "12",
        "mean": dates.decimal(mean, 1),
        "there": "20",
        "expected": "18",
        "have": dates.decimal(lock.buffer.have_hours, 1),
        "need": dates.decimal(lock.buffer.need_hours, 1),
        "odds": words.in_100(lock.odds),
        "half": words.day(lock.finish.p50),
        "most": words.day(lock.finish.p90),
    }


def numbers_html() -> str:
    """The page on the numbers."""
    from nightplan.engine.forecast import FUTURES

    e = example()
    paragraph = "<p>{}</p>".format
    head = "<h3>{}</h3>".format
    point = "<li>{}</li>".format
    return "\n".join(
        (
            "<h2>" + tr("What the numbers mean") + "</h2>",
            head(tr("Likely, and if it fights back")),
            paragraph(
                tr(
                    "Two numbers for each piece of work. <b>Likely</b> is the one that is as often too long as too "
                    "short: do the same thing ten times, and five times you are done by then. In the books it is "
                    "called the <i>median</i>. The second number is <b>enough 9 times in 10</b>: only one time in ten "
                    "it takes longer still. The gap between the two is honest doubt. A piece you have done often has "
                    "a small gap."
                )
            ),
            head(tr("Odds")),
            paragraph(
                tr(
                    "The program lives through your project {futures} times. In each of these <b>futures</b> every "
                    "piece of work takes some time between lucky and unlucky, some evenings do not happen, a render "
                    "fails. <b>71 in 100</b> means: in 71 of 100 futures everything is done by then. It is no promise, "
                    "it is a weather report.",
                    futures=dates.whole(FUTURES),
                )
            ),
            paragraph(
                tr(
                    "One thing is drawn once for the whole future: how optimistic you were. Who is optimistic about "
                    "the rig is optimistic about the light. Without it the odds would flatter you. When finished work "
                    "shows it, the rest of the plan learns."
                )
            ),
            head(tr("Buffer: have and need")),
            paragraph(
                tr(
                    "<b>Have</b> is the evening time that really comes (an evening that happens 9 times in 10 counts "
                    "nine tenths) less the likely hours still to do. <b>Need</b> is how much of it is wanted for 80 in "
                    "100. Where have is above need you sleep well; where it is below, look at the ways back while they "
                    "are cheap."
                )
            ),
            head(tr("9 in 10 by")),
            paragraph(
                tr("The evening by which the thing is done in nine of ten futures. Say that date when somebody asks.")
            ),
            head(tr("A worked example")),
            paragraph(
                tr(
                    "Rig, animate, light, edit: each likely 3 h, 5 h if it fights back. The lock is in four weeks, "
                    "with two evenings a week of {evening}, eight in all, each happening 9 times in 10.",
                    evening=words.hours(2.5),
                )
            ),
            "<ul>",
            point(
                tr(
                    "Likely work: 4 × 3 = <b>{likely} h</b>. On average it is {mean} h: work overruns by more than it "
                    "underruns.",
                    **e,
                )
            ),
            point(
                tr(
                    "Evenings: 8 × {evening} = {there} h, of which <b>{expected} h</b> can be expected to happen.",
                    evening=dates.decimal(2.5, 1),
                    **e,
                )
            ),
            point(
                tr(
                    "Buffer: have {expected} − {likely} = <b>{have} h</b>. Need for 80 in 100: <b>{need} h</b>.",
                    **e,
                )
            ),
            point(
                tr(
                    "Odds for the lock: <b>{odds}</b>. Half of the futures are done by {half}, nine in ten by {most}.",
                    **e,
                )
            ),
            "</ul>",
            paragraph(
                tr(
                    "The sum fits with hours to spare, and still some of a hundred futures miss the lock. That is what "
                    "a buffer is for."
                )
            ),
            head(tr("What the numbers are not")),
            paragraph(
                tr(
                    "They know your estimates and your evenings, not your health and not the jury. The organiser's "
                    "rules and the law of your country go first. Long evenings: sleep is no buffer, and nothing is "
                    "ever proposed past your own bedtime."
                )
            ),
        )
    )


def keys_html() -> str:
    """The page of keys."""
    parts = ["<h2>" + tr("Keys") + "</h2>"]
    for head, rows in KEYS:
        parts.append(f"<h3>{head}</h3><table cellpadding='4'>")
        for key, what in rows:
            parts.append(f"<tr><td><b>{key.replace('{last}', str(len(PAGES)))}</b></td><td>{what}</td></tr>")
        parts.append("</table>")
    return "".join(parts)


class HelpPage(Page):
    """Two parts, chosen above."""

    id = "help"
    title = tr("Help")

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        self.parts = QButtonGroup(self)
        for key, text in (("numbers", tr("The numbers explained")), ("keys", tr("Keys"))):
            button = QPushButton(text)
            button.setCheckable(True)
            button.setAccessibleName(text)
            button.setProperty("part", key)
            self.parts.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        column.addLayout(row)
        self.text = QTextBrowser()
        self.text.setAccessibleName(tr("Help text"))
        self.text.setOpenLinks(False)
        column.addWidget(self.text, 1)
        self.parts.buttonClicked.connect(self._chosen)
        self._shown = "numbers"
        self.show_part("numbers")

    def show_part(self, part: str) -> None:
        """``numbers`` or ``keys``."""
        self._shown = part
        for button in self.parts.buttons():
            button.setChecked(button.property("part") == part)
        self.text.setHtml(numbers_html() if part == "numbers" else keys_html())

    def set_theme(self, theme: Theme) -> None:
        super().set_theme(theme)
        self.show_part(self._shown)

    def focus_first(self) -> None:
        self.text.setFocus()

    @Slot(object)
    def _chosen(self, button: QPushButton) -> None:
        self.show_part(str(button.property("part")))
