# SPDX-License-Identifier: GPL-3.0-or-later
"""Values of the model from what a person typed, with errors that name the place in the project."""

from __future__ import annotations

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
    """A value with some keys changed. Raises BadInput at ``place``."""
    try:
        return value.but(**changes)
    except ValidationError as error:
        raise _at(place, error) from None


def _at(place: str, error: ValidationError) -> BadInput:
    first = error.errors(include_url=False)[0]
    return BadInput(sentence({**first, "loc": (place, *first["loc"])}))
