# SPDX-License-Identifier: GPL-3.0-or-later
"""The report: valid HTML 5 (html5lib, strict), complete in itself, everything of the file escaped."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import export_cases as cases
import html5lib
import pytest

from nightplan.engine.forecast import forecast as real_forecast
from nightplan.engine.plan import plan as real_plan
from nightplan.exports import report_words, words
from nightplan.exports.report import report_html, write_report
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

SAMPLES = sorted((Path(__file__).parents[2] / "sample_projects").glob("*.nightplan"))
HTML = "{http://www.w3.org/1999/xhtml}"
HOSTILE = '<script>alert("x")</script>&amp;<img src=x onerror=y>\'"--></style></svg>]]>\u0000\u202e\ufffe{0}%s$a$'


def page(project: Project | None = None, **results: Any) -> str:
    return report_html(
        project or cases.project(), results.get("forecast", cases.forecast()), results.get("plan", cases.plan())
    )


def tree(html: str) -> Any:
    return html5lib.HTMLParser(strict=True).parse(html)


def said(element: Any) -> str:
    return " ".join("".join(element.itertext()).split())


def rows(html: str, caption: str) -> list[list[str]]:
    (table,) = [t for t in tree(html).iter(f"{HTML}table") if said(t.find(f"{HTML}caption")).startswith(caption)]
    return [[said(c) for c in row] for row in table.find(f"{HTML}tbody")]


def test_valid_and_complete_in_itself() -> None:
    html = page()
    root = tree(html)
    assert html.startswith("<!DOCTYPE html>")
    assert root.get("lang") == "en"
    tags = {e.tag for e in root.iter() if isinstance(e.tag, str)}
    assert not tags & {HTML + t for t in ("script", "link", "iframe", "object", "embed", "img", "base", "form")}
    # nothing is loaded: addresses occur only as names of name spaces
    without = re.sub(r'xmlns(:\w+)?="[^"]*"', "", html)
    assert not re.search(r"https?://|//[a-z]|@import|\bsrc=|url\((?!#)", without)
    ids = re.findall(r'\bid="([^"]*)"', html)
    assert len(ids) == len(set(ids))
    named = set(re.findall(r'aria-labelledby="([^"]*)"', html))
    assert named
    assert named <= set(ids)


def test_every_chart_has_words_and_a_table() -> None:
    root = tree(page())
    pictures = list(root.iter("{http://www.w3.org/2000/svg}svg"))
    assert len(pictures) == 4
    assert all(e.get("role") == "img" and len(e.get("aria-label")) > 40 for e in pictures)
    assert len(list(root.iter(f"{HTML}figcaption"))) == 4
    assert len(list(root.iter(f"{HTML}details"))) == 3
    assert all(t.find(f"{HTML}caption") is not None for t in root.iter(f"{HTML}table"))


def test_the_numbers_are_there() -> None:
    html = page()
    gates = rows(html, "Odds and buffer")
    assert gates[0] == [
        "Personal lock",
        "Fri 19 Mar 2027, whole evening",
        "71 in 100",
        "Thu 18 Mar",
        "3.5 h",
        "4.2 h",
        "40 %",
    ]
    assert gates[1][:3] == ["Hand-in“22 March, noon”", "Mon 22 Mar 2027, 12:00 your time", "93 in 100"]
    items = {r[0]: r[1:] for r in rows(html, "Likely, high, spent and left")}
    assert items["Body over likely"] == ["primary", "3 h", "5 h", "4 h", "done", "Sat 6 Mar"]
    assert items["Fins"] == ["tertiary", "2 h", "4 h", "1 h", "1.5 h", "Thu 18 Mar"]
    # beyond the horizon
    assert items["Swim"][-1] == "later"
    assert items["mot Motion & more"] == ["", "4 h", "", "–", "4 h", ""]
    evenings = {r[0]: r[1:] for r in rows(html, "Evenings")}
    assert evenings["Tue 2 Mar"] == ["20:00", "2 h", "", "worked", "Body 2 h – good start"]
    assert evenings["Thu 4 Mar"][3:] == ["lost", "ill"]
    assert evenings["Sat 13 Mar"] == ["20:00", "4 h", "maybe, 5 in 10", "maybe, and relied upon", "Swim 1.5 h"]
    burn = {r[0]: r[1:] for r in rows(html, "Hours of work left")}
    assert burn["Tue 9 Mar"] == ["3 h", "", "3 h to 6 h", "9.4 h"]
    odds = rows(html, "Odds so far")
    assert odds == [["Mon 1 Mar", "90", "95"], ["Tue 2 Mar", "85", "93"], ["Tue 9 Mar", "71", "93"]]
    jobs = rows(html, "Unattended")
    assert jobs == [["Render", "render", "desk", "Sat 13 Mar, 22:00", "Sun 14 Mar, 04:00", "Thu 18 Mar"]]


def test_meaning_and_caution_are_on_the_page() -> None:
    text = said(tree(page()))
    assert "1,000 times the rest of the piece was played through" in text
    assert "“71 in 100” means" in text
    assert "The organiser’s rules decide" in text
    assert "Estimates are not promises" in text
    assert "Sleep is no buffer" in text


def hostile() -> Project:
    raw: dict[str, Any] = {
        "title": HOSTILE,
        "piece": HOSTILE,
        "gates": [
            {"id": "lock", "name": HOSTILE, "on": "2027-03-19"},
            {
                "id": "deadline",
                "name": HOSTILE,
                "on": "2027-03-22",
                "zone": "UTC",
                "wording": HOSTILE,
                "uncertain": True,
            },
        ],
        "stages": [
            {
                "id": "model",
                "name": HOSTILE,
                "items": [{"id": k, "name": HOSTILE, "likely": 2, "high": 3} for k in ("body", "fins", "swim")],
            },
            {"id": "motion", "name": "<b>", "items": []},
        ],
        "jobs": [{"id": "render", "name": HOSTILE, "machine": HOSTILE, "hours": 6, "after": ["swim"]}],
        "log": [
            {"evening": "2027-03-02", "hours": 2, "work": [], "note": HOSTILE},
            {"evening": "2027-03-04", "happened": False, "note": HOSTILE},
        ],
        "forecasts": [],
        "baselines": [],
    }
    # the model forbids nothing in a text but its length
    return cases.project().but(**raw)


def test_hostile_names_stay_text() -> None:
    html = page(hostile(), forecast=_renamed(HOSTILE))
    html.encode("utf-8")
    root = tree(html)
    tags = {e.tag for e in root.iter() if isinstance(e.tag, str)}
    assert f"{HTML}script" not in tags
    assert f"{HTML}img" not in tags
    assert not set(html) & {"\x00", "\u202e", "\ufffe"}
    assert "<script" not in html
    assert said(next(root.iter(f"{HTML}h1"))).startswith('<script>alert("x")</script>&amp;<img src=x onerror=y>')


def _renamed(name: str) -> Any:
    found = cases.forecast()
    return replace(found, gates=tuple(replace(g, name=name) for g in found.gates))


def test_endless_names_do_not_make_an_endless_page() -> None:
    long = cases.project(title="x" * 200, piece="y" * 20_000)
    assert len(page(long)) < len(page()) + 3_000


def test_same_input_same_bytes(tmp_path: Path) -> None:
    write_report(cases.project(), cases.forecast(), cases.plan(), tmp_path / "a.html")
    write_report(cases.project(), cases.forecast(), cases.plan(), tmp_path / "b.html")
    assert (tmp_path / "a.html").read_bytes() == (tmp_path / "b.html").read_bytes() == page().encode("utf-8")


def test_a_report_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="cannot be written"):
        write_report(cases.project(), cases.forecast(), cases.plan(), tmp_path / "none" / "a.html")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda p: p.stem)
def test_samples_make_valid_pages(path: Path) -> None:
    project = project_from_raw(json.loads(path.read_text(encoding="utf-8")))
    day = max([project.announced, *(e.evening for e in project.log)])
    html = report_html(project, real_forecast(project, day, futures=1000), real_plan(project, day))
    root = tree(html)
    text = said(root)
    for item in project.items.values():
        assert item.name in text
    assert "nan" not in text.lower().split()


def test_a_finished_project_says_so() -> None:
    project = cases.project()
    done = project.but(
        stages=tuple(s.but(items=tuple(i.but(state="done") for i in s.items)) for s in project.stages), jobs=()
    )
    html = report_html(done, real_forecast(done, cases.AS_OF, futures=100), real_plan(done, cases.AS_OF))
    text = said(tree(html))
    assert "All work is done" in text
    assert "Nothing uncertain is left" in text


# ---- sentences -----------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("lock", "deadline", "start"),
    [
        (0.85, 0.93, "On course: every gate holds in at least 85 of 100 futures, and you asked for 80."),
        (0.797, 0.93, "On course: every gate holds in at least 80 of 100"),
        (
            0.714,
            0.93,
            "Close, but not there: Personal lock holds in 71 of 100 futures; you asked for 80. Hand-in 93 in 100.",
        ),
        (0.55, 0.75, "At risk: Personal lock holds in 55 of 100 futures; you asked for 80. Hand-in 75 in 100."),
        (0.0, 0.0, "Out of reach as things stand: Personal lock is met in none of the futures; you asked for 80."),
    ],
)
def test_verdict(lock: float, deadline: float, start: str) -> None:
    text = report_words.verdict(cases.project(), cases.forecast(lock, deadline), cases.plan())
    assert text.startswith(start)
    assert text.endswith("The plan leans on 1 maybe evening: Sat 13 Mar.")


def test_verdict_says_what_lies_after_a_gate() -> None:
    plan = cases.plan(met=False, short_hours=2.5)
    text = report_words.verdict(cases.project(), cases.forecast(0.3, 0.2), plan)
    assert text.endswith("Even by the likely hours, work lies after Hand-in (2.5 h).")


def test_drivers_have_names() -> None:
    rows = report_words.driver_words(cases.project(), cases.forecast().drivers)
    assert rows == [
        ("Fins (Model)", "explains 60 % of how late it may get"),
        ("whether the evening of Sat 13 Mar happens", "explains 30 % of how late it may get"),
        ("Render (machine job)", "explains 10 % of how late it may get"),
    ]


def test_small_words() -> None:
    assert [words.per_100(o) for o in (0, 0.001, 0.005, 0.714, 0.994, 0.996, 1)] == [
        "0",
        "under 1",
        "under 1",
        "71",
        "99",
        "over 99",
        "100",
    ]
    assert words.hours(-1.26) == "−1.3 h"
    assert words.hours(-0.01) == "0 h"
    assert words.exact_hours(0.75) == "0.75 h"
    assert words.percent(-0.2) == "−20 %"
    assert words.day(None) == "later"
    assert words.clean("a\nb\t\x07c\u2028d\ud800\u202ee") == "a b c d?e"
    assert len(words.clean("x" * 1000)) == 200


def test_paper_and_screen_say_the_same_of_a_job_that_is_left_out() -> None:
    from nightplan.exports.report_rows import job_rows

    project = cases.project()
    cut = project.but(jobs=tuple(j.but(state="cut") for j in project.jobs))
    forecast, plan = replace(cases.forecast(), jobs=()), replace(cases.plan(), jobs=())
    (row,) = job_rows(cut, forecast, plan)
    assert (row.start, row.end, row.done_by) == ("left out", "", "")
    (row,) = job_rows(cut.but(jobs=tuple(j.but(state="done") for j in cut.jobs)), forecast, plan)
    assert row.start == "done"
