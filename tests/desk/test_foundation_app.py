# SPDX-License-Identifier: GPL-3.0-or-later
"""The application: screens, windows, faults, exit codes. Common practice, no source."""

from __future__ import annotations

import gc
import json
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk_fakes import FakeServices
from desk_leaks import let_go
from plan_page_project import AS_OF, project
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from nightplan.desk import app as desk_app
from nightplan.desk.app import FAULT, Desk, NoScreen
from nightplan.desk.faults import broken_off, check_screen, crashes_written_down
from nightplan.desk.services import SUFFIX
from nightplan.desk.window import MainWindow
from nightplan.files import store
from nightplan.files.store import save


class Exits:
    """Stands where the application's exit is."""

    def __init__(self) -> None:
        self.codes: list[int] = []

    def exit(self, code: int) -> None:
        self.codes.append(code)


class Run:
    def __init__(self, desk: Desk, services: FakeServices, exits: Exits) -> None:
        self.desk, self.services, self.exits = desk, services, exits


@pytest.fixture
def run(qapp: QApplication, services: FakeServices, monkeypatch: pytest.MonkeyPatch) -> Iterator[Run]:
    services.go_to_day(AS_OF)
    desk, exits = Desk(qapp, services), Exits()
    monkeypatch.setattr(desk, "app", exits)
    yield Run(desk, services, exits)
    for window in list(desk.windows):
        window.setProperty("discard", True)
        window.close()
    desk.shut()
    desk.deleteLater()
    let_go()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    place = tmp_path / f"moth{SUFFIX}"
    save(project(), place)
    return place


def opened(qtbot: QtBot, window: MainWindow) -> MainWindow:
    window.work.missed_asked = True
    qtbot.waitUntil(lambda: window.document.is_open, timeout=20_000)
    return window


def change(window: MainWindow, title: str) -> None:
    window.document.apply("Rename project", window.document.project.but(title=title))


def test_the_ending_is_that_of_the_store() -> None:
    assert SUFFIX == store.SUFFIX


# --- screens ---


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only there a display may be missing")
@pytest.mark.parametrize(
    ("display", "wayland", "platform", "good"),
    [
        ("", "", "", False),
        ("", "", "xcb", False),
        # nobody has the display 60,000: the number is past what a server would take
        (":60000", "", "", False),
        ("unix:60000.0", "", "", False),
        # one on another machine is believed
        ("elsewhere:0", "", "", True),
        ("", "wayland-0", "", True),
        ("", "", "offscreen", True),
        ("", "", "minimal:enable_fonts", True),
    ],
)
def test_a_missing_screen_is_said_and_not_died_of(
    monkeypatch: pytest.MonkeyPatch, display: str, wayland: str, platform: str, good: bool
) -> None:
    for name, value in (("DISPLAY", display), ("WAYLAND_DISPLAY", wayland), ("QT_QPA_PLATFORM", platform)):
        monkeypatch.setenv(name, value)
    if good:
        check_screen()
    else:
        with pytest.raises(NoScreen, match="nightplan plan FILE"):
            check_screen()


# --- windows ---


def test_a_file_is_opened_after_the_first_paint(qtbot: QtBot, run: Run, file: Path) -> None:
    window = run.desk.window(str(file))
    assert not window.document.is_open
    opened(qtbot, window)
    assert window._painted_once
    assert window.current == "plan"


def test_a_file_that_is_open_comes_to_the_front_and_another_gets_a_window(
    qtbot: QtBot, run: Run, file: Path, tmp_path: Path
) -> None:
    other = tmp_path / f"other{SUFFIX}"
    save(project().but(title="Other"), other)
    window = opened(qtbot, run.desk.window(str(file)))
    # the same file by another name
    link = tmp_path / f"link{SUFFIX}"
    link.symlink_to(file)
    assert run.desk.window(str(link)) is window
    assert not window.open_path(str(other)) or len(run.desk.windows) == 2
    assert len(run.desk.windows) == 2
    assert opened(qtbot, run.desk.windows[1]).document.project.title == "Other"


def test_quit_goes_through_every_window_and_stops_at_one_that_stays(qtbot: QtBot, run: Run, file: Path) -> None:
    first = opened(qtbot, run.desk.window(str(file)))
    second = opened(qtbot, run.desk.window("sample"))
    for window in (first, second):
        change(window, "Changed")
    run.desk.quit()
    run.services.answer("discard")
    # the last window went; the first is asked of its own accord
    qtbot.waitUntil(lambda: len(run.services.questions) == 1)
    assert run.desk.windows == [first]
    run.services.answer("stay")
    let_go()
    assert run.desk.windows == [first]
    assert run.exits.codes == []
    # later closing is one window's affair again
    run.desk.quit()
    run.services.answer("discard")
    assert run.desk.windows == []
    assert run.exits.codes == [0]


def test_quit_with_save_saves(qtbot: QtBot, run: Run, file: Path) -> None:
    window = opened(qtbot, run.desk.window(str(file)))
    change(window, "Changed")
    run.desk.quit()
    run.services.answer("save")
    assert store.load(file).title == "Changed"
    assert run.exits.codes == [0]


def crash(window: MainWindow) -> None:
    """The changes are kept aside, and nobody lives who holds them."""
    window.document.keep_recovery()
    window.document._aside.let_go()
    window.setProperty("discard", True)
    window.close()


def test_unsaved_changes_of_an_earlier_run_are_offered_at_the_start(qtbot: QtBot, run: Run, file: Path) -> None:
    window = opened(qtbot, run.desk.window(str(file)))
    change(window, "Changed")
    crash(window)
    again = run.desk.window()
    assert again.recovery.offer_any()
    asked = run.services.answer("recover")
    assert "last step: Rename project" in asked.text
    assert again.document.project.title == "Changed"
    assert again.document.path == str(file)
    assert again.isWindowModified()
    assert not again.recovery.offer_any()


def test_recovery_never_replaces_what_is_open(qtbot: QtBot, run: Run, file: Path) -> None:
    window = opened(qtbot, run.desk.window(str(file)))
    change(window, "Left behind")
    crash(window)
    sample = opened(qtbot, run.desk.window("sample"))
    change(sample, "Under way")
    sample.recovery.offer_all()
    run.services.answer("recover")
    assert sample.document.project.title == "Under way"
    assert [w.document.project.title for w in run.desk.windows] == ["Under way", "Left behind"]


# --- faults ---


def _break() -> None:
    raise ZeroDivisionError("ours")


def meet_fault(run: Run) -> None:
    try:
        _break()
    except ZeroDivisionError as error:
        run.desk.fault(type(error), error, error.__traceback__)


def test_a_fault_is_told_once_written_down_and_keeps_changes_aside(
    qtbot: QtBot, run: Run, file: Path, tmp_path: Path
) -> None:
    window = opened(qtbot, run.desk.window(str(file)))
    change(window, "Changed")
    for _n in range(3):
        meet_fault(run)
    assert len(run.services.questions) == 1
    assert "in _break" in run.services.questions[0].detail
    assert (tmp_path / "log" / "faults.log").read_text(encoding="utf-8").count("ZeroDivisionError: ours") == 3
    assert len(list(run.services.recovery_folder().glob("*.json"))) == 1
    run.services.answer("copy")
    assert "ZeroDivisionError: ours" in run.services.copied[0]
    # the next fault is told of again
    meet_fault(run)
    run.services.answer("quit")
    assert run.exits.codes == [FAULT]
    assert run.desk.exit_code == FAULT


def test_the_collector_runs_only_when_the_window_lets_it(qapp: QApplication, services: FakeServices) -> None:
    gc.enable()
    desk = Desk(qapp, services)
    assert not gc.isenabled()
    desk.shut()
    assert gc.isenabled()
    desk.deleteLater()


_START = """
import os, signal, sys
from pathlib import Path
from PySide6.QtCore import QSettings, QTimer
folder = Path(sys.argv[1])
for kind in (QSettings.Format.NativeFormat, QSettings.Format.IniFormat):
    QSettings.setPath(kind, QSettings.Scope.UserScope, str(folder))
from nightplan.desk import app, services, window
services.Services.recovery_folder = lambda self: folder / "recovery"
services.Services.ask = lambda self, parent, title, text, choices, answer, detail="": QTimer.singleShot(
    0, lambda: answer(sys.argv[3]))
def act(self):
    {act}
window.MainWindow.act_of_test = act
made = window.MainWindow.__init__
def init(self, *args):
    made(self, *args)
    self.painted.connect(self.act_of_test)
window.MainWindow.__init__ = init
sys.exit(app.main(sys.argv[2] or None))
"""


def start(tmp_path: Path, act: str, path: str = "", answer: str = "quit") -> subprocess.CompletedProcess[str]:
    """The program in a process of its own; ``act`` is run when its window has been painted."""
    return subprocess.run(
        [sys.executable, "-c", _START.format(act=act), str(tmp_path), path, answer],
        env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "NIGHTPLAN_LOG_DIR": str(tmp_path / "log")},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def test_quit_ends_with_0_and_in_silence(tmp_path: Path, file: Path) -> None:
    ended = start(tmp_path, "self.quit_wanted.emit()", str(file))
    assert (ended.returncode, ended.stderr.replace("This plugin does not support propagateSizeHints()\n", "")) == (
        0,
        "",
    )


@pytest.mark.skipif(sys.platform == "win32", reason="signals of that kind are no thing there")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_signal_ends_it_with_its_code_and_keeps_what_is_unsaved(tmp_path: Path, file: Path, name: str) -> None:
    # 128 + number, as shells count (POSIX, 2.8.2 "Exit Status for Commands", leaves the sum to the shell)
    act = 'self.document.apply("Rename project", self.document.project.but(title="Changed")); '
    ended = start(tmp_path, f"{act}os.kill(os.getpid(), signal.{name})", str(file))
    assert ended.returncode == 128 + getattr(signal, name), ended.stderr
    (kept,) = (tmp_path / "recovery").glob("*.json")
    assert "Changed" in json.loads(kept.read_text(encoding="utf-8"))["project"]
    assert "Changed" not in file.read_text(encoding="utf-8")
    # it came to its end: the next start has nothing to tell
    assert list((tmp_path / "log").glob("run-*")) == []


@pytest.mark.parametrize(
    ("act", "told"),
    [
        ("os.kill(os.getpid(), signal.SIGSEGV)", "Segmentation fault"),
        ("os.kill(os.getpid(), signal.SIGKILL)", ""),
    ],
)
@pytest.mark.skipif(sys.platform == "win32", reason="signals of that kind are no thing there")
def test_a_run_that_breaks_off_is_told_of_once(
    tmp_path: Path, act: str, told: str, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NIGHTPLAN_LOG_DIR", str(tmp_path / "log"))
    assert start(tmp_path, act).returncode < 0
    found = broken_off()
    assert len(found) == 1
    assert told in found[0].stacks
    assert bool(found[0].stacks) == bool(told)
    assert broken_off() == []
    run.desk.broke_off = found
    window = run.desk.window()
    run.desk.greet()
    if told:
        (question,) = run.services.questions
        assert told in question.detail
        assert told in (tmp_path / "log" / "faults.log").read_text(encoding="utf-8")
        run.services.answer("copy")
        assert told in run.services.copied[0]
    else:
        assert run.services.questions == []
        assert "ended from outside" in window.status.accessibleDescription()


@pytest.mark.parametrize("answer", ["quit", "on"])
def test_a_fault_in_a_slot_ends_with_3(tmp_path: Path, answer: str) -> None:
    # where the artist goes on, the fault is still in the exit code of the later quit
    act = "QTimer.singleShot(50, self.quit_wanted); 1 / 0" if answer == "on" else "1 / 0"
    ended = start(tmp_path, act, answer=answer)
    assert ended.returncode == FAULT, ended.stderr
    assert "ZeroDivisionError" in (tmp_path / "log" / "faults.log").read_text(encoding="utf-8")


def test_unsaved_changes_survive_a_fault(tmp_path: Path, file: Path) -> None:
    act = 'self.document.apply("Rename project", self.document.project.but(title="Changed")); 1 / 0'
    assert start(tmp_path, act, str(file)).returncode == FAULT
    (kept,) = (tmp_path / "recovery").glob("*.json")
    assert "Changed" in kept.read_text(encoding="utf-8")


def test_the_installed_entry_is_the_program() -> None:
    assert callable(desk_app.main)


def test_a_run_that_lives_is_not_told_of(tmp_path: Path) -> None:
    with crashes_written_down():
        assert broken_off() == []
        assert len(list((tmp_path / "log").glob("run-*.log"))) == 1
    assert list((tmp_path / "log").iterdir()) == []


_THROW_AWAY = """
import os, signal, sys
from pathlib import Path
from PySide6.QtCore import QTimer
from nightplan.cli.main import main
from nightplan.desk import window
made = window.MainWindow.__init__
def init(self, *args):
    made(self, *args)
    self.painted.connect(self.act_of_test)
def act(self):
    self.services.set_theme_choice("light")
    self.document.apply("Rename project", self.document.project.but(title="Changed"))
    self.document.keep_recovery()
    self.document.save()
    self.document.apply("Rename project", self.document.project.but(title="Again"))
    self.document.keep_recovery()
    profile = self.services.profile
    print(profile, len(list(profile.rglob("*"))), len(list((profile / "versions").rglob("*"))))
    os.kill(os.getpid(), signal.SIGTERM)
window.MainWindow.__init__, window.MainWindow.act_of_test = init, act
sys.exit(main(sys.argv[1:], sys.stdout, sys.stderr))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals of that kind are no thing there")
def test_a_profile_that_is_thrown_away_leaves_nothing(tmp_path: Path, file: Path) -> None:
    home = tmp_path / "home"
    home.mkdir()
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("XDG_", "NIGHTPLAN_"))}
    ended = subprocess.run(
        [sys.executable, "-c", _THROW_AWAY, "--throw-away-profile", str(file)],
        env={**kept, "HOME": str(home), "TMPDIR": str(tmp_path), "QT_QPA_PLATFORM": "offscreen"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert ended.returncode == 128 + signal.SIGTERM, ended.stderr
    profile, count, versions = ended.stdout.split()
    assert int(count) >= 4
    assert int(versions) >= 1
    assert not Path(profile).exists()
    # what the toolkit caches for itself (fonts, shaders) is none of ours
    ours = [p for p in home.rglob("*") if "nightplan" in p.name.lower()]
    assert ours == []
    assert "Changed" in file.read_text(encoding="utf-8")
