# SPDX-License-Identifier: GPL-3.0-or-later
"""What the verbs answer: the JSON keys of the contract, and words for people.

Instants are checked against the tz database by hand: 23:59 on 31 October 2027 in Los Angeles is UTC-7, so 06:59 UTC
of 1 November (summer time there ends on 7 November 2027).
"""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import pytest
from cli_calls import SAMPLES, TODAY, Answer, call, raw_sample, sample, written

from nightplan import __version__
from nightplan.cli import options, words
from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.files.store import content_hash, load

MOTH_DAY = dt.date(2027, 10, 9)


def good(*argv: str | Path, today: dt.date = TODAY) -> Answer:
    answer = call(*argv, today=today)
    assert (answer.code, answer.err) == (0, ""), answer
    return answer


def test_plan_json(tmp_path: Path) -> None:
    path = sample(tmp_path, "moth-and-lantern")
    found = good("plan", path, "--json").json
    planned = plan(load(path), MOTH_DAY)
    assert found["as_of"] == "2027-10-09"
    assert [e["date"] for e in found["evenings"]] == [e.date.isoformat() for e in planned.evenings]
    for row, e in zip(found["evenings"], planned.evenings, strict=True):
        assert row["start"] == f"{e.start:%H:%M}"
        assert row["hours"] == pytest.approx(e.hours, abs=1e-4)
        assert (row["chance"], row["status"]) == (e.chance, e.status)
        assert [w["item"] for w in row["work"]] == [w.item for w in e.work]
        assert [w["hours"] for w in row["work"]] == pytest.approx([w.hours for w in e.work], abs=1e-4)
    assert [set(i) >= {"id", "name", "stage", "finish", "hours"} for i in found["items"]] == [True] * len(planned.items)
    assert {i["id"]: i["finish"] for i in found["items"]}["rig-wings"] is not None
    for job in found["jobs"]:
        assert dt.datetime.fromisoformat(job["start"]) < dt.datetime.fromisoformat(job["end"])
        assert job["start"].endswith("+00:00")
    gates = {g["id"]: g for g in found["gates"]}
    assert gates["deadline"]["instant"] == "2027-11-01T06:59:00+00:00"
    assert gates["deadline"]["met"] is True
    assert found["relied_on"] == []


def test_odds_json(tmp_path: Path) -> None:
    path = sample(tmp_path, "moth-and-lantern")
    found = good("odds", path, "--json", "--futures", "500", "--seed", "7").json
    expected = forecast(load(path), MOTH_DAY, futures=500, seed=7)
    assert (found["as_of"], found["futures"], found["seed"]) == ("2027-10-09", 500, 7)
    gates = {g["id"]: g for g in found["gates"]}
    assert gates["deadline"]["instant"] == "2027-11-01T06:59:00+00:00"
    for gate in expected.gates:
        row = gates[gate.id]
        assert row["odds"] == pytest.approx(gate.odds, abs=1e-6)
        assert set(row["finish"]) == {"p10", "p50", "p80", "p90"}
        assert row["finish"]["p50"] == (gate.finish.p50.isoformat() if gate.finish.p50 else None)
        assert set(row["buffer"]) == {"have_hours", "need_hours", "used"}
        assert row["buffer"]["have_hours"] == pytest.approx(gate.buffer.have_hours, abs=1e-4)
    assert [i["id"] for i in found["items"]] == [i.id for i in expected.items]
    assert set(found["items"][0]["finish"]) == {"p10", "p50", "p80", "p90"}
    assert [(d["id"], d["kind"]) for d in found["drivers"]] == [(d.id, d.kind) for d in expected.drivers]
    assert found["learned"]["finished"] == expected.learned.finished > 0


def test_as_of(tmp_path: Path) -> None:
    path = sample(tmp_path)
    assert good("odds", path, "--json", "--futures", "50").json["as_of"] == TODAY.isoformat()
    early = good("odds", path, "--json", "--futures", "50", today=dt.date(2020, 1, 1)).json
    assert early["as_of"] == "2027-03-01"
    given = good("odds", path, "--json", "--futures", "50", "--as-of", "2027-03-10").json
    assert given["as_of"] == "2027-03-10"
    for day in ("1999-01-01", "9999-12-31"):
        assert good("plan", path, "--as-of", day, "--json").json["as_of"] == day
        good("odds", path, "--as-of", day, "--futures", "50")


def test_a_finished_gate_says_when_it_was(tmp_path: Path) -> None:
    # the last evening of its log; common practice, no source
    raw = raw_sample("moth-and-lantern")
    for work in [*(i for s in raw["stages"] for i in s["items"]), *raw["jobs"]]:
        work["state"] = "done"
    path = written(tmp_path, raw)
    last = max(e["evening"] for e in raw["log"] if any(w.get("done") for w in e.get("work", [])))
    answer = good("odds", path, "--as-of", "2027-10-20", "--futures", "50")
    assert answer.out.count(f"finished on {words.day(dt.date.fromisoformat(last))}") == 2
    assert "9 in 10 by" not in answer.out
    found = good("odds", path, "--as-of", "2027-10-20", "--futures", "50", "--json").json
    assert [(g["work_left"], g["finished_on"], g["finish"]["p90"]) for g in found["gates"]] == [(False, last, last)] * 2


def test_odds_and_plan_leave_the_file_alone(tmp_path: Path) -> None:
    path = sample(tmp_path)
    before = content_hash(path)
    good("odds", path, "--futures", "50")
    good("plan", path)
    assert content_hash(path) == before
    assert [p.name for p in tmp_path.iterdir()] == [path.name]


def test_tick_json(tmp_path: Path) -> None:
    path = sample(tmp_path)
    before = load(path)
    answer = good(
        *("tick", path, "2027-03-01", "--hours", "2h15", "--item", "ref-fog=1:30", "--item", "ref-walk=0.5"),
        *("--done", "ref-fog", "--left", "ref-walk=1:2", "--note", "fog at last", "--json"),
    ).json
    after = load(path)
    assert answer["date"] == "2027-03-01"
    assert answer["odds_before"] == {g.id: round(g.odds, 6) for g in forecast(before, dt.date(2027, 3, 1)).gates}
    assert answer["odds_after"] == {g.id: round(g.odds, 6) for g in forecast(after, dt.date(2027, 3, 1)).gates}
    entry = after.log_by_date[dt.date(2027, 3, 1)]
    assert (entry.hours, entry.note) == (2.25, "fog at last")
    assert [(w.item, w.hours, w.done) for w in entry.work] == [("ref-fog", 1.5, True), ("ref-walk", 0.5, False)]
    assert entry.work[1].left is not None
    assert (entry.work[1].left.likely, entry.work[1].left.high) == (1, 2)
    assert after.items["ref-fog"].state == "done"
    assert [(f.moment, f.as_of) for f in after.forecasts] == [("before", entry.evening), ("after", entry.evening)]


def test_left_without_a_high_end_is_as_unsure_as_the_item_was(tmp_path: Path) -> None:
    path = sample(tmp_path)
    item = load(path).items["layout-masses"]
    good("tick", path, "2027-03-01", "--hours", "1", "--item", "layout-masses=1", "--left", "layout-masses=3")
    left = load(path).log[0].work[0].left
    assert left is not None
    assert left.high / left.likely == pytest.approx(item.high / item.likely, abs=1e-4)


def test_tick_for_people(tmp_path: Path) -> None:
    path = sample(tmp_path)
    said = good("tick", path, "2027-03-01", "--hours", "2.5", "--done", "ref-fog").out.splitlines()
    assert said[0].startswith("Mon 1 Mar: 2.5 h (Fog and slack water boards 1.5 h, done; ")
    assert all(" in 100" in line for line in said[1:])
    assert len(said) == 3
    missed = good("tick", path, "2027-03-03", "--missed", "--note", "late at work").out
    assert missed.startswith("Wed 3 Mar: missed\n")
    assert "(was " in missed


def test_tick_takes_the_names_that_the_plan_shows(tmp_path: Path) -> None:
    by_name, by_id = sample(tmp_path), tmp_path / "by-id.nightplan"
    by_id.write_bytes(by_name.read_bytes())
    fog, walk = (load(by_id).items[key].name for key in ("ref-fog", "ref-walk"))
    spent = ("--hours", "2")
    good("tick", by_name, "2027-03-01", *spent, "--item", f"{fog.upper()}=1.5", "--done", fog, "--left", f"{walk}=1")
    good("tick", by_id, "2027-03-01", *spent, "--item", "ref-fog=1.5", "--done", "ref-fog", "--left", "ref-walk=1")
    assert load(by_name).log == load(by_id).log


def test_a_name_that_several_bear_is_asked_about(tmp_path: Path) -> None:
    raw = raw_sample()
    one, two = raw["stages"][0]["items"][0], raw["stages"][-1]["items"][0]
    two["name"] = one["name"]
    path = written(tmp_path, raw)
    said = call("tick", path, "2027-03-01", "--hours", "1", "--done", one["name"])
    assert said.code == 2
    assert said.err == f"nightplan: {one['name']!r} is the name of several: say {one['id']} and {two['id']}\n"
    assert load(path).log == ()


def test_spent_and_not_said_to_be_done_is_asked_about(tmp_path: Path) -> None:
    path = sample(tmp_path)
    item = load(path).items["ref-fog"]
    hours = str(item.likely)
    said = good("tick", path, "2027-03-01", "--hours", hours, "--item", f"ref-fog={hours}").out.splitlines()
    assert said[-1].startswith(f"Not said to be done, though the likely hours are spent: {item.name}. ")
    done = good("tick", path, "2027-03-01", "--hours", hours, "--done", "ref-fog", "--replace").out
    assert "Not said to be done" not in done
    # what was last said to be left counts, not the first estimate
    good("tick", path, "2027-03-01", "--hours", hours, "--left", "ref-fog=2", "--replace")
    part = good("tick", path, "2027-03-03", "--hours", "1", "--item", "ref-fog=1").out
    assert "Not said to be done" not in part
    rest = good("tick", path, "2027-03-05", "--hours", "1", "--item", "ref-fog=1", "--extra").out
    assert f"Not said to be done, though the likely hours are spent: {item.name}. " in rest


def test_tick_extra_and_replace(tmp_path: Path) -> None:
    path = sample(tmp_path)
    good("tick", path, "2027-03-02", "--hours", "1", "--extra")
    good("tick", path, "2027-03-02", "--hours", "2", "--extra", "--replace", "--done", "ref-fog")
    good("tick", path, "2027-03-02", "--missed", "--extra", "--replace")
    project = load(path)
    assert [(e.evening.isoformat(), e.happened) for e in project.log] == [("2027-03-02", False)]
    assert project.items["ref-fog"].state == "open"
    assert [f.moment for f in project.forecasts] == ["before", "after"]
    assert project.extra == load(SAMPLES / path.name).extra


def test_tick_keeps_unknown_keys(tmp_path: Path) -> None:
    raw = raw_sample()
    raw["x-top"], raw["stages"][0]["items"][0]["x-item"], raw["gates"][0]["x-gate"] = {"a": [1]}, "kept", 3.5
    path = written(tmp_path, raw)
    good("tick", path, "2027-03-01", "--hours", "1", "--done", "ref-fog")
    after = json.loads(path.read_text(encoding="utf-8"))
    assert (after["x-top"], after["stages"][0]["items"][0]["x-item"], after["gates"][0]["x-gate"]) == (
        {"a": [1]},
        "kept",
        3.5,
    )


def test_new_json_and_the_file(tmp_path: Path) -> None:
    path = tmp_path / "comet.nightplan"
    answer = good(
        *("new", path, "--title", "Paper Comet", "--piece", "animated shot", "--zone", "Europe/Lisbon"),
        *("--announced", "2027-09-20", "--lock", "2027-10-24", "--deadline", "Oct 31, 11:59 pm PT"),
        *("--week", "mon 20:30 2.5 sure", "--week", "Thu 20:30 2.5", "--week", "sat 14:00 4 maybe"),
        *(
            "--week",
            "sun 14:00 2 0.8",
            "--off",
            "2027-10-04..2027-10-08",
            "--off",
            "2027-10-17",
            "--bedtime",
            "23:30",
            "--json",
        ),
    ).json
    project = load(path)
    # 20 Sep to 24 Oct: five of each of the four days; a Monday, a Thursday and a Sunday are off
    assert answer["evenings_before_lock"] == 17
    assert (answer["sure"], answer["maybe"]) == (12, 5)
    gates = {g["id"]: g for g in answer["gates"]}
    assert gates["deadline"]["instant"] == "2027-11-01T06:59:00+00:00"
    assert set(gates) == {"lock", "deadline"}
    assert all(0 <= g["odds"] <= 1 for g in gates.values())
    assert project.gates_by_id["deadline"].wording == "Oct 31, 11:59 pm PT"
    assert [(w.day, w.hours, w.chance) for w in project.week] == [
        ("mon", 2.5, 0.9),
        ("thu", 2.5, 0.9),
        ("sat", 4.0, 0.5),
        ("sun", 2.0, 0.8),
    ]
    assert project.bedtime == dt.time(23, 30)
    odds = good("odds", path, "--json").json
    assert odds["gates"] == answer["gates"]


@pytest.mark.parametrize(
    ("given", "instant", "uncertain"),
    [
        (["2027-10-31T23:59", "--deadline-zone", "America/Los_Angeles"], "2027-11-01T06:59:00+00:00", False),
        (["2027-10-31T23:59-07:00"], "2027-11-01T06:59:00+00:00", False),
        (["2027-10-31T23:59Z"], "2027-10-31T23:59:00+00:00", False),
        # no zone: the earliest place on Earth, UTC+14
        (["2027-10-31T23:59"], "2027-10-31T09:59:00+00:00", True),
        (["2027-10-31"], "2027-10-31T09:59:00+00:00", True),
    ],
)
def test_new_reads_deadlines(tmp_path: Path, given: list[str], instant: str, uncertain: bool) -> None:
    path = tmp_path / "comet.nightplan"
    answer = good(
        *("new", path, "--title", "Paper Comet", "--zone", "Europe/Lisbon", "--announced", "2027-09-20"),
        *("--lock", "2027-10-24", "--deadline", *given, "--json"),
    ).json
    gate = next(g for g in answer["gates"] if g["id"] == "deadline")
    assert (gate["instant"], gate["uncertain"]) == (instant, uncertain)
    assert load(path).gates_by_id["deadline"].wording == given[0]


def test_new_for_people(tmp_path: Path) -> None:
    path = tmp_path / "comet.nightplan"
    argv = [
        *("new", path, "--title", "Paper Comet", "--piece", "game asset", "--zone", "Europe/Lisbon"),
        *("--lock", "2027-10-24", "--deadline", "2027-10-31"),
    ]
    said = good(*argv).out
    assert "15 evenings before the lock: 10 sure, 5 maybe" in said
    assert "Uncertain: no time is given" in said
    assert said.count(" in 100") == 2
    assert load(path).announced == TODAY
    assert good(*argv, "--force", "--title", "Other").code == 0
    assert load(path).title == "Other"


def test_words_fit_into_eighty_columns(tmp_path: Path) -> None:
    for name in ("moth-and-lantern", "still-harbour", "clockwork-heron", "tin-parade-loop"):
        path = sample(tmp_path, name)
        for said in (good("plan", path).out, good("odds", path, "--futures", "200").out):
            assert max(len(line) for line in said.splitlines()) <= 80
            assert "\x1b" not in said
        assert " in 100" in said


def test_the_plan_for_people(tmp_path: Path) -> None:
    said = good("plan", sample(tmp_path, "moth-and-lantern")).out
    for part in ("Sat 16 Oct", "maybe", "sure", "── Personal lock", "── Hand-in", "worked", "lost", "buffer"):
        assert part in said
    assert " 0.0" not in said


def test_evenings_that_nobody_has_ticked_off_are_asked_for(tmp_path: Path) -> None:
    path = sample(tmp_path)
    for verb in ("plan", "odds"):
        said = " ".join(good(verb, path, "--as-of", "2027-03-10").out.split())
        assert "counted as not happened: Mon 1 Mar, Wed 3 Mar, Sun 7 Mar, Mon 8 Mar." in said
        assert "nightplan tick FILE 2027-03-01" in said


def test_text_of_a_file_cannot_steer_the_terminal(tmp_path: Path) -> None:
    raw = raw_sample()
    bad = "\x1b[31mred\x07\u202e[bold]x[/]"
    raw["title"] = raw["stages"][0]["items"][0]["name"] = raw["gates"][0]["name"] = raw["off"][0]["why"] = bad
    path = written(tmp_path, raw)
    for argv in (["plan", path], ["odds", path, "--futures", "50"], ["tick", path, "2027-03-01", "--hours", "1"]):
        said = good(*argv).out
        assert not any(c in said for c in "\x1b\x07\u202e")
        assert "[bold]x[/]" in said
    raw["title"] = {"\x1b[31m": 1}
    raw["\x1b[31m"] = 1
    raw["zone"] = "\x1b[31m/x"
    assert "\x1b" not in call("plan", written(tmp_path, raw)).err


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("2.5", 2.5),
        ("2:30", 2.5),
        ("2h30", 2.5),
        ("2h30m", 2.5),
        ("2h", 2),
        ("45min", 0.75),
        ("45m", 0.75),
        ("2,5", 2.5),
    ],
)
def test_hours_as_people_write_them(text: str, value: float) -> None:
    assert options.hours(text) == value


def test_odds_are_never_rounded_to_a_certainty() -> None:
    told = {0.0: "0 in 100", 0.001: "under 1 in 100", 0.714: "71 in 100", 0.999: "over 99 in 100", 1.0: "100 in 100"}
    assert {p: words.in_100(p) for p in told} == told


# --- around the verbs -----------------------------------------------------------------------------


def test_help_and_version() -> None:
    for argv in (
        ["--help"],
        ["plan", "--help"],
        ["tick", "--help"],
        ["new", "--help"],
        ["odds", "--help"],
        ["sample", "--help"],
    ):
        assert "usage: nightplan" in good(*argv).out
    assert good("--version").out == f"nightplan {__version__}\n"


def test_without_a_screen_the_window_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("QT_QPA_PLATFORM", raising=False)
    for argv in ([], [sample(tmp_path)]):
        answer = call(*argv)
        assert (answer.code, answer.out) == (2, "")
        assert answer.err.startswith("nightplan: no screen is there to open a window on")
        assert answer.err.count("\n") == 1


@pytest.mark.parametrize("fault", [KeyError("x\ny"), RecursionError(), MemoryError(), ZeroDivisionError("\x1b[31m")])
def test_a_fault_of_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception) -> None:
    def fail(*_: object, **__: object) -> Any:
        raise fault

    logs = tmp_path / "logs"
    monkeypatch.setenv("NIGHTPLAN_LOG_DIR", str(logs))
    monkeypatch.setattr("nightplan.cli.verbs.plan.plan", fail)
    answer = call("plan", sample(tmp_path))
    assert (answer.code, answer.out) == (3, "")
    assert answer.err.count("\n") == 1
    assert answer.err.startswith(f"nightplan: a fault of ours: {type(fault).__name__}")
    assert "\x1b" not in answer.err
    assert str(logs / "faults.log") in answer.err
    assert "Traceback (most recent call last)" in (logs / "faults.log").read_text()


def test_a_fault_with_no_place_for_the_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").touch()
    monkeypatch.setenv("NIGHTPLAN_LOG_DIR", str(tmp_path / "file" / "logs"))
    monkeypatch.setattr("nightplan.cli.verbs.plan.plan", lambda *_: 1 / 0)
    answer = call("plan", sample(tmp_path))
    assert (answer.code, answer.err.count("\n")) == (3, 1)


def test_a_log_does_not_grow_without_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NIGHTPLAN_LOG_DIR", str(tmp_path))
    monkeypatch.setattr("nightplan.cli.verbs.plan.plan", lambda *_: 1 / 0)
    (tmp_path / "faults.log").write_text("x" * 1_000_001)
    call("plan", sample(tmp_path))
    assert (tmp_path / "faults.log").stat().st_size < 100_000


class Gone(io.StringIO):
    """A stream whose reader has left, or whose disk is full."""

    def __init__(self, error: OSError) -> None:
        super().__init__()
        self.error = error

    def write(self, text: str) -> int:
        raise self.error


@pytest.mark.parametrize("rest", [[], ["--json"]])
def test_a_reader_that_has_left_is_no_error(tmp_path: Path, rest: list[str]) -> None:
    out, err = Gone(BrokenPipeError(32, "Broken pipe")), io.StringIO()
    code = main(["plan", str(sample(tmp_path)), *rest], out, err, Context(out, lambda: TODAY))
    assert (code, err.getvalue()) == (0, "")


@pytest.mark.parametrize("rest", [[], ["--json"]])
def test_an_answer_that_cannot_be_written(tmp_path: Path, rest: list[str]) -> None:
    out, err = Gone(OSError(28, "No space left on device")), io.StringIO()
    code = main(["plan", str(sample(tmp_path)), *rest], out, err, Context(out, lambda: TODAY))
    assert (code, err.getvalue()) == (2, "nightplan: the answer could not be written: the disk is full\n")


def test_ctrl_c(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(*_: object) -> Any:
        raise KeyboardInterrupt

    monkeypatch.setattr("nightplan.cli.verbs.plan.plan", stop)
    answer = call("plan", sample(tmp_path))
    # 128 + SIGINT, as shells count
    assert (answer.code, answer.err) == (130, "nightplan: stopped\n")


def test_a_save_that_fails_leaves_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    path = sample(tmp_path)
    before = content_hash(path)
    monkeypatch.setattr("nightplan.files.store.os.fsync", full)
    answer = call("tick", path, "2027-03-01", "--hours", "1")
    assert answer.code == 2
    assert "was not saved: the disk is full" in answer.err
    assert answer.err.count("\n") == 1
    assert content_hash(path) == before
