# SPDX-License-Identifier: GPL-3.0-or-later
"""Stages that wait for each other in many ways: the answer is the same, and comes at once."""

from __future__ import annotations

from nightplan.model.project import Gate, Item, Project, Stage


def project(*stages: Stage) -> Project:
    gates = (Gate(id="lock", name="lock", on="2027-10-24"), Gate(id="deadline", name="hand-in", on="2027-10-31"))
    return Project(title="x", zone="UTC", announced="2027-09-01", gates=gates, stages=stages)


def empty(name: str, *after: str) -> Stage:
    return Stage(id=name, name=name, after=after)


def test_empty_stages_that_name_each_other_twice_are_gone_through_once() -> None:
    # 2**200 ways lead through them; common practice, no source
    work = Stage(id="first", name="first", items=(Item(id="a", name="a", likely=1.0, high=2.0),))
    chain = [empty("e0", "first", "first"), *(empty(f"e{n}", f"e{n - 1}", f"e{n - 1}") for n in range(1, 200))]
    last = Stage(id="last", name="last", after=("e199",), items=(Item(id="b", name="b", likely=1.0, high=2.0),))
    assert project(work, *chain, last).predecessors["b"] == {"a"}


def test_a_long_chain_of_empty_stages_is_no_deep_call() -> None:
    work = Stage(id="first", name="first", items=(Item(id="a", name="a", likely=1.0, high=2.0),))
    chain = [empty("e0", "first"), *(empty(f"e{n}", f"e{n - 1}") for n in range(1, 5_000))]
    assert list(project(work, *chain).expand(("e4999",))) == ["a"]


def test_what_is_named_stands_in_its_order() -> None:
    one = Stage(id="s1", name="s1", items=(Item(id="a", name="a", likely=1.0, high=2.0),))
    two = Stage(id="s2", name="s2", items=(Item(id="b", name="b", likely=1.0, high=2.0),))
    assert list(project(one, two, empty("both", "s2", "s1")).expand(("both", "x"))) == ["b", "a", "x"]
