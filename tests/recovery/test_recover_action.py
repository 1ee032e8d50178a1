# SPDX-License-Identifier: GPL-3.0-or-later
"""Taking a way back, and the verb that shows them."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from recovery_cases import ANNOUNCED, piece, raw_piece, small

from nightplan.actions.recover import apply, replans
from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.engine.forecast import forecast
from nightplan.engine.recovery import Ways, recover
from nightplan.engine.recovery_moves import apply_moves
from nightplan.files.store import load, save
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw

FUTURES = 400


def test_a_re_plan_is_recorded_with_reason_and_both_baselines(tmp_path: Path) -> None:
    project = piece(1.2)
    found = recover(project, ANNOUNCED, futures=FUTURES)
    after = apply(project, found.combination.moves, "animate overran", ANNOUNCED, futures=FUTURES)
    (entry,) = replans(after)
    assert entry.date == ANNOUNCED
    assert entry.reason == "animate overran"
    assert entry.moves == tuple(m.what for m in found.combination.moves)
    assert entry.odds_before == found.before
    assert entry.odds_after == found.combination.odds
    assert entry.old_baseline["odds"] == found.before
    assert entry.new_baseline["odds"] == found.combination.odds
    assert after.baselines[-1].odds == found.combination.odds
    # the project itself is the changed one, and it survives the file
    assert forecast(after, ANNOUNCED, futures=FUTURES).gate("lock").odds == found.combination.odds["lock"]
    save(after, tmp_path / "p.nightplan")
    assert load(tmp_path / "p.nightplan") == after
    assert project_from_raw(project_to_raw(after)) == after


def test_after_a_re_plan_the_buffer_counts_from_the_new_baseline() -> None:
    project = piece(1.2)
    after = apply(
        project, recover(project, ANNOUNCED, futures=FUTURES).combination.moves, "", ANNOUNCED, futures=FUTURES
    )
    assert forecast(after, ANNOUNCED, futures=FUTURES).gate("lock").buffer.used == pytest.approx(0.0, abs=1e-4)


def test_re_plans_over_time() -> None:
    project = piece(1.2)
    first = Ways(project, ANNOUNCED, futures=8).moves()[0]
    one = apply(project, [first], "first", ANNOUNCED, futures=8)
    second = next(m for m in Ways(one, ANNOUNCED, futures=8).moves() if m.kind == "leave-out")
    two = apply(one, [second], "second", ANNOUNCED, futures=8)
    assert [r.reason for r in replans(two)] == ["first", "second"]
    assert replans(two)[1].old_baseline == replans(two)[0].new_baseline
    strange = two.but(replans=("a note", {"date": "someday"}, {"date": "2027-09-07", "moves": 3}, *two.replans))
    assert [r.reason for r in replans(strange)] == ["first", "second", ""]


def test_a_cheaper_job_is_not_made_cheaper_twice_in_the_same_way() -> None:
    project = piece()
    samples = next(m for m in Ways(project, ANNOUNCED, futures=8).moves() if m.id == "job:final-render:samples")
    after = apply(project, [samples], "", ANNOUNCED, futures=8)
    assert samples.id not in {m.id for m in Ways(after, ANNOUNCED, futures=8).moves()}


def test_nothing_chosen_is_refused() -> None:
    with pytest.raises(BadInput, match="none is chosen"):
        apply(small(), [], "", ANNOUNCED)


def test_a_move_of_another_project_is_refused() -> None:
    move = next(m for m in Ways(piece(), ANNOUNCED, futures=8).moves() if m.kind == "leave-out")
    with pytest.raises(BadInput, match="names no item"):
        apply_moves(small(), [move])


# --- the verb -------------------------------------------------------------------------------------


def call(*argv: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = main(argv, out, err, Context(out, lambda: ANNOUNCED))
    return code, out.getvalue(), err.getvalue()


@pytest.fixture
def file(tmp_path: Path) -> str:
    path = tmp_path / "moth.nightplan"
    path.write_text(json.dumps(raw_piece(1.2)), encoding="utf-8")
    return str(path)


def test_recover_as_json(file: str) -> None:
    code, out, err = call("recover", file, "--json", "--futures", "400")
    assert (code, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    assert found["reached"] is True
    assert found["target"] == 0.8
    for move in found["moves"]:
        assert {"kind", "what", "cost", "odds"} <= set(move)
        assert set(move["odds"]) == {"lock", "deadline"}
    assert found["combination"]
    assert {m["id"] for m in found["combination"]} <= {m["id"] for m in found["moves"]}
    assert min(found["combination_odds"].values()) >= 0.8


def test_recover_out_of_reach_ends_with_1(tmp_path: Path) -> None:
    path = tmp_path / "much.nightplan"
    path.write_text(json.dumps(raw_piece(3.0)), encoding="utf-8")
    code, out, _ = call("recover", str(path), "--futures", "400", "--json")
    found = json.loads(out)
    assert code == 1
    assert found["reached"] is False


def test_recover_for_people(file: str) -> None:
    code, out, err = call("recover", file, "--futures", "400", "--as-of", "2027-09-08")
    assert (code, err) == (0, "")
    assert "The cheapest way there" in " ".join(out.split())
    assert "belongs to the combination" in out


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--target", "2000"), "no odds"),
        (("--target", "none"), "no odds"),
        (("--gate", "post"), "names no gate"),
        (("--as-of", "yesterday"), "no date"),
        (("--futures", "0"), "futures"),
    ],
)
def test_bad_arguments_are_one_sentence(file: str, more: tuple[str, ...], says: str) -> None:
    code, out, err = call("recover", file, *more)
    assert (code, out) == (2, "")
    assert says in err
    assert err.count("\n") == 1


def test_target_in_percent(file: str) -> None:
    for text in ("0.9", "90", "90%"):
        _, out, _ = call("recover", file, "--target", text, "--futures", "50", "--json")
        assert json.loads(out)["target"] == pytest.approx(0.9)
