# SPDX-License-Identifier: GPL-3.0-or-later
"""The installed program on a screen of its own: opened with a file, an evening ticked off by keyboard, quit, code 0.

Xvfb is the screen, xdotool the hand. Common practice, no source.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import os
import shutil
import subprocess
import sys
import sysconfig
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from plan_page_project import project

from nightplan.files.store import load, save

PROGRAM = Path(sysconfig.get_path("scripts")) / "nightplan"
LIMIT_SECONDS = 60.0

pytestmark = [
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="Xvfb is a screen of Linux and its relatives"),
    pytest.mark.skipif(shutil.which("Xvfb") is None, reason="Xvfb is not installed (Debian: xvfb)"),
    pytest.mark.skipif(shutil.which("xdotool") is None, reason="xdotool is not installed (Debian: xdotool)"),
    pytest.mark.skipif(not PROGRAM.exists(), reason="the program is not installed beside this Python"),
]


def wait_for(program: subprocess.Popen[str], what: str, seen: Callable[[], object]) -> None:
    """Look again and again while the program runs: another process has no signal to wait for."""
    end = time.monotonic() + LIMIT_SECONDS
    while not seen():
        assert time.monotonic() < end, f"waited for {what}"
        with contextlib.suppress(subprocess.TimeoutExpired):
            program.wait(0.1)
            raise AssertionError(f"the program ended before {what}: {program.communicate()}")


@pytest.fixture
def screen() -> Iterator[str]:
    """A screen on the first free number, which Xvfb itself finds."""
    ours, theirs = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(theirs), "-screen", "0", "1400x900x24", "-nolisten", "tcp"],
        pass_fds=[theirs],
        stderr=subprocess.DEVNULL,
    )
    os.close(theirs)
    with os.fdopen(ours) as told:
        number = told.readline().strip()
    assert number, "Xvfb did not start"
    yield f":{number}"
    server.terminate()
    server.wait(LIMIT_SECONDS)


def test_the_program_ticks_an_evening_by_keyboard_and_quits_with_code_0(screen: str, tmp_path: Path) -> None:
    path = tmp_path / "moth.nightplan"
    # a piece that begins today, so that the question for missed evenings has nothing to ask
    today = dt.date.today()
    days = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    whole = project()
    start = whole.but(
        log=(),
        off=(),
        announced=today,
        gates=(
            whole.gates[0].but(on=today + dt.timedelta(days=40)),
            whole.gates[1].but(at=dt.datetime.combine(today + dt.timedelta(days=47), dt.time(23, 59))),
        ),
        week=tuple(whole.week[0].but(day=day) for day in days),
        stages=tuple(s.but(items=tuple(i.but(state="open") for i in s.items)) for s in whole.stages),
    )
    save(start, path)
    environment = {k: v for k, v in os.environ.items() if not k.startswith(("QT_", "WAYLAND_"))}
    environment |= {"DISPLAY": screen, "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path / "config")}
    environment |= {"XDG_DATA_HOME": str(tmp_path / "data"), "NIGHTPLAN_LOG_DIR": str(tmp_path / "log")}
    environment |= {"QT_QPA_PLATFORM": "xcb"}
    program = subprocess.Popen(
        [str(PROGRAM), str(path)], env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )

    def hand(*words: str) -> str:
        done = subprocess.run(["xdotool", *words], env=environment, capture_output=True, text=True, check=False)
        return done.stdout.strip()

    def window() -> str:
        assert program.poll() is None, program.communicate()
        return hand("search", "--onlyvisible", "--name", start.title)

    try:
        wait_for(program, "the window with the file", window)
        number = window().splitlines()[0]
        hand("windowfocus", "--sync", number)

        def saved() -> bool:
            # keys are typed again until they have been heard: a window that is not ready yet hears nothing
            if not load(path).log:
                hand("key", "--clearmodifiers", "ctrl+2")
                hand("key", "--clearmodifiers", "ctrl+Return")
                hand("key", "--clearmodifiers", "ctrl+s")
            return bool(load(path).log)

        wait_for(program, "the evening in the file", saved)
        hand("key", "--clearmodifiers", "ctrl+s")
        wait_for(program, "the window without a mark of change", lambda: "*" not in hand("getwindowname", number))
        hand("key", "--clearmodifiers", "ctrl+q")
        out, err = program.communicate(timeout=LIMIT_SECONDS)
    finally:
        program.kill()
    assert program.returncode == 0, (out, err)
    assert out == ""
    assert "Traceback" not in err, err
    assert not (tmp_path / "log" / "faults.log").exists()
    assert load(path).log[0].evening == today
    assert load(path).log[0].happened
