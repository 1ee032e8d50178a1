# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates, odds and hours in plain words."""

from __future__ import annotations

import datetime as dt
import unicodedata
from typing import TYPE_CHECKING

from nightplan.speech import tr
from nightplan.speech.words import day, hours, in_100

if TYPE_CHECKING:
    from nightplan.model.project import Project

__all__ = ["chance", "day", "hours", "in_100", "marked", "moment", "plain"]


def plain(text: str) -> str:
    """Text from a file for a terminal: one that would steer it, or turn the writing round, is shown as a square."""
    if text.isascii() and text.isprintable():
        return text
    return "".join("\u25a1" if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Co") else c for c in text)


def marked(text: str) -> str:
    """Text from a file for a place where square brackets mean bold and the like."""
    from rich.markup import escape

    return escape(plain(text))


def moment(project: Project, instant: dt.datetime) -> str:
    """An instant on the artist's own clock: ``Mon 1 Nov 06:59``."""
    from nightplan.evenings.words import moment_words
    from nightplan.evenings.zones import to_local, zone_info

    return moment_words(to_local(instant, zone_info(project.zone)))


def chance(value: float) -> str:
    """``sure``, ``maybe`` or ``3 in 10``."""
    if value >= 0.9:
        return tr("sure")
    if abs(value - 0.5) < 1e-9:
        return tr("maybe")
    return tr("{tenths} in 10", tenths=f"{value * 10:.0f}")
