# SPDX-License-Identifier: GPL-3.0-or-later
"""The charts in words: the numbers that were drawn, and in the report the words that the desk shows."""

from __future__ import annotations

from dataclasses import replace
from html import escape

import export_cases as cases
import pytest

from nightplan.exports.chart_numbers import buffer_numbers, burn_numbers, slip_numbers
from nightplan.exports.chart_words import buffer_words, burn_words, slip_words
from nightplan.exports.report import report_html


def test_the_report_says_what_the_desk_says() -> None:
    project, forecast = cases.project(), cases.forecast()
    html = report_html(project, forecast, cases.plan())
    for said in (
        burn_words(burn_numbers(project, forecast)),
        slip_words(slip_numbers(project, forecast)),
        buffer_words(buffer_numbers(project, forecast, "lock")),
    ):
        assert escape(said) in html


def test_odds_met_and_missed_make_a_hundred() -> None:
    """By hand: 71 and 29, 93 and 7."""
    said = slip_words(slip_numbers(cases.project(), cases.forecast()))
    assert "Personal lock: met in 71 in 100 futures, missed in 29 in 100" in said
    assert "Hand-in: met in 93 in 100 futures, missed in 7 in 100" in said


def test_no_risk_is_told_before_the_first_odds() -> None:
    numbers = slip_numbers(cases.project(), cases.forecast())
    assert slip_words(replace(numbers, gates=())) == "No risk can be told yet."


@pytest.mark.parametrize(
    ("have", "used", "said"),
    [
        (2.0, 0.4, "2 h of buffer before Personal lock, 3 h are needed. 40 % of the buffer is used"),
        (-1.5, 1.2, "1.5 h short before Personal lock; a buffer of 3 h is needed. 120 % of the buffer is used"),
        (4.0, -0.2, "4 h of buffer before Personal lock, 3 h are needed. None of it is used"),
    ],
)
def test_buffer_there_missing_and_grown(have: float, used: float, said: str) -> None:
    numbers = buffer_numbers(cases.project(), cases.forecast(), "lock")
    last = replace(numbers.points[-1], used=used)
    made = replace(numbers, have_hours=have, need_hours=3.0, points=(*numbers.points[:-1], last))
    assert buffer_words(made).startswith(said)


def test_a_buffer_that_never_was_has_no_share() -> None:
    numbers = buffer_numbers(cases.project(), cases.forecast(), "lock")
    assert buffer_words(replace(numbers, points=())).endswith("so no share of it can be used.")
