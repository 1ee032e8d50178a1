# SPDX-License-Identifier: GPL-3.0-or-later
"""What the toolkit would do for every module that is loaded after it, and need not do for ours."""

from __future__ import annotations

import sys

import PySide6.QtCore  # noqa: F401

#: a part of the toolkit's own support for other spellings of its names
SPELLINGS, LOOK = "shibokensupport.feature", "_mod_uses_pyside"


def spare_the_sources() -> bool:
    """The toolkit no longer reads the source of each module that is loaded; True where it did.

    PySide6 has every module's source read and searched, to know whether other spellings of Qt's names may be wanted
    there. No module asks for them in this program, so that the answer is the same for all; to read the sources of
    some hundred modules takes about a tenth of what it takes to load them.
    """
    spellings = sys.modules.get(SPELLINGS)
    if not hasattr(spellings, LOOK):
        return False
    setattr(spellings, LOOK, _as_written)
    return True


def _as_written(_module: object) -> bool:
    return True
