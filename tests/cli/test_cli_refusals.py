# SPDX-License-Identifier: GPL-3.0-or-later
"""Bad input: one sentence with the place, code 2, the file untouched. Each rule of the format, by way of the verbs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from cli_calls import call, raw_sample, refused, sample, written

from nightplan.files.store import MAX_DEPTH


def setter(*path: Any, to: Any) -> Callable[[Any], None]:
    def change(raw: Any) -> None:
        for step in path[:-1]:
            raw = raw[step]
        raw[path[-1]] = to

    return change


def add(*path: Any, value: Any) -> Callable[[Any], None]:
    def change(raw: Any) -> None:
        for step in path:
            raw = raw[step]
        raw.append(value)

    return change


#: what is wrong, and the beginning of the sentence after the file's name
BROKEN: dict[str, tuple[Callable[[Any], None], str]] = {
    "newer version": (setter("version", to=99), "version = 99: this file is from a newer nightplan"),
    "no format": (setter("format", to=None), "format = None: a project file says 'nightplan' here"),
    "id twice": (setter("stages", 1, "id", to="reference"), "stages[1].id = 'reference': an id is used once"),
    "gate twice": (setter("gates", 1, "id", to="lock"), "gates[1].id = 'lock': an id is used once"),
    "no deadline": (setter("gates", 1, "id", to="other"), "gates: a gate with the id 'deadline' is needed"),
    "item waits for nothing known": (
        setter("stages", 1, "items", 1, "after", to=["ghost"]),
        "stages[1].items[1].after[0] = 'ghost': names no stage, item or job",
    ),
    "stage waits for nothing known": (
        setter("stages", 1, "after", to=["ghost"]),
        "stages[1].after[0] = 'ghost': names no",
    ),
    "job before nothing known": (setter("jobs", 0, "before", to=["ghost"]), "jobs[0].before[0] = 'ghost': names no"),
    "gate not known": (setter("stages", 0, "gate", to="ghost"), "stages[0].gate = 'ghost': names no gate"),
    "log of nothing known": (
        add("log", value={"evening": "2027-03-01", "hours": 1, "work": [{"item": "ghost", "hours": 1}]}),
        "log[0].work[0].item = 'ghost': names no item",
    ),
    "circle of items": (
        setter("stages", 0, "items", 0, "after", to=["layout-masses"]),
        "stages[0].items[0].after: these wait for each other in a circle: ref-fog -> layout-masses -> ref-fog",
    ),
    "negative hours": (setter("stages", 2, "items", 0, "likely", to=-1), "stages[2].items[0].likely = -1"),
    "high below likely": (
        setter("stages", 2, "items", 0, "high", to=0.25),
        "stages[2].items[0].high = 0.25: must be at least",
    ),
    "low above likely": (setter("stages", 2, "items", 0, "low", to=99), "stages[2].items[0].low = 99"),
    "hours as text": (
        setter("stages", 2, "items", 0, "likely", to="2"),
        "stages[2].items[0].likely = '2': must be a number",
    ),
    "hours as list": (
        setter("stages", 2, "items", 0, "likely", to=[2]),
        "stages[2].items[0].likely = list of 1: must be a num",
    ),
    "true for a number": (setter("week", 0, "hours", to=True), "week[0].hours = True: must be a number"),
    "chance above one": (setter("week", 0, "chance", to=1.5), "week[0].chance = 1.5: must be at most 1"),
    "no such day": (
        setter("announced", to="2027-02-30"),
        "announced = '2027-02-30': there is no such day in the calendar",
    ),
    "no date": (setter("announced", to="1 March"), "announced = '1 March': a date is written YYYY-MM-DD"),
    "no such time": (setter("week", 0, "start", to="24:30"), "week[0].start = '24:30': a time of day runs from 00:00"),
    "no such weekday": (setter("week", 0, "day", to="moonday"), "week[0].day = 'moonday': must be 'mon'"),
    "days off backwards": (
        setter("off", 0, "to", to="2027-03-01"),
        "off[0].to = '2027-03-01': must not be before from",
    ),
    "two forms of a gate": (setter("gates", 0, "at", to="2027-04-06T10:00"), "gates[0]: a gate has either on"),
    "unknown zone": (setter("zone", to="Mars/Olympus"), "zone = 'Mars/Olympus': is neither a time zone"),
    "unknown zone of a gate": (setter("gates", 1, "zone", to="Mars/Olympus"), "gates[1].zone = 'Mars/Olympus'"),
    "year 9999": (setter("gates", 1, "on", to="9999-12-31"), "gates[1].on = 9999-12-31: is more than 5 years after"),
    "gate before announcement": (
        setter("gates", 0, "on", to="2026-01-01"),
        "gates[0].on = 2026-01-01: is before the ann",
    ),
    "no evening": (lambda raw: raw.update(week=[], extra=[]), "week: no evening is left between the announcement"),
    "all days off": (setter("off", 0, to={"from": "2027-01-01", "to": "2027-12-31"}), "week: no evening is left"),
    "two measures of a job": (setter("jobs", 0, "hours", to=3), "jobs[0]: a job has exactly one measure"),
    "fail chance of one": (setter("jobs", 0, "fail_chance", to=1), "jobs[0].fail_chance = 1"),
    "stages as object": (setter("stages", to={"a": 1}), "stages: must be a list"),
    "title missing": (lambda raw: raw.pop("title"), "title: is missing and is needed"),
    "state unknown": (
        setter("stages", 0, "items", 0, "state", to="half"),
        "stages[0].items[0].state = 'half': must be 'open'",
    ),
    "evening logged twice": (
        setter("log", to=[{"evening": "2027-03-01", "hours": 1}] * 2),
        "log[1].evening = 2027-03-01: an evening is logged once",
    ),
    "work above the evening": (
        setter("log", to=[{"evening": "2027-03-01", "hours": 1, "work": [{"item": "ref-fog", "hours": 2}]}]),
        "log[0].hours = 1",
    ),
    "deep unknown key": (
        lambda raw: raw.update({"x": nested(MAX_DEPTH + 5)}),
        "the file is nested too deeply to be a project",
    ),
}


def nested(levels: int) -> Any:
    value: Any = 1
    for _ in range(levels):
        value = [value]
    return value


VERBS: dict[str, list[str]] = {
    "plan": [],
    "odds": ["--futures", "50"],
    "tick": ["2027-03-01", "--hours", "1"],
    "recover": ["--futures", "50"],
}


@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("case", BROKEN)
def test_a_broken_project(tmp_path: Path, case: str, verb: str) -> None:
    raw = raw_sample()
    change, words = BROKEN[case]
    change(raw)
    path = written(tmp_path, raw)
    said = refused(path, verb, path, *VERBS[verb], *(["--json"] if verb == "plan" else []))
    # what the evenings layer refuses is known only once they are dated, without the file's name
    assert said.removeprefix("piece.nightplan: ").startswith(words), said


FILES: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "piece.nightplan: the file is empty"),
    "truncated": (b'{"format": "nightplan",\n "title": "Mo', "piece.nightplan: line 2, column 11: the file breaks off"),
    "no utf-8": (b'{"title": "\xff"}', "piece.nightplan: byte 11 is no UTF-8"),
    "a list": (b"[1, 2]", "piece.nightplan: the file holds list of 2, a project is a JSON object"),
    "key twice": (
        b'{"format": "nightplan", "title": "a", "title": "b"}',
        "piece.nightplan: the key 'title' stands twice",
    ),
    "10 MB of nonsense": (b"nonsense " * 1_200_000, "piece.nightplan: line 1, column 1: this is no JSON"),
    "10 MB of brackets": (b"[" * 10_000_000, "piece.nightplan: about 10000000 values; a project has at most"),
    "over 20 MB": (b" " * 20_000_001, "piece.nightplan: has 20 MB; a project has at most 20 MB"),
    "nan": (b'{"format": "nightplan", "x": [NaN]}', "piece.nightplan: x[0] = nan: must be a finite number"),
}


@pytest.mark.parametrize("case", FILES)
def test_a_file_that_is_no_project(tmp_path: Path, case: str) -> None:
    data, words = FILES[case]
    path = tmp_path / "piece.nightplan"
    path.write_bytes(data)
    for verb, rest in VERBS.items():
        assert refused(path, verb, path, *rest).startswith(words)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    gone = tmp_path / "gone" / "a.nightplan"
    for verb, rest in VERBS.items():
        assert refused(gone, verb, gone, *rest).endswith("gone/a.nightplan: there is no such file")
        assert "is a folder" in refused(tmp_path, verb, tmp_path, *rest)
    assert list(tmp_path.iterdir()) == []


def test_an_evening_in_the_hour_that_the_clock_skips(tmp_path: Path) -> None:
    # the clock of Copenhagen goes from 02:00 to 03:00 on 2027-03-28 (tz database)
    raw = raw_sample()
    raw["off"], raw["extra"] = [], [{"on": "2027-03-28", "start": "02:30", "hours": 1}]
    path = written(tmp_path, raw)
    said = refused(path, "plan", path)
    assert "extra[0].start = 02:30: this time does not exist on 2027-03-28" in said


ARGUMENTS: list[tuple[list[str], str]] = [
    (["plan"], "the following arguments are required: FILE"),
    (["plan", "FILE", "more"], "unrecognized arguments: more"),
    (["plan", "FILE", "--as", "2027-03-01"], "unrecognized arguments: --as"),
    (["plan", "FILE", "--as-of", "1 March"], "argument --as-of: '1 March' is no date; write YYYY-MM-DD"),
    (["plan", "FILE", "--as-of", "2027-02-30"], "argument --as-of: '2027-02-30' is no date"),
    (["odds", "FILE", "--futures", "0"], "futures = 0: 1 to 2000000 are accepted"),
    (["odds", "FILE", "--futures", "-5"], "argument --futures: "),
    (["odds", "FILE", "--futures", "3000000"], "futures = 3000000: 1 to 2000000 are accepted"),
    (["odds", "FILE", "--futures", "many"], "argument --futures: 'many' is no whole number"),
    (["odds", "FILE", "--seed", "-1"], "argument --seed: "),
    (["tick", "FILE"], "the following arguments are required: DATE"),
    (["tick", "FILE", "2027-03-01"], "--hours is needed, or --missed"),
    (["tick", "FILE", "2027-03-01", "--hours", "lots"], "argument --hours: 'lots' is no time of 0 to 24 hours"),
    (["tick", "FILE", "2027-03-01", "--hours", "nan"], "argument --hours: 'nan' is no time"),
    (["tick", "FILE", "2027-03-01", "--hours", "25"], "argument --hours: '25' is no time"),
    (["tick", "FILE", "2027-03-01", "--hours", "2:75"], "argument --hours: '2:75' is no time"),
    (
        ["tick", "FILE", "2027-03-02", "--hours", "2"],
        "2027-03-02 has no evening; the nearest are 2027-03-01 and 2027-03-03",
    ),
    (["tick", "FILE", "2027-02-27", "--hours", "2", "--extra"], "date = 2027-02-27: is before the announcement"),
    (["tick", "FILE", "2027-03-27", "--hours", "2"], "2027-03-27 has no evening"),
    (["tick", "FILE", "2027-03-28", "--hours", "2"], "2027-03-28 has no evening (off: long weekend away)"),
    (["tick", "FILE", "2027-03-01", "--hours", "2", "--item", "ref-fog"], "--item 'ref-fog': write ID=HOURS"),
    (["tick", "FILE", "2027-03-01", "--hours", "2", "--item", "ref-fog=x"], "--item ref-fog: 'x' is no time"),
    (["tick", "FILE", "2027-03-01", "--hours", "2", "--item", "ghost=1"], "'ghost' is no item of this project"),
    (
        ["tick", "FILE", "2027-03-01", "--hours", "2", "--item", "ref-fog=3"],
        "the items have 3 h together, more than the",
    ),
    (
        ["tick", "FILE", "2027-03-01", "--hours", "2", "--item", "ref-fog=1", "--item", "ref-fog=1"],
        "--item names 'ref-fog' twice",
    ),
    (["tick", "FILE", "2027-03-01", "--hours", "2", "--done", "ghost"], "'ghost' is no item or job of this project"),
    (["tick", "FILE", "2027-03-01", "--hours", "2", "--left", "ref-fog"], "--left 'ref-fog': write ID=LIKELY"),
    (
        ["tick", "FILE", "2027-03-01", "--hours", "2", "--left", "ref-fog=2:1"],
        "--left 'ref-fog=2:1': 0 <= LIKELY <= HIGH",
    ),
    (
        ["tick", "FILE", "2027-03-01", "--hours", "2", "--left", "ref-fog=inf"],
        "--left 'ref-fog=inf': 0 <= LIKELY <= HIGH",
    ),
    (
        ["tick", "FILE", "2027-03-01", "--hours", "2", "--left", "ref-fog=0:1"],
        "--left 'ref-fog=0:1': LIKELY must be above 0",
    ),
    (["tick", "FILE", "2027-03-01", "--hours", "2", "--left", "ghost=1"], "'ghost' is no item of this project"),
    (["tick", "FILE", "2027-03-01", "--missed", "--hours", "2"], "a missed evening has no hours"),
    (["recover", "FILE", "--target", "2000"], "argument --target: '2000' are no odds"),
    (["oods"], "'oods' is neither a verb (sample, new, plan, odds, tick, recover"),
    (["oods", "FILE"], "unrecognized arguments: "),
    (["--nonsense"], "unrecognized arguments: --nonsense"),
]


@pytest.mark.parametrize(("argv", "words"), ARGUMENTS)
def test_arguments(tmp_path: Path, argv: list[str], words: str) -> None:
    path = sample(tmp_path)
    said = refused(path, *(str(path) if a == "FILE" else a for a in argv))
    assert said.startswith(words), said


def test_a_second_tick_of_a_date(tmp_path: Path) -> None:
    path = sample(tmp_path)
    assert call("tick", path, "2027-03-01", "--hours", "2").code == 0
    assert refused(path, "tick", path, "2027-03-01", "--hours", "2").startswith("2027-03-01 is ticked off already")


NEW = ["--title", "Paper Comet", "--piece", "motion loop", "--zone", "Europe/Lisbon", "--announced", "2027-09-20"]
NEW_REFUSED: list[tuple[list[str], str]] = [
    (["--lock", "2027-10-24"], "the following arguments are required: --deadline"),
    (["--lock", "2027-10-24", "--deadline", "soon"], "deadline = 'soon': no date is found"),
    (
        ["--lock", "2027-10-24", "--deadline", "9999-12-31T23:59Z"],
        "deadline = '9999-12-31T': there is no such day",
    ),
    (
        ["--lock", "2027-11-24", "--deadline", "2027-10-31T23:59Z"],
        "gates[0] = 2027-11-24: the lock must come before the deadline (Sun 31 Oct 2027",
    ),
    (
        ["--lock", "2027-09-20", "--deadline", "2027-10-31T23:59Z"],
        "gates[0] = 2027-09-20: no evening lies before the lock",
    ),
    (
        ["--lock", "2026-09-20", "--deadline", "2027-10-31T23:59Z"],
        "gates[0].on = 2026-09-20: is before the announcement",
    ),
    (
        ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59", "--deadline-zone", "Mars/X"],
        "zone = 'Mars/X': is neither",
    ),
    (
        ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--week", "often"],
        "--week 'often': write day, start",
    ),
    (
        ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--week", "xyz 20:30 2"],
        "week[0].day = 'xyz': must be",
    ),
    (["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--week", "mon 25:30 2"], "week[0].start = '25:30'"),
    (["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--off", "x..y"], "--off 'x..y': 'x' is no date"),
    (
        ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--off", "2027-09-20..2027-12-31"],
        "week: no evening",
    ),
    (
        ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--bedtime", "late"],
        "bedtime = 'late': a time of day",
    ),
    (
        ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--piece", "opera"],
        "piece = 'opera': templates exist",
    ),
    (["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--zone", "Mars/X"], "zone = 'Mars/X': is neither"),
    (["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z", "--title", ""], "title = '': must not be empty"),
]


@pytest.mark.parametrize(("rest", "words"), NEW_REFUSED)
def test_new_makes_no_file_of_bad_input(tmp_path: Path, rest: list[str], words: str) -> None:
    path = tmp_path / "new.nightplan"
    said = refused(path, "new", path, *NEW, *rest)
    assert said.startswith(words), said
    assert list(tmp_path.iterdir()) == []


def test_new_writes_over_nothing_and_only_where_it_can(tmp_path: Path) -> None:
    good = ["--lock", "2027-10-24", "--deadline", "2027-10-31T23:59Z"]
    path = sample(tmp_path)
    assert "is there already; choose another name or say --force" in refused(path, "new", path, *NEW, *good)
    gone = tmp_path / "gone" / "a.nightplan"
    assert "the folder is gone" in refused(gone, "new", gone, *NEW, *good)
    other = tmp_path / "a.txt"
    assert "the file's name ends in .nightplan" in refused(other, "new", other, *NEW, *good)
