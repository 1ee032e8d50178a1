# SPDX-License-Identifier: GPL-3.0-or-later
"""Files with one defect each, and files without any, and what the check has to say of them.

The tests hold the check to these lists, and ``benchmarks/defect_table.py`` prints them for the docs.
"""

from __future__ import annotations

from case_kit import Case
from defects_movie import MOVIE_DEFECTS
from defects_packed import STILL_DEFECTS, ZIP_DEFECTS
from defects_sequence import SEQUENCE_DEFECTS
from good_files import GOOD

DEFECTS: list[Case] = [*SEQUENCE_DEFECTS, *MOVIE_DEFECTS, *ZIP_DEFECTS, *STILL_DEFECTS]

__all__ = ["DEFECTS", "GOOD", "Case"]
