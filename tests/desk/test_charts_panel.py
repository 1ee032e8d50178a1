# SPDX-License-Identifier: GPL-3.0-or-later
"""The chart panel: what is drawn is the forecast's, said in words too, and saved as files."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from plan_page_host import TestHost
from plan_page_project import project
from pytestqt.qtbot import QtBot

from nightplan.actions.baseline import accept_baseline
from nightplan.desk.widgets.charts import ChartPanel
from nightplan.evenings.dated import calendar
from nightplan.exports import words
from nightplan.exports.chart_words import ZONE_WORDS, zone
from nightplan.exports.look import LIGHT, NIGHT
from nightplan.model.errors import BadInput


@pytest.fixture
def host() -> TestHost:
    fresh = project().but(log=())
    accepted = accept_baseline(fresh, dt.date(2027, 1, 12), futures=300)
    return TestHost(project().but(baselines=accepted.baselines, forecasts=accepted.forecasts))


@pytest.fixture
def panel(qtbot: QtBot, host: TestHost) -> ChartPanel:
    widget = ChartPanel(host, NIGHT)
    qtbot.addWidget(widget)
    host.listeners.append(widget.refresh)
    widget.resize(700, 420)
    with qtbot.waitSignal(widget.drawn):
        widget.show()
    return widget


def show(qtbot: QtBot, panel: ChartPanel, view: str) -> Any:
    with qtbot.waitSignal(panel.drawn):
        panel.show_view(view)
    assert panel.figure is not None
    return panel.figure.axes


def line(axes: Any, label: str) -> Any:
    return next(artist for artist in axes.lines if artist.get_label() == label)


@pytest.mark.parametrize("view", ["burn-down", "slip", "buffer"])
@pytest.mark.parametrize("width", [320, 360, 460, 700, 1200])
def test_no_button_is_cut_at_any_width(qtbot: QtBot, panel: ChartPanel, view: str, width: int) -> None:
    panel.resize(width, 420)
    panel.show_view(view)
    panel.grab()
    for part in (*panel.buttons.values(), panel.save_button, *([panel.gate] if panel.gate.isVisible() else [])):
        assert part.width() >= part.sizeHint().width()
        assert part.geometry().right() < width
    assert not panel.title.text().endswith("…")


def test_matplotlib_is_loaded_only_when_a_chart_is_shown() -> None:
    code = (
        "import sys; import nightplan.desk.widgets.charts; "
        "sys.exit(any(m.split('.')[0] in ('matplotlib', 'pandas') for m in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_burn_down_shows_the_forecasts_band_and_the_baseline(panel: ChartPanel, host: TestHost) -> None:
    assert panel.figure is not None
    axes = panel.figure.axes[0]
    middle = line(axes, "middle").get_ydata()
    assert list(middle[1:]) == [p.p50 for p in host.forecast.burn_down]
    assert middle[0] == pytest.approx(host.forecast.hours_left)
    accepted = host.project.baselines[-1].burn_down
    drawn = list(line(axes, "baseline").get_ydata())
    assert drawn[1:] == [accepted[day] for day in sorted(accepted) if day <= "2027-02-20"]
    there = list(line(axes, "hours you still have").get_ydata())
    evenings = calendar(host.project).evenings
    last = host.forecast.burn_down[-1].date
    promised = [sum(e.hours * e.chance for e in evenings if p.date < e.date <= last) for p in host.forecast.burn_down]
    assert there[-len(host.forecast.burn_down) :] == pytest.approx(promised)


def test_slip_shows_the_forecasts_odds_by_date(qtbot: QtBot, panel: ChartPanel, host: TestHost) -> None:
    so_far, by_date = show(qtbot, panel, "slip")
    for gate in host.forecast.gates:
        told = line(so_far, gate.id).get_ydata()
        assert told[-1] == pytest.approx(gate.odds * 100)
        drawn = np.asarray(line(by_date, gate.id).get_ydata())
        odds = np.array([o.odds * 100 for o in host.forecast.by_date[gate.id]])
        assert drawn == pytest.approx(odds[: len(drawn)])


def test_buffer_shows_what_is_used_of_the_chosen_gate(qtbot: QtBot, panel: ChartPanel, host: TestHost) -> None:
    for n, gate in enumerate(host.forecast.gates):
        panel.gate.setCurrentIndex(n)
        (axes,) = show(qtbot, panel, "buffer")
        assert gate.buffer.used is not None
        assert line(axes, "used").get_ydata()[-1] == pytest.approx(gate.buffer.used * 100)
        assert words.percent(gate.buffer.used) in panel.words.text()


@pytest.mark.parametrize("view", ["burn-down", "slip", "buffer"])
@pytest.mark.parametrize("size", [(620, 230), (430, 200), (460, 290)])
def test_a_low_chart_can_be_read(
    qtbot: QtBot, panel: ChartPanel, host: TestHost, view: str, size: tuple[int, int]
) -> None:
    """No tick writes over its neighbour, no title is cut, and no axes is lower than four of its lines."""
    panel.show_view(view)
    panel.resize(*size)
    qtbot.waitUntil(lambda: panel.fresh, timeout=10_000)
    axes = show(qtbot, panel, view)
    qtbot.waitUntil(lambda: panel.fresh, timeout=10_000)
    edge = panel.figure.bbox  # type: ignore[union-attr]
    assert len({round(one.get_position().y0, 3) for one in axes}) == 1
    for one in axes:
        line = one.yaxis.get_ticklabels()[0].get_window_extent().height
        assert one.bbox.height >= 4 * line
        for axis, low, high in ((one.xaxis, "x0", "x1"), (one.yaxis, "y0", "y1")):
            boxes = [t.get_window_extent() for t in axis.get_ticklabels() if t.get_text()]
            assert all(getattr(a, high) <= getattr(b, low) for a, b in pairwise(boxes))
        for text in (one._left_title, one.xaxis.label, one.yaxis.label):
            box = text.get_window_extent()
            assert not text.get_text() or (box.x0 >= 0 and box.x1 <= edge.x1 and box.y0 >= 0 and box.y1 <= edge.y1)


def test_the_zones_are_thirds() -> None:
    """Thirds of the buffer: Goldratt, Critical Chain (1997); Leach, Critical Chain Project Management (2000)."""
    assert [zone(u) for u in (-0.2, 0.0, 0.33, 0.34, 0.66, 0.67, 1.4)] == [0, 0, 0, 1, 1, 2, 2]
    assert len(ZONE_WORDS) == 3


def test_the_chart_is_said_in_words(qtbot: QtBot, panel: ChartPanel, host: TestHost) -> None:
    assert panel.words.text().startswith("20.7 h of work are left after 6 of 17 evenings.")
    assert panel.canvas.accessibleDescription() == panel.words.text()
    show(qtbot, panel, "slip")
    for gate in host.forecast.gates:
        assert f"{gate.name}: met in {words.in_100(gate.odds)}" in panel.words.text()


def test_the_chart_follows_the_project(qtbot: QtBot, panel: ChartPanel, host: TestHost) -> None:
    from nightplan.actions.edit import change_item

    before = panel.words.text()
    with qtbot.waitSignal(panel.drawn):
        host.change("x", lambda p: change_item(p, "spline", likely=9.0, high=14.0))
    assert panel.words.text() != before
    with qtbot.waitSignal(panel.drawn):
        host.undo()
    assert panel.words.text() == before


@pytest.mark.parametrize("view", ["burn-down", "slip", "buffer"])
def test_a_chart_drawn_over_the_one_before_is_the_chart_drawn_anew(
    qtbot: QtBot, panel: ChartPanel, host: TestHost, view: str
) -> None:
    """The same pixels, whatever was kept."""
    from nightplan.actions.edit import change_item

    def pixels(drawn: ChartPanel) -> Any:
        qtbot.waitUntil(lambda: drawn.fresh, timeout=10_000)
        drawn.canvas.draw()
        return np.asarray(drawn.canvas.buffer_rgba()).copy()

    def anew() -> Any:
        other = ChartPanel(host, NIGHT)
        qtbot.addWidget(other)
        other.resize(panel.size())
        other.show_view(view)
        with qtbot.waitSignal(other.drawn):
            other.show()
        return pixels(other)

    show(qtbot, panel, view)
    first = pixels(panel)
    for likely, high in ((9.0, 14.0), (30.0, 60.0), (1.0, 1.5)):
        kept, size = list(panel.canvas.live), panel.canvas.size()
        with qtbot.waitSignal(panel.drawn):
            host.change("x", lambda p, span=(likely, high): change_item(p, "spline", likely=span[0], high=span[1]))
        again = pixels(panel)
        qtbot.waitUntil(lambda: panel.fresh, timeout=10_000)
        if panel.canvas.size() == size:
            assert [id(axes) for axes in panel.canvas.live] == [id(axes) for axes in kept]
        assert not np.array_equal(again, first)
        np.testing.assert_array_equal(again, anew())
    for _ in range(3):
        with qtbot.waitSignal(panel.drawn):
            host.undo()
    np.testing.assert_array_equal(pixels(panel), first)


def test_only_what_changed_is_drawn(qtbot: QtBot, panel: ChartPanel) -> None:
    (axes,) = panel.canvas.live
    artists = list(axes.moving)
    with qtbot.waitSignal(panel.drawn):
        panel.refresh()
    assert axes.moving == artists
    assert not axes.changed


def test_a_hidden_chart_is_not_drawn(qtbot: QtBot, host: TestHost) -> None:
    widget = ChartPanel(host, LIGHT)
    qtbot.addWidget(widget)
    widget.refresh()
    assert widget.canvas is None


@pytest.mark.parametrize("view", ["burn-down", "slip", "buffer"])
@pytest.mark.parametrize(("kind", "magic"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_every_view_is_saved(
    qtbot: QtBot, panel: ChartPanel, tmp_path: Path, view: str, kind: str, magic: bytes
) -> None:
    panel.show_view(view)
    path = tmp_path / panel.suggested_name(kind)
    assert path.name == f"moth-and-lantern-{view}.{kind}"
    panel.snapshot().save(path)
    assert path.read_bytes().startswith(magic)
    assert path.stat().st_size > 5000


def test_another_ending_is_refused(panel: ChartPanel, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match=r"\.png, \.svg or \.pdf"):
        panel.snapshot().save(tmp_path / "chart.bmp")
    assert list(tmp_path.iterdir()) == []


def test_the_menu_asks_for_a_file(qtbot: QtBot, panel: ChartPanel) -> None:
    menu = panel.save_button.menu()
    assert menu is not None
    with qtbot.waitSignal(panel.save_asked) as asked:
        next(a for a in menu.actions() if a.data() == "svg").trigger()
    assert asked.args == ["svg"]


def test_every_control_has_a_name(panel: ChartPanel) -> None:
    for widget in (panel, panel.canvas, panel.gate, panel.save_button, panel.words, *panel.buttons.values()):
        assert widget.accessibleName()
