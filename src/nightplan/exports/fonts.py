# SPDX-License-Identifier: GPL-3.0-or-later
"""Which fonts figures are set in: the usual one, and behind it one that has the letters of the language."""

from __future__ import annotations

import logging
from functools import cache

from nightplan.speech import language

#: of the systems that we know; fonts with TrueType outlines first, since a PDF takes them as they are
JAPANESE = (
    "IPAexGothic",
    "IPAGothic",
    "TakaoGothic",
    "VL Gothic",
    "MS Gothic",
    "Yu Gothic",
    "Meiryo",
    "Hiragino Sans",
    "Noto Sans JP",
    "Noto Sans CJK JP",
    "Source Han Sans JP",
)  # untranslated: fonts


def _not_of_weights(record: logging.LogRecord) -> bool:
    return "font weight" not in str(record.msg)  # untranslated: words of matplotlib


@cache
def families(first: str) -> tuple[str, ...]:
    """The font ``first``, followed by what is installed for letters that it lacks; matplotlib falls back by letter."""
    if language() != "ja":
        return (first,)
    # only here: reading the list of fonts takes its time
    from matplotlib.font_manager import fontManager

    # few of them come in bold; the plain letters will do
    logging.getLogger("matplotlib.font_manager").addFilter(_not_of_weights)
    there = set(fontManager.get_font_names())
    return (first, *[name for name in JAPANESE if name in there][:1])
