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
from nightplan.speech import tr

#: the keys that name an entry of a list, where they do so for all its entries
_NAMES = (("id",), ("evening",), ("as_of", "moment"), ("on",))
#: entries that are taken whole from one side
_WHOLE = (("evening",), ("as_of", "moment"))
_GONE = object()


@dataclass(frozen=True)
class Merged:
    """The merged project, or None where the sides do not go together; the places of conflict."""

    project: Project | None
    conflicts: tuple[str, ...]


def merge(base: Project | None, mine: Project, theirs: Project) -> Merged:
    """Bring two copies together.

    On a conflict ``mine`` is kept in ``project``, so that nothing typed is lost; the caller asks.

    Args:
        base: what both come from. Where it is not known (None), whatever is on either side is in, what one
            side has taken out comes back, and all that differs is a conflict.
    """
    conflicts: list[str] = []
    raw = _merge(
        _GONE if base is None else project_to_raw(base), project_to_raw(mine), project_to_raw(theirs), "", conflicts
    )
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
    conflicts.append(place or tr("the project"))
    return theirs if mine is _GONE else mine


def _whole(base: Any, mine: Any, theirs: Any, place: str, conflicts: list[str]) -> Any:
    if mine == theirs or theirs == base:
        return mine
    if mine == base:
        return theirs
    conflicts.append(place)
    return theirs if mine is _GONE else mine


def _merge_lists(base: list[Any], mine: list[Any], theirs: list[Any], place: str, conflicts: list[str]) -> Any:
    """Entry by entry where entries have names; else added to, where both sides only add; else None."""
    for keys in _NAMES:
        rows = [_named(side, keys) for side in (base, mine, theirs)]
        if None not in rows:
            break
    else:
        if mine[: len(base)] == base and theirs[: len(base)] == base:
            return [*mine, *(e for e in theirs[len(base) :] if e not in mine)]
        return None
    was, ours, others = (row or {} for row in rows)
    found = []
    for name in _order(list(was), list(ours), list(others)):
        here = f"{place}[{' '.join(map(str, name))}]"
        sides = was.get(name, _GONE), ours.get(name, _GONE), others.get(name, _GONE)
        # hours and work of one evening belong together: half of one entry and half of the other are neither
        value = _whole(*sides, here, conflicts) if keys in _WHOLE else _merge(*sides, here, conflicts)
        if value is not _GONE:
            found.append(value)
    if keys != ("id",):
        found.sort(key=lambda e: str(e[keys[0]]))
    return found


def _named(side: list[Any], keys: tuple[str, ...]) -> dict[tuple[Any, ...], Any] | None:
    """Name -> entry, or None where an entry has no name or two have the same."""
    try:
        found = {tuple(entry[key] for key in keys): entry for entry in side}
    except (KeyError, TypeError):
        return None
    return found if len(found) == len(side) else None


def _order(was: list[Any], ours: list[Any], others: list[Any]) -> list[Any]:
    """The order of the side that changed it; ours where both did.

    New entries of the other side follow the one that they follow there, or stay at the end.
    """
    stayed = [n for n in ours if n in was] == [n for n in was if n in ours]
    leading, added = (others, ours) if stayed else (ours, others)
    found = list(leading)
    for place, name in enumerate(added):
        if name in found:
            continue
        if not any(n in leading for n in added[place:]):
            found.append(name)
        else:
            before = next((n for n in reversed(added[:place]) if n in found), None)
            found.insert(0 if before is None else found.index(before) + 1, name)
    return found
