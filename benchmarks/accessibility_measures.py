# SPDX-License-Identifier: GPL-3.0-or-later
"""What ``accessibility.py`` measures of one window or dialog that is in sight.

Source of what is wanted: WCAG 2.2, success criteria named at each function.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from PySide6.QtCore import QAbstractAnimation, QAbstractTableModel, QEvent, QObject, QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QMenu,
    QProgressBar,
    QRadioButton,
    QScrollArea,
    QWidget,
)

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "desk"))
import desk_sweep as sweep
from colour_vision import linear

from nightplan.desk.words import spoken

LEAST_TEXT, LEAST_MARK = 4.5, 3.0
#: the Tab key is pressed this often before a ring is given up; a table takes one for each cell
MOST_TABS, MOST_IN_ONE = 900, 400


@dataclass
class Found:
    """Numbers of one screen, and a sentence for each thing that is not as it should be."""

    controls: int = 0
    nameless: int = 0
    doubled: int = 0
    roleless: int = 0
    unreached: int = 0
    focus_seen: int = 0
    focus_tried: int = 0
    hidden_focus: int = 0
    texts: int = 0
    contrast: float = 21.0
    cut: int = 0
    paints: int = 0
    animations: int = 0
    words: list[str] = field(default_factory=list)


def pixels(image: QImage) -> np.ndarray:
    """Height x width x 3, 0 to 255."""
    image = image.convertToFormat(QImage.Format.Format_RGB888)
    raw = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return raw[:, : image.width() * 3].reshape(image.height(), image.width(), 3).copy()


def ratio(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Contrast ratio, WCAG 2.2, of colours (… x 3, 0 to 255)."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    a, b = linear(one) @ weights, linear(other) @ weights
    return (np.maximum(a, b) + 0.05) / (np.minimum(a, b) + 0.05)


def called(widget: QWidget) -> str:
    name = sweep.accessible_name(widget)
    return f"{type(widget).__name__} “{name}”" if name else type(widget).__name__


def _painted(widget: QWidget) -> bool:
    """Drawn by the program itself or by the chart library: the toolkit knows nothing of what is in it."""
    own = (k for k in type(widget).__mro__ if k.__module__.startswith(("nightplan", "matplotlib")))
    # what has a layout is a ground for its parts, which speak for themselves
    leaf = not isinstance(widget, QLabel | QAbstractButton) and widget.layout() is None
    return leaf and any("paintEvent" in vars(k) for k in own)


def names_and_roles(root: QWidget, found: Found) -> None:
    """4.1.2 and 1.1.1: what can be operated or is a picture has a name and a role; 2.4.6: no two the same."""
    lost = []
    twice = sweep.doubled(root)
    found.doubled = len(twice)
    found.words += [f"same name: {line}" for line in twice]
    dumb = (QAccessible.Role.NoRole, QAccessible.Role.Client)
    for widget in sweep.every_widget(root):
        if not widget.isVisibleTo(root) or sweep._inner(widget):
            continue
        found.controls += isinstance(widget, sweep._CONTROLS)
        painted = _painted(widget) and not widget.isWindow()
        takes_keys = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and not isinstance(widget, QLabel)
        if painted and not sweep.accessible_name(widget):
            lost.append(type(widget).__name__)
            found.words.append(f"name: none for the picture {type(widget).__name__}")
        elif not sweep.accessible_name(widget) and (takes_keys or isinstance(widget, sweep._CONTROLS)):
            lost.append(type(widget).__name__)
            found.words.append(f"name: none for {sweep._path(widget)}")
        said = QAccessible.queryAccessibleInterface(widget)
        if (painted or takes_keys) and (said is None or said.role() in dumb):
            found.roleless += 1
            found.words.append(f"role: the general one for {called(widget)}")
    found.nameless = len(lost)


def in_sight(root: QWidget, widget: QWidget) -> QRect:
    """The part of a widget that nothing around it cuts away, in the window's pixels."""
    place = QRect(widget.mapTo(root, QPoint(0, 0)), widget.size())
    parent = widget.parentWidget()
    while parent is not None and parent is not root:
        place &= QRect(parent.mapTo(root, QPoint(0, 0)), parent.size())
        parent = parent.parentWidget()
    return place & root.rect()


def _by_tab(widget: QWidget, root: QWidget) -> bool:
    able = widget.isEnabled() and widget.isVisibleTo(root) and widget.window() is root and widget is not root
    return able and bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)


def tab_ring(root: QWidget, found: Found) -> list[QWidget]:
    """2.1.1, 2.1.2 and 2.4.11: every control is come to, none keeps the keyboard, each is in sight when it has it."""
    root.activateWindow()
    QTest.qWait(20)
    start = root.focusWidget() or root
    start.setFocus(Qt.FocusReason.TabFocusReason)
    start = QApplication.focusWidget() or start
    ring, same = [start], 0
    for _ in range(MOST_TABS):
        at = QApplication.focusWidget()
        if at is None:
            found.words.append(f"Tab: the keyboard is lost after {called(ring[-1])}")
            break
        QTest.keyClick(at, Qt.Key.Key_Tab)
        now = QApplication.focusWidget()
        same = same + 1 if now is at else 0
        if same and not any(_by_tab(w, root) for w in sweep.every_widget(root) if w is not at):
            break
        if same > MOST_IN_ONE:
            found.words.append(f"Tab: {called(at)} keeps the keyboard")
            break
        if now is start and len(ring) > 1:
            break
        if now is not None and now not in ring:
            ring.append(now)
            if now is not root and in_sight(root, now).isEmpty():
                found.hidden_focus += 1
                found.words.append(f"focus: {called(now)} is out of sight when the Tab key comes to it")
    come_to = {id(widget) for widget in ring}
    walked: dict[int, set[int]] = {}
    for widget in sweep.every_widget(root):
        if not isinstance(widget, sweep._CONTROLS) or isinstance(widget, QProgressBar) or sweep._inner(widget):
            continue
        if not widget.isVisibleTo(root) or not widget.isEnabled() or widget.window() is not root:
            continue
        group = widget.group() if isinstance(widget, QAbstractButton) else None
        proxy = widget.focusProxy()
        if isinstance(widget, QAbstractButton) and group is not None and group.exclusive():
            if id(group) not in walked:
                walked[id(group)] = by_arrows([b for b in group.buttons() if b in ring and b.isVisibleTo(root)])
            reached = id(widget) in walked[id(group)]
        else:
            reached = bool({id(w) for w in (widget, proxy) if w is not None} & come_to)
        if not reached:
            found.unreached += 1
            found.words.append(f"Tab: never comes to {called(widget)}")
    return ring


def by_arrows(come_to: list[QAbstractButton]) -> set[int]:
    """The radio group of the ARIA Authoring Practices: of buttons of which just one is on, Tab comes to one and the
    arrow keys to the others. Those that are reached so, by ``id``; afterwards the one that was on is on again.
    """
    reached: set[int] = set()
    was_on = next((b for start in come_to for b in start.group().buttons() if b.isChecked()), None)
    open_ones = list(come_to)
    while open_ones:
        start = open_ones.pop()
        reached.add(id(start))
        for key in (Qt.Key.Key_Right, Qt.Key.Key_Left, Qt.Key.Key_Down, Qt.Key.Key_Up):
            start.setFocus(Qt.FocusReason.TabFocusReason)
            QTest.keyClick(start, key)
            now = QApplication.focusWidget()
            if isinstance(now, QAbstractButton) and now.group() is start.group() and id(now) not in reached:
                reached.add(id(now))
                open_ones.append(now)
    if was_on is not None:
        was_on.click()
    return reached


def focus_seen(root: QWidget, ring: list[QWidget], found: Found) -> None:
    """2.4.7 and 1.4.11: what has the keyboard looks otherwise, by 3:1 in at least half as many pixels as its outline
    has. In what scrolls one cell or evening is marked and not the whole: 100 pixels are enough there.
    """
    for widget in ring:
        if widget is root or not widget.isEnabled() or not widget.isVisibleTo(root):
            continue
        widget.setFocus(Qt.FocusReason.TabFocusReason)
        around = widget.parentWidget()
        while around is not None:
            if isinstance(around, QScrollArea):
                around.ensureWidgetVisible(widget)
            around = around.parentWidget()
        QApplication.processEvents()
        place = in_sight(root, widget)
        if place.isEmpty():
            continue
        wanted = place.width() + place.height()
        place = place.adjusted(-4, -4, 4, 4) & root.rect()
        with_keys = pixels(root.grab(place).toImage())
        widget.clearFocus()
        without = pixels(root.grab(place).toImage())
        changed = int((ratio(with_keys, without) >= LEAST_MARK).sum())
        if isinstance(widget, QAbstractScrollArea):
            wanted = min(wanted, 100)
        found.focus_tried += 1
        if changed >= wanted:
            found.focus_seen += 1
        else:
            found.words.append(f"focus: {changed} of {wanted} pixels change by 3:1 at {called(widget)}")


def _texts(root: QWidget) -> Iterator[tuple[str, QRect]]:
    """Texts wholly in sight that are not greyed out, with the place of their letters."""
    for widget in sweep.every_widget(root):
        if not widget.isVisibleTo(root) or not widget.isEnabled() or widget.window() is not root:
            continue
        seen = widget.visibleRegion().boundingRect()
        at = widget.mapTo(root, QPoint(0, 0))
        if isinstance(widget, QAbstractItemView):
            yield from _cells(root, widget)
        if seen.size() != widget.size():
            continue
        place = QRect(at, widget.size())
        size = round(widget.font().pointSizeF())
        if isinstance(widget, QLabel):
            yield widget.text(), place
        elif isinstance(widget, QCheckBox | QRadioButton):
            yield widget.text(), place.adjusted(round(size * 1.4) + 19, 3, -3, -3)
        elif isinstance(widget, QAbstractButton):
            yield widget.text(), place.adjusted(4, 4, -4, -4)
        elif isinstance(widget, QComboBox):
            yield widget.currentText(), place.adjusted(4, 4, -round(size * 2.4) - 4, -4)
        elif isinstance(widget, QAbstractSpinBox):
            yield widget.text(), place.adjusted(4, 4, -round(size * 2.4) - 4, -4)
        elif isinstance(widget, QLineEdit) and not sweep._inner(widget):
            yield widget.text() or widget.placeholderText(), place.adjusted(4, 4, -4, -4)


def _cells(root: QWidget, view: QAbstractItemView) -> Iterator[tuple[str, QRect]]:
    model, port = view.model(), view.viewport()
    if model is None:
        return
    shown = port.visibleRegion().boundingRect()
    for row in range(min(model.rowCount(), 60)):
        # a list has one column and does not tell
        for column in range(model.columnCount() if isinstance(model, QAbstractTableModel) else 1):
            index = model.index(row, column)
            text, place = index.data(), view.visualRect(index)
            if not isinstance(text, str) or not shown.contains(place) or view.indexWidget(index) is not None:
                continue
            if not index.flags() & Qt.ItemFlag.ItemIsEnabled:
                continue
            tick = (
                round(view.font().pointSizeF() * 1.4) + 10
                if index.data(Qt.ItemDataRole.CheckStateRole) is not None
                else 0
            )
            yield text, place.translated(port.mapTo(root, QPoint(0, 0))).adjusted(3 + tick, 2, -3, -2)


def text_contrast(root: QWidget, found: Found) -> None:
    """1.4.3 from pixels: the colour furthest from the commonest one where a text stands; 4.5:1 for large ones too."""
    focus = root.focusWidget()
    if focus is not None:
        focus.clearFocus()
    shot = pixels(root.grab().toImage())
    for text, place in _texts(root):
        if not any(letter.isalnum() for letter in text) or place.width() < 3 or place.height() < 3:
            continue
        part = shot[place.top() : place.bottom() + 1, place.left() : place.right() + 1].reshape(-1, 3)
        if not len(part):
            continue
        _measure_text(text, part, found)


def _measure_text(text: str, part: np.ndarray, found: Found) -> None:
    colours, counts = np.unique(part, axis=0, return_counts=True)
    best = float(ratio(colours, colours[counts.argmax()]).max())
    found.texts += 1
    found.contrast = min(found.contrast, best)
    if best < LEAST_TEXT:
        found.words.append(f"contrast: {best:.2f}:1 for “{text[:50]}”")


def cut_off(root: QWidget, found: Found) -> None:
    """1.4.4: texts that do not fit and of which no tool tip, their own or their card's, tells the rest."""
    texts = sweep.cut_off(root)
    found.cut += len(texts)
    found.words += [f"cut off: {text}" for text in texts]


class _Paints(QObject):
    def __init__(self) -> None:
        super().__init__()
        self.counts: Counter[str] = Counter()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and isinstance(watched, QWidget):
            self.counts[type(watched).__name__] += 1
        return False


def at_rest(root: QWidget, found: Found, milliseconds: int = 2000) -> None:
    """2.2.2 and 2.3.3: nothing is painted and no animation runs while nobody does anything."""
    QTest.qWait(150)
    watch = _Paints()
    app = QApplication.instance()
    assert app is not None
    app.installEventFilter(watch)
    QTest.qWait(milliseconds)
    app.removeEventFilter(watch)
    running = [a for a in root.findChildren(QAbstractAnimation) if a.state() == QAbstractAnimation.State.Running]
    found.paints, found.animations = watch.counts.total(), len(running)
    found.words += [f"moves: {name} is painted by itself" for name in watch.counts]
    found.words += [f"moves: an animation of {type(a.parent()).__name__} runs" for a in running]


def measured_menu(menu: QMenu) -> Found:
    """The measures of a menu that is open: its entries are no widgets."""
    found = Found()
    at_rest(menu, found, 500)
    said = QAccessible.queryAccessibleInterface(menu)
    if said is None or said.role() != QAccessible.Role.PopupMenu:
        found.roleless += 1
        found.words.append("role: the menu has another one")
    entries = [a for a in menu.actions() if not a.isSeparator() and a.isVisible()]
    found.controls = len(entries)
    for text, count in Counter(spoken(a.text()) for a in entries).items():
        found.nameless += 0 if text else count
        found.doubled += text != "" and count > 1
        if not text or count > 1:
            found.words.append(f"name: the entry {text!r} stands {count} times")
    usable = [a for a in entries if a.isEnabled()]
    come_to = []
    for _ in range(len(usable) + 1):
        QTest.keyClick(menu, Qt.Key.Key_Down)
        if menu.activeAction() is not None and menu.activeAction() not in come_to:
            come_to.append(menu.activeAction())
    for action in usable:
        if action not in come_to:
            found.unreached += 1
            found.words.append(f"arrows: never come to the entry {action.text()!r}")
    for n, action in enumerate(usable):
        place = menu.actionGeometry(action)
        # the entry one further is marked, or none where there is no other
        menu.setActiveAction(usable[n - 1] if len(usable) > 1 else None)  # type: ignore[arg-type]
        without = pixels(menu.grab(place).toImage())
        menu.setActiveAction(action)
        with_keys = pixels(menu.grab(place).toImage())
        changed = int((ratio(with_keys, without) >= LEAST_MARK).sum())
        wanted = place.width() + place.height()
        found.focus_tried += 1
        found.focus_seen += changed >= wanted
        if changed < wanted:
            found.words.append(f"focus: {changed} of {wanted} pixels change by 3:1 at the entry {action.text()!r}")
        for shot in (with_keys, without):
            _measure_text(spoken(action.text()), shot[2:-2, 4:-4].reshape(-1, 3), found)
    screen = menu.screen().availableGeometry()
    if menu.height() > screen.height() or menu.width() > screen.width():
        found.cut += 1
        found.words.append("cut off: the menu is larger than the screen")
    return found


def measured_tip(tip: QWidget) -> Found:
    """The measures of a tool tip in sight: its text, and that nothing of it is cut off."""
    # it is gone before long, so that it is not waited for whether it moves
    found = Found()
    cut_off(tip, found)
    text_contrast(tip, found)
    return found


def measured(root: QWidget, part: QWidget | None = None) -> Found:
    """Every measure of a window; focus only below ``part``, where what is around it was measured before."""
    found = Found()
    at_rest(root, found)
    names_and_roles(root, found)
    cut_off(root, found)
    text_contrast(root, found)
    ring = tab_ring(root, found)
    focus_seen(root, [w for w in ring if part is None or part.isAncestorOf(w)], found)
    return found
