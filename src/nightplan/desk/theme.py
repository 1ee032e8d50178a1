# SPDX-License-Identifier: GPL-3.0-or-later
"""Night and light: colours, style sheet, and the contrast that the tests measure.

Colours are our own. ``PAIRS`` names every pairing of text or mark with its ground and the contrast
that it must have (WCAG 2.2, 1.4.3 and 1.4.11).
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal, Slot
from PySide6.QtGui import QColor, QFont, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from nightplan.exports import look as looks

if TYPE_CHECKING:
    from nightplan.desk.widgets.strip_paint import Inks
    from nightplan.model.project import Project


@dataclass(frozen=True)
class Theme:
    """Colours as ``#RRGGBB``."""

    name: str
    #: ground of the window, of cards, of what lies on cards, of fields
    ground: str
    panel: str
    raised: str
    field: str
    #: side bar
    side: str
    text: str
    muted: str
    #: fine guides without a meaning of their own
    line: str
    #: outline of fields and buttons
    border: str
    #: outline of buttons at rest
    edge: str
    accent: str
    on_accent: str
    good: str
    warn: str
    bad: str
    focus: str
    look: looks.Look

    def inks(self, project: Project | None) -> Inks:
        """Colours for the evening strip and its relatives."""
        # not at the top: the first window is painted before the project's modules are loaded
        from nightplan.desk.widgets.strip_paint import Inks, stage_colours

        return Inks(
            panel=QColor(self.panel),
            raised=QColor(self.raised),
            text=QColor(self.text),
            muted=QColor(self.muted),
            line=QColor(self.line),
            accent=QColor(self.accent),
            good=QColor(self.good),
            warn=QColor(self.warn),
            bad=QColor(self.bad),
            stages={} if project is None else stage_colours(project),
            target=0.8 if project is None else project.target_odds,
        )

    def odds_colour(self, odds: float, target: float) -> str:
        """Colour of odds: always beside the number in words, never alone."""
        if odds >= target:
            return self.good
        return self.warn if odds >= target / 2 else self.bad


NIGHT = Theme(
    name="night",
    ground="#111427",
    panel="#1A1D3A",
    raised="#262A52",
    field="#14172F",
    side="#171A33",
    text="#ECEBF5",
    muted="#ABADCF",
    line="#343866",
    border="#767BB0",
    edge="#3D4277",
    accent="#FFD07A",
    on_accent="#1B1730",
    good="#78E3AE",
    warn="#FFB066",
    bad="#FF8F86",
    focus="#8FC7FF",
    look=looks.NIGHT,
)

LIGHT = Theme(
    name="light",
    ground="#EEF0F5",
    panel="#FFFFFF",
    raised="#E9ECF4",
    field="#FFFFFF",
    side="#E3E6F0",
    text="#1B1B24",
    muted="#565869",
    line="#D5D8E2",
    border="#7A7C8D",
    edge="#9699AC",
    accent="#3C4DB5",
    on_accent="#FFFFFF",
    good="#00694C",
    warn="#9A4A00",
    bad="#A3231B",
    focus="#0B57D0",
    look=looks.LIGHT,
)

THEMES = {theme.name: theme for theme in (NIGHT, LIGHT)}

#: (what, on what, least contrast): text 4.5:1, marks and outlines of controls 3:1
PAIRS: tuple[tuple[str, str, float], ...] = (
    *(
        (ink, ground, 4.5)
        for ink in ("text", "muted", "good", "warn", "bad", "accent")
        for ground in ("ground", "panel", "side")
    ),
    *((ink, "raised", 4.5) for ink in ("text", "muted", "good", "warn", "bad")),
    ("text", "field", 4.5),
    # what is selected in a field
    ("text", "edge", 4.5),
    ("muted", "field", 4.5),
    ("on_accent", "accent", 4.5),
    *(("focus", ground, 3.0) for ground in ("ground", "panel", "raised", "field", "side")),
    *(("border", ground, 3.0) for ground in ("ground", "panel", "field")),
)

_QSS = """
* {{ font-size: {size}pt; }}
QWidget {{ color: {text}; }}
QMainWindow, QDialog, QWizard, QMessageBox, QWizardPage {{ background: {ground}; }}
QWidget[role="ground"] {{ background: {ground}; }}
QScrollArea, QScrollArea > QWidget > QWidget[role="ground"] {{ background: {ground}; border: 0; }}
QFrame[role="card"] {{ background: {panel}; border-radius: 8px; }}
QFrame[role="marked"] {{ background: {panel}; border-radius: 8px; border: 2px solid {accent}; }}
QFrame[role="side"] {{ background: {side}; }}
QFrame[role="notice"] {{ background: {raised}; border-left: 4px solid {warn}; }}
QLabel {{ background: transparent; }}
QLabel[role="brand"] {{ color: {accent}; font-size: {big}pt; font-weight: 600; }}
QLabel[role="title"] {{ font-size: {huge}pt; font-weight: 600; }}
QLabel[role="heading"] {{ font-size: {big}pt; font-weight: 600; }}
QLabel[role="number"] {{ font-size: {huge}pt; font-weight: 600; }}
QLabel[role="muted"] {{ color: {muted}; }}
QLabel[role="good"] {{ color: {good}; }}
QLabel[role="warn"] {{ color: {warn}; }}
QLabel[role="bad"] {{ color: {bad}; }}
QToolTip {{ background: {raised}; color: {text}; border: 1px solid {border}; padding: 4px; }}
QPushButton, QToolButton {{ background: {raised}; color: {text}; border: 1px solid {edge}; border-radius: 6px;
    padding: 5px 12px; }}
QToolButton {{ padding: 4px 8px; }}
QPushButton:hover, QToolButton:hover {{ border: 1px solid {border}; }}
QPushButton:pressed, QToolButton:pressed {{ background: {line}; }}
QPushButton:disabled, QToolButton:disabled {{ color: {muted}; background: transparent; border: 1px dashed {edge}; }}
QPushButton[role="primary"] {{ background: {accent}; color: {on_accent}; border: 1px solid {accent};
    font-weight: 600; }}
QPushButton[role="primary"]:disabled {{ background: {panel}; color: {muted}; border: 1px dashed {border}; }}
QPushButton:checked, QToolButton:checked {{ background: {field}; color: {accent}; border: 1px solid {accent}; }}
QPushButton[role="choice"]:checked {{ background: {accent}; color: {on_accent}; border: 1px solid {accent};
    font-weight: 600; }}
QPushButton[role="page"] {{ background: transparent; border: 0; border-left: 3px solid transparent; border-radius: 0;
    text-align: left; padding: 9px 16px; color: {muted}; }}
QPushButton[role="page"]:hover {{ color: {text}; background: {raised}; }}
QPushButton[role="page"]:checked {{ color: {text}; background: {raised}; border-left: 3px solid {accent};
    font-weight: 600; }}
QPushButton:focus {{ border: 2px solid {focus}; padding: 4px 11px; }}
QToolButton:focus {{ border: 2px solid {focus}; padding: 3px 7px; }}
QPushButton[role="primary"]:focus, QPushButton[role="choice"]:checked:focus {{ border: 4px double {on_accent};
    padding: 2px 9px; }}
QPushButton[role="page"]:focus {{ border: 2px solid {focus}; padding: 7px 14px 7px 15px; }}
QPushButton[role="link"] {{ background: transparent; border: 2px solid transparent; color: {accent};
    text-align: left; padding: 2px 3px 2px 0; }}
QPushButton[role="link"]:hover {{ text-decoration: underline; }}
QPushButton[role="link"]:focus {{ border: 2px solid {focus}; padding: 2px 3px 2px 0; }}
QLineEdit, QPlainTextEdit, QTextEdit, QSpinBox, QDoubleSpinBox, QDateEdit, QTimeEdit, QComboBox, QListWidget {{
    background: {field}; color: {text}; border: 1px solid {border}; border-radius: 5px; padding: 4px 6px;
    selection-background-color: {edge}; selection-color: {text}; placeholder-text-color: {muted}; }}
QLineEdit:disabled, QAbstractSpinBox:disabled, QComboBox:disabled {{ color: {muted}; background: {ground};
    border: 1px dashed {border}; }}
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus, QAbstractSpinBox:focus, QComboBox:focus, QListWidget:focus {{
    border: 2px solid {focus}; padding: 3px 5px; }}
QAbstractItemView:focus {{ border: 2px solid {focus}; }}
QTableWidget[role="estimates"]::item:focus {{ background: {field}; color: {text}; border: 2px solid {focus}; }}
QAbstractSpinBox::up-button, QAbstractSpinBox::down-button {{ width: 0; border: 0; }}
QComboBox::drop-down, QDateEdit::drop-down {{ subcontrol-origin: padding; subcontrol-position: center right;
    border: 0; width: {drop}px; }}
QComboBox::down-arrow, QDateEdit::down-arrow {{ image: url("{icons}/down-{name}.svg");
    width: {mark}px; height: {mark}px; }}
QComboBox QAbstractItemView {{ background: {panel}; color: {text}; border: 1px solid {border};
    selection-background-color: {accent}; selection-color: {on_accent}; }}
QCheckBox, QRadioButton {{ background: transparent; spacing: 8px; padding: 3px 3px 3px 0; border: 2px solid transparent;
    border-radius: 4px; }}
QCheckBox::indicator, QAbstractItemView::indicator {{ width: {mark}px; height: {mark}px; border: 2px solid {border};
    border-radius: 4px; background: {field}; }}
QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {{ background: {accent};
    border: 2px solid {accent}; image: url("{icons}/check-{name}.svg"); }}
QCheckBox:disabled {{ color: {muted}; }}
QCheckBox::indicator:disabled {{ border: 1px dashed {border}; background: {ground}; }}
QCheckBox::indicator:checked:disabled {{ border: 1px dashed {border}; background: {muted};
    image: url("{icons}/check-{name}.svg"); }}
QCheckBox:focus, QRadioButton:focus {{ border: 2px solid {focus}; }}
QAbstractItemView {{ background: {panel}; alternate-background-color: {panel}; color: {text};
    border: 1px solid {line}; border-radius: 4px; selection-background-color: {raised}; selection-color: {text};
    gridline-color: {line}; outline: 0; }}
QHeaderView::section {{ background: {panel}; color: {muted}; border: 0; border-bottom: 1px solid {line};
    padding: 4px 3px; }}
QHeaderView[role="padded"]::section {{ padding: 4px {inset}px; }}
QHeaderView[role="told"]::section {{ padding: 4px 3px 4px {inset}px; }}
QTableWidget[role="told"]::item {{ padding-left: {inside}px; }}
QListWidget::item {{ padding: 3px 2px; }}
QListWidget::item:selected {{ background: {raised}; color: {text}; border-radius: 3px; }}
QTableCornerButton::section {{ background: {panel}; border: 0; }}
QMenuBar {{ background: {side}; color: {text}; }}
QMenuBar::item {{ background: transparent; padding: 4px 10px; }}
QMenuBar::item:selected {{ background: {accent}; color: {on_accent}; border-radius: 4px; }}
QMenu {{ background: {panel}; color: {text}; border: 1px solid {border}; padding: 4px; }}
QMenu::item {{ padding: 5px 28px 5px 22px; border-radius: 4px; }}
QMenu::item:selected {{ background: {accent}; color: {on_accent}; }}
QMenu::item:disabled {{ color: {muted}; background: transparent; }}
QMenu::separator {{ height: 1px; background: {line}; margin: 4px 8px; }}
QStatusBar {{ background: {side}; color: {text}; }}
QStatusBar::item {{ border: 0; }}
QProgressBar {{ background: {field}; border: 1px solid {border}; border-radius: 4px; text-align: center;
    color: {text}; }}
QProgressBar::chunk {{ background: {line}; }}
QSplitter::handle {{ background: {ground}; }}
QSplitter::handle:hover {{ background: {border}; }}
QScrollBar:vertical {{ background: {panel}; width: 12px; margin: 0; }}
QScrollBar:horizontal {{ background: {panel}; height: 12px; margin: 0; }}
QScrollArea > QWidget > QScrollBar:vertical {{ background: {ground}; width: 18px; padding-left: 6px; }}
QScrollBar::handle {{ background: {border}; border-radius: 5px; min-height: 28px; min-width: 28px; margin: 2px; }}
QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
QTabBar::tab {{ background: {panel}; color: {muted}; padding: 6px 12px; border: 0; }}
QTabBar::tab:selected {{ color: {text}; border-bottom: 2px solid {accent}; }}
QTextBrowser {{ background: {panel}; border: 0; border-radius: 8px; padding: 10px; }}
"""  # untranslated: a style sheet

#: arrows and check marks; a style sheet cannot draw them
_ICONS = (Path(__file__).resolve().parent / "icons").as_posix()

#: points at 100 percent
BASE_POINTS = 10.0


def style_sheet(theme: Theme, percent: int = 100) -> str:
    """The style sheet of a theme at a text size in percent."""
    size = BASE_POINTS * percent / 100
    colours = {k: v for k, v in vars(theme).items() if isinstance(v, str)}
    return _QSS.format(
        size=f"{size:g}",
        big=f"{size * 1.15:g}",
        huge=f"{size * 1.55:g}",
        mark=round(size * 1.4),
        drop=round(size * 2.4),
        inset=3 + round(size * 0.7),
        inside=round(size * 0.7),
        icons=_ICONS,
        **colours,
    )


def palette(theme: Theme) -> QPalette:
    """The same for what draws itself by the palette."""
    p = QPalette()
    roles = {
        QPalette.ColorRole.Window: theme.ground,
        QPalette.ColorRole.WindowText: theme.text,
        QPalette.ColorRole.Base: theme.field,
        QPalette.ColorRole.AlternateBase: theme.panel,
        QPalette.ColorRole.Text: theme.text,
        QPalette.ColorRole.Button: theme.raised,
        QPalette.ColorRole.ButtonText: theme.text,
        QPalette.ColorRole.Highlight: theme.accent,
        QPalette.ColorRole.HighlightedText: theme.on_accent,
        QPalette.ColorRole.ToolTipBase: theme.raised,
        QPalette.ColorRole.ToolTipText: theme.text,
        QPalette.ColorRole.PlaceholderText: theme.muted,
        QPalette.ColorRole.Link: theme.accent,
        QPalette.ColorRole.LinkVisited: theme.accent,
        QPalette.ColorRole.BrightText: theme.bad,
    }
    for role, colour in roles.items():
        p.setColor(role, QColor(colour))
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.WindowText, QPalette.ColorRole.ButtonText):
        p.setColor(QPalette.ColorGroup.Disabled, role, QColor(theme.muted))
    return p


class ThemeKeeper(QObject):
    """Applies the chosen theme to the application and follows the system where that is the choice."""

    changed = Signal(object)

    def __init__(self, choice: str = "system", percent: int = 100, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.choice, self.percent = choice, percent
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._system_changed)

    @property
    def theme(self) -> Theme:
        if self.choice in THEMES:
            return THEMES[self.choice]
        light = QGuiApplication.styleHints().colorScheme() is Qt.ColorScheme.Light
        return LIGHT if light else NIGHT

    def choose(self, choice: str) -> None:
        self.choice = choice
        self.apply()

    def set_percent(self, percent: int) -> None:
        self.percent = max(80, min(200, percent))
        self.apply()

    def apply(self) -> None:
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        app.setPalette(palette(self.theme))
        font = QFont(app.font())
        font.setPointSizeF(BASE_POINTS * self.percent / 100)
        app.setFont(font)
        app.setStyleSheet(style_sheet(self.theme, self.percent))
        self.changed.emit(self.theme)

    @Slot(Qt.ColorScheme)
    def _system_changed(self, _scheme: object) -> None:
        if self.choice not in THEMES:
            self.apply()
