# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures of a look back hold the numbers of the look back. Common practice, no source."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from nightplan.engine.lookback import look_back
from nightplan.engine.lookback_scores import scores
from nightplan.exports.look import LOOKS, Look
from nightplan.exports.lookback_figures import figures
from nightplan.exports.save import figure_bytes
from nightplan.model.results_lookback import EveningFact, Facts, GateFact, ItemFact, Outcome


def gate(n: int, outcome: Outcome, odds: float) -> GateFact:
    day = np.array([100.0])
    return GateFact(n, "lock", "Lock", 120, 118, outcome, day, np.array([odds]), day, day + 9, day + 20, day + 30, 170)


FACTS = Facts(
    items=tuple(ItemFact(n, f"Stage $x_{n % 3}$", 2.0 + n, 4.0 + n, 2.0 + n, (2.0 + n) * 1.5) for n in range(9)),
    evenings=(EveningFact(0, True, 12, 9, 0, 0.9), EveningFact(5, False, 8, 3, 1, 0.5)),
    gates=tuple(gate(n, "met" if n % 2 else "missed", 0.05 + n / 10) for n in range(10)),
)


def drawn() -> dict[str, Any]:
    return figures(FACTS, look_back(FACTS), scores(FACTS.gates))


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
@pytest.mark.parametrize("facts", [FACTS, Facts()], ids=["some", "none"])
def test_all_four_are_drawn_in_every_look(look: Look, facts: Facts) -> None:
    made = figures(facts, look_back(facts), scores(facts.gates), look)
    assert len(made) == 4
    for figure in made.values():
        assert len(figure_bytes(figure, "svg")) > 3000
        assert figure.get_facecolor()[:3] == pytest.approx([int(look.panel[i : i + 2], 16) / 255 for i in (1, 3, 5)])


def test_points_lie_where_the_hours_are() -> None:
    (axes,) = drawn()["planned-against-actual"].axes
    assert (axes.get_xscale(), axes.get_yscale()) == ("log", "log")
    (points,) = [line for line in axes.lines if line.get_label() == "items"]
    assert points.get_xydata().tolist() == [[i.planned, i.actual] for i in FACTS.items]
    assert axes.get_xlim() == axes.get_ylim()


def test_stages_and_their_ranges() -> None:
    looks = look_back(FACTS)
    (axes,) = drawn()["ratio-by-stage"].axes
    ends = [tuple(line.get_xdata()) for line in axes.lines if line.get_marker() == "|"]
    assert ends == [(s.factor.low, s.factor.high) for s in (*looks.stages, looks.overall)]
    # a dollar sign in a name is a dollar sign
    assert [t.get_text() for t in axes.get_yticklabels()][:2] == ["Stage $x_0$", "Stage $x_1$"]


def test_no_label_of_the_honesty_picture_leaves_it() -> None:
    looks = look_back(FACTS)
    for figure in figures(FACTS, looks, scores(FACTS.gates)).values():
        figure_bytes(figure, "png")
        box = figure.bbox
        for axes in figure.axes:
            for text in [*axes.texts, *axes.get_yticklabels(), *axes.get_xticklabels()]:
                place = text.get_window_extent()
                assert place.x0 >= -1, text
                assert place.x1 <= box.x1 + 1, text
                assert place.y0 >= -1, text
                assert place.y1 <= box.y1 + 1, text
