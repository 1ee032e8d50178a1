# SPDX-License-Identifier: GPL-3.0-or-later
"""The fixtures of the desk do find what they are there for. Common practice, no source."""

from __future__ import annotations

import threading

import pytest
from desk_leaks import Started
from desk_sweep import accessible_name, doubled, nameless, out_of_reach
from PySide6.QtCore import Qt, QThreadPool, QTimer
from PySide6.QtWidgets import QCheckBox, QFormLayout, QHBoxLayout, QLabel, QLineEdit, QPushButton, QTableView, QWidget
from pytestqt.qtbot import QtBot


def test_a_running_timer_is_found_with_its_line(monkeypatch: pytest.MonkeyPatch) -> None:
    started = Started()
    started.watch(monkeypatch, QTimer, "start")
    timer = QTimer()
    timer.start(60_000)
    left = started.left(lambda t: t.isActive())
    timer.stop()
    assert len(left) == 1
    assert "test_foundation_fixtures.py" in left[0]
    assert "test_a_running_timer" in left[0]
    assert started.left(lambda t: t.isActive()) == []


def test_a_running_thread_and_a_busy_pool_are_found(monkeypatch: pytest.MonkeyPatch) -> None:
    threads, pools = Started(), Started()
    threads.watch(monkeypatch, threading.Thread, "start")
    pools.watch(monkeypatch, QThreadPool, "start")
    go, pool = threading.Event(), QThreadPool()
    thread = threading.Thread(target=go.wait)
    thread.start()
    pool.start(go.wait)
    found = threads.left(lambda t: t.is_alive()), pools.left(lambda p: not p.waitForDone(0))
    go.set()
    thread.join()
    pool.waitForDone()
    assert all(len(rows) == 1 and "test_foundation_fixtures.py" in rows[0] for rows in found)


def test_qt_warnings_fail_a_test(pytestconfig: pytest.Config) -> None:
    assert pytestconfig.getini("qt_log_level_fail") == "WARNING"


def test_the_sweep_finds_what_has_no_name(qtbot: QtBot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    form = QFormLayout(page)
    unnamed, buddy, table = QLineEdit(), QLineEdit(), QTableView()
    # a row whose label is a widget of its own has no buddy; "&Name" as text has one
    row = QWidget()
    QHBoxLayout(row).addWidget(unnamed)
    form.addRow(QLabel("Title"), row)
    form.addRow("&Piece", buddy)
    form.addRow(table)
    assert accessible_name(buddy) == "Piece"
    found = nameless(page)
    assert len([line for line in found if line.startswith("QLineEdit")]) == 1
    assert len([line for line in found if line.startswith("QTableView")]) == 1
    unnamed.setAccessibleName("Title")
    table.setAccessibleName("Items")
    assert nameless(page) == []


def test_the_sweep_finds_twins_and_what_tab_does_not_reach(qtbot: QtBot) -> None:
    page = QWidget()
    qtbot.addWidget(page)
    row = QHBoxLayout(page)
    for _n in range(2):
        row.addWidget(QPushButton("Remove"))
    box = QCheckBox("Sure")
    box.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
    row.addWidget(box)
    assert doubled(page) == ["QPushButton 'Remove' stands 2 times"]
    assert [line.split(" in ")[0] for line in out_of_reach(page)] == ["QCheckBox(Sure)"]
