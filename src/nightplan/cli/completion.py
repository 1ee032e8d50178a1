# SPDX-License-Identifier: GPL-3.0-or-later
"""What a shell may offer after ``nightplan``, read from the verbs' own arguments."""

from __future__ import annotations

import argparse
import io
from dataclasses import dataclass
from typing import Literal

from nightplan.cli.main import VERBS, desk_parser, verb_parser
from nightplan.speech import tr

#: a project's file · any file or folder · a folder · one of ``Offer.words`` · something typed · no value at all
Kind = Literal["project", "file", "folder", "words", "typed", "none"]


@dataclass(frozen=True, slots=True)
class Offer:
    """What can stand in one place."""

    kind: Kind
    #: what it is, in one line
    help: str
    #: of an option, as it is typed: ``--json``, or ``-h`` and ``--help``
    names: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    #: the value's name in the help
    value: str = ""
    #: may stand there again and again
    repeats: bool = False
    #: must be given
    required: bool = False


@dataclass(frozen=True, slots=True)
class Verb:
    """One verb; the name is empty for the call without one."""

    name: str
    help: str
    places: tuple[Offer, ...]
    options: tuple[Offer, ...]


def verbs() -> tuple[Verb, ...]:
    """Every verb, in the order of the help."""
    return tuple(_verb(name, verb_parser(name, io.StringIO())) for name in VERBS)


def without_verb() -> Verb:
    """The call that opens the program."""
    return _verb("", desk_parser(io.StringIO()))


def _verb(name: str, parser: argparse.ArgumentParser) -> Verb:
    # the parser's own list: what --help prints differs between versions of Python, this does not
    offers = [_offer(name, action) for action in parser._actions]
    return Verb(
        name,
        parser.description or "",
        tuple(o for o in offers if not o.names),
        tuple(o for o in offers if o.names),
    )


def _offer(verb: str, action: argparse.Action) -> Offer:
    value = action.metavar if isinstance(action.metavar, str) else action.dest.upper()
    help_text = (action.help or "").replace("%%", "%")
    if isinstance(action, argparse._HelpAction):
        help_text = tr("print the help")
    words = tuple(str(c) for c in action.choices or ()) or _known(verb, action.dest)
    takes_none = bool(action.option_strings) and action.nargs == 0
    kind: Kind = "none" if takes_none else "words" if words else _kind(action, value)
    return Offer(
        kind,
        help_text,
        tuple(action.option_strings),
        words,
        "" if takes_none else value,
        action.nargs in ("+", "*") or isinstance(action, argparse._AppendAction),
        action.required,
    )


def _kind(action: argparse.Action, value: str) -> Kind:
    if value in ("FOLDER", "DIR"):
        return "folder"
    if value == "FILE" and (not action.option_strings or action.dest == "project"):
        return "project"
    return "file" if value in ("FILE", "PATH") else "typed"


def _known(verb: str, dest: str) -> tuple[str, ...]:
    """Values of arguments that say in a sentence of their own what they accept, and so have no ``choices``."""
    from nightplan.actions.leaving import LOOKS, PARTS
    from nightplan.actions.templates import TEMPLATES
    from nightplan.cli.verbs.completion import SHELLS

    known: dict[tuple[str, str], tuple[str, ...]] = {
        ("new", "piece"): tuple(TEMPLATES),
        ("export", "what"): tuple(sorted({part for parts in PARTS.values() for part in parts})),
        ("export", "paper"): ("a4", "letter"),
        ("export", "look"): tuple(LOOKS),
        ("completion", "shell"): SHELLS,
    }
    return known.get((verb, dest), ())
