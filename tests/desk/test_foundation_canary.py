# SPDX-License-Identifier: GPL-3.0-or-later
"""The toolkit's reference fault: some releases lose a reference to True at each emission of a bool.

Known of PySide6 6.12.0 with Python 3.11, which the pinned versions leave out; where True is immortal
(Python 3.12 and later, PEP 683) the count cannot move and the test holds trivially.
"""

from __future__ import annotations

import sys

from PySide6.QtCore import QObject, Signal

EMISSIONS = 2_000


class _Bell(QObject):
    rung = Signal(bool)


class _Ear(QObject):
    def __init__(self) -> None:
        super().__init__()
        self.heard = 0

    def hear(self, value: bool) -> None:
        self.heard += value


def test_emitting_true_keeps_its_references() -> None:
    bell, ear = _Bell(), _Ear()
    bell.rung.connect(ear.hear)
    bell.rung.emit(True)
    before = sys.getrefcount(True)
    for _n in range(EMISSIONS):
        bell.rung.emit(True)
    lost = before - sys.getrefcount(True)
    assert ear.heard == EMISSIONS + 1
    # other code may take or give a few in between; the fault loses one for each emission
    assert lost < EMISSIONS // 10
