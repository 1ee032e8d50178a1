# SPDX-License-Identifier: GPL-3.0-or-later
"""A frozen build starts its worker processes with its own program; multiprocessing's documentation asks for
``freeze_support`` before anything else there, and for nothing elsewhere."""

from __future__ import annotations

import multiprocessing
import sys

import pytest

from nightplan.cli import main, start


@pytest.mark.parametrize("frozen", [False, True])
def test_workers_of_a_frozen_build_come_first(frozen: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    order: list[str] = []
    monkeypatch.setattr(sys, "argv", ["nightplan"])
    if frozen:
        monkeypatch.setattr(sys, "frozen", True, raising=False)
    monkeypatch.setattr(multiprocessing, "freeze_support", lambda: order.append("workers"))
    monkeypatch.setattr(start, "settle", lambda argv: order.append("language") or argv)
    monkeypatch.setattr(main, "run", lambda: order.append("run"))
    start.run()
    assert order == (["workers"] if frozen else []) + ["language", "run"]
