# SPDX-License-Identifier: GPL-3.0-or-later
"""Where the program's own data lies: in the installed package, or in a checkout beside it."""

from __future__ import annotations

from pathlib import Path

SAMPLES = ("moth-and-lantern", "still-harbour", "clockwork-heron", "tin-parade-loop")


def data_folder(name: str) -> Path:
    """The folder ``assets`` or ``sample_projects``."""
    package = Path(__file__).resolve().parent.parent
    installed = package / "_data" / name
    return installed if installed.is_dir() else package.parent.parent / name
