# SPDX-License-Identifier: GPL-3.0-or-later
"""Values of the model from what a person typed, with errors that name the place in the project."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Hashable, Sequence
from typing import Any, TypeVar

from pydantic import ValidationError

from nightplan.model.errors import BadInput
from nightplan.model.parse import sentence
from nightplan.model.project import Value

V = TypeVar("V", bound=Value)


def made(kind: type[V], place: str, raw: dict[str, Any]) -> V:
    """A value from its keys. Raises BadInput at ``place``."""
    try:
        return kind.model_validate(raw)
    except ValidationError as error:
        raise _at(place, error) from None


def changed(value: V, place: str, /, **changes: Any) -> V:
    """A value with some keys changed; a value inside it that is replaced hands on the keys that nobody knows.

    Raises:
        BadInput: at ``place``.
    """
    try:
        return value.but(**{key: _with_unknown(new, getattr(value, key, None)) for key, new in changes.items()})
    except ValidationError as error:
        raise _at(place, error) from None


def _with_unknown(new: Any, old: Any) -> Any:
    if not isinstance(old, Value) or not old.unknown:
        return new
    if isinstance(new, dict):
        return {**old.unknown, **new}
    return new.but(**{**old.unknown, **new.unknown}) if isinstance(new, type(old)) else new


def heirs(new: Sequence[V], old: Sequence[V], *names: Callable[[V], Hashable]) -> tuple[V, ...]:
    """A list given anew, its entries with the keys that nobody knows of those that they stand for.

    Args:
        names: what makes two entries the same, the surest first; each old entry has one heir.
    """
    made_of: dict[int, V] = {}
    rest = [entry for entry in old if entry.unknown]
    for name in names:
        for n, entry in enumerate(new):
            match = next((o for o in rest if name(o) == name(entry)), None) if n not in made_of else None
            if match is not None:
                rest.remove(match)
                made_of[n] = match
    return tuple(
        entry.but(**{**made_of[n].unknown, **entry.unknown}) if n in made_of else entry for n, entry in enumerate(new)
    )


def free_id(taken: Collection[str], name: str, otherwise: str) -> str:
    """An id made from a name that is not taken: of a-z, 0-9 and hyphens; ``otherwise`` where none remain."""
    base = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60] or otherwise
    return next(c for n in range(1, len(taken) + 3) if (c := base if n == 1 else f"{base}-{n}") not in taken)


def _at(place: str, error: ValidationError) -> BadInput:
    first = error.errors(include_url=False)[0]
    return BadInput(sentence({**first, "loc": (place, *first["loc"])}))
