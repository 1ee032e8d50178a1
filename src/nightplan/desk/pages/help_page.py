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

KEYS: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    (
        "Everywhere",
        (
            ("Ctrl+1 … Ctrl+{last}", "go to a page"),
            ("Ctrl+N", "new project: announcement day"),
            ("Ctrl+O, Ctrl+S, Ctrl+Shift+S", "open, save, save as"),
            ("Ctrl+Z, Ctrl+Shift+Z", "undo, redo"),
            ("Ctrl+,", "dates, week and settings"),
            ("Ctrl+B, Ctrl+Shift+B", "accept the plan as baseline, compare with it"),
            ("Ctrl+M", "evenings not ticked off"),
            ("Ctrl++, Ctrl+-, Ctrl+0", "larger, smaller, usual text"),
            ("Ctrl+W, Ctrl+Q", "close the window, quit"),
            ("F1, Ctrl+F1", "the numbers explained, these keys"),
            ("Tab, Shift+Tab", "to the next control and back"),
        ),
    ),
    (
        "Evening strip",
        (
            ("Left, Right, Home, End", "from evening to evening, first, last"),
            ("Up, Down", "through the work of an evening"),
            ("Menu key or Shift+F10", "what can be done with this evening"),
            ("+, -", "zoom"),
        ),
    ),
    (
        "Stages",
        (
            ("F2 or Enter", "change the value in a cell"),
            ("Alt+Up, Alt+Down", "earlier, later"),
            ("Menu key or Shift+F10", "leave out, bring back, tier, what it waits for"),
        ),
    ),
    ("Tonight", (("Ctrl+Return", "tick off the evening"), ("Ctrl+Shift+M", "I did not work"))),
    (
        "Brief",
        (
            ("Enter or F2", "change the cell of a rule; on a finding: go to its rule"),
            ("Space", "your own tick, and back"),
            ("Alt+Up, Alt+Down, Delete", "earlier, later, out"),
            ("A, R, Z", "a pasted rule: take over, refuse, ask again"),
        ),
    ),
    ("Evenings not ticked off", (("M", "missed"), ("W", "worked: to the Tonight page"), ("L", "ask me later"))),
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
        "title": "Worked example",
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
        "mean": f"{mean:.1f}",
        "there": "20",
        "expected": "18",
        "have": f"{lock.buffer.have_hours:.1f}",
        "need": f"{lock.buffer.need_hours:.1f}",
        "odds": words.in_100(lock.odds),
        "half": words.day(lock.finish.p50),
        "most": words.day(lock.finish.p90),
    }


def numbers_html() -> str:
    """The page on the numbers."""
    e = example()
    return f"""
<h2>What the numbers mean</h2>
<h3>Likely, and if it fights back</h3>
<p>Two numbers for each piece of work. <b>Likely</b> is the one that is as often too long as too short:
do the same thing ten times, and five times you are done by then. In the books it is called the
<i>median</i>. The second number is <b>enough 9 times in 10</b>: only one time in ten it takes longer still.
The gap between the two is honest doubt. A piece you have done often has a small gap.</p>
<h3>Odds</h3>
<p>The program lives through your project 20,000 times. In each of these <b>futures</b> every piece of work
takes some time between lucky and unlucky, some evenings do not happen, a render fails.
<b>71 in 100</b> means: in 71 of 100 futures everything is done by then. It is no promise, it is a weather report.</p>
<p>One thing is drawn once for the whole future: how optimistic you were. Who is optimistic about the rig
is optimistic about the light. Without it the odds would flatter you. When finished work shows it,
the rest of the plan learns.</p>
<h3>Buffer: have and need</h3>
<p><b>Have</b> is the evening time that really comes (an evening that happens 9 times in 10 counts nine
tenths) less the likely hours still to do. <b>Need</b> is how much of it is wanted for 80 in 100. Where have is
above need you sleep well; where it is below, look at the ways back while they are cheap.</p>
<h3>9 in 10 by</h3>
<p>The evening by which the thing is done in nine of ten futures. Say that date when somebody asks.</p>
<h3>A worked example</h3>
<p>Rig, animate, light, edit: each likely 3 h, 5 h if it fights back. The lock is in four weeks, with two
evenings a week of 2.5 h, eight in all, each happening 9 times in 10.</p>
<ul>
<li>Likely work: 4 × 3 = <b>{e["likely"]} h</b>. On average it is {e["mean"]} h:
work overruns by more than it underruns.</li>
<li>Evenings: 8 × 2.5 = {e["there"]} h, of which <b>{e["expected"]} h</b> can be expected to happen.</li>
<li>Buffer: have {e["expected"]} − {e["likely"]} = <b>{e["have"]} h</b>. Need for 80 in 100: <b>{e["need"]} h</b>.</li>
<li>Odds for the lock: <b>{e["odds"]}</b>. Half of the futures are done by {e["half"]}, nine in ten by {e["most"]}.</li>
</ul>
<p>The sum fits with hours to spare, and still some of a hundred futures miss the lock. That is what a
buffer is for.</p>
<h3>What the numbers are not</h3>
<p>They know your estimates and your evenings, not your health and not the jury. The organiser's rules and
the law of your country go first. Long evenings: sleep is no buffer, and nothing is ever proposed past
your own bedtime.</p>
"""


def keys_html() -> str:
    """The page of keys."""
    parts = ["<h2>Keys</h2>"]
    for head, rows in KEYS:
        parts.append(f"<h3>{head}</h3><table cellpadding='4'>")
        for key, what in rows:
            parts.append(f"<tr><td><b>{key.format(last=len(PAGES))}</b></td><td>{what}</td></tr>")
        parts.append("</table>")
    return "".join(parts)


class HelpPage(Page):
    """Two parts, chosen above."""

    id = "help"
    title = "Help"

    def __init__(self, host: DeskHost, theme: Theme, parent: QWidget | None = None) -> None:
        super().__init__(host, theme, parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        row = QHBoxLayout()
        self.parts = QButtonGroup(self)
        for key, text in (("numbers", "The numbers explained"), ("keys", "Keys")):
            button = QPushButton(text)
            button.setCheckable(True)
            button.setAccessibleName(text)
            button.setProperty("part", key)
            self.parts.addButton(button)
            row.addWidget(button)
        row.addStretch(1)
        column.addLayout(row)
        self.text = QTextBrowser()
        self.text.setAccessibleName("Help text")
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
