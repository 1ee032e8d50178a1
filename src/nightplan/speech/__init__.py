# SPDX-License-Identifier: GPL-3.0-or-later
"""What the program says, in the artist's language: ``tr("Saved as {name}.", name=...)``.

The lowest layer: it knows texts, dates and numbers, and nothing of plans. The language is settled once, when the
program starts and before anything is said; in a program of your own it is English until :func:`use` is called
or the environment names one (``NIGHTPLAN_LANGUAGE=de``).
"""

from __future__ import annotations

from nightplan.speech.texts import LANGUAGES, language, mark, tr, trc, trn, use

__all__ = ["LANGUAGES", "language", "mark", "tr", "trc", "trn", "use"]
