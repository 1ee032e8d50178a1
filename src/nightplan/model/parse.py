# SPDX-License-Identifier: GPL-3.0-or-later
"""Raw JSON values to a :class:`Project` and back, with errors that name the place."""

from __future__ import annotations

from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from nightplan.model.check import check_amounts, check_project
from nightplan.model.errors import BadInput, shorten
from nightplan.model.project import FORMAT, VERSION, Project
from nightplan.speech import tr


def project_from_raw(raw: Any) -> Project:
    """A checked project from parsed JSON.

    Raises:
        BadInput: the first broken rule in one sentence; ``more`` has the others.
    """
    if not isinstance(raw, dict):
        raise BadInput(tr("the file holds {value}, a project is a JSON object", value=shorten(raw)))
    if raw.get("format") != FORMAT:
        raise BadInput.at("format", raw.get("format"), tr("a project file says {format!r} here", format=FORMAT))
    version = raw.get("version")
    if isinstance(version, int) and not isinstance(version, bool) and version > VERSION:
        raise BadInput.at(
            "version",
            version,
            tr("this file is from a newer nightplan; this one reads up to version {version}", version=VERSION),
        )
    check_amounts(raw)
    try:
        project = Project.model_validate(raw)
    except ValidationError as error:
        sentences = _sentences(raw, error)
        raise BadInput(sentences[0], more=tuple(sentences[1:])) from None
    except RecursionError:
        raise BadInput(tr("the file is nested too deeply to be a project")) from None
    return check_project(project)


#: broken rules that are told of one by one; each takes a kilobyte or two until it is a sentence
_MOST_TOLD = 1_000
_LONGEST_LIST, _LARGEST_OBJECT = 20, 100


def _sentences(raw: dict[str, Any], error: ValidationError) -> list[str]:
    count = error.error_count()
    if count <= _MOST_TOLD:
        return [sentence(e) for e in error.errors(include_url=False)]
    # the first of them is mostly among the first of each list
    try:
        Project.model_validate(_shortened(raw))
    except ValidationError as fewer:
        if fewer.error_count() <= _MOST_TOLD:
            return [sentence(e) for e in fewer.errors(include_url=False)]
    return [tr("{n} values of the file break the rules of a project", n=count)]


def _shortened(value: Any) -> Any:
    """Every list and every object cut to its first entries; of the project itself all keys that it knows."""
    if isinstance(value, list):
        return [_shortened(inner) for inner in value[:_LONGEST_LIST]]
    if isinstance(value, dict):
        kept = list(value)[:_LARGEST_OBJECT] + [key for key in Project.model_fields if key in value]
        return {key: _shortened(value[key]) for key in kept}
    return value


def project_to_raw(project: Project) -> dict[str, Any]:
    """The project as JSON values, keys as in the file, unknown keys kept."""
    raw: dict[str, Any] = project.model_dump(mode="json")
    return raw


_RULES = {
    "missing": tr("is missing and is needed"),
    "float_type": tr("must be a number"),
    "int_type": tr("must be a whole number"),
    "int_from_float": tr("must be a whole number"),
    "string_type": tr("must be text"),
    "bool_type": tr("must be true or false"),
    "tuple_type": tr("must be a list"),
    "list_type": tr("must be a list"),
    "dict_type": tr("must be an object"),
    "model_type": tr("must be an object"),
    "model_attributes_type": tr("must be an object"),
    "finite_number": tr("must be a finite number"),
    "string_too_short": tr("must not be empty"),
}


def sentence(error: ErrorDetails) -> str:
    """One error of pydantic as ``place = value: rule``."""
    kind, context = error["type"], error.get("ctx", {})
    loc = list(error["loc"])
    value: object = error["input"]
    if kind.startswith("place:"):
        key = kind.removeprefix("place:")
        loc.append(key)
        value = value.get(key) if isinstance(value, dict) else getattr(value, key, None)
    place = _place(loc)
    if kind == "missing":
        return f"{place}: {_RULES[kind]}"
    if kind in _RULES:
        rule = _RULES[kind]
    elif kind == "greater_than_equal":
        rule = tr("must be at least {limit}", limit=f"{context['ge']:g}")
    elif kind == "greater_than":
        rule = tr("must be above {limit}", limit=f"{context['gt']:g}")
    elif kind == "less_than_equal":
        rule = tr("must be at most {limit}", limit=f"{context['le']:g}")
    elif kind == "less_than":
        rule = tr("must be below {limit}", limit=f"{context['lt']:g}")
    elif kind == "literal_error":
        most, either, last = str(context["expected"]).rpartition(" or ")
        # translators: one of several values: 'open', 'done' or 'cut'
        rule = tr("must be {most} or {last}", most=most, last=last) if either else tr("must be {value}", value=last)
    elif kind == "string_too_long":
        rule = tr("must have at most {n} characters", n=context["max_length"])
    elif kind == "string_pattern_mismatch":
        rule = tr("an id starts with a letter or digit and has only letters, digits, dot, dash and underscore")
    else:
        rule = error["msg"]
    place = place or tr("the project")
    return f"{place}: {rule}" if isinstance(value, dict) else f"{place} = {shorten(value)}: {rule}"


def _place(loc: list[int | str]) -> str:
    text = ""
    for part in loc:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            # the key of the file, not the attribute (from_ is a Python keyword's stand-in)
            text += ("." if text else "") + part.rstrip("_")
    return text
