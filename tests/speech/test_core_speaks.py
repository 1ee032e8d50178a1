# SPDX-License-Identifier: GPL-3.0-or-later
"""What the core tells a person is translated, and what it reads back it also reads in the artist's language.

Common practice, no source. The language is settled when the program starts, so each try is a run of its own.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

SAMPLE = Path(__file__).resolve().parents[2] / "sample_projects" / "moth-and-lantern.nightplan"

TOLD = """
import datetime as dt, sys
from pathlib import Path
from nightplan.actions import edit, templates
from nightplan.actions.differences import differences
from nightplan.actions.today import as_it_stands
from nightplan.engine.recovery import recover
from nightplan.engine.watch import offers, warnings
from nightplan.evenings.wording import read_deadline
from nightplan.files.store import parse
from nightplan.model.errors import BadInput

project = parse(Path(sys.argv[1]).read_bytes(), "sample")
day = as_it_stands(project)
found = recover(project, day, futures=50)
print(found.words)
for valued in found.moves:
    print(valued.move.what, valued.move.cost, sep="\\n")
for warning in warnings(project, day):
    print(warning.reason, warning.remedy, sep="\\n")
for offer in offers(project, day, {g.id: 0.1 for g in project.gates}):
    print(offer.reason)
first = next(iter(project.items))
other = edit.change_item(project, first, state="cut", tier="tertiary", note="x", likely=9.5, high=12)
print(*differences(project, other.but(log=project.log[:-1], forecasts=(), gates=project.gates[::-1])), sep="\\n")
for sentence in ("Oct 31, 11:59 pm PT", "midnight on 3/4/2027", "IST 31 Oct 2027 18:00"):
    reading = read_deadline(sentence, home_zone="Europe/Berlin", not_before=dt.date(2027, 1, 1))
    print(reading.words, reading.reading, sep="\\n")
for kind in templates.TEMPLATES:
    for stage in templates.template_stages(kind, 50):
        print(stage["name"], *(item["name"] for item in stage["items"]), sep="\\n")
try:
    edit.change_item(project, first, likely=-1)
except BadInput as fault:
    print(fault.sentence.partition(": ")[2])
"""

READ_BACK = """
import json
from nightplan.actions.brief_values import wanted_from_text, wanted_text
from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import Rule

tried = 0
for key, kind in KINDS.items():
    example = json.loads(kind.example)
    for comparison in kind.comparisons:
        several = comparison in ("between", "one of") and kind.form != "range"
        raw = {"id": "r", "kind": key, "comparison": comparison, "value": [example, example] if several else example}
        try:
            rule = Rule.model_validate({**raw, "tolerance": 0.5 if comparison == "within" else None})
        except ValueError:
            continue
        again = Rule.model_validate({"id": "r", "kind": key, **wanted_from_text(key, wanted_text(rule))})
        assert again == rule, (rule, wanted_text(rule))
        tried += 1
print(tried)
"""


def run(script: str, *arguments: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", script, *arguments],
        env={**os.environ, "NIGHTPLAN_LANGUAGE": "qps", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        check=False,
        encoding="utf-8",
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def bare(line: str) -> str:
    """What stands in no brackets."""
    shorter = re.sub(r"⟦[^⟦⟧]*⟧", "", line)
    return line if shorter == line else bare(shorter)


def test_what_the_core_tells_is_translated() -> None:
    lines = run(TOLD, str(SAMPLE)).splitlines()
    assert len(lines) > 100
    assert [line for line in lines if re.search(r"[^\W\d_]{3}", bare(line))] == []


def test_a_value_is_read_back_as_it_is_shown() -> None:
    assert int(run(READ_BACK)) > 100
