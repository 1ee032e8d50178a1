# SPDX-License-Identifier: GPL-3.0-or-later
"""What the standard library's reader of arguments says by itself, in the artist's language."""

from __future__ import annotations

import argparse

from nightplan.speech import mark, tr, trn

#: its texts that a call can meet (CPython 3.11 to 3.14), to be found by translators
TEXTS = (
    # translators: these texts are of the command line; keep %s and %(name)s as they are
    mark("usage: "),
    mark("positional arguments"),
    mark("options"),
    mark("show this help message and exit"),
    mark("show program's version number and exit"),
    mark("%(heading)s:"),
    mark("argument %(argument_name)s: %(message)s"),
    mark("the following arguments are required: %s"),
    mark("one of the arguments %s is required"),
    mark("unrecognized arguments: %s"),
    mark("not allowed with argument %s"),
    mark("ambiguous option: %(option)s could match %(matches)s"),
    mark("expected one argument"),
    mark("expected at most one argument"),
    mark("expected at least one argument"),
    mark("ignored explicit argument %r"),
    mark("invalid %(type)s value: %(value)r"),
    mark("invalid choice: %(value)r (choose from %(choices)s)"),
    mark("invalid choice: %(value)r, maybe you meant %(closest)r? (choose from %(choices)s)"),
    mark("unexpected option string: %s"),
)


def speak() -> None:
    """Let argparse ask us; it knows only the machine's own catalogues, which seldom have its texts."""
    vars(argparse).update(_=tr, ngettext=_counted)


def _counted(one: str, several: str, n: int) -> str:
    if one == "expected %s argument":
        return trn("expected %s argument", "expected %s arguments", n)
    return one if n == 1 else several
