# SPDX-License-Identifier: GPL-3.0-or-later
"""What changed between two states of a project, in lines that a person can read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Any

from nightplan.model.errors import shorten
from nightplan.model.parse import project_to_raw
from nightplan.model.project import Project

#: list of the file -> (the word for one entry, the keys that name it, the key that shows it)
_LISTS: dict[str, tuple[str, tuple[str, ...], str]] = {
    "gates": ("gate", ("id",), "name"),
    "stages": ("stage", ("id",), "name"),
    "items": ("item", ("id",), "name"),
    "jobs": ("machine job", ("id",), "name"),
    "machines": ("machine", ("name",), "name"),
    "log": ("evening of", ("evening",), "evening"),
    "changes": ("evening of", ("on",), "on"),
    "extra": ("extra evening of", ("on", "start"), "on"),
    "off": ("days off from", ("from", "to"), "from"),
    "week": ("evening of the week", ("day", "start"), "day"),
    "deliverables": ("deliverable", ("id",), "name"),
    "assets": ("asset", ("id",), "title"),
    "work": ("work on", ("item",), "item"),
}
#: lists that are kept for looking back: their number says enough
_COUNTED = {
    "forecasts": ("stored forecast", "stored forecasts"),
    "baselines": ("baseline", "baselines"),
    "replans": ("re-plan", "re-plans"),
    "busy": ("busy time", "busy times"),
}
_DAYS = {
    "mon": "Monday",
    "tue": "Tuesday",
    "wed": "Wednesday",
    "thu": "Thursday",
    "fri": "Friday",
    "sat": "Saturday",
    "sun": "Sunday",
}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_GONE = object()


def differences(before: Project, after: Project) -> tuple[str, ...]:
    """One line for each thing that differs, in the order of the file; empty where nothing does.

    >>> differences(project, edit.set_estimate(project, "boards", 3, 5))  # doctest: +SKIP
    ('item "Boards": likely 2 → 3', 'item "Boards": high 4 → 5')
    """
    if before == after:
        return ()
    return tuple(_object(project_to_raw(before), project_to_raw(after), "", _names(before, after)))


def _names(*projects: Project) -> dict[str, str]:
    """Id -> name of items and jobs, for what only names an id."""
    found = {key: item.name for p in projects for key, item in p.items.items()}
    return found | {key: job.name for p in projects for key, job in p.jobs_by_id.items()}


def _object(before: dict[str, Any], after: dict[str, Any], of: str, names: dict[str, str]) -> Iterator[str]:
    # in the order of the file; what only the old state has comes last
    for key in [*after, *(k for k in before if k not in after)]:
        one, two = before.get(key, _GONE), after.get(key, _GONE)
        # a key that is null and one that is not there say the same
        if one == two or (one in (_GONE, None) and two in (_GONE, None)):
            continue
        lists = [side for side in (one, two) if isinstance(side, list)]
        if key in _COUNTED and lists:
            yield _count(one, two, key, of)
            continue
        was, now = (_rows(one, key), _rows(two, key)) if key in _LISTS and lists else (None, None)
        if was is not None and now is not None:
            yield from _list(was, now, key, of, names)
        else:
            yield _line(of, f"{_word(key)} {_shown(one, names)} → {_shown(two, names)}")


def _list(
    before: dict[tuple[Any, ...], Any], after: dict[tuple[Any, ...], Any], key: str, of: str, names: dict[str, str]
) -> Iterator[str]:
    word, _keys, shown = _LISTS[key]
    for name in [*after, *(n for n in before if n not in after)]:
        entry: dict[str, Any] = after[name] if name in after else before[name]
        called = f"{of}, " if of and key == "work" else ""
        called += f"{word} {_called(entry.get(shown, name[0]), names)}"
        if name not in before:
            yield _line(called, _what(after[name], key) or "added")
        elif name not in after:
            yield _line(called, "taken out")
        else:
            yield from _object(before[name], after[name], called, names)
    stayed = [n for n in before if n in after]
    if stayed != [n for n in after if n in before]:
        yield _line(of, f"order of {_word(key)} changed")


def _what(entry: dict[str, Any], key: str) -> str:
    """What a new entry says, where its name alone says little."""
    if key == "log":
        return (
            f"ticked off, {_shown(entry.get('hours'), {})} h" if entry.get("happened", True) else "ticked off, missed"
        )
    if key == "changes" and entry.get("lost"):
        return "lost"
    return ""


def _rows(side: Any, key: str) -> dict[tuple[Any, ...], Any] | None:
    """Name -> entry; None where an entry has no name or two have the same."""
    if side is _GONE or side is None:
        return {}
    if not isinstance(side, list):
        return None
    try:
        found = {tuple(entry[part] for part in _LISTS[key][1]): entry for entry in side}
    except (KeyError, TypeError):
        return None
    return found if len(found) == len(side) else None


def _count(one: Any, two: Any, key: str, of: str) -> str:
    before, after = (len(side) if isinstance(side, list) else 0 for side in (one, two))
    single, many = _COUNTED[key]
    if before == after:
        return _line(of, f"{many} changed")
    more = abs(after - before)
    return _line(of, f"{more} {single if more == 1 else many} {'more' if after > before else 'fewer'}")


def _line(of: str, text: str) -> str:
    return f"{of}: {text}" if of else text


def _word(key: str) -> str:
    return key.replace("_", " ")


def _called(value: Any, names: dict[str, str]) -> str:
    if isinstance(value, str):
        if value in _DAYS:
            return _DAYS[value]
        day = _date(value)
        if day is not None:
            return day
        return f'"{_short(names.get(value, value))}"'
    return _shown(value, names)


def _shown(value: Any, names: dict[str, str]) -> str:
    if value is _GONE or value is None or value in ("", []):
        return "nothing"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:.6g}"
    if isinstance(value, str):
        return _date(value) or f'"{_short(value)}"'
    if isinstance(value, dict) and {"likely", "high"} <= set(value):
        return f"{_shown(value['likely'], names)} to {_shown(value['high'], names)}"
    texts = [part for part in value if isinstance(part, str)] if isinstance(value, list) else []
    if texts and len(texts) == len(value):
        return ", ".join(_short(names.get(part, part)) for part in texts[:6]) + (" …" if len(texts) > 6 else "")
    return shorten(value)


def _short(text: str) -> str:
    text = " ".join(text[:200].split())
    return text if len(text) <= 60 else text[:59] + "…"


def _date(text: str) -> str | None:
    if len(text) != 10:
        return None
    try:
        day = dt.date.fromisoformat(text)
    except ValueError:
        return None
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"
