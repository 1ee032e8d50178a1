# SPDX-License-Identifier: GPL-3.0-or-later
"""What a screen reader is told of, and that the keyboard is never out of sight.

Begun after the first paint: it is loaded before anything of a project is shown, and nothing before has need of it.
"""

from __future__ import annotations

from PySide6.QtWidgets import QApplication

from nightplan.desk import told
from nightplan.desk.into_sight import watch


def begin() -> None:
    """For every window of the application; once is enough, more does no harm."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    told.install()
    watch(app)
