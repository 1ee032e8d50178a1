# SPDX-License-Identifier: GPL-3.0-or-later
"""What changed between two states of a project, in lines that a person can read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Any

from nightplan.actions.differences_words import key_words, value_words
from nightplan.model.errors import shorten
from nightplan.model.parse import project_to_raw
from nightplan.model.project import DAYS, Project
from nightplan.speech import mark, tr, trc, trn
from nightplan.speech.dates import date, decimal, long_weekday

#: list of the file -> (what one entry is called, the keys that name it, the key that shows it)
_LISTS: dict[str, tuple[str, tuple[str, ...], str]] = {
    "gates": (mark("gate {name}"), ("id",), "name"),
    "stages": (mark("stage {name}"), ("id",), "name"),
    "items": (mark("item {name}"), ("id",), "name"),
    "jobs": (mark("machine job {name}"), ("id",), "name"),
    "machines": (mark("machine {name}"), ("name",), "name"),
    "log": (mark("evening of {name}"), ("evening",), "evening"),
    "changes": (mark("evening of {name}"), ("on",), "on"),
    "extra": (mark("extra evening of {name}"), ("on", "start"), "on"),
    "off": (mark("days off from {name}"), ("from", "to"), "from"),
    "week": (mark("evening of the week {name}"), ("day", "start"), "day"),
    "deliverables": (mark("deliverable {name}"), ("id",), "name"),
    "assets": (mark("asset {name}"), ("id",), "title"),
    "work": (mark("work on {name}"), ("item",), "item"),
}
#: lists that are kept for looking back: their number says enough; so many more, so many fewer, others
_COUNTED: dict[str, tuple[Callable[[int], str], Callable[[int], str], str]] = {
    "forecasts": (
        lambda n: trn("{n} stored forecast more", "{n} stored forecasts more", n),
        lambda n: trn("{n} stored forecast fewer", "{n} stored forecasts fewer", n),
        tr("stored forecasts changed"),
    ),
    "baselines": (
        lambda n: trn("{n} baseline more", "{n} baselines more", n),
        lambda n: trn("{n} baseline fewer", "{n} baselines fewer", n),
        tr("baselines changed"),
    ),
    "replans": (
        lambda n: trn("{n} re-plan more", "{n} re-plans more", n),
        lambda n: trn("{n} re-plan fewer", "{n} re-plans fewer", n),
        tr("re-plans changed"),
    ),
    "busy": (
        lambda n: trn("{n} busy time more", "{n} busy times more", n),
        lambda n: trn("{n} busy time fewer", "{n} busy times fewer", n),
        tr("busy times changed"),
    ),
}
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
            old, new = (_shown(value_words(key, v) if isinstance(v, str) else v, names) for v in (one, two))
            # translators: "likely 2 → 3"
            yield _line(of, tr("{key} {old} → {new}", key=key_words(key), old=old, new=new))


def _list(
    before: dict[tuple[Any, ...], Any], after: dict[tuple[Any, ...], Any], key: str, of: str, names: dict[str, str]
) -> Iterator[str]:
    sort, _keys, shown = _LISTS[key]
    for name in [*after, *(n for n in before if n not in after)]:
        entry: dict[str, Any] = after[name] if name in after else before[name]
        called = tr(sort, name=_called(entry.get(shown, name[0]), names))
        if of and key == "work":
            # translators: "evening of 12 Oct 2027, work on Boards"
            called = tr("{evening}, {work}", evening=of, work=called)
        if name not in before:
            yield _line(called, _what(after[name], key) or tr("added"))
        elif name not in after:
            yield _line(called, tr("taken out"))
        else:
            yield from _object(before[name], after[name], called, names)
    stayed = [n for n in before if n in after]
    if stayed != [n for n in after if n in before]:
        yield _line(of, tr("order of {list} changed", list=key_words(key)))


def _what(entry: dict[str, Any], key: str) -> str:
    """What a new entry says, where its name alone says little."""
    if key == "log":
        if entry.get("happened", True):
            return tr("ticked off, {hours} h", hours=_shown(entry.get("hours"), {}))
        return tr("ticked off, missed")
    if key == "changes" and entry.get("lost"):
        return trc("of an evening", "lost")
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
    more, fewer, others = _COUNTED[key]
    if before == after:
        return _line(of, others)
    return _line(of, more(after - before) if after > before else fewer(before - after))


def _line(of: str, text: str) -> str:
    # translators: what it is about, and what changed: "item Boards: likely 2 → 3"
    return tr("{what}: {change}", what=of, change=text) if of else text


def _called(value: Any, names: dict[str, str]) -> str:
    if isinstance(value, str):
        if value in DAYS:
            return long_weekday(DAYS.index(value))
        day = _date(value)
        if day is not None:
            return day
        return f'"{_short(names.get(value, value))}"'
    return _shown(value, names)


def _shown(value: Any, names: dict[str, str]) -> str:
    if value is _GONE or value is None or value in ("", []):
        return tr("nothing")
    if isinstance(value, bool):
        return tr("yes") if value else tr("no")
    if isinstance(value, (int, float)):
        return _number(value)
    if isinstance(value, str):
        return _date(value) or f'"{_short(value)}"'
    if isinstance(value, dict) and {"likely", "high"} <= set(value):
        return tr("{low} to {high}", low=_shown(value["likely"], names), high=_shown(value["high"], names))
    texts = [part for part in value if isinstance(part, str)] if isinstance(value, list) else []
    if texts and len(texts) == len(value):
        return ", ".join(_short(names.get(part, part)) for part in texts[:6]) + (" …" if len(texts) > 6 else "")
    return shorten(value)


def _number(value: float) -> str:
    """To six figures."""
    text = f"{value:.6g}"
    # what is not a plain number stays as it is
    return text if set(text) & set("ein") else decimal(value, len(text.partition(".")[2]))


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
    return date(day, year=True, weekday=False)
