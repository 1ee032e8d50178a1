# SPDX-License-Identifier: GPL-3.0-or-later
"""What the frozen program begins with."""

from __future__ import annotations

import multiprocessing
import os
import sys


def keep_the_font_list() -> None:
    """Let matplotlib keep its list of fonts, whose making takes seconds.

    PyInstaller gives it a new folder at each start, for programs that are unpacked to a new place each time; this one
    stays where it is.
    """
    from platformdirs import user_cache_dir

    os.environ["MPLCONFIGDIR"] = os.path.join(user_cache_dir("nightplan", appauthor=False), "matplotlib")


def main() -> None:
    # a worker process is this program again, with other arguments: it goes its own way here
    multiprocessing.freeze_support()
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            # a program without a console has no streams
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
    keep_the_font_list()
    from nightplan.cli.start import run

    run()


if __name__ == "__main__":
    main()
