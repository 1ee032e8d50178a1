# SPDX-License-Identifier: GPL-3.0-or-later
"""Earned schedule in the report; its numbers are held to the published table where the engine is tested."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from pathlib import Path

import export_cases as cases
import html5lib
import pytest

from nightplan.actions.second_opinion import second_opinion
from nightplan.engine.earned import earned
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.exports.report import report_html, write_report
from nightplan.exports.report_words import earned_words
from nightplan.files.store import load
from nightplan.model.results import EarnedSchedule

SAMPLES = Path(__file__).parents[2] / "sample_projects"
SEEN = EarnedSchedule(9.0, 7.5, 16.0, 6, 4.8, 12, 0.8, 15.0)


def test_absent_unless_it_is_given() -> None:
    assert "second opinion" not in report_html(cases.project(), cases.forecast(), cases.plan()).lower()


def test_it_is_said_in_a_section_of_valid_html(tmp_path: Path) -> None:
    path = tmp_path / "report.html"
    write_report(cases.project(), cases.forecast(), cases.plan(), path, earned=SEEN)
    html = path.read_text(encoding="utf-8")
    html5lib.HTMLParser(strict=True).parse(html)
    assert '<h2 id="second-opinion">A second opinion</h2>' in html
    assert (
        "After 6 evenings of the baseline, the work done is what the baseline had after 4.8: "
        "behind it (SPI(t) 0.80); at this pace its 12 evenings become 15.0."
    ) in html
    assert "knows nothing of chance" in html


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"performance": 1.25, "earned_evenings": 7.5, "evenings_at_end": 9.6}, "ahead of it (SPI(t) 1.25); at this"),
        ({"performance": 1.002, "earned_evenings": 6.01}, "as planned (SPI(t) 1.00)"),
        ({"performance": 0.0, "earned_evenings": 0.0, "evenings_at_end": math.inf}, "behind it (SPI(t) 0.00)."),
        ({"performance": 2.0, "earned_evenings": 12.0, "evenings_at_end": 6.0}, "(SPI(t) 2.00); all of it is done."),
        ({"evenings": 1}, "After 1 evening of the baseline"),
    ],
)
def test_words(changes: dict[str, float], words: str) -> None:
    assert words in earned_words(replace(SEEN, **changes))  # type: ignore[arg-type]


def test_the_caller_fills_it_from_the_engine() -> None:
    project = load(SAMPLES / "moth-and-lantern.nightplan")
    day = max(e.evening for e in project.log)
    told, seen = earned(project, day), second_opinion(project, day)
    assert told is not None
    assert seen is not None
    assert (seen.evenings, seen.earned_evenings, seen.performance) == (
        told.evenings,
        told.earned_evenings,
        told.performance,
    )
    html = report_html(project, forecast(project, day, futures=500), plan(project, day), earned=seen)
    found = re.search(r"SPI\(t\) (\d\.\d\d)", html)
    assert found is not None
    assert float(found[1]) == pytest.approx(seen.earned_evenings / seen.evenings, abs=0.005)


def test_none_without_a_baseline_or_before_its_first_evening() -> None:
    project = cases.project()
    assert second_opinion(project.but(baselines=()), cases.AS_OF) is None
    assert second_opinion(project, project.announced) is None
    assert second_opinion(project, cases.AS_OF) is not None
