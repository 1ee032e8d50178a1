# SPDX-License-Identifier: GPL-3.0-or-later
"""From arguments to a verb, and from its outcome to an exit code."""

from __future__ import annotations

import argparse
import contextlib
import datetime as dt
import importlib
import os
import sys
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NoReturn, TextIO

from nightplan.cli import argparse_words
from nightplan.cli.context import BAD_INPUT, OUR_FAULT, Context, screen_is_there
from nightplan.cli.words import plain
from nightplan.files.errors import os_words
from nightplan.model.errors import BadInput, Cancelled, NightplanError, shorten
from nightplan.speech import LANGUAGES, tr

VERBS = (
    "sample",
    "new",
    "plan",
    "odds",
    "tick",
    "recover",
    "check",
    "nights",
    "export",
    "lookback",
    "completion",
    "desktop-entry",
)


argparse_words.speak()


class _Refused(Exception):
    """The arguments are off; the sentence says how."""


class _Parser(argparse.ArgumentParser):
    def __init__(self, *args: Any, out: TextIO, **keys: Any) -> None:
        super().__init__(*args, **keys)
        self.out = out

    def _print_message(self, message: str, file: Any = None) -> None:
        # help goes where the answer would have gone
        self.out.write(message)

    def error(self, message: str) -> NoReturn:
        raise _Refused(tr("{fault}; see {program} --help", fault=message, program=self.prog))


def main(argv: Sequence[str], out: TextIO, err: TextIO, context: Context | None = None) -> int:
    """Run one call and return its exit code; whatever happens, no traceback is shown.

    Args:
        argv: arguments without the program's name.
    """
    context = context or Context(out, dt.date.today, screen_is_there(), versions=_versions)
    try:
        return _dispatch(list(argv), context)
    except _Helped:
        return 0
    except _Refused as refused:
        return _say(err, str(refused), BAD_INPUT)
    except BadInput as error:
        return _say(err, error.sentence, BAD_INPUT)
    except Cancelled:
        return _say(err, tr("stopped"), BAD_INPUT)
    except NightplanError as error:
        return _say(err, str(error), BAD_INPUT)
    except BrokenPipeError:
        # whoever read our output has seen enough
        return 0
    except OSError as error:
        # files are read and saved with better sentences; what is left is the stream that the answer goes to
        return _say(err, tr("the answer could not be written: {fault}", fault=os_words(error)), BAD_INPUT)
    except KeyboardInterrupt:
        return _say(err, tr("stopped"), 130)
    except Exception as error:
        fault = f"{type(error).__name__}: {shorten(str(error), 200)}"
        path = _log()
        if path is None:
            return _say(err, tr("a fault of ours: {fault}", fault=fault), OUR_FAULT)
        return _say(err, tr("a fault of ours: {fault} (details in {path})", fault=fault, path=path), OUR_FAULT)


def _versions() -> Path:
    # only a verb that saves needs it
    from nightplan.files.versions import default_folder

    return default_folder()


def run() -> NoReturn:
    """Entry point of the installed command."""
    for stream in (sys.stdout, sys.stderr):
        # a terminal that cannot show a letter shows a stand-in, no fault
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    code = main(sys.argv[1:], sys.stdout, sys.stderr)
    try:
        sys.stdout.flush()
    except (BrokenPipeError, ValueError):
        _drop_the_rest()
    except OSError as error:
        code = _say(sys.stderr, tr("the answer could not be written: {fault}", fault=os_words(error)), BAD_INPUT)
        _drop_the_rest()
    sys.exit(code)


def _drop_the_rest() -> None:
    """Let what is still in the buffer go nowhere, or the interpreter complains about it as it ends."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _say(err: TextIO, sentence: str, code: int) -> int:
    err.write(f"nightplan: {plain(' '.join(sentence.split()))}\n")
    return code


def _log() -> str | None:
    """Write the traceback to the log; its path, None where it could not be written."""
    try:
        folder = os.environ.get("NIGHTPLAN_LOG_DIR")
        if folder is None:
            from platformdirs import user_log_dir

            folder = user_log_dir("nightplan", appauthor=False)
        os.makedirs(folder, exist_ok=True)
        path = os.path.join(folder, "faults.log")
        # faults are rare; the file that grows without end is a fault of its own
        grown = os.path.exists(path) and os.path.getsize(path) > 1_000_000
        with open(path, "w" if grown else "a", encoding="utf-8", errors="backslashreplace") as file:
            file.write(traceback.format_exc() + "\n")
    except OSError:
        return None
    return path


def _dispatch(argv: list[str], context: Context) -> int:
    verb = argv[0] if argv else None
    if verb in VERBS:
        code: int = _module(verb).run(_parse(verb_parser(verb, context.out), argv[1:]), context)
        return code
    return _desk(argv, context)


def _module(verb: str) -> Any:
    return importlib.import_module(f"nightplan.cli.verbs.{verb.replace('-', '_')}")


def verb_parser(verb: str, out: TextIO) -> argparse.ArgumentParser:
    """The arguments of one verb; help goes to ``out``."""
    module = _module(verb)
    parser = _Parser(prog=f"nightplan {verb}", description=module.HELP, allow_abbrev=False, out=out)
    module.arguments(parser)
    parser.add_argument("--json", action="store_true", help=tr("print JSON for programs"))
    return parser


def desk_parser(out: TextIO) -> argparse.ArgumentParser:
    """The arguments without a verb."""
    from nightplan import __version__

    parser = _Parser(
        prog="nightplan",
        description=tr("Plans a piece into the evenings that really exist. Without a verb it opens the program."),
        epilog=tr("verbs: {verbs}; each has its own --help", verbs=", ".join(VERBS)),
        allow_abbrev=False,
        out=out,
    )
    parser.add_argument("file", nargs="?", metavar="FILE", help=tr("a .nightplan file to open, or a verb"))
    # taken off before; here so that it is told of, and refused with one sentence
    parser.add_argument(
        "--language", choices=tuple(LANGUAGES), help=tr("the language to speak; comes before anything else")
    )
    parser.add_argument(
        "--throw-away-profile",
        action="store_true",
        help=tr(
            "open the program with fresh settings, and forget them, unsaved changes and earlier versions at the end"
        ),
    )
    parser.add_argument("--version", action="version", version=f"nightplan {__version__}", help=tr("print the version"))
    return parser


def _parse(parser: argparse.ArgumentParser, argv: list[str]) -> Any:
    try:
        return parser.parse_args(argv)
    except SystemExit as stop:
        # --help has printed; an error comes as _Refused
        if stop.code:
            raise _Refused(tr("the arguments are off")) from None
        raise _Helped from None


class _Helped(Exception):
    pass


def _desk(argv: list[str], context: Context) -> int:
    options = _parse(desk_parser(context.out), argv)
    if options.file is not None and not options.file.endswith(".nightplan") and not os.path.exists(options.file):
        raise _Refused(
            tr("{text} is neither a verb ({verbs}) nor a file", text=shorten(options.file), verbs=", ".join(VERBS))
        )
    from nightplan.cli.desk import open_desk

    return open_desk(options.file, context, throw_away=options.throw_away_profile)
