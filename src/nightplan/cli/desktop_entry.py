# SPDX-License-Identifier: GPL-3.0-or-later
"""The menu entry, icons, file type, manual page and shell completion, laid where a freedesktop.org desktop looks.

Places and names: Desktop Entry Specification, Icon Theme Specification, Shared MIME-info Database, XDG Base Directory
Specification. The files themselves lie in ``assets/share``, laid out like the folder they go to.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

from nightplan.files.data import data_folder
from nightplan.files.errors import cannot_save
from nightplan.files.store import write_atomically
from nightplan.model.errors import BadInput
from nightplan.speech import tr

ENTRY = Path("applications/org.nightplan.Nightplan.desktop")
#: who keeps an index of what lies there, and on which folder it is called
_INDEXES = (("update-mime-database", "mime"), ("update-desktop-database", "applications"))


def share_folder() -> Path:
    """Where this person's desktop looks: ``$XDG_DATA_HOME``, or ``~/.local/share``."""
    named = os.environ.get("XDG_DATA_HOME", "")
    # a relative one is to be ignored (XDG Base Directory Specification)
    return Path(named) if os.path.isabs(named) else Path.home() / ".local" / "share"


def entry_text(program: str) -> str:
    """The menu entry that starts ``program``."""
    text = (data_folder("assets") / "share" / ENTRY).read_text(encoding="utf-8")
    lines = []
    for line in text.splitlines():
        if line.startswith("Exec="):
            line = f"Exec={quoted(program)} %f"
        elif line.startswith("TryExec="):
            line = f"TryExec={escaped(program)}"
        lines.append(line)
    return "\n".join(lines) + "\n"


def escaped(text: str) -> str:
    """A value of type string."""
    return text.replace("\\", "\\\\").replace("\n", "\\n").replace("\t", "\\t")


def quoted(text: str) -> str:
    """One argument of ``Exec``: quoted as that key asks, a per cent sign doubled, then escaped as a string."""
    inner = "".join("\\" + c if c in '"`$\\' else c for c in text)
    return escaped(f'"{inner}"').replace("%", "%%")


def this_program() -> str:
    """The command that runs now, by its whole path where it has one."""
    if getattr(sys, "frozen", False):
        return sys.executable
    said = sys.argv[0] if sys.argv else ""
    if os.path.basename(said) in ("nightplan", "nightplan.exe") and (os.path.dirname(said) or shutil.which(said)):
        return os.path.abspath(said if os.path.dirname(said) else str(shutil.which(said)))
    beside = os.path.join(os.path.dirname(sys.executable), "nightplan")
    return beside if os.path.exists(beside) else "nightplan"


def files(program: str) -> dict[Path, bytes]:
    """What is laid into the folder: path from there -> content."""
    share = data_folder("assets") / "share"
    found = {path.relative_to(share): path.read_bytes() for path in sorted(share.rglob("*")) if path.is_file()}
    found[ENTRY] = entry_text(program).encode()
    return found


def install(folder: Path, program: str) -> list[Path]:
    """Write every file below ``folder``; the paths written. Raises FilesError with the place that refuses."""
    written = []
    for name, content in files(program).items():
        path = folder / name
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise cannot_save(path, error) from None
        write_atomically(path, content)
        written.append(path)
    _renew_indexes(folder)
    return written


def remove(folder: Path) -> list[Path]:
    """Take them away again, and folders that are empty then; the paths removed."""
    removed = []
    for name in files("nightplan"):
        path = folder / name
        try:
            path.unlink()
        except FileNotFoundError:
            continue
        except OSError as error:
            raise BadInput(tr("{path} cannot be removed: {fault}", path=path, fault=error.strerror or error)) from None
        removed.append(path)
    # while the folders are still there: without them the index of file types would keep ours
    _renew_indexes(folder)
    emptied = {parent for path in removed for parent in path.parents if folder in parent.parents}
    for parent in sorted(emptied, key=lambda p: -len(p.parts)):
        with contextlib.suppress(OSError):
            parent.rmdir()
    return removed


def _renew_indexes(folder: Path) -> None:
    for command, name in _INDEXES:
        # a desktop without them reads the files as they are
        if (folder / name).is_dir() and shutil.which(command):
            with contextlib.suppress(OSError, subprocess.TimeoutExpired):
                subprocess.run([command, str(folder / name)], capture_output=True, timeout=60, check=False)
