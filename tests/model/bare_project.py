# SPDX-License-Identifier: GPL-3.0-or-later
"""The least that makes a project: two gates, no evening, no work."""

from __future__ import annotations

from typing import Any


def bare(**more: Any) -> dict[str, Any]:
    return {
        "format": "nightplan",
        "version": 1,
        "title": "Paper Heron",
        "zone": "UTC",
        "announced": "2027-09-20",
        "gates": [
            {"id": "lock", "name": "Lock", "on": "2027-10-01"},
            {"id": "deadline", "name": "Hand-in", "on": "2027-10-03"},
        ],
        **more,
    }
