# SPDX-License-Identifier: GPL-3.0-or-later
"""What the terminal, the report and the other exports say is translated.

Common practice, no source. The language is settled when the program starts, so each try is a run of its own; the
artist's own words are made numbers before, so that every word that is left is the program's.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

SAMPLE = Path(__file__).resolve().parents[2] / "sample_projects" / "moth-and-lantern.nightplan"
#: keys of the file that hold words of the artist, or of somebody else
OWN = {"title", "piece", "name", "note", "why", "wording", "machine", "machines", "author", "source", "changes"}
#: what dates are made of in English, and names that are not translated
FINE = re.compile(r"\b(Mon|Tue|Wed|Thu|Fri|Sat|Sun|Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec|Europe|Lisbon)\b")

TERMINAL = """
import datetime as dt, io, sys
from rich.console import Console
from nightplan.cli.context import Context
from nightplan.cli.main import main

class Wide(Context):
    def console(self):
        return Console(file=self.out, width=400, highlight=False, emoji=False, no_color=True)

def call(*argv):
    code = main(argv, sys.stdout, sys.stdout, Wide(sys.stdout, lambda: dt.date(2027, 10, 9)))
    sys.stdout.flush()
    return code

file = sys.argv[1]
assert call("plan", file) == 0
assert call("odds", file, "--futures", "200") == 0
assert call("recover", file, "--futures", "50") in (0, 1)
assert call("nights", file, "--futures", "50") == 0
assert call("lookback", file, "--for", file) == 0
for wrong in (["plan"], ["plan", file, "more"], ["tick", file, "x"], ["tick", file, "2027-10-09", "--hours"],
              ["--language", "xx"], ["check", file, "p", "--deep", "--headers"], ["odds", file, "--seed", "-"],
              ["nothing-of-that-name"], ["plan", "nowhere.nightplan"], ["lookback", "--accept", "x", file]):
    assert call(*wrong) == 2, wrong
"""

HELP = """
import io, sys
from nightplan.cli.main import VERBS, main
for argv in (["--help"], *([verb, "--help"] for verb in VERBS)):
    assert main(argv, sys.stdout, sys.stdout) == 0
"""

PAGES = """
import datetime as dt, sys
from html import unescape
from pathlib import Path
import re
from nightplan.actions.second_opinion import second_opinion
from nightplan.actions.today import as_it_stands
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.exports import calendar_out, credits, figures, making_of, page_pdf, page_pdf_one, strip, wall_sheet
from nightplan.exports.look import LIGHT
from nightplan.exports.page_pdf_sheet import Pages
from nightplan.exports.page_pdf_summary import summary_markdown
from nightplan.exports.report import report_html
from nightplan.files.store import parse

project = parse(Path(sys.argv[1]).read_bytes(), "sample")
day = as_it_stands(project)
found, planned = forecast(project, day, futures=200), plan(project, day)
page = report_html(project, found, planned, earned=second_opinion(project, day))
assert '<html lang="en">' in page
labels = re.findall('aria-label="(.*?)"', page)
plain = re.sub("<style>.*?</style>|<svg.*?</svg>", "", page, flags=re.S)
print(unescape(re.sub("<[^>]*>", "\\n", plain)), *map(unescape, labels), sep="\\n")
print(summary_markdown(project, found, planned))
for entry in calendar_out.entries(project, planned):
    print(entry.summary, entry.description, *entry.categories, sep="\\n")
one = credits.Credit("1", "2", "3", "4", "", "5")
print(credits.credits_text("1", [one]), credits.credits_markdown("1", []))
shown = (making_of.Shown(day, "1", ""),)
chapter = making_of.Chapter("1", "2", day, day + dt.timedelta(3), 2, 3.0, 4.0, shown, ((day, "2"),))
outline = making_of.Outline("1", "2", 120, (chapter,), ("3",))
print(making_of.outline_markdown(outline))
print(unescape(re.sub("<[^>]*>", "\\n", re.sub("<style>.*?</style>", "", making_of.outline_html(outline), flags=re.S))))

def told(figure):
    # letters that stand for stages are the artist's
    for axes in figure.axes:
        texts = [axes.title, axes.xaxis.label, axes.yaxis.label, *axes.texts]
        texts += [*axes.get_xticklabels(), *axes.get_yticklabels()]
        print(*(t.get_text() for t in texts), axes.get_title(loc="left"), sep="\\n")
    print(*(t.get_text() for t in figure.texts), sep="\\n")

for figure in (figures.burn_down(project, found), figures.slip_risk(project, found),
               figures.buffer_used(project, found), strip.evening_strip(project, planned, found)):
    told(figure)

# what is written on paper, line by line, is whole before it is cut into lines
written = []
def note(text, *args, **keys):
    written.append(text)
    return real(text, *args, **keys)
from nightplan.exports import page_pdf_sheet
real = page_pdf_sheet.wrapped
for module in (page_pdf_sheet, page_pdf_one, wall_sheet):
    module.wrapped = note
page_pdf.report_pdf(project, found, planned, earned=second_opinion(project, day))
page_pdf_one.one_page_pdf(project, found, planned)
wall_sheet.wall_sheet_pdf(project, planned)
assert len(written) > 100
print(*written, sep="\\n")
"""


@pytest.fixture(scope="module")
def nameless(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample with numbers for its names."""

    def numbered(value: object, key: str = "") -> object:
        if isinstance(value, dict):
            return {k: numbered(v, k) for k, v in value.items()}
        if isinstance(value, list):
            return [numbered(v, key) for v in value]
        if isinstance(value, str) and key in OWN:
            return str(sum(map(ord, value)))
        return value

    path = tmp_path_factory.mktemp("nameless") / "1.nightplan"
    path.write_text(json.dumps(numbered(json.loads(SAMPLE.read_text("utf-8")))), "utf-8")
    return path


def run(script: str, *arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        env={**os.environ, "NIGHTPLAN_LANGUAGE": "qps", "PYTHONIOENCODING": "utf-8", "COLUMNS": "400"},
        capture_output=True,
        check=False,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def untranslated(told: str, fine: re.Pattern[str] = FINE) -> list[str]:
    """Lines with a word that stands in no brackets."""
    before = ""
    while before != told:
        before, told = told, re.sub(r"⟦[^⟦⟧]*⟧", "", told)
    return [line for line in told.splitlines() if re.search(r"[^\W\d_]{3}", fine.sub("", line))]


def test_the_terminal(nameless: Path) -> None:
    told = run(TERMINAL, str(nameless))
    assert told.count("⟦") > 200
    # proposals are named, to be typed after --accept
    assert (
        untranslated(told, re.compile(rf"{FINE.pattern}|^nightplan: |(estimate|spread|evening):[a-z0-9:-]+", re.M))
        == []
    )


def test_the_help_and_what_argparse_says() -> None:
    told = run(HELP)
    assert told.count("⟦") > 100
    # the call itself, names of values and options
    rest = [
        line for line in untranslated(re.sub(r"⟦usage: ⟧(.|\n)*?\n\n", "", told)) if re.search(r"[a-z]{3} [a-z]", line)
    ]
    assert rest == []


def test_the_report_and_other_exports(nameless: Path) -> None:
    told = run(PAGES, str(nameless))
    assert told.count("⟦") > 500
    assert untranslated(told) == []
