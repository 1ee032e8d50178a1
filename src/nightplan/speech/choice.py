# SPDX-License-Identifier: GPL-3.0-or-later
"""Which language: what the environment says, what the artist chose, what the system speaks, in this order."""

from __future__ import annotations

import contextlib
import locale
import os
from collections.abc import Mapping
from pathlib import Path

from nightplan.speech.texts import LANGUAGES, MARKED, VARIABLE

#: as Windows names them
_NAMES = {"english": "en", "german": "de", "spanish": "es", "japanese": "ja"}


def wanted(environment: Mapping[str, str], kept: str | None) -> str:
    """A locale of a language that we have: ``de_AT``, ``en``.

    Args:
        environment: variables; the program's own comes before the artist's choice, the system's after it.
        kept: the artist's choice.
    """
    system = locale.getlocale()[0] or ""
    system = _NAMES.get(system.split("_")[0].lower(), system)
    # the order of POSIX
    spoken = next((environment[v] for v in ("LC_ALL", "LC_MESSAGES", "LANG") if environment.get(v)), system)
    for name in (environment.get(VARIABLE), kept, spoken):
        if name and name.replace("-", "_").split("_")[0].split(".")[0].lower() in (*LANGUAGES, MARKED):
            return name
    return "en"


def place() -> Path:
    """Where the choice is kept: the person's folder of settings."""
    given = os.environ.get("NIGHTPLAN_SETTINGS")
    if given:
        return Path(given) / "language"
    from platformdirs import user_config_path

    return user_config_path("nightplan", appauthor=False) / "language"


def kept() -> str | None:
    """The artist's choice; None where there is none or it cannot be read."""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        code = place().read_text("ascii").strip()
        return code if code in LANGUAGES else None
    return None


def keep(code: str | None) -> None:
    """Remember a choice for the next start; None goes with the system. Raises OSError."""
    where = place()
    if code is None:
        where.unlink(missing_ok=True)
        return
    where.parent.mkdir(parents=True, exist_ok=True)
    where.write_text(f"{code}\n", "ascii")
