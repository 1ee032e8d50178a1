# SPDX-License-Identifier: GPL-3.0-or-later
"""Older files to the present form, on raw JSON, one version at a time.

A migration takes the raw object of version n and returns that of n + 1. It touches the keys that
changed and nothing else; unknown keys pass through.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from nightplan.model.errors import BadInput
from nightplan.model.project import VERSION
from nightplan.speech import tr

Migration = Callable[[dict[str, Any]], dict[str, Any]]

#: version -> the step to the next one; version 1 is the first
STEPS: Mapping[int, Migration] = {}


def migrate(raw: Any, steps: Mapping[int, Migration] = STEPS, current: int = VERSION) -> Any:
    """The raw object in the form of version ``current``.

    What is no object, has no version, or is newer is returned as it is: the model says what is wrong.

    Raises:
        BadInput: a version so old that no step is known.
    """
    if not isinstance(raw, dict):
        return raw
    version = raw.get("version")
    if not isinstance(version, int) or isinstance(version, bool):
        return raw
    while version < current:
        if version not in steps:
            oldest = min(steps, default=current)
            told = tr("versions {oldest} to {current} can be read", oldest=oldest, current=current)
            raise BadInput.at("version", version, told)
        raw = {**steps[version](dict(raw)), "version": version + 1}
        version += 1
    return raw
