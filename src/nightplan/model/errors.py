# SPDX-License-Identifier: GPL-3.0-or-later
"""The two exceptions that the layers above turn into words and exit codes."""

from __future__ import annotations

from nightplan.speech import tr


class NightplanError(Exception):
    """Base of every error that nightplan raises on purpose."""


class BadInput(NightplanError):
    """Input that cannot be used: one sentence naming the place, the value and what is accepted."""

    def __init__(self, sentence: str, *, more: tuple[str, ...] = ()) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        #: further sentences about the same input, for a window that can show a list
        self.more = more

    @classmethod
    def at(cls, place: str, value: object, rule: str) -> BadInput:
        """``place = value: rule``; long values are shortened."""
        shown = shorten(value)
        return cls(f"{place} = {shown}: {rule}" if place else f"{shown}: {rule}")


class Cancelled(NightplanError):
    """Raised out of a long computation when the caller's ``progress`` asked it to stop."""


def shorten(value: object, limit: int = 60) -> str:
    """A value as one line of at most ``limit`` characters, strings in quotes."""
    if isinstance(value, str):
        # slice before repr: a hostile value may be megabytes long
        text = repr(value[: limit + 1])
    elif isinstance(value, (dict, list, tuple, set)):
        n = len(value)
        # translators: what a file holds in one place, for example "list of 3"
        text = tr("object of {n}", n=n) if isinstance(value, dict) else tr("list of {n}", n=n)
    else:
        text = str(value)
    text = " ".join(text.split())
    return text if len(text) <= limit else text[: limit - 1] + "…"
