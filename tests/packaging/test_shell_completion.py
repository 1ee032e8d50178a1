# SPDX-License-Identifier: GPL-3.0-or-later
"""Completion, asked of the shells themselves. What is right is what the verbs' own parsers accept."""

from __future__ import annotations

import datetime as dt
import io
import json
import os
import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from nightplan.actions.leaving import LOOKS, PARTS
from nightplan.actions.templates import TEMPLATES
from nightplan.cli import completion
from nightplan.cli.completion_shells import script
from nightplan.cli.context import Context
from nightplan.cli.main import VERBS, main
from nightplan.cli.verbs.completion import SHELLS
from nightplan.speech import LANGUAGES

bash = pytest.mark.skipif(shutil.which("bash") is None, reason="bash is not installed")
fish = pytest.mark.skipif(shutil.which("fish") is None, reason="fish is not installed")
zsh = pytest.mark.skipif(shutil.which("zsh") is None, reason="zsh is not installed")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a project, a picture, a folder and a name with a space."""
    for name in ("piece.nightplan", "the moth.nightplan", "frame.png"):
        (tmp_path / name).write_text("{}", encoding="utf-8")
    (tmp_path / "past").mkdir()
    return tmp_path


def run(*command: str, folder: Path) -> str:
    env = {**os.environ, "HOME": str(folder / "past"), "LC_ALL": "C.UTF-8"}
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=60, env=env)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return done.stdout


def in_bash(folder: Path, *words: str) -> set[str]:
    """What bash offers for the last word."""
    (folder / "past" / "completion").write_text(script("bash"), encoding="utf-8")
    said = " ".join(shlex.quote(w) for w in ("nightplan", *words))
    ask = (
        f"source past/completion; COMP_WORDS=({said}); COMP_CWORD={len(words)}; _nightplan; "
        'if [ "${#COMPREPLY[@]}" -gt 0 ]; then printf "%s\\n" "${COMPREPLY[@]}"; fi'
    )
    return set(run("bash", "--norc", "-c", ask, folder=folder).splitlines())


def in_fish(folder: Path, line: str) -> set[str]:
    """What fish offers for the end of the line."""
    (folder / "past" / "completion").write_text(script("fish"), encoding="utf-8")
    ask = f"source past/completion; complete -C {shlex.quote('nightplan ' + line)}"
    return {said.split("\t")[0] for said in run("fish", "--no-config", "-c", ask, folder=folder).splitlines()}


def in_zsh(folder: Path, line: str) -> str:
    """What zsh shows below the line when Tab is pressed, in a terminal of its own (zsh/zpty)."""
    functions = folder / "past" / "functions"
    functions.mkdir(exist_ok=True)
    (functions / "_nightplan").write_text(script("zsh"), encoding="utf-8")
    ask = f"""
zmodload zsh/zpty
zpty shell "TERM=dumb PS1='READY>' zsh -f -i"
said=''
upto() {{ local part=''; while zpty -r shell part $1; do said+=$part; return; done }}
zpty -w shell "fpath=({functions} \\$fpath); autoload -Uz compinit; compinit -u -d past/dump"
zpty -w shell "LISTMAX=1000; stty columns 200; bindkey '^I' expand-or-complete; echo SET''UP"
# the prompt that follows: from then on the keys go to the line editor
upto '*SETUP*READY>*'
said=''
zpty -w -n shell $'nightplan {line}\\t'
zpty -w -n shell $'\\C-u'
zpty -w shell $'echo EN''D'
upto '*END*'
print -r -- $said
"""
    told = run("zsh", "-f", "-c", ask, folder=folder)
    # what is typed and what is filled in stand side by side, with a bell or a clearing of the line between
    return re.sub(r"\x07|\x1b\[[?0-9;]*[A-Za-z]", "", told)


@pytest.mark.parametrize("shell", SHELLS)
def test_the_verb_prints_the_script(shell: str) -> None:
    out, err = io.StringIO(), io.StringIO()
    assert main(["completion", shell], out, err, Context(out, lambda: pytest.fail("no clock is asked"))) == 0
    assert (out.getvalue(), err.getvalue()) == (script(shell), "")
    as_json = io.StringIO()
    assert main(["completion", shell, "--json"], as_json, err, Context(as_json, lambda: pytest.fail("no clock"))) == 0
    assert json.loads(as_json.getvalue()) == {"shell": shell, "script": script(shell)}


def test_another_shell_is_refused() -> None:
    out, err = io.StringIO(), io.StringIO()
    assert main(["completion", "tortoise"], out, err, Context(out, lambda: pytest.fail("no clock"))) == 2
    assert err.getvalue() == "nightplan: 'tortoise' is no shell that we know; one of: bash, zsh, fish\n"


def test_no_value_is_offered_that_a_verb_refuses(folder: Path) -> None:
    """The words that are listed by hand are those that the verbs accept."""
    worded = [(v.name, o.names[-1], o.words) for v in completion.verbs() for o in v.options if o.kind == "words"]
    assert {(verb, name) for verb, name, _ in worded} == {
        ("new", "--piece"),
        ("export", "--what"),
        ("export", "--paper"),
        ("export", "--look"),
    }
    offered = {name: set(words) for _, name, words in worded}
    assert offered["--piece"] == set(TEMPLATES)
    assert offered["--look"] == set(LOOKS)
    assert offered["--what"] == set().union(*PARTS.values())
    made = folder / "new.nightplan"
    for piece in offered["--piece"]:
        said = ["new", str(made), "--title", "A", "--zone", "UTC", "--announced", "2027-01-01", "--lock", "2027-04-01"]
        said += ["--deadline", "2027-04-10T12:00", "--piece", piece, "--force"]
        out, err = io.StringIO(), io.StringIO()
        assert main(said, out, err, Context(out, lambda: pytest.fail("no clock"))) == 0, err.getvalue()
    for paper in offered["--paper"]:
        said = ["export", str(made), "--to", str(folder / "wall.pdf"), "--what", "wall-sheet", "--paper", paper]
        out, err = io.StringIO(), io.StringIO()
        assert main(said, out, err, Context(out, lambda: dt.date(2027, 1, 2))) == 0, err.getvalue()


@bash
def test_bash_parses_it(folder: Path) -> None:
    (folder / "completion").write_text(script("bash"), encoding="utf-8")
    assert run("bash", "-n", "completion", folder=folder) == ""


@bash
@pytest.mark.skipif(shutil.which("shellcheck") is None, reason="shellcheck is not installed")
def test_shellcheck_has_nothing_to_say(folder: Path) -> None:
    (folder / "completion").write_text(script("bash"), encoding="utf-8")
    assert run("shellcheck", "completion", folder=folder) == ""


@bash
def test_bash_offers_verbs_and_projects_first(folder: Path) -> None:
    assert in_bash(folder, "") == {*VERBS, "piece.nightplan", "the moth.nightplan", "past"}
    assert in_bash(folder, "lo") == {"lookback"}
    assert in_bash(folder, "--v") == {"--version"}


@bash
def test_bash_offers_options_values_and_files_by_place(folder: Path) -> None:
    for verb in completion.verbs():
        names = {name for option in verb.options for name in option.names}
        assert in_bash(folder, verb.name, "-") == names
    assert in_bash(folder, "plan", "") == {"piece.nightplan", "the moth.nightplan", "past"}
    assert in_bash(folder, "plan", "piece.nightplan", "") == set()
    assert in_bash(folder, "check", "piece.nightplan", "fr") == {"frame.png"}
    assert in_bash(folder, "check", "--deep", "piece.nightplan", "frame.png", "p") == {"piece.nightplan", "past"}
    assert in_bash(folder, "export", "piece.nightplan", "--look", "") == {"light", "night", "print"}
    assert in_bash(folder, "export", "piece.nightplan", "--look", "=", "n") == {"night"}
    assert in_bash(folder, "export", "piece.nightplan", "--look", "=") == {"light", "night", "print"}
    assert in_bash(folder, "export", "--look", "night", "pi") == {"piece.nightplan"}
    assert in_bash(folder, "new", "a.nightplan", "--piece", "animated\\ sh") == set()
    assert in_bash(folder, "new", "a.nightplan", "--piece", "anim") == {"animated\\ shot"}
    assert in_bash(folder, "lookback", "--pictures", "") == {"past"}
    assert in_bash(folder, "odds", "piece.nightplan", "--seed", "") == set()
    assert in_bash(folder, "completion", "") == set(SHELLS)
    assert in_bash(folder, "nonsense", "") == set()
    assert in_bash(folder, "--language", "") == in_bash(folder, "--language", "=") == set(LANGUAGES)
    assert in_bash(folder, "--language", "de", "lo") == in_bash(folder, "--language", "=", "de", "lo") == {"lookback"}
    assert in_bash(folder, "--language", "de", "plan", "pi") == {"piece.nightplan"}


@fish
def test_fish_offers_the_same(folder: Path) -> None:
    (folder / "completion").write_text(script("fish"), encoding="utf-8")
    assert run("fish", "-n", "completion", folder=folder) == ""
    assert in_fish(folder, "") == {*VERBS, "piece.nightplan", "the moth.nightplan", "past/"}
    for verb in completion.verbs():
        names = {name for option in verb.options for name in option.names if name.startswith("--")}
        assert in_fish(folder, f"{verb.name} --") == names
    assert in_fish(folder, "plan p") == {"piece.nightplan", "past/"}
    assert in_fish(folder, "check piece.nightplan fr") == {"frame.png"}
    assert in_fish(folder, "export piece.nightplan --look ") == {"light", "night", "print"}
    assert in_fish(folder, "new a.nightplan --piece anim") == {"animated shot"}
    assert in_fish(folder, "lookback --pictures ") == {"past/"}
    assert in_fish(folder, "completion ") == set(SHELLS)
    assert in_fish(folder, "--language ") == set(LANGUAGES)
    assert in_fish(folder, "--language de lo") == {"lookback"}
    assert in_fish(folder, "--language=de completion ") == set(SHELLS)


@zsh
def test_zsh_parses_it(folder: Path) -> None:
    (folder / "completion").write_text(script("zsh"), encoding="utf-8")
    assert run("zsh", "-n", "completion", folder=folder) == ""


@zsh
def test_zsh_completes_verbs_options_and_files(folder: Path) -> None:
    told = in_zsh(folder, "")
    assert all(verb in told for verb in VERBS)
    assert "nightplan lookback " in in_zsh(folder, "lo")
    assert "nightplan plan piece.nightplan " in in_zsh(folder, "plan pi")
    told = in_zsh(folder, "plan ")
    assert "the\\ moth.nightplan" in told
    assert "frame.png" not in told
    assert "check piece.nightplan frame.png" in in_zsh(folder, "check piece.nightplan fr")
    assert "--look night " in in_zsh(folder, "export piece.nightplan --look n")
    assert "--piece animated\\ shot " in in_zsh(folder, "new a.nightplan --piece anim")
    assert "--deliverable" in in_zsh(folder, "check piece.nightplan --")
    assert "--language de lookback " in in_zsh(folder, "--language de lo")
    assert "--language=de completion fish " in in_zsh(folder, "--language=de completion f")
