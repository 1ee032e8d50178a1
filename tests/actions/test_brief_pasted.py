# SPDX-License-Identifier: GPL-3.0-or-later
"""Proposals of a pasted text: taken one by one, refused for good, and work that the brief asks for in the plan.

The text is invented; that nothing is accepted by itself is the issue's own rule.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from nightplan.actions import brief, brief_paste, brief_work
from nightplan.actions.edit import add_item, add_stage, change_stage
from nightplan.files.store import load
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

TEXT = """Hand in 192 frames at 24 fps, 1920x1080 PNG.
The film must be no longer than 30 seconds.
Two progress posts are required.
Deadline: October 31, 2027, 11:59 pm PT.
Keep your source files."""


@pytest.fixture
def project() -> Project:
    sample = load(Path(__file__).parents[2] / "sample_projects" / "moth-and-lantern.nightplan")
    return brief_paste.set_brief_text(sample.but(deliverables=()), TEXT)


def of_kind(project: Project, kind: str) -> brief_paste.Proposal:
    return next(p for p in brief_paste.proposals_of(project) if p.rule is not None and p.rule.kind == kind)


def standing(project: Project, proposal: brief_paste.Proposal) -> str:
    proposals = brief_paste.proposals_of(project)
    return brief_paste.standings(project, proposals)[proposals.index(proposal)]


def test_nothing_is_taken_by_itself(project: Project) -> None:
    assert set(brief_paste.standings(project, brief_paste.proposals_of(project))) == {"open"}
    assert brief.deliverables_of(project) == ()


def test_one_is_taken_with_its_sentence(project: Project) -> None:
    frames = of_kind(project, "frame-count")
    p = brief_paste.accept_proposal(project, frames, None, what="sequence")
    rule = brief.rule_of(p, "sequence", "frame-count")
    assert (rule.value, rule.wording) == (192, "Hand in 192 frames at 24 fps, 1920x1080 PNG.")
    assert standing(p, frames) == "accepted"
    assert standing(p, of_kind(p, "picture-size")) == "open"
    # a value put right afterwards is still the rule of that sentence
    assert standing(brief.change_rule(p, "sequence", "frame-count", value=193), frames) == "accepted"
    assert standing(brief.remove_rule(p, "sequence", "frame-count"), frames) == "open"


def test_the_very_rule_is_not_written_twice(project: Project) -> None:
    frames = of_kind(project, "frame-count")
    p = brief.add_deliverable(project, "Frames", "sequence")
    p = brief.add_rule(p, "frames", "frame-count", 192, evidence="page 1")
    p = brief_paste.accept_proposal(p, frames, "frames")
    (rule,) = brief.deliverable_of(p, "frames").rules
    assert (rule.wording, rule.evidence) == (frames.sentence, "page 1")
    assert standing(p, frames) == "accepted"
    other = brief.change_rule(p, "frames", "frame-count", wording="192, no more.")
    with pytest.raises(BadInput, match="has this rule already, from “192, no more"):
        brief_paste.accept_proposal(other, frames, "frames")
    # another number is another rule: which of them holds, the artist says
    more = brief.change_rule(p, "frames", "frame-count", value=100, wording="")
    assert len(brief.deliverable_of(brief_paste.accept_proposal(more, frames, "frames"), "frames").rules) == 2


def test_refused_stays_refused_until_asked_again(project: Project) -> None:
    size = of_kind(project, "picture-size")
    p = brief_paste.refuse_proposal(brief_paste.refuse_proposal(project, size), size)
    assert p.brief is not None
    assert len(p.brief.refused) == 1
    p = project_from_raw(project_to_raw(p))
    p = brief_paste.set_brief_text(p, TEXT + "\nMore.")
    assert standing(p, size) == "refused"
    assert standing(brief_paste.ask_again(p, size), size) == "open"
    taken = brief_paste.accept_proposal(p, size, None, what="image")
    assert standing(taken, size) == "accepted"


def test_where_a_rule_can_be_measured(project: Project) -> None:
    p = brief.add_deliverable(brief.add_deliverable(project, "Film", "movie"), "Frames", "sequence")
    png, rate = of_kind(p, "image-format"), of_kind(p, "fps")
    there = brief.deliverables_of(p)
    found = brief_paste.home_of(there, png, "film")
    assert found is not None
    assert found.id == "frames"
    assert brief_paste.home_of(there[:1], png) is None
    with pytest.raises(BadInput, match="Image format is measured on a sequence of frames or a still"):
        brief_paste.accept_proposal(p, png, "film")
    # frames have no rate of their own; what the brief says is theirs
    assert brief_paste.home_of(there, rate, "frames") == there[1]
    assert brief_paste.home_of(there, rate, "film") == there[0]
    assert brief_paste.guess_what([png]) == "image"
    assert brief_paste.guess_what([png, of_kind(p, "frame-count")]) == "sequence"


def test_a_deadline_goes_to_its_gate(project: Project) -> None:
    deadline = next(p for p in brief_paste.proposals_of(project) if p.deadline is not None)
    bare = project.but(gates=tuple(g.but(wording=None, at="2027-12-01T12:00", on=None, zone="UTC")
                                   if g.id == "deadline" else g for g in project.gates))  # fmt: skip
    assert standing(bare, deadline) == "open"
    p = brief_paste.accept_deadline(bare, deadline)
    gate = p.gates_by_id["deadline"]
    assert (gate.at, gate.zone) == (dt.datetime(2027, 10, 31, 23, 59), "America/Los_Angeles")
    assert gate.name == project.gates_by_id["deadline"].name
    assert standing(p, deadline) == "accepted"
    further = brief_paste.accept_deadline(bare, deadline, None, "Vote")
    assert further.gates_by_id["vote"].at == gate.at
    assert further.gates_by_id["deadline"] == bare.gates_by_id["deadline"]
    with pytest.raises(BadInput, match="a deadline belongs to a gate"):
        brief_paste.accept_proposal(p, deadline, None)


def test_a_deadline_before_the_lock_is_refused(project: Project) -> None:
    deadline = next(p for p in brief_paste.proposals_of(project) if p.deadline is not None)
    late = tuple(g.but(on="2027-11-20", at=None, zone=None) if g.id == "lock" else g for g in project.gates)
    with pytest.raises(BadInput, match="move the lock first, or take the date as a further gate"):
        brief_paste.accept_deadline(project.but(gates=late), deadline)


def test_text_that_is_too_long(project: Project) -> None:
    with pytest.raises(BadInput, match="200001 letters"):
        brief_paste.set_brief_text(project, "x" * 200_001)
    assert brief_paste.set_brief_text(project, "").brief is None


def with_posts(project: Project) -> Project:
    for kind in ("progress-post", "kept-stage"):
        rule = of_kind(project, kind)
        home = brief_paste.home_of(brief.deliverables_of(project), rule)
        project = brief_paste.accept_proposal(project, rule, home.id if home else None)
    return project


def test_work_enters_the_plan_one_by_one(project: Project) -> None:
    p = with_posts(project)
    asked = brief_work.work_asked(p)
    assert [(w.make, w.name) for w in asked] == [
        ("gate", "Progress post 1"),
        ("item", "Make: Progress post 1"),
        ("gate", "Progress post 2"),
        ("item", "Make: Progress post 2"),
        ("item", "Keep for the hand-in: source files"),
    ]
    with pytest.raises(BadInput, match="say by when"):
        brief_work.take_work(p, asked[0])
    day = dt.date(2027, 10, 8)
    post = brief_work.whole_post(p, asked[0], on=day)
    assert post.gates_by_id[asked[0].id].on == day
    item = post.items[asked[1].id]
    assert post.stage_of[item.id].gate == asked[0].id
    assert item.pinned
    assert item.not_before == dt.date(2027, 10, 2)
    assert [w.id for w in brief_work.work_asked(post)] == [w.id for w in asked[2:]]
    assert brief_work.take_work(post, asked[0], on=day) is post
    kept = brief_work.take_work(post, asked[4])
    assert kept.stage_of[asked[4].id].gate == "deadline"
    assert kept.items[asked[4].id].note == "Keep your source files."
    # a second piece of work by the same gate lies in the same stage
    kept = brief.add_rule(kept, brief.deliverables_of(kept)[0].id, "kept-stage", "wire views")
    more = brief_work.take_work(kept, brief_work.work_asked(kept)[-1])
    assert len(more.stages) == len(kept.stages) == len(post.stages) + 1


def test_days_of_posts_that_the_brief_gives(project: Project) -> None:
    p = brief.add_deliverable(project, "Film", "movie")
    p = brief.add_rule(p, "film", "progress-post", 1, due=["2027-10-03"])
    (gate, make) = brief_work.work_asked(p)
    taken = brief_work.take_work(p, make)
    assert taken.gates_by_id[gate.id].on == dt.date(2027, 10, 3)
    assert brief_work.work_asked(taken) == ()


def test_a_stage_of_another_gate_is_refused(project: Project) -> None:
    p = with_posts(project)
    asked = brief_work.work_asked(p)
    p = brief_work.take_work(p, asked[0], on=dt.date(2027, 10, 8))
    with pytest.raises(BadInput, match="belongs to another gate"):
        brief_work.take_work(p, asked[1], stage=p.stages[0].id)
    with pytest.raises(BadInput, match="is no stage"):
        brief_work.take_work(p, asked[1], stage="attic")


def taken_in(project: Project, language_of_stage: str, monkeypatch: pytest.MonkeyPatch) -> tuple[Project, str]:
    """A project with what the brief asks for by the deadline in its plan, and a further such rule; the stage's id."""
    p = brief.add_rule(with_posts(project), "film", "kept-stage", "wire views")
    with monkeypatch.context() as speaking:
        names = {"For the hand-in": language_of_stage}
        speaking.setattr(brief_work, "tr", lambda text, **values: names.get(text, text).format(**values))
        (first, *_) = [w for w in brief_work.work_asked(p) if w.make == "item" and not w.gate]
        p = brief_work.take_work(p, first)
    return p, p.stages[-1].id


@pytest.mark.parametrize("language", ["For the hand-in", "Für die Abgabe", "提出のために"])
def test_the_stage_for_the_hand_in_keeps_its_part_under_any_name(
    project: Project, language: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Renamed, or made while another language was spoken: what is taken later lies in it as well."""
    p, stage = taken_in(brief.add_deliverable(project, "Film", "movie"), language, monkeypatch)
    p = add_item(change_stage(p, stage, name="Last things"), stage, "Tidy the folder")
    (later, *_) = [w for w in brief_work.work_asked(p) if w.make == "item" and not w.gate]
    more = brief_work.take_work(p, later)
    assert more.stage_of[later.id].id == stage
    assert len(more.stages) == len(p.stages)


@pytest.mark.parametrize(("id", "name"), [("fur-die-abgabe", "Für die Abgabe"), ("x", "For the hand-in")])
def test_the_stage_of_an_earlier_version_is_known(
    project: Project, id: str, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There its id was made from its name."""
    p, stage = taken_in(brief.add_deliverable(project, "Film", "movie"), "For the hand-in", monkeypatch)
    p = p.but(stages=tuple(s.but(id=id, name=name) if s.id == stage else s for s in p.stages))
    (later, *_) = [w for w in brief_work.work_asked(p) if w.make == "item" and not w.gate]
    assert brief_work.take_work(p, later).stage_of[later.id].id == id


def test_a_stage_of_the_artist_that_has_the_id_is_left_alone(project: Project) -> None:
    p = brief.add_rule(brief.add_deliverable(project, "Film", "movie"), "film", "kept-stage", "wire views")
    p = add_stage(p, "Anything", gate="lock", id="for-the-hand-in")
    (work,) = brief_work.work_asked(p)
    taken = brief_work.take_work(p, work)
    assert taken.stage_of[work.id].id == "for-the-hand-in-2"
    assert taken.stages_by_id["for-the-hand-in"].items == ()
