# SPDX-License-Identifier: GPL-3.0-or-later
"""What holds for a project as a whole."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError

from nightplan.evenings.dated import calendar
from nightplan.evenings.zones import zone_info
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.parse import sentence
from nightplan.model.project import Project
from nightplan.speech import tr

_KEYS = ("title", "piece", "zone", "announced", "target_odds", "correlation", "switching_minutes", "bedtime")


def change_settings(project: Project, **changes: Any) -> Project:
    """Change title, piece, zone, announced, target_odds, correlation, switching_minutes or bedtime.

    Raises:
        BadInput: naming the key and what is accepted.
    """
    for key in changes:
        if key not in _KEYS:
            raise BadInput(tr("{key}: one of {keys} can be changed", key=key, keys=", ".join(_KEYS)))
    if "zone" in changes:
        zone_info(changes["zone"])
    try:
        changed = check_project(project.but(**changes))
    except ValidationError as error:
        raise BadInput(sentence(error.errors(include_url=False)[0])) from None
    calendar(changed)
    return changed
