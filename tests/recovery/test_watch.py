# SPDX-License-Identifier: GPL-3.0-or-later
"""Watch warnings: common practice of the trade, no source, but for the thirds of the buffer (Goldratt; Leach)."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from recovery_cases import ANNOUNCED, day, item, slot, small, stage

from nightplan.actions.recover import silence
from nightplan.engine.problem import problem
from nightplan.engine.watch import WARNING_KINDS, WatchWarning, buffer_points, offers, warnings, zone
from nightplan.model.errors import BadInput
from nightplan.model.project import Project


def kinds(project: Project, as_of: dt.date = ANNOUNCED) -> dict[str, WatchWarning]:
    return {w.kind: w for w in warnings(project, as_of)}


def missed(n: int) -> dict[str, Any]:
    return {"evening": day(n).isoformat(), "happened": False, "hours": 0}


def worked(n: int, hours: float, **work: float) -> dict[str, Any]:
    rows = [{"item": k, "hours": h} for k, h in work.items()]
    return {"evening": day(n).isoformat(), "hours": hours, "work": rows}


@pytest.mark.parametrize(
    ("used", "done", "expected"),
    [
        (0.0, 0.0, "quiet"),
        (0.33, 0.0, "quiet"),
        (0.34, 0.0, "plan"),
        (0.34, 0.5, "quiet"),
        (0.66, 0.5, "plan"),
        (0.67, 0.5, "act"),
        (0.67, 0.7, "quiet"),
        (1.4, 0.9, "act"),
        (-0.2, 0.0, "quiet"),
    ],
)
def test_zones_are_thirds_and_only_where_the_buffer_goes_faster(used: float, done: float, expected: str) -> None:
    """Thirds: E. M. Goldratt, Critical Chain, 1997; L. P. Leach, Critical Chain Project Management, 2000."""
    assert zone(used, done) == expected


def test_buffer_used_by_hand() -> None:
    """Six evenings of 2 h before the lock, four at 0.9 and two at 0.5: 9.2 h expected, 4 h of work, 5.2 h of buffer.

    Two lost evenings (0.9 and 0.5) take 2.8 h of it.
    """
    stages = [stage("s", [item("a", 4, 4)])]
    project = small(stages=stages, log=[missed(0), missed(2)])
    (before,) = buffer_points(problem(small(stages=stages), ANNOUNCED))[:1]
    assert before.used == pytest.approx(0.0)
    (lock,) = [p for p in buffer_points(problem(project, day(3))) if p.gate == "lock"]
    assert lock.used == pytest.approx(2.8 / 5.2)
    assert lock.done == 0.0
    assert lock.rate == float("inf")
    warning = kinds(project, day(3))["buffer"]
    assert warning.level == "plan"
    assert "lock" in warning.ids
    assert "54% of the buffer" in warning.reason


def test_three_lost_evenings_in_a_row() -> None:
    two = small(log=[missed(0), missed(2)])
    assert "lost-evenings" not in kinds(two, day(3))
    three = small(log=[missed(0), missed(2), missed(4)])
    found = kinds(three, day(5))["lost-evenings"]
    assert found.dates == (day(0), day(2), day(4))
    assert found.remedy
    broken = small(log=[missed(0), missed(2), worked(4, 2, body=2), missed(7), missed(9)])
    assert "lost-evenings" not in kinds(broken, day(10))


def test_unlogged_evenings_count_as_lost_and_the_program_asks() -> None:
    found = kinds(small(), day(5))["lost-evenings"]
    assert found.dates == (day(0), day(2), day(4))
    assert "not logged" in found.reason


def test_days_off_are_no_lost_evenings() -> None:
    project = small(off=[{"from": day(0).isoformat(), "to": day(4).isoformat()}])
    assert "lost-evenings" not in kinds(project, day(5))


def test_whole_chain_test_in_the_first_third() -> None:
    test = item("chain", 1, 1.5, role="chain-test")
    late = small(stages=[stage("s", [item("body", 6, 8)]), stage("t", [test], ["s"])])
    found = kinds(late)["chain-test"]
    assert found.ids == ("chain",)
    # sure evenings: days 0, 4 and 7 for the body, 11 for the test
    assert found.dates == (day(11),)
    early = small(stages=[stage("t", [test]), stage("s", [item("body", 6, 8)], ["t"])])
    assert "chain-test" not in kinds(early)


def test_an_evening_after_a_critique() -> None:
    ask = item("ask", 0.5, 1, role="critique")
    # 11 h on evenings of 2 h: the critique falls on the last one
    late = small(stages=[stage("s", [item("body", 11, 12)]), stage("c", [ask], ["s"])])
    assert kinds(late)["critique"].ids == ("ask",)
    early = small(stages=[stage("c", [ask]), stage("s", [item("body", 4, 5)], ["c"])])
    assert "critique" not in kinds(early)


def test_no_creative_work_on_the_last_evening() -> None:
    full = small(stages=[stage("s", [item("body", 11, 12)])])
    found = kinds(full)["last-evening"]
    assert found.dates == (day(11),)
    assert found.ids == ("body",)
    calm = small(stages=[stage("s", [item("body", 4, 5)])])
    assert "last-evening" not in kinds(calm)
    hand_in = small(stages=[stage("s", [item("send", 11, 12, role="hand-in")])])
    assert "last-evening" not in kinds(hand_in)


def test_an_upload_keeps_clear_of_the_last_night() -> None:
    upload = {"id": "up", "name": "Upload", "kind": "upload", "gate": "lock", "gigabytes": 4, "megabits_per_second": 20}
    late = small(stages=[stage("s", [item("body", 11, 12)])], jobs=[{**upload, "after": ["s"]}])
    assert kinds(late)["upload"].ids == ("up",)
    early = small(stages=[stage("s", [item("body", 4, 5)])], jobs=[{**upload, "after": ["s"]}])
    assert "upload" not in kinds(early)
    never = small(
        stages=[stage("s", [item("body", 500, 600)])], jobs=[{**upload, "after": ["s"]}], week=[slot("mon", 2.0, 0.9)]
    )
    assert kinds(never)["upload"].level == "act"
    # what ends after the gate is not inside the night before it, and of a gate that is over nothing is said
    over = small(stages=[stage("s", [item("body", 15, 16)])], jobs=[{**upload, "after": ["s"]}])
    told = kinds(over)["upload"]
    assert told.level == "act"
    assert "after" in told.reason
    assert "inside" not in told.reason
    gate = problem(over, ANNOUNCED).calendar.gate("lock")
    assert "upload" not in kinds(over, gate.date + dt.timedelta(days=1))


def test_each_kind_can_be_silenced() -> None:
    full = small(stages=[stage("s", [item("body", 11, 12)])], log=[missed(0), missed(2), missed(4)])
    loud = kinds(full, day(5))
    assert {"buffer", "lost-evenings", "last-evening"} <= set(loud)
    for kind in loud:
        quiet = silence(full, kind)
        assert set(kinds(quiet, day(5))) == set(loud) - {kind}
        assert set(kinds(silence(quiet, kind, False), day(5))) == set(loud)
    with pytest.raises(BadInput, match="one of"):
        silence(full, "noise")


def test_every_warning_has_a_reason_and_a_remedy() -> None:
    full = small(stages=[stage("s", [item("body", 11, 12)])], log=[missed(0), missed(2), missed(4)])
    for w in warnings(full, day(5)):
        assert w.kind in WARNING_KINDS
        assert len(w.reason) > 20
        assert len(w.remedy) > 20


def test_when_the_ways_back_are_offered() -> None:
    assert offers(small(), ANNOUNCED, {"lock": 0.9, "deadline": 0.95}) == ()
    over = small(log=[worked(0, 2, body=2), worked(2, 2, body=2), worked(4, 2, body=2)])
    assert [o.kind for o in offers(over, day(5), {"lock": 0.9})] == ["overrun"]
    assert [o.kind for o in offers(small(log=[missed(0)]), day(1), {"lock": 0.9})] == ["lost-evening"]
    low = offers(small(), ANNOUNCED, {"lock": 0.54, "deadline": 0.88})
    assert [(o.kind, o.ids) for o in low] == [("odds", ("lock",))]
    assert "54 in 100" in low[0].reason
