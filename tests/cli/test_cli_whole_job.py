# SPDX-License-Identifier: GPL-3.0-or-later
"""The whole job of one project that is no sample: announcement day to look back, and on to the next piece.

What the artist reads is held at each station. The odds are held to a second simulation that knows nothing
of the program (``second_odds``): numpy, other random numbers, the definitions of docs/numbers.md written anew.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from statistics import NormalDist
from typing import Any

import av
import numpy as np
import pytest
from cli_calls import Answer, call
from PIL import Image

from nightplan.actions import assets, brief_paste, jobs
from nightplan.actions.baseline import accept_baseline
from nightplan.actions.brief import add_deliverable
from nightplan.files.store import load, save

ANNOUNCED = dt.date(2027, 1, 11)
WEEK = ("--week", "tue 20:00 2.5 sure", "--week", "thu 20:00 2.5 sure", "--week", "sat 14:00 4 maybe")
DEADLINE = "Sunday, March 14th 2027, midnight Newfoundland Time"
RULES = f"""The small parcel call: a short film about something that arrives late.
- An H.264 movie in an MP4 container, 192x108, 24 frames per second.
- Length: between 1 and 3 seconds. Files over 2 MB will be rejected.
- File name: parcel_<name>.mp4
- All third-party assets must be credited.
Deadline: {DEADLINE}."""

# ---- the second simulation ------------------------------------------------------------------------
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MUCH = 60_000
#: four standard errors of a share near 80 in 100, of 20,000 and 60,000 futures together
NEAR = 0.014


def evenings(raw: dict[str, Any], first: dt.date) -> Iterator[tuple[dt.date, float, float, float]]:
    """Date, start in hours since 2027 began, hours and chance."""
    logged = {e["evening"] for e in raw["log"]}
    changed = {c["on"]: c for c in raw["changes"]}
    for n in range(150):
        date = first + dt.timedelta(n)
        slots = [w for w in raw["week"] if DAYS.index(w["day"]) == date.weekday()]
        free = any(o["from"] <= str(date) <= o["to"] for o in raw["off"]) or str(date) in logged
        for slot in [] if free else slots:
            slot = {**slot, **{k: v for k, v in changed.get(str(date), {}).items() if v is not None}}
            clock = dt.time.fromisoformat(slot["start"])
            start = (date - dt.date(2027, 1, 1)).days * 24 + clock.hour + clock.minute / 60
            yield date, start, slot["hours"], slot["chance"]


def second_odds(path: Path, as_of: dt.date) -> dict[str, float]:
    """Share of futures in which everything is done by the lock and by the last evening before the hand-in.

    All items of the template stand in one row, with a render before the last two; the order does not matter.
    """
    raw, rng = json.loads(path.read_text(encoding="utf-8")), np.random.default_rng(99)
    rho, z90 = raw["correlation"], NormalDist().inv_cdf(0.9)
    spent: dict[str, float] = {}
    left: dict[str, dict[str, float] | None] = {}
    for entry in raw["log"]:
        for work in entry["work"]:
            spent[work["item"]] = spent.get(work["item"], 0.0) + work["hours"]
            left[work["item"]] = work.get("left")
    items = [i for s in raw["stages"] for i in s["items"] if i["state"] != "cut"]
    spread = {i["id"]: np.log(i["high"] / i["likely"]) / z90 for i in items}
    done = [i for i in items if i["state"] == "done"]
    scores = [np.clip(np.log(spent[i["id"]] / i["likely"]) / spread[i["id"]], -4, 4) for i in done]
    precision = 1 + len(done) * rho / (1 - rho)
    factor = rng.normal(np.sqrt(rho) / (1 - rho) * sum(scores) / precision, precision**-0.5, MUCH)
    before, after = np.zeros(MUCH), np.zeros(MUCH)
    for item in items:
        if item["state"] == "done":
            continue
        z = np.sqrt(rho) * factor + np.sqrt(1 - rho) * rng.normal(size=MUCH)
        again, used = left.get(item["id"]), spent.get(item["id"], 0.0)
        assert again or not used, "an item in progress has a fresh estimate in this walk"
        likely, s = item["likely"], spread[item["id"]]
        if again:
            likely, s = again["likely"], np.log(again["high"] / again["likely"]) / z90
        hours = likely * np.exp(s * z)
        if item["id"] in ("edit-cut", "hand-in"):
            after += hours
        else:
            before += hours
    render = next(j for j in raw["jobs"] if j["id"] == "final-render")
    minutes = render["minutes_per_frame"]
    s = np.log(minutes["high"] / minutes["likely"]) / z90
    tries = rng.geometric(1 - render["fail_chance"], MUCH)
    machine = render["frames"] * minutes["likely"] / 60 * np.exp(s * rng.normal(size=MUCH)) * tries
    ready, finish = np.full(MUCH, np.inf), np.full(MUCH, dt.date.max.toordinal())
    for date, start, hours, chance in evenings(raw, as_of):
        happens = rng.random(MUCH) < chance
        edits = happens & (ready <= start) & (after > 0)
        works = happens & (before > 0)
        used = np.minimum(before, hours) * works
        before = before - used
        through = works & (before <= 1e-9)
        ready[through] = start + used[through] + machine[through]
        after = np.where(edits, after - hours, after)
        finish = np.where(edits & (after <= 0), date.toordinal(), finish)
    last = {"lock": dt.date(2027, 3, 7), "deadline": dt.date(2027, 3, 13)}
    return {gate: float(np.mean(finish <= date.toordinal())) for gate, date in last.items()}


# ---- calls and files --------------------------------------------------------------------------------
def good(*argv: str | Path) -> str:
    answer = call(*argv, today=ANNOUNCED)
    assert answer.code == 0, answer
    return answer.out


def flat(text: str) -> str:
    """Without the breaks of lines, which depend on the width."""
    return " ".join(text.split())


def hundreds(text: str, gate: str) -> str:
    match = re.search(rf"{gate}[^:]*: ((?:over |under )?\d+) in 100", flat(text))
    assert match, text
    return match[1]


def odds(path: Path, as_of: str) -> dict[str, float]:
    found = json.loads(good("odds", path, "--as-of", as_of, "--json"))
    return {g["id"]: g["odds"] for g in found["gates"]}


def film(path: Path, frames: int, rate: int = 24) -> Path:
    with av.open(str(path), "w") as out:
        stream: Any = out.add_stream("libx264", rate=Fraction(rate))
        stream.width, stream.height, stream.pix_fmt = 192, 108, "yuv420p"
        for n in range(frames):
            picture = np.full((108, 192, 3), 40 + n % 180, dtype=np.uint8)
            out.mux(stream.encode(av.VideoFrame.from_ndarray(picture, format="rgb24")))
        out.mux(stream.encode(None))
    return aged(path)


def aged(path: Path) -> Path:
    # a file that was written this second is warned about
    os.utime(path, (1.7e9, 1.7e9))
    return path


def announced(path: Path) -> str:
    return good(
        *("new", path, "--title", "Snail Post", "--zone", "Europe/Vienna", "--announced", ANNOUNCED.isoformat()),
        *("--lock", "2027-03-07", "--deadline", DEADLINE, *WEEK, "--off", "2027-02-01..2027-02-05"),
        *("--bedtime", "23:30"),
    )


def with_the_rules(path: Path) -> None:
    """What the page Brief does: the rules pasted, each proposal answered, the plan accepted as the baseline."""
    project = brief_paste.set_brief_text(load(path), RULES)
    project = add_deliverable(project, "Film", "movie")
    proposals = brief_paste.proposals_of(project)
    for one in proposals:
        if one.rule is not None:
            project = brief_paste.accept_proposal(project, one, "film")
    assert [p.deadline.wording for p in proposals if p.deadline] == [f"Deadline: {DEADLINE}."]
    read = [p.rule.kind for p in proposals if p.rule]
    assert read == [
        *("video-codec", "container", "picture-size", "fps", "duration", "file-size", "name", "third-party"),
    ]
    save(accept_baseline(project, ANNOUNCED, "first plan"), path)


def lived_half_way(path: Path) -> list[str]:
    """Three weeks: reference to blocking go well enough, splining does not."""
    told = []
    for line in (
        "2027-01-12 --hours 2.5 --done ref-gather --done ref-boards --item ref-gather=1.5 --item ref-boards=1",
        "2027-01-14 --hours 2.5 --done layout-camera",
        "2027-01-16 --missed",
        "2027-01-19 --missed",
        "2027-01-21 --hours 2:30 --item chain-run=1.5 --item model-fit=1 --done chain-run --done model-fit",
        "2027-01-23 --hours 4 --done rig-adapt --done shade-adapt",
        "2027-01-26 --hours 2.5 --item animate-block=2.5 --left animate-block=2:3",
        "2027-01-28 --missed",
        "2027-01-30 --hours 3 --done animate-block --done critique-block",
        "2027-02-06 --missed",
        "2027-02-09 --hours 2.5 --left animate-spline=3:5",
        "2027-02-11 --missed",
        "2027-02-13 --hours 2 --left animate-spline=3:5",
        "2027-02-16 --hours 2.5 --left animate-spline=3:5 --left animate-polish=2:3.5 --item animate-spline=2.5",
    ):
        date, *said = line.split(" ")
        told.append(good("tick", path, date, *said))
    return told


@pytest.fixture(scope="module")
def half_way(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("half") / "snail.nightplan"
    announced(path)
    with_the_rules(path)
    lived_half_way(path)
    return path


@pytest.fixture
def piece(half_way: Path, tmp_path: Path) -> Path:
    path = tmp_path / "snail.nightplan"
    path.write_bytes(half_way.read_bytes())
    return path


# ---- the walk -------------------------------------------------------------------------------------
def test_announcement_day(tmp_path: Path) -> None:
    path = tmp_path / "snail.nightplan"
    said = announced(path)
    # by the calendar: 14 Tuesdays and Thursdays and 8 Saturdays without the first week of February
    assert "22 evenings before the lock: 14 sure, 8 maybe" in said
    # midnight can be the start of the 14th: St John's is UTC-3:30 until 2 o'clock of that night, Vienna UTC+1
    assert "that is Sun 14 Mar 2027 04:30 your time" in said
    assert "Uncertain: midnight can be either end of that day" in said
    first = odds(path, ANNOUNCED.isoformat())
    second = second_odds(path, ANNOUNCED)
    assert first == pytest.approx(second, abs=NEAR)
    told = good("odds", path, "--as-of", ANNOUNCED.isoformat())
    assert hundreds(told, "Personal lock") == hundreds(said, "Personal lock") == str(round(first["lock"] * 100))
    # 14 evenings of 2.5 h at 0.9 and 8 of 4 h at 0.5, less the likely hours
    likely = sum(i.likely for i in load(path).items.values())
    assert f"buffer: have {14 * 2.5 * 0.9 + 8 * 4 * 0.5 - likely:.1f} h" in told


def test_the_plan_adds_up(half_way: Path) -> None:
    said = good("plan", half_way, "--as-of", "2027-02-17")
    assert said.startswith("Snail Post · animated shot · as of Wed 17 Feb 2027\n")
    raw = json.loads(good("plan", half_way, "--as-of", "2027-02-17", "--json"))
    names = {i.id: i.name for i in load(half_way).items.values()}
    for row in raw["evenings"]:
        assert sum(w["hours"] for w in row["work"]) <= row["hours"] + 1e-9
        for work in row["work"]:
            if work["hours"] >= 0.05:
                shown = f"{work['hours']:.2f}".removesuffix("0")
                assert f"{names[work['item']]} {shown}" in flat(said).replace(" worked", "").replace(" buffer", "")


def test_every_tick_says_what_it_did(tmp_path: Path) -> None:
    path = tmp_path / "snail.nightplan"
    announced(path)
    told = lived_half_way(path)
    assert told[0].startswith("Tue 12 Jan: 2.5 h (Gather and sort 1.5 h, done; Boards 1 h, done)\n")
    assert told[2].startswith("Sat 16 Jan: missed\n")
    # hours go to what goes on, not to what waits for it
    assert told[10].startswith("Tue 9 Feb: 2.5 h (Splining 2.5 h)\n")
    for before, after in pairwise(told):
        # the evenings between two ticks count as not happened: the second begins where the first ended, or lower
        was = re.search(r"Personal lock: .*?\(was (?:over )?(\d+)", after)
        assert was is None or int(was[1]) <= int(hundreds(before, "Personal lock").removeprefix("over ")) + 1


def test_the_ways_back(piece: Path) -> None:
    at = ("--as-of", "2027-02-17")
    stands = odds(piece, "2027-02-17")
    assert stands == pytest.approx(second_odds(piece, dt.date(2027, 2, 17)), abs=NEAR)
    assert stands["lock"] < 0.8
    before = piece.read_bytes()
    offered = good("recover", piece, *at)
    assert f"Personal lock stands at {round(stands['lock'] * 100)} in 100" in flat(offered)
    assert offered.endswith("To take them: the same with --apply, or the page Ways back.\n")
    assert piece.read_bytes() == before
    taken = good("recover", piece, *at, "--apply")
    assert taken.endswith("Re-planned with these moves, and a new baseline.\n")
    promised = re.search(rf"Personal lock {round(stands['lock'] * 100)} in 100 → (\d+) in 100", flat(taken))
    assert promised
    held = odds(piece, "2027-02-17")
    assert promised[1] == str(round(held["lock"] * 100))
    assert held["lock"] >= 0.8
    assert held == pytest.approx(second_odds(piece, dt.date(2027, 2, 17)), abs=NEAR)
    project = load(piece)
    assert len(project.baselines) == 2
    assert len(project.replans) == 1
    again = good("recover", piece, *at, "--apply")
    assert "nothing has to change" in flat(again)
    assert again.endswith("Nothing was changed.\n")
    assert load(piece) == project


def test_files_are_held_against_the_brief(piece: Path) -> None:
    right = film(piece.parent / "parcel_okapi.mp4", 48)
    wrong = film(piece.parent / "okapi final.mp4", 100, rate=25)
    said = call("check", piece, right)
    assert (said.code, said.out.splitlines()[0]) == (0, "Film: your tick")
    assert "FAIL" not in said.out
    assert "no asset is written down" in said.out
    said = call("check", piece, wrong)
    assert said.code == 1
    faults = {line.split("FAIL")[1].split(":")[0].strip() for line in said.out.splitlines() if "FAIL" in line}
    assert faults == {"Frames per second", "Duration", "File name"}
    # 4 s where 1 to 3 are asked: to the nearer end, at the rate of the brief
    assert "bring it to 3 s (72 frames)" in said.out
    half = piece.parent / "parcel_half.mp4"
    half.write_bytes(right.read_bytes()[:900])
    said = call("check", piece, aged(half))
    assert said.code == 1
    assert "Can be read" in said.out
    assert call("check", piece, piece.parent / "nowhere.mp4").err == (
        f"nightplan: {piece.parent / 'nowhere.mp4'}: there is no such file\n"
    )


def test_assets_hold_the_hand_in_until_they_are_credited(piece: Path) -> None:
    right = film(piece.parent / "parcel_okapi.mp4", 48)
    project = assets.add_asset(load(piece), "Wet cobbles", kind="texture", licence="CC-BY-4.0")
    save(project, piece)
    said = call("check", piece, right)
    assert said.code == 1
    assert "the author and the source of it are missing" in said.out
    mended = {"author": "Mira Fennimore", "source": "https://example.org/cobbles", "changes": "retextured"}
    save(assets.change_asset(project, project.assets[0]["id"], **mended), piece)
    assert call("check", piece, right).code == 0
    good("export", piece, "--to", piece.parent / "credits.txt")
    credit = (piece.parent / "credits.txt").read_text(encoding="utf-8")
    assert "“Wet cobbles” by Mira Fennimore; https://example.org/cobbles; CC BY 4.0" in credit


def test_the_machine_works_between_evenings(piece: Path) -> None:
    rest = ("animate-spline", "animate-polish", "set-primary", "set-secondary", "set-tertiary", "light-key")
    more = ("critique-render", "light-refine", "polish-main", "polish-rest")
    good("tick", piece, "2027-02-20", "--hours", "4", *(w for name in (*rest, *more) for w in ("--done", name)))
    told = flat(good("nights", piece, "--as-of", "2027-02-21"))
    # 120 frames of 4 minutes from the end of the evening on
    assert "Final render on desk 1 night (8.0 h), from Sat 20 Feb 18:00, ready Sun 21 Feb 02:00" in told
    assert "has no folder of frames" in flat(good("nights", piece, "--as-of", "2027-02-21", "--look"))
    folder = piece.parent / "frames"
    folder.mkdir()
    begun = dt.datetime(2027, 2, 20, 18, 10, tzinfo=dt.timezone(dt.timedelta(hours=1)))
    for n in range(1, 61):
        frame = folder / f"snail_{n:04d}.png"
        Image.new("RGB", (96, 54), (n, n, n)).save(frame)
        stamp = (begun + dt.timedelta(minutes=6 * n)).timestamp()
        os.utime(frame, (stamp, stamp))
    project = jobs.point_at_folder(jobs.start_job(load(piece), "final-render", begun), "final-render", str(folder))
    job = project.jobs_by_id["final-render"]
    seen = jobs.look_at(job, begun + dt.timedelta(hours=6, minutes=1))
    save(jobs.take_in(project, "final-render", seen), piece)
    # half of the frames in 6 h: the other 60, six minutes each, from the newest frame at 00:10 on
    assert "ready Sun 21 Feb 06:10" in flat(good("nights", piece, "--as-of", "2027-02-21"))
    said = good("tick", piece, "2027-02-23", "--hours", "2.5", "--done", "Final render", "--done", "Edit")
    assert "Final render done" in said
    # 1 GB at 16 megabits: 500 s, after the hour or so that is left to do
    assert re.search(r"Upload on line 1 night \(0\.1 h\), from Thu 25 Feb", flat(good("nights", piece)))


def finished(path: Path) -> Path:
    project = load(path)
    open_items = [i.id for i in project.items.values() if i.state == "open"]
    last = ("--done", "final-render", "--done", "upload")
    good("tick", path, "2027-02-20", "--hours", "4", *(w for name in open_items[:-2] for w in ("--done", name)))
    good("tick", path, "2027-02-23", "--hours", "2.5", *(w for n in open_items[-2:] for w in ("--done", n)), *last)
    return path


def test_everything_leaves(piece: Path) -> None:
    folder = piece.parent
    for name in ("plan.ics", "plan.csv", "strip.png", "strip.svg", "report.pdf", "report.html", "summary.md"):
        said = good("export", piece, "--to", folder / name, "--as-of", "2027-02-17")
        assert said.startswith(f"{folder / name}: ")
        assert (folder / name).stat().st_size > 500
    rows = list(csv.DictReader(io.StringIO((folder / "plan.csv").read_text(encoding="utf-8-sig"))))
    worked = sum(float(r["hours"]) for r in rows if r["status"] == "worked")
    assert worked == pytest.approx(sum(w.hours for e in load(piece).log for w in e.work))
    calendar = (folder / "plan.ics").read_text(encoding="utf-8")
    assert "SUMMARY:Snail Post: Animate" in calendar
    lock = round(odds(piece, "2027-02-17")["lock"] * 100)
    for name in ("summary.md", "report.html"):
        assert f"{lock} in 100" in (folder / name).read_text(encoding="utf-8")
    good("export", piece, "--what", "making-of", "--to", folder / "making-of.md", "--minutes", "2")
    assert "Suggested length: 2:00" in (folder / "making-of.md").read_text(encoding="utf-8")


def test_the_end_and_the_look_back(piece: Path, tmp_path: Path) -> None:
    finished(piece)
    told = flat(good("odds", piece, "--as-of", "2027-02-24"))
    assert told.count("100 in 100 finished on Tue 23 Feb") == 2
    assert "the rest is expected" not in told
    assert "buffer:" not in told
    assert flat(good("recover", piece, "--as-of", "2027-02-24")).startswith("All work is done; nothing has to change.")

    other = tmp_path / "other" / "gate.nightplan"
    other.parent.mkdir()
    announced(other)
    save(load(other).but(title="Garden Gate"), other)
    lived_half_way(other)
    finished(other)
    after = ("--as-of", "2027-03-20")
    said = flat(good("lookback", tmp_path, *after))
    assert said.startswith("2 projects, 2 of them with finished items.")
    # by hand from the log: what animate took against its likely hours
    log = load(piece).log
    took = sum(w.hours for e in log for w in e.work if w.item.startswith(("animate", "critique-block")))
    planned = sum(i.likely for s in load(piece).stages if s.id == "animate" for i in s.items)
    assert f"Animate 8 {2 * planned:.1f} h {2 * took:.1f} h {took / planned:.2f}" in said
    sure = [e for e in log if e.evening.weekday() in (1, 3)]
    kept = sum(e.happened for e in sure)
    # four sure evenings of February and March were not needed, so nobody ticked them off
    told = re.search(r"Sure evenings: (\d+) of \d+ happened", said)
    assert told
    assert int(told[1]) == 2 * kept
    assert re.search(r"Sat \(maybe\) \d+ of \d+", said)

    following = tmp_path / "next.nightplan"
    good(
        *("new", following, "--title", "Lighthouse for Ants", "--zone", "Europe/Vienna", "--announced", "2027-04-05"),
        *("--lock", "2027-05-09", "--deadline", "May 16, 2027, 18:00 CEST", *WEEK),
    )
    before = load(following)
    offered = good("lookback", tmp_path, "--as-of", "2027-04-05", "--for", following)
    assert "estimate:animate" in offered
    assert load(following) == before
    taken: Answer = call(
        *("lookback", tmp_path, "--as-of", "2027-04-05", "--for", following, "--accept", "estimate:animate"),
        *("--json",),
        today=dt.date(2027, 4, 5),
    )
    assert taken.code == 0
    learnt = load(following)
    factors = {round(learnt.items[i].likely / before.items[i].likely, 2) for i in ("animate-block", "animate-spline")}
    # longer, but not by all of it: two projects are few
    assert all(1 < f < took / planned for f in factors)
    assert odds(following, "2027-04-05")["lock"] < good_lock(before, tmp_path)
    refused = call("lookback", tmp_path, *after, "--for", following, "--accept", "estimate:animate", today=ANNOUNCED)
    assert refused.code == 2


def good_lock(project: Any, folder: Path) -> float:
    path = folder / "as-it-was.nightplan"
    save(project, path)
    return odds(path, "2027-04-05")["lock"]


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (("--hours", "-2"), "argument --hours: '-2' is no time of 0 to 24 hours"),
        (("--hours", "two"), "argument --hours: 'two' is no time of 0 to 24 hours"),
        (("--hours", "2", "--done", "Sculpting"), "'Sculpting' is no item or job of this project"),
        (("--hours", "2", "--item", "Polish=3"), "the items have 3 h together, more than the evening's 2 h"),
        (("--hours", "2", "--left", "Polish=much"), "--left 'Polish=much': hours are written as numbers"),
        ((), "--hours is needed, or --missed where the evening did not happen"),
    ],
)
def test_slips_on_the_way_change_nothing(piece: Path, said: tuple[str, ...], words: str) -> None:
    before = piece.read_bytes()
    answer = call("tick", piece, "2027-02-18", *said, today=ANNOUNCED)
    assert answer.code == 2
    assert answer.err.startswith(f"nightplan: {words}")
    assert answer.err.count("\n") == 1
    assert piece.read_bytes() == before
