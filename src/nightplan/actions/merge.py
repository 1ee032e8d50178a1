# SPDX-License-Identifier: GPL-3.0-or-later
"""Two changed copies of one project, brought together where they touch different things.

Three-way, on raw values: what only one side changed is taken; lists whose entries have a name (an
id, a date) are merged entry by entry; what both changed differently is a conflict and is named.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

#: the key that names an entry of a list
_NAMES = ("id", "evening", "on")
_GONE = object()


@dataclass(frozen=True)
class Merged:
    """The merged project, or None where the sides do not go together; the places of conflict."""

    project: Project | None
    conflicts: tuple[str, ...]


def merge(base: Project, mine: Project, theirs: Project) -> Merged:
    """Bring two copies together.

    On a conflict ``mine`` is kept in ``project``, so that nothing typed is lost; the caller asks.
    """
    conflicts: list[str] = []
    raw = _merge(project_to_raw(base), project_to_raw(mine), project_to_raw(theirs), "", conflicts)
    try:
        return Merged(project_from_raw(raw), tuple(conflicts))
    except BadInput as error:
        return Merged(None, (*conflicts, error.sentence))


def _merge(base: Any, mine: Any, theirs: Any, place: str, conflicts: list[str]) -> Any:
    if mine == theirs or theirs == base:
        return mine
    if mine == base:
        return theirs
    if isinstance(mine, dict) and isinstance(theirs, dict):
        known = base if isinstance(base, dict) else {}
        found = {}
        for key in [*mine, *(k for k in theirs if k not in mine)]:
            value = _merge(
                known.get(key, _GONE),
                mine.get(key, _GONE),
                theirs.get(key, _GONE),
                f"{place}.{key}" if place else key,
                conflicts,
            )
            if value is not _GONE:
                found[key] = value
        return found
    if isinstance(mine, list) and isinstance(theirs, list):
        named = _merge_lists(base if isinstance(base, list) else [], mine, theirs, place, conflicts)
        if named is not None:
            return named
    conflicts.append(place or "the project")
    return theirs if mine is _GONE else mine


def _merge_lists(base: list[Any], mine: list[Any], theirs: list[Any], place: str, conflicts: list[str]) -> Any:
    key = next((k for k in _NAMES if all(isinstance(e, dict) and k in e for e in (*mine, *theirs))), None)
    if key is None:
        # entries without names, such as stored forecasts: both sides only add
        if mine[: len(base)] == base and theirs[: len(base)] == base:
            return [*mine, *(e for e in theirs[len(base) :] if e not in mine)]
        return None
    rows = [{e[key]: e for e in side if isinstance(e, dict) and key in e} for side in (base, mine, theirs)]
    if any(len(row) != len(side) for row, side in zip(rows[1:], (mine, theirs), strict=True)):
        return None
    found = []
    for name in [*rows[1], *(n for n in rows[2] if n not in rows[1])]:
        value = _merge(*(row.get(name, _GONE) for row in rows), f"{place}[{name}]", conflicts)
        if value is not _GONE:
            found.append(value)
    if key in ("evening", "on"):
        found.sort(key=lambda e: str(e[key]))
    return found
