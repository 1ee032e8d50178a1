# SPDX-License-Identifier: GPL-3.0-or-later
"""Both themes: contrast by the formula and from pixels, following the system, text size.

Source: WCAG 2.2, relative luminance and contrast ratio; success criteria 1.4.3 (4.5:1), 1.4.11 (3:1), 1.4.4 (200 %).
"""

from __future__ import annotations

from collections import Counter

import pytest
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLabel, QPushButton, QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from nightplan.desk.theme import LIGHT, NIGHT, PAIRS, THEMES, Theme, ThemeKeeper


def luminance(colour: str) -> float:
    """WCAG 2.2, "relative luminance"."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_itself() -> None:
    """Black on white is 21:1 and #767676 on white just passes (WCAG 2.2, understanding 1.4.3: 4.54:1)."""
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)
    assert contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
@pytest.mark.parametrize(("ink", "ground", "least"), PAIRS)
def test_every_pair_of_the_theme(theme: Theme, ink: str, ground: str, least: float) -> None:
    assert contrast(getattr(theme, ink), getattr(theme, ground)) >= least


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
def test_what_is_selected_differs_from_what_is_not(theme: Theme) -> None:
    """1.4.11: a state is told apart by 3:1 (menus and lists; the page button has a bar of the accent)."""
    assert contrast(theme.accent, theme.panel) >= 3
    assert contrast(theme.accent, theme.field) >= 3
    assert contrast(theme.accent, theme.raised) >= 3


def seen(image: QImage) -> Counter[str]:
    """Colours of a picture with how often they stand there."""
    return Counter(image.pixelColor(x, y).name().upper() for x in range(image.width()) for y in range(image.height()))


def apply(theme: Theme, percent: int = 100) -> ThemeKeeper:
    keeper = ThemeKeeper(theme.name, percent)
    keeper.apply()
    return keeper


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
@pytest.mark.parametrize("role", ["", "muted", "good", "warn", "bad", "primary", "plain", "checked"])
def test_contrast_measured_from_pixels(qtbot: QtBot, theme: Theme, role: str) -> None:
    """The ink of the letters against their ground, as painted: the two colours that lie furthest apart."""
    keeper = apply(theme)
    box = QWidget()
    box.setProperty("role", "ground")
    box.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
    qtbot.addWidget(box)
    widget: QWidget
    if role in ("primary", "plain", "checked"):
        button = QPushButton("HHHH MMMM")
        button.setProperty("role", "choice" if role == "checked" else role)
        button.setCheckable(role == "checked")
        button.setChecked(role == "checked")
        widget = button
    else:
        widget = QLabel("HHHH MMMM")
        widget.setProperty("role", role)
    QVBoxLayout(box).addWidget(widget)
    box.show()
    # within the outline; what shines through is the window's
    colours = seen(box.grab(widget.geometry().adjusted(4, 4, -4, -4)).toImage())
    ground = colours.most_common(1)[0][0]
    best = max(contrast(colour, ground) for colour in colours)
    assert best >= 4.5, (ground, colours.most_common(4))
    keeper.deleteLater()


@pytest.mark.parametrize("theme", THEMES.values(), ids=lambda t: t.name)
def test_an_empty_check_box_has_a_box_and_a_list_has_an_arrow(qtbot: QtBot, theme: Theme) -> None:
    keeper = apply(theme)
    box = QWidget()
    box.setProperty("role", "ground")
    qtbot.addWidget(box)
    check, combo = QCheckBox("x"), QComboBox()
    combo.addItem("one")
    for widget in (check, combo):
        QVBoxLayout(box) if box.layout() is None else None
        box.layout().addWidget(widget)  # type: ignore[union-attr]
    box.resize(200, 90)
    box.show()
    empty = seen(check.grab().toImage())
    assert empty[theme.border.upper()] > 20, "the outline of the box"
    check.setChecked(True)
    full = seen(check.grab().toImage())
    assert full[theme.accent.upper()] > 60, "filled"
    assert full[theme.on_accent.upper()] > 5, "and marked by a shape, not by colour alone"
    arrow = seen(combo.grab().copy(combo.width() - 26, 4, 22, combo.height() - 8).toImage())
    assert max(contrast(colour, theme.field) for colour in arrow) >= 3
    keeper.deleteLater()


class Hints(QObject):
    """The system's wish; the offscreen platform has none of its own."""

    colorSchemeChanged = Signal(object)

    def __init__(self) -> None:
        super().__init__()
        self.scheme = Qt.ColorScheme.Unknown

    def colorScheme(self) -> Qt.ColorScheme:
        return self.scheme

    def wish(self, scheme: Qt.ColorScheme) -> None:
        self.scheme = scheme
        self.colorSchemeChanged.emit(scheme)


def test_the_system_is_followed_until_a_choice_is_made(qapp: QApplication, monkeypatch: pytest.MonkeyPatch) -> None:
    hints = Hints()
    monkeypatch.setattr(QGuiApplication, "styleHints", staticmethod(lambda: hints))
    keeper = ThemeKeeper("system")
    told: list[Theme] = []
    keeper.changed.connect(told.append)
    for scheme, theme in ((Qt.ColorScheme.Light, LIGHT), (Qt.ColorScheme.Dark, NIGHT), (Qt.ColorScheme.Unknown, NIGHT)):
        hints.wish(scheme)
        assert keeper.theme is theme
        assert told[-1] is theme
    keeper.choose("night")
    count = len(told)
    hints.wish(Qt.ColorScheme.Light)
    assert keeper.theme is NIGHT
    assert len(told) == count, "a choice stays, whatever the system does"
    keeper.deleteLater()


def test_text_grows_to_twice_its_size_and_no_further(qapp: QApplication) -> None:
    keeper = apply(NIGHT, 200)
    assert qapp.font().pointSizeF() == 20.0
    keeper.set_percent(900)
    assert keeper.percent == 200
    keeper.set_percent(10)
    assert keeper.percent == 80
    keeper.deleteLater()
