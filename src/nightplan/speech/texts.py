# SPDX-License-Identifier: GPL-3.0-or-later
"""Texts and their translations (GNU gettext catalogues, by the standard library)."""

from __future__ import annotations

import gettext
import os
from typing import Any

#: code -> the language's own name
LANGUAGES = {"en": "English", "de": "Deutsch", "es": "Español", "ja": "日本語"}
#: marks every text that goes through here, to find those that do not
MARKED = "qps"
DOMAIN = "nightplan"
#: also read by worker processes, which begin anew
VARIABLE = "NIGHTPLAN_LANGUAGE"


class _Marked(gettext.NullTranslations):
    def gettext(self, message: str) -> str:
        return f"⟦{message}⟧"

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return f"⟦{msgid1 if n == 1 else msgid2}⟧"

    def pgettext(self, context: str, message: str) -> str:
        return f"⟦{message}⟧"


class _Spoken:
    locale = "en"
    texts: gettext.NullTranslations = gettext.NullTranslations()


def language() -> str:
    """Two letters: ``en``, ``de``, ``es``, ``ja``."""
    return _Spoken.locale.split("_")[0]


def locale() -> str:
    """Language and, where it is known, country: ``de_AT``."""
    return _Spoken.locale


def use(wanted: str) -> None:
    """Speak this language from now on; English where there is no catalogue for it.

    Texts of modules that were loaded before stay as they are: call it first.

    Args:
        wanted: ``de``, ``de_AT``, ``de-AT``, ``de_AT.UTF-8`` alike.
    """
    code = wanted.split(".")[0].split("@")[0].replace("-", "_")
    short = code.split("_")[0].lower()
    if short == MARKED:
        _Spoken.locale, _Spoken.texts = "en", _Marked()
    elif short == "en" or short not in LANGUAGES:
        _Spoken.locale, _Spoken.texts = code if short == "en" else "en", gettext.NullTranslations()
    else:
        from importlib.resources import files

        with (files("nightplan.speech") / "catalogues" / short / "LC_MESSAGES" / f"{DOMAIN}.mo").open("rb") as file:
            _Spoken.texts = gettext.GNUTranslations(file)
        _Spoken.locale = code
    os.environ[VARIABLE] = wanted


def tr(text: str, /, **values: Any) -> str:
    """The text in the artist's language, with ``{name}`` filled in where values are given."""
    return _filled(_Spoken.texts.gettext(text) if text else "", text, values)


def trn(one: str, several: str, n: int, /, **values: Any) -> str:
    """The text for so many: ``trn("{n} evening", "{n} evenings", n)``; ``{n}`` is filled in by itself."""
    english = one if n == 1 else several
    return _filled(_Spoken.texts.ngettext(one, several, n), english, {"n": n} | values)


def trc(context: str, text: str, /, **values: Any) -> str:
    """A text that means two things in English and is told apart by its context, a word for the translator."""
    return _filled(_Spoken.texts.pgettext(context, text), text, values)


def mark(text: str) -> str:
    """A text that is translated later, by ``tr``: for tables of words. Stays as it is."""
    return text


def _filled(said: str, english: str, values: dict[str, Any]) -> str:
    if not values:
        return said
    try:
        return said.format(**values)
    except (KeyError, IndexError, ValueError):
        # a slip in a catalogue may not take the sentence
        return english.format(**values)


if os.environ.get(VARIABLE):
    use(os.environ[VARIABLE])
