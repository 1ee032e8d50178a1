# SPDX-License-Identifier: GPL-3.0-or-later
"""Smoke tests that run inside the frozen program: ``nightplan-smoke FOLDER``.

They are built with the program, share its libraries and data, and see no other Python. Each prints one line; the code
is 0 where all passed.
"""

from __future__ import annotations

import datetime as dt
import io
import json
import multiprocessing
import os
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

TODAY = dt.date(2027, 10, 18)
WAIT_SECONDS = 60.0


def call(*argv: str | Path, code: int | None = 0) -> Any:
    """One call of the command line with ``--json``; its answer. Without a code, yes and no are both answers."""
    from nightplan.cli.context import Context
    from nightplan.cli.main import main

    out, err = io.StringIO(), io.StringIO()
    found = main([*map(str, argv), "--json"], out, err, Context(out, lambda: TODAY))
    assert found == code or (code is None and found in (0, 1)), (argv, found, out.getvalue(), err.getvalue())
    assert err.getvalue() == ""
    return json.loads(out.getvalue())


def everything_lies_in_this_folder(folder: Path) -> None:
    import nightplan
    from nightplan.files.data import data_folder

    here = Path(sys.executable).parent.resolve()
    assert getattr(sys, "frozen", False)
    for place in (nightplan.__file__, data_folder("assets"), data_folder("sample_projects")):
        assert Path(place).resolve().is_relative_to(here), place
    outside = [p for p in sys.path if p and not Path(p).resolve().is_relative_to(here)]
    assert outside == [], outside


def the_samples_come_with_plan_odds_and_report(folder: Path) -> None:
    told = call("sample", folder / "samples", "--no-window")
    assert len(told["copied"]) == 4
    assert 0 < next(iter(told["odds"]["gates"]))["odds"] <= 1
    assert "<svg" in Path(told["report"]).read_text(encoding="utf-8")


def a_tick_changes_the_odds(folder: Path) -> None:
    path = folder / "samples" / "still-harbour.nightplan"
    raw = json.loads(path.read_text(encoding="utf-8"))
    before = len(raw["log"])
    last = max(entry["date"] for entry in raw["log"]) if raw["log"] else "2027-10-10"
    day = dt.date.fromisoformat(last) + dt.timedelta(days=1)
    call("tick", path, day.isoformat(), "--hours", "1.5", "--extra")
    assert len(json.loads(path.read_text(encoding="utf-8"))["log"]) == before + 1


def ways_back_and_nights_answer(folder: Path) -> None:
    path = folder / "samples" / "moth-and-lantern.nightplan"
    assert call("recover", path, "--futures", "500", "--as-of", "2027-10-10", code=None)
    assert call("nights", path, "--futures", "500")


def files_are_checked_in_worker_processes(folder: Path) -> None:
    import numpy as np
    from PIL import Image

    path = folder / "check.nightplan"
    raw = json.loads((folder / "samples" / "clockwork-heron.nightplan").read_text(encoding="utf-8"))
    rule = {"id": "size", "kind": "picture-size", "value": "64x48", "comparison": "exactly"}
    raw["deliverables"] = [{"id": "still", "name": "Still", "what": "image", "rules": [rule]}]
    path.write_text(json.dumps(raw), encoding="utf-8")
    for width, wanted in ((64, 0), (65, 1)):
        picture = folder / f"still-{width}.png"
        noise = np.random.default_rng(1).integers(0, 255, (48, width, 3)).astype(np.uint8)
        Image.fromarray(noise).save(picture)
        told = call("check", path, picture, "--deep", code=wanted)
        assert told["verdict"] == ("pass" if wanted == 0 else "fail"), told

    from nightplan.brief.worker import Workers

    with Workers(1) as workers:
        (answer,) = workers.run(os.getpid, [()], seconds=WAIT_SECONDS)
    # a process of its own, and not this program from its beginning
    assert isinstance(answer[1], int), answer
    assert answer[1] != os.getpid()


def movies_and_exr_are_read(folder: Path) -> None:
    import av
    import numpy as np
    import OpenEXR

    clip = folder / "clip.mp4"
    with av.open(str(clip), "w") as file:
        stream = file.add_stream("mpeg4", rate=24)
        stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
        for n in range(12):
            frame = av.VideoFrame.from_ndarray(np.full((48, 64, 3), n * 20, np.uint8), format="rgb24")
            file.mux(stream.encode(frame))
        file.mux(stream.encode())
    path = folder / "check.nightplan"
    raw = json.loads(path.read_text(encoding="utf-8"))
    rule = {"id": "n", "kind": "frame-count", "value": 12}
    raw["deliverables"] = [{"id": "shot", "name": "Shot", "what": "movie", "rules": [rule]}]
    path.write_text(json.dumps(raw), encoding="utf-8")
    told = call("check", path, clip)
    assert told["verdict"] == "pass", told
    exr = folder / "frame.exr"
    head = {"compression": OpenEXR.ZIP_COMPRESSION, "type": OpenEXR.scanlineimage}
    with OpenEXR.File(head, {"RGB": np.ones((8, 8, 3), np.float16)}) as made:
        made.write(str(exr))
    rule = {"id": "f", "kind": "image-format", "value": "OpenEXR"}
    raw["deliverables"] = [{"id": "still", "name": "Still", "what": "image", "rules": [rule]}]
    path.write_text(json.dumps(raw), encoding="utf-8")
    assert call("check", path, exr)["verdict"] in ("pass", "warn")


def everything_leaves(folder: Path) -> None:
    path = folder / "samples" / "tin-parade-loop.nightplan"
    beginnings = {"ics": b"BEGIN:VCALENDAR", "csv": b"", "png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}
    beginnings |= {"html": b"<!DOCTYPE html>", "md": b"#"}
    for ending, begins in beginnings.items():
        made = folder / f"left.{ending}"
        call("export", path, "--to", made, "--futures", "500")
        content = made.read_bytes()
        assert len(content) > 100, ending
        assert content.lstrip(b"\xef\xbb\xbf").startswith(begins), (ending, content[:40])


def licences_come_along(folder: Path) -> None:
    from importlib.metadata import distribution

    for name in ("nightplan", "numpy", "scipy", "av", "pillow", "matplotlib"):
        told = [p for p in distribution(name).files or () if ".dist-info" in str(p) and "LICENSE" in str(p)]
        assert any(Path(str(p.locate())).is_file() for p in told), name
    # Qt's wheel has no such file; it names its licence
    assert "LGPL" in str(distribution("PySide6_Essentials").metadata)


def zones_and_completion_come_along(folder: Path) -> None:
    from zoneinfo import ZoneInfo

    assert dt.datetime(2027, 7, 1, tzinfo=ZoneInfo("Australia/Lord_Howe")).utcoffset() == dt.timedelta(hours=10.5)
    assert "complete -F _nightplan" in call("completion", "bash")["script"]
    assert call("desktop-entry", "--install", "--to", folder / "share")["written"]
    assert call("lookback", *sorted((folder / "samples").glob("*.nightplan")))


def the_desk_opens_a_file_and_paints(folder: Path) -> None:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        os.environ[name] = str(folder / name)
    from PySide6.QtCore import QSettings
    from PySide6.QtGui import QImageReader

    QSettings.setPath(QSettings.Format.NativeFormat, QSettings.Scope.UserScope, str(folder / "settings"))
    from nightplan.desk.app import Desk, make_app
    from nightplan.desk.pages import PAGES

    app = make_app(["nightplan"])
    assert b"svg" in [bytes(f.data()) for f in QImageReader.supportedImageFormats()]
    desk = Desk(app)
    broken: list[BaseException] = []
    sys.excepthook = lambda kind, error, trace: broken.append(error)
    window = desk.window(str(folder / "samples" / "moth-and-lantern.nightplan"))

    def until(seen: Callable[[], object], what: str) -> None:
        end = time.monotonic() + WAIT_SECONDS
        while not seen():
            assert time.monotonic() < end, f"waited for {what}"
            assert not broken, broken
            app.processEvents()

    until(lambda: window.document.is_open, "the file")
    until(lambda: window.document.whole, "the odds")
    assert window.windowIcon().availableSizes()
    for key in PAGES:
        window.go_to(key)
        for _ in range(20):
            app.processEvents()
    picture = window.grab().toImage()
    colours = {picture.pixel(x, y) for x in range(0, picture.width(), 7) for y in range(0, picture.height(), 7)}
    assert len(colours) > 20, len(colours)
    picture.save(str(folder / "window.png"))
    window.setProperty("discard", True)
    window.close()
    desk.shut()
    assert not broken, broken


TESTS = (
    everything_lies_in_this_folder,
    the_samples_come_with_plan_odds_and_report,
    a_tick_changes_the_odds,
    ways_back_and_nights_answer,
    files_are_checked_in_worker_processes,
    movies_and_exr_are_read,
    everything_leaves,
    zones_and_completion_come_along,
    licences_come_along,
    the_desk_opens_a_file_and_paints,
)


def main() -> int:
    folder = Path(sys.argv[1]).resolve()
    folder.mkdir(parents=True, exist_ok=True)
    failed = 0
    for test in TESTS:
        begun = time.perf_counter()
        try:
            test(folder)
        except Exception:
            failed += 1
            print(f"FAILED  {test.__name__}\n{traceback.format_exc()}", flush=True)
        else:
            print(f"passed  {test.__name__}  ({time.perf_counter() - begun:.1f} s)", flush=True)
    print(f"{len(TESTS) - failed} passed, {failed} failed", flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    multiprocessing.freeze_support()
    sys.exit(main())
