# SPDX-License-Identifier: GPL-3.0-or-later
"""Dates and numbers as the artist's language writes them; English by ourselves, others by Unicode CLDR (Babel)."""

from __future__ import annotations

import datetime as dt

from nightplan.speech.texts import language, locale

_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_LONG_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
#: English without a country: days before months and weeks that begin on Monday, as dates are written here
_HOMES = {"en": "en_GB", "de": "de_DE", "es": "es_ES", "ja": "ja_JP"}
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def weekday(day: dt.date | int) -> str:
    """``Tue``; of a date, or 0 for Monday."""
    n = day if isinstance(day, int) else day.weekday()
    if language() == "en":
        return _DAYS[n]
    from babel.dates import get_day_names

    return str(get_day_names("abbreviated", context="stand-alone", locale=_babel())[n])


def long_weekday(day: dt.date | int) -> str:
    """``Tuesday``; of a date, or 0 for Monday."""
    n = day if isinstance(day, int) else day.weekday()
    if language() == "en":
        return _LONG_DAYS[n]
    from babel.dates import get_day_names

    return str(get_day_names("wide", context="stand-alone", locale=_babel())[n])


def month(of: dt.date | int) -> str:
    """``Oct``; of a date, or 1 for January."""
    n = of if isinstance(of, int) else of.month
    if language() == "en":
        return _MONTHS[n - 1]
    from babel.dates import get_month_names

    return str(get_month_names("abbreviated", context="stand-alone", locale=_babel())[n])


def date(day: dt.date, *, year: bool = False, weekday: bool = True) -> str:
    """``Tue 12 Oct``, ``Tue 12 Oct 2027``, ``12 Oct``."""
    if language() == "en":
        text = f"{day.day} {_MONTHS[day.month - 1]}"
        text = f"{_DAYS[day.weekday()]} {text}" if weekday else text
        return f"{text} {day.year}" if year else text
    from babel.dates import format_skeleton

    return format_skeleton(f"{'y' if year else ''}MMM{'E' if weekday else ''}d", day, locale=_babel())


def decimal(value: float, digits: int, *, least: int | None = None) -> str:
    """``2.5``, with a true minus sign and no ``-0.0``.

    Args:
        digits: behind the point.
        least: zeros at the end are dropped down to so many; all are kept unless given.
    """
    text = f"{abs(round(value, digits)):.{digits}f}"
    if least is not None and digits > least:
        whole, _point, part = text.partition(".")
        part = part[:least] + part[least:].rstrip("0")
        text = f"{whole}.{part}" if part else whole
    if language() not in ("en", "ja"):
        from babel.numbers import get_decimal_symbol

        text = text.replace(".", get_decimal_symbol(_babel()))
    return f"−{text}" if round(value, digits) < 0 else text


def whole(value: int) -> str:
    """``20,000``: thousands set apart as the language does."""
    if language() in ("en", "ja"):
        return f"{value:,}"
    from babel.numbers import format_decimal

    return format_decimal(value, locale=_babel())


def first_weekday() -> int:
    """0 for Monday; the country's first day of the week, Monday where no country is known (ISO 8601)."""
    if home() == "en_GB":
        return 0
    from babel import Locale

    return int(Locale.parse(_babel()).first_week_day)


def week() -> tuple[int, ...]:
    """The days of a week in the country's order, 0 for Monday."""
    first = first_weekday()
    return tuple((first + n) % 7 for n in range(7))


def home() -> str:
    """Language and country; a language without its country has the dates and the week of its first home."""
    return locale() if "_" in locale() else _HOMES[language()]


def _babel() -> str:
    """The locale, or its language's first home where Babel does not know it."""
    from babel import Locale, UnknownLocaleError

    try:
        Locale.parse(home())
    except (UnknownLocaleError, ValueError):
        return _HOMES[language()]
    return home()
