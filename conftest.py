# SPDX-License-Identifier: GPL-3.0-or-later
"""Loads the Qt test plugin only where Qt can be loaded, so that the rest is tested everywhere."""

from __future__ import annotations

import os
import tempfile

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# whatever this machine speaks; tests of other languages start a process of their own
os.environ["NIGHTPLAN_LANGUAGE"] = "en"
# and whatever its person chose
os.environ["NIGHTPLAN_SETTINGS"] = tempfile.mkdtemp(prefix="nightplan-settings-")

if os.environ.get("CI"):
    # the same examples in every run: a change is judged by what it changed, new examples are looked for elsewhere
    from hypothesis import settings

    settings.register_profile("steady", derandomize=True, deadline=None)
    settings.load_profile("steady")

try:
    from PySide6 import QtTest, QtWidgets  # noqa: F401
except ImportError as error:  # a machine without the system libraries that Qt needs
    QT_MISSING = str(error)
    collect_ignore = ["tests/desk"]
else:
    QT_MISSING = ""
    pytest_plugins = ["pytestqt.plugin"]


def pytest_addoption(parser: pytest.Parser) -> None:
    if QT_MISSING:
        for name in ("qt_api", "qt_log_level_fail"):
            parser.addini(name, "read by the Qt plugin, which is not loaded")


def pytest_report_header() -> str:
    if QT_MISSING:
        return f"the desk is NOT tested, Qt cannot be loaded: {QT_MISSING}"
    return "the desk is tested offscreen"
