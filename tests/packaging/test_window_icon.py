# SPDX-License-Identifier: GPL-3.0-or-later
"""The window wears the program's icon."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

#: a process of its own: the application object of the tests was made by them
_ASK = """
import json
from nightplan.desk.app import Desk, make_app
app = make_app(["nightplan"])
desk = Desk(app)
window = desk.window()
icon = window.windowIcon()
corner, moon = icon.pixmap(64, 64).toImage().pixelColor(0, 0), icon.pixmap(64, 64).toImage().pixelColor(39, 26)
print(json.dumps([
    sorted(size.width() for size in icon.availableSizes()),
    corner.alpha(), moon.name(), app.desktopFileName(),
]))
window.close()
desk.shut()
"""


def test_the_window_wears_the_icon() -> None:
    pytest.importorskip("PySide6.QtWidgets", exc_type=ImportError)
    env = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    done = subprocess.run([sys.executable, "-c", _ASK], env=env, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    sizes, corner, moon, entry = json.loads(done.stdout)
    assert sizes == [16, 24, 32, 48, 64, 128, 256]
    assert corner == 0
    assert moon == "#ffd07a"
    assert entry == "org.nightplan.Nightplan"
