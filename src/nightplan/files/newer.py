# SPDX-License-Identifier: GPL-3.0-or-later
"""A file of a later format, read as far as this version understands it, for looking only.

What is not understood is left out and named. The result must never be saved: it is less than the file.
"""

from __future__ import annotations

import copy
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from nightplan.files.store import newer_version, place_text, raw_json, read_bytes
from nightplan.model.check import check_project
from nightplan.model.errors import BadInput
from nightplan.model.project import VERSION, Project
from nightplan.speech import tr

#: each round leaves something out; a file that is foreign throughout is given up
_MOST_ROUNDS = 200
_MOST_PLACES = 1_000
#: a rule that spans several parts names the place at the beginning of its sentence
_PLACE = re.compile(r"^([a-z_]+(?:\[\d+\])?(?:\.[a-z_]+(?:\[\d+\])?)*)(?: = |: )")


@dataclass(frozen=True)
class Looked:
    """What can be shown of a newer file, its version, and the places that are left out."""

    project: Project
    version: int
    left_out: tuple[str, ...]


def load_for_looking(path: str | os.PathLike[str]) -> Looked:
    """What this version understands of a file of a later format.

    Raises:
        BadInput: it cannot be read, is no project or not of a later format, or too little of it is understood.
    """
    place = Path(path)
    data = read_bytes(place)
    try:
        raw = raw_json(data)
    except BadInput as error:
        raise BadInput(f"{place.name}: {error.sentence}") from None
    version = newer_version(raw)
    if version is None:
        raise BadInput(tr("{file}: this is no project of a newer nightplan", file=place.name))
    project, left_out = _understood({**copy.deepcopy(raw), "version": VERSION}, place.name)
    return Looked(project, version, (*left_out, *(place_text((key,)) for key in project.unknown)))


def _understood(raw: dict[str, Any], name: str) -> tuple[Project, list[str]]:
    left_out: list[str] = []
    why = ""
    for _ in range(_MOST_ROUNDS):
        try:
            return check_project(Project.model_validate(raw)), left_out
        except ValidationError as error:
            # the last entries of a list first, so that the others keep their places
            faults = [tuple(e["loc"]) for e in error.errors(include_url=False, include_input=False)]
            why = str(error.errors(include_url=False)[0]["msg"])
        except BadInput as error:
            why = error.sentence
            faults = [found for found in map(_parts, (error.sentence, *error.more)) if found]
        except RecursionError:
            break
        gone = {place for fault in faults[:_MOST_PLACES] if (place := _deepest(raw, fault))}
        if not gone:
            break
        for place in sorted(gone, key=lambda p: [(isinstance(part, str), part) for part in p], reverse=True):
            if _take_out(raw, place):
                left_out.append(place_text(place))
        if len(left_out) > _MOST_PLACES:
            break
    raise BadInput(tr("{file}: too little of this file is understood to show it ({why})", file=name, why=why))


def _parts(sentence: str) -> tuple[str | int, ...]:
    """``stages[0].items[2].after = "x": …`` as the steps to that place."""
    match = _PLACE.match(sentence)
    if match is None:
        return ()
    return tuple(int(part) if part.isdigit() else part for part in re.findall(r"[a-z_]+|\d+", match[1]))


def _deepest(raw: Any, place: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """The part of a place that is there; where a needed key is missing, that is the object without it."""
    found: list[str | int] = []
    for part in place:
        if isinstance(raw, dict) and isinstance(part, str) and part in raw:
            raw = raw[part]
        elif isinstance(raw, dict) and isinstance(part, str) and part.rstrip("_") in raw:
            part = part.rstrip("_")
            raw = raw[part]
        elif isinstance(raw, list) and isinstance(part, int) and 0 <= part < len(raw):
            raw = raw[part]
        else:
            break
        found.append(part)
    return tuple(found)


def _take_out(raw: Any, place: tuple[str | int, ...]) -> bool:
    for part in place[:-1]:
        try:
            raw = raw[part]
        except (LookupError, TypeError):
            # taken out already, with what it was in
            return False
    try:
        del raw[place[-1]]
    except (LookupError, TypeError):
        return False
    return True
