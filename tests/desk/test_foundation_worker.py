# SPDX-License-Identifier: GPL-3.0-or-later
"""Odds in the background: the latest question wins, and a fault never gets lost. Common practice, no source."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from plan_page_project import AS_OF, project
from PySide6.QtCore import QCoreApplication, QThread
from pytestqt.qtbot import QtBot

from nightplan.desk.background import Background, Report
from nightplan.desk.odds_worker import QUICK, Answer, OddsWorker
from nightplan.engine import forecast as engine
from nightplan.model.errors import BadInput


@pytest.fixture
def worker() -> Iterator[OddsWorker]:
    made = OddsWorker()
    yield made
    made.close()
    made.deleteLater()


@pytest.fixture
def answers(worker: OddsWorker) -> list[Answer]:
    heard: list[Answer] = []
    worker.answered.connect(heard.append)
    return heard


def rested(worker: OddsWorker) -> Callable[[], bool]:
    return lambda: not worker.busy


def test_a_quick_answer_then_one_of_all_futures(qtbot: QtBot, worker: OddsWorker, answers: list[Answer]) -> None:
    worker.ask(project(), AS_OF)
    qtbot.waitUntil(rested(worker), timeout=30_000)
    assert [(a.forecast.futures, a.whole) for a in answers] == [(QUICK, False), (engine.FUTURES, True)]
    direct = engine.forecast(project(), AS_OF)
    assert answers[1].forecast.gates == direct.gates


def test_only_the_latest_question_is_answered(qtbot: QtBot, worker: OddsWorker, answers: list[Answer]) -> None:
    asked = [project().but(title=f"number {n}") for n in range(12)]
    for one in asked:
        worker.ask(one, AS_OF)
    qtbot.waitUntil(rested(worker), timeout=30_000)
    assert {a.project.title for a in answers} == {"number 11"}
    assert answers[-1].whole


def test_answers_come_on_the_thread_of_the_window(qtbot: QtBot, worker: OddsWorker) -> None:
    where: list[bool] = []
    app = QCoreApplication.instance()
    assert app is not None
    # no slot of a QObject: it runs on the thread that emits
    worker.answered.connect(lambda _a: where.append(QThread.currentThread() is app.thread()))
    worker.ask(project(), AS_OF)
    qtbot.waitUntil(rested(worker), timeout=30_000)
    assert where == [True, True]


def test_a_question_that_is_called_off_gets_no_answer(qtbot: QtBot, worker: OddsWorker, answers: list[Answer]) -> None:
    worker.ask(project(), AS_OF)
    worker.call_off()
    assert not worker.busy
    worker.ask(project().but(title="later"), AS_OF)
    qtbot.waitUntil(rested(worker), timeout=30_000)
    assert {a.project.title for a in answers} == {"later"}


class Slow:
    """A forecast that goes on until it is called off; ``began`` is set when it has begun."""

    def __init__(self) -> None:
        self.began, self.ended = threading.Event(), threading.Event()

    def __call__(self, _project: Any, _as_of: Any, *, futures: int, progress: Callable[[float], None]) -> Any:
        try:
            self.began.set()
            while True:
                progress(0.5)
                self.ended.wait(0.001)
        finally:
            self.ended.set()


def test_closing_calls_off_and_waits(worker: OddsWorker, monkeypatch: pytest.MonkeyPatch) -> None:
    slow = Slow()
    monkeypatch.setattr(engine, "forecast", slow)
    worker.ask(project(), AS_OF)
    assert slow.began.wait(30)
    worker.close()
    assert slow.ended.is_set()
    assert not worker.busy


def test_the_window_goes_on_while_odds_are_worked_out(
    qtbot: QtBot, worker: OddsWorker, monkeypatch: pytest.MonkeyPatch
) -> None:
    slow = Slow()
    monkeypatch.setattr(engine, "forecast", slow)
    shares: list[float] = []
    worker.progressed.connect(shares.append)
    worker.ask(project(), AS_OF)
    qtbot.waitUntil(lambda: len(shares) >= 3, timeout=30_000)
    assert worker.busy
    worker.call_off()


def test_a_refusal_is_a_sentence(qtbot: QtBot, worker: OddsWorker, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_args: Any, **_keys: Any) -> Any:
        raise BadInput("stages[0]: no evenings are left")

    monkeypatch.setattr(engine, "forecast", refuse)
    with qtbot.waitSignal(worker.refused, timeout=30_000) as heard:
        worker.ask(project(), AS_OF)
    assert heard.args == ["stages[0]: no evenings are left"]
    assert not worker.busy


def test_a_fault_reaches_the_window_and_the_next_question_works(
    qtbot: QtBot, worker: OddsWorker, answers: list[Answer], monkeypatch: pytest.MonkeyPatch
) -> None:
    def break_down(*_args: Any, **_keys: Any) -> Any:
        raise ZeroDivisionError("ours")

    with monkeypatch.context() as patch:
        patch.setattr(engine, "forecast", break_down)
        with qtbot.waitSignal(worker.failed, timeout=30_000) as heard:
            worker.ask(project(), AS_OF)
    assert isinstance(heard.args[0], ZeroDivisionError)
    assert not worker.busy
    worker.ask(project(), AS_OF)
    qtbot.waitUntil(rested(worker), timeout=30_000)
    assert answers[-1].whole


@pytest.fixture
def background() -> Iterator[Background]:
    made = Background()
    yield made
    made.close()
    made.deleteLater()


def test_parts_come_in_order_before_the_whole_and_none_after_it_was_called_off(
    qtbot: QtBot, background: Background
) -> None:
    heard: list[Any] = []
    background.partly.connect(heard.append)
    background.done.connect(heard.append)
    held, let_on = threading.Event(), threading.Event()

    def work(report: Report) -> str:
        report.part("first")
        held.set()
        assert let_on.wait(30)
        report.part("second")
        return "whole"

    background.start("parts", work)
    assert held.wait(30)
    let_on.set()
    qtbot.waitUntil(lambda: not background.busy, timeout=30_000)
    assert heard == [("parts", "first"), ("parts", "second"), ("parts", "whole")]
    held.clear()
    let_on.clear()
    background.start("parts", work)
    assert held.wait(30)
    background.call_off()
    let_on.set()
    background.close()
    QCoreApplication.processEvents()
    assert len(heard) == 3
