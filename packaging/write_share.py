# SPDX-License-Identifier: GPL-3.0-or-later
"""Write the manual page and the completions from the command line's own help: ``python packaging/write_share.py``.

What is written lies in ``assets/share``, so that installing needs none of this; a test compares it with
the help of today.
"""

from __future__ import annotations

import argparse
import os
import textwrap
from collections.abc import Iterable
from pathlib import Path
from xml.etree import ElementTree

# the files are in the words of the source, whoever writes them
os.environ.update(LANGUAGE="en", LC_ALL="C.UTF-8", LANG="C.UTF-8")

from nightplan import __version__
from nightplan.cli.completion import Offer, Verb, verbs, without_verb
from nightplan.cli.completion_shells import script

SHARE = Path(__file__).resolve().parents[1] / "assets" / "share"
MAN = "man/man1/nightplan.1"
METAINFO = "metainfo/org.nightplan.Nightplan.metainfo.xml"
COMPLETIONS = {
    "bash": "bash-completion/completions/nightplan",
    "zsh": "zsh/site-functions/_nightplan",
    "fish": "fish/vendor_completions.d/nightplan.fish",
}

_ABOUT = """\
.B nightplan
turns the brief of a contest or personal 3D piece, the evenings that really
exist and the stages of the work into a plan with a personal lock before the
hand\\-in and a buffer before each, and says the odds of both.
Without a verb it opens the program; the verbs below do the same work in a
terminal and need no screen.
.PP
A project is one file, whose name ends in
.IR .nightplan .
Every verb takes
.B \\-\\-json
for programs.
"""

_END = """\
.SH EXIT STATUS
.TP
.B 0
good
.TP
.B 1
the answer is no: a rule of the brief is broken or open, or the odds asked for
are not reached
.TP
.B 2
the input is bad; one sentence on standard error says where and what is
accepted
.TP
.B 3
a fault of the program; the details are in the log
.TP
.BR 130 ", " 143
ended by a signal (128 and its number); what was not saved is kept aside and
offered at the next start
.SH ENVIRONMENT
.TP
.B NIGHTPLAN_LOG_DIR
folder of the log of faults, in place of the usual one
.TP
.B QT_QPA_PLATFORM
how the window is shown;
.I offscreen
needs no screen
.SH EXAMPLES
.TP
.B nightplan sample
copy the sample projects and open the first
.TP
.B nightplan odds piece.nightplan
how likely the lock and the hand-in are
.TP
.B nightplan tick piece.nightplan 2027-10-24 \\-\\-hours 2.5 \\-\\-done rig
record an evening and hear the new odds
.TP
.B nightplan completion bash
print the completion for a shell
.SH NOTES
Odds are a weather report from your own numbers, no promise.
The organiser's rules go first.
Sleep is no buffer: nothing is ever proposed past your bedtime.
Nothing leaves your machine.
.SH COPYING
GNU General Public License, version 3 or later. There is no warranty.
"""


def manual() -> str:
    """The manual page, in man(7) macros."""
    release = ElementTree.parse(SHARE / METAINFO).getroot().find("releases/release")
    assert release is not None
    top, all_verbs = without_verb(), verbs()
    lines = [
        ".\\\" Written by packaging/write_share.py from the program's own help; changes belong there.",
        f'.TH NIGHTPLAN 1 "{release.get("date")}" "nightplan {__version__}" "User commands"',
        ".SH NAME",
        "nightplan \\- plan a 3D piece into the evenings that really exist",
        ".SH SYNOPSIS",
        *_synopsis(top),
        *(line for verb in all_verbs for line in (".br", *_synopsis(verb))),
        ".SH DESCRIPTION",
        _ABOUT.rstrip("\n"),
        ".SH OPTIONS",
        *_listed((*top.places, *top.options)),
        ".SH VERBS",
    ]
    for verb in all_verbs:
        lines += [f".SS {_roff(verb.name)}", _roff(verb.help)]
        # said once above for all of them
        lines += _listed(
            o for o in (*verb.places, *verb.options) if not {"--json", "--help"} & set(o.names) and (o.names or o.help)
        )
    return "\n".join(lines) + "\n" + _END


def _roff(text: str) -> str:
    """Text that no macro or escape of roff begins in."""
    text = text.replace("\\", "\\e").replace("-", "\\-").replace("'", "\\(aq").replace("`", "\\(ga")
    text = text.replace("^", "\\(ha").replace("~", "\\(ti").replace('"', "\\(dq")
    text = "".join(c if ord(c) < 128 else f"\\[u{ord(c):04X}]" for c in text)
    lines = textwrap.wrap(text, 79, break_long_words=False, break_on_hyphens=False)
    # a line that begins with a full stop would be a request
    return "\n".join(f"\\&{line}" if line.startswith(".") else line for line in lines)


def _synopsis(verb: Verb) -> list[str]:
    said = [f".B nightplan {_roff(verb.name)}".rstrip()]
    for offer in verb.options:
        if "--help" in offer.names or "--json" in offer.names:
            continue
        # the long name says more
        name = f"\\fB{_roff(offer.names[-1])}\\fR" + (f" \\fI{_roff(offer.value)}\\fR" if offer.value else "")
        said.append(name if offer.required else f"[{name}]")
    for offer in verb.places:
        name = f"\\fI{_roff(offer.value)}\\fR" + (" ..." if offer.repeats else "")
        said.append(name if offer.required else f"[{name}]")
    return said


def _listed(offers: Iterable[Offer]) -> list[str]:
    lines = []
    for offer in offers:
        if offer.names:
            names = ", ".join(f"\\fB{_roff(name)}\\fR" for name in offer.names)
            lines += [".TP", names + (f" \\fI{_roff(offer.value)}\\fR" if offer.value else "")]
        else:
            lines += [".TP", f"\\fI{_roff(offer.value)}\\fR"]
        lines.append(_roff(offer.help) or _roff(offer.value))
    return lines


def texts() -> dict[str, str]:
    """Path below ``assets/share`` -> text."""
    return {MAN: manual()} | {path: script(shell) for shell, path in COMPLETIONS.items()}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split(":")[0])
    parser.add_argument("--to", type=Path, default=SHARE, metavar="FOLDER", help="where to; assets/share unless given")
    folder = parser.parse_args().to
    for name, text in texts().items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8", newline="\n")
        print(path)


if __name__ == "__main__":
    main()
