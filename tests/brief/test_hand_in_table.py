# SPDX-License-Identifier: GPL-3.0-or-later
"""Every defect of the lists is named, and no good file is refused. Made by Pillow, OpenEXR, PyAV and zipfile."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hand_in_cases import DEFECTS, GOOD, Case

from nightplan.brief.check import check
from nightplan.brief.findings import Report
from nightplan.brief.rules import deliverables_from_raw
from nightplan.brief.worker import Workers


@pytest.fixture(scope="module")
def crew() -> Iterator[Workers]:
    with Workers(2) as workers:
        yield workers


def _checked(case: Case, folder: Path, crew: Workers) -> Report:
    path = case.make(folder)
    return check(deliverables_from_raw([case.deliverable()])[0], [path], depth=case.depth, workers=crew)  # type: ignore[arg-type]


def _id(case: Case) -> str:
    return f"{case.what}-{case.name}".replace(" ", "_")


@pytest.mark.parametrize("case", DEFECTS, ids=_id)
def test_defect_is_named(case: Case, tmp_path: Path, crew: Workers) -> None:
    report = _checked(case, tmp_path, crew)
    said = {(f.kind, f.verdict) for f in report.findings}
    assert case.said in said
    assert report.verdict != "pass"
    finding = next(f for f in report.findings if (f.kind, f.verdict) == case.said)
    assert finding.measured
    assert finding.wanted
    assert finding.where


@pytest.mark.parametrize("case", GOOD, ids=_id)
def test_good_file_passes(case: Case, tmp_path: Path, crew: Workers) -> None:
    report = _checked(case, tmp_path, crew)
    assert [f for f in report.findings if f.verdict != "pass"] == []
    assert report.verdict == "pass"


def test_the_lists_are_long_enough_and_have_no_name_twice() -> None:
    assert len(DEFECTS) >= 40
    assert len(GOOD) >= 40
    assert len({_id(c) for c in [*DEFECTS, *GOOD]}) == len(DEFECTS) + len(GOOD)
