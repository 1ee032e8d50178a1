# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program says on the bus that screen readers listen to: ``python benchmarks/accessibility_bus.py``.

Linux only. Wants ``xvfb-run``, ``dbus-run-session``, ``/usr/libexec/at-spi-bus-launcher`` and a system Python with
``gi`` and Atspi (Debian: xvfb, dbus, at-spi2-core, python3-gi, gir1.2-atspi-2.0). Opens the sample Moth and Lantern on
a screen of its own, walks three evenings of the strip, and prints the tree and the announcements as they come out of
the process. Exit code 1 where a part that takes the keyboard has no name or an evening is not announced just once.
"""

from __future__ import annotations

import datetime as dt
import os
import subprocess
import sys
import tempfile
from pathlib import Path

SAMPLE = Path(__file__).resolve().parents[1] / "sample_projects" / "moth-and-lantern.nightplan"
LAUNCHER = "/usr/libexec/at-spi-bus-launcher"
SYSTEM_PYTHON = "/usr/bin/python3"


def program() -> None:
    """The program; walks once a listener has had the time to come."""
    from PySide6.QtCore import Qt, QTimer
    from PySide6.QtTest import QTest

    from nightplan.desk.app import Desk, make_app
    from nightplan.desk.services import Services

    class Still(Services):
        def today(self) -> dt.date:
            return dt.date(2027, 10, 9)

    app = make_app(["nightplan"])
    folder = tempfile.TemporaryDirectory()
    desk = Desk(app, Still(app, profile=Path(folder.name)))
    window = desk.window(str(SAMPLE))
    steps = 0

    def step() -> None:
        nonlocal steps
        page = window.pages.get("plan")
        if page is None or not window.document.fresh:
            return
        window.work.missed_asked = True
        steps += 1
        if steps == 3:
            print("READY", flush=True)
        elif steps == 15:
            window.activateWindow()
            page.strip.as_table.setFocus()
        elif steps == 16:
            page.strip.view.setFocus(Qt.FocusReason.TabFocusReason)
        elif steps in (17, 18, 19):
            QTest.keyClick(page.strip.view, Qt.Key.Key_Right)

    timer = QTimer()
    timer.timeout.connect(step)
    timer.start(500)
    app.exec()


def listener() -> int:
    """Runs in the system's Python: what is read from the bus."""
    import gi

    gi.require_version("Atspi", "2.0")
    from gi.repository import Atspi, GLib

    Atspi.init()
    nameless: list[str] = []
    heard: list[str] = []

    def walk(thing: object, depth: int) -> None:
        states = thing.get_state_set()
        if not states.contains(Atspi.StateType.SHOWING) and depth > 1:
            return
        labels = [
            relation.get_target(n).get_name()
            for relation in thing.get_relation_set()
            if relation.get_relation_type() == Atspi.RelationType.LABELLED_BY
            for n in range(relation.get_n_targets())
        ]
        said = thing.get_name() or " ".join(labels)
        print(f"{'  ' * depth}{thing.get_role_name()} “{said[:80]}”{f' labelled {labels}' if labels else ''}")
        if states.contains(Atspi.StateType.FOCUSABLE) and not said:
            nameless.append(thing.get_role_name())
        # a table of evenings or items says its cells by itself
        if thing.get_role_name() not in ("table", "tree", "tree table"):
            for n in range(thing.get_child_count()):
                child = thing.get_child_at_index(n)
                if child is not None:
                    walk(child, depth + 1)

    desk = Atspi.get_desktop(0)
    for n in range(desk.get_child_count()):
        walk(desk.get_child_at_index(n), 0)
    loop = GLib.MainLoop()
    told = Atspi.EventListener.new(lambda event: heard.append(str(event.any_data)))
    told.register("object:announcement")
    GLib.timeout_add_seconds(11, loop.quit)
    loop.run()
    evenings = [text for text in heard if "Sep 2027" in text or "Oct 2027" in text]
    print("", "announced:", *heard, sep="\n  ")
    for role in nameless:
        print(f"no name: {role}")
    return 1 if nameless or len(evenings) != len(set(evenings)) or len(evenings) < 4 else 0


def session() -> int:
    """Within a bus and on a screen of its own."""
    with (
        subprocess.Popen([LAUNCHER, "--launch-immediately"], stderr=subprocess.DEVNULL) as bus,
        subprocess.Popen([sys.executable, __file__, "program"], stdout=subprocess.PIPE, text=True) as shown,
    ):
        assert shown.stdout is not None
        shown.stdout.readline()
        code = subprocess.call([SYSTEM_PYTHON, __file__, "listener"])
        shown.kill()
        bus.kill()
    return code


def main() -> int:
    if sys.argv[1:] == ["program"]:
        program()
        return 0
    if sys.argv[1:] == ["listener"]:
        return listener()
    if sys.argv[1:] == ["session"]:
        return session()
    kept = {"QT_QPA_PLATFORM": "xcb", "QT_LINUX_ACCESSIBILITY_ALWAYS_ON": "1", "TZ": "Europe/Lisbon"}
    command = ["xvfb-run", "-a", "dbus-run-session", "--", sys.executable, __file__, "session"]
    return subprocess.call(command, env={**os.environ, **kept})


if __name__ == "__main__":
    sys.exit(main())
