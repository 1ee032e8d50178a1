# SPDX-License-Identifier: GPL-3.0-or-later
"""Files on the Brief page: dropped, found wanting, mended, kept on a sheet, and no longer the file that was checked.

Frames are made here, as PNG by hand (ISO/IEC 15948); the words of repair are those of the check itself.
"""

from __future__ import annotations

import os
import signal
import struct
import zlib
from collections.abc import Iterable
from pathlib import Path

import pytest
from conftest import page_of, rows_of
from desk_fakes import FakeServices
from plan_page_project import project
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from nightplan.actions import brief
from nightplan.brief.worker import Lost
from nightplan.desk.pages.brief_page import BriefPage
from nightplan.desk.window import MainWindow
from nightplan.model.project import Project

pytestmark = pytest.mark.usefixtures("settled")
WIDTH, HEIGHT = 48, 27


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png(n: int) -> bytes:
    """A grey picture, another one for each n."""
    lines = b"".join(b"\0" + bytes((40 + (x * y + 11 * n) % 180) for x in range(WIDTH)) for y in range(HEIGHT))
    head = struct.pack(">IIBBBBB", WIDTH, HEIGHT, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(lines)) + chunk(b"IEND", b"")


def frames(folder: Path, numbers: Iterable[int]) -> Path:
    folder.mkdir(exist_ok=True)
    for n in numbers:
        path = folder / f"shot_{n:04d}.png"
        path.write_bytes(png(n))
        # not just written: the check would say that something may still write to them
        os.utime(path, (1_800_000_000, 1_800_000_000))
    return folder


def with_brief(p: Project) -> Project:
    p = brief.add_deliverable(p, "Frames", "sequence", fps=24)
    p = brief.add_rule(p, "frames", "frame-count", 12, wording="Twelve frames.", breach="You are out.")
    p = brief.add_rule(p, "frames", "picture-size", f"{WIDTH}x{HEIGHT}")
    return brief.add_rule(p, "frames", "tick", "fits the theme")


@pytest.fixture
def start() -> Project:
    return with_brief(project())


@pytest.fixture
def page(window: MainWindow) -> BriefPage:
    return page_of(window, BriefPage)


def rest(qtbot: QtBot, page: BriefPage) -> None:
    """Until nothing is looked at any more."""
    qtbot.waitUntil(lambda: not page.files.checking.busy, timeout=60_000)


def drop(page: BriefPage, *paths: Path) -> bool:
    """Drag files over the page and let them go; whether the page took them."""
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(p)) for p in paths])
    both = Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    over = QDragEnterEvent(QPoint(30, 30), *both)
    QApplication.sendEvent(page, over)
    if not over.isAccepted():
        return False
    assert page.check.drop.over
    gone = QDropEvent(QPointF(30, 30), *both)
    QApplication.sendEvent(page, gone)
    assert not page.check.drop.over
    return gone.isAccepted()


def rows(page: BriefPage) -> list[str]:
    return rows_of(page.check.list)


def test_from_a_gap_to_a_file_that_is_another(
    qtbot: QtBot, window: MainWindow, page: BriefPage, services: FakeServices, tmp_path: Path
) -> None:
    folder = frames(tmp_path / "shot", [n for n in range(1, 13) if n != 7])
    before = window.document.project
    assert drop(page, folder)
    rest(qtbot, page)
    report = page.check.report
    assert report is not None
    assert (report.verdict, report.depth) == ("fail", "integrity"), "headers, then whole files by itself"
    assert page.check.verdict.text().startswith("✗  Do not hand it in like this: ")
    failing = rows(page)[0]
    assert failing.startswith("fail: Frame count: 11.")
    assert "Wanted: exactly 12 frames." in failing
    assert "render range 7" in failing
    assert "If it stays so: You are out." in failing
    assert [r.split(":", 1)[0] for r in rows(page)] == sorted(
        (r.split(":", 1)[0] for r in rows(page)), key=["fail", "cannot tell", "your tick", "warn", "pass"].index
    )
    assert window.document.project is before, "looking changes nothing"
    # mended, looked at again
    frames(folder, [7])
    page.check.looks["integrity"].click()
    rest(qtbot, page)
    assert page.check.report is not None
    assert page.check.report.verdict == "your tick"
    # the word that only a person can say, from the finding itself
    place = next(n for n, r in enumerate(rows(page)) if r.startswith("your tick"))
    page.check.list.setCurrentRow(place)
    assert page.check.word.isVisible()
    page.check.note.setText("a moth is a guest, too")
    page.check.tick.click()
    assert page.check.report.verdict == "pass"
    assert brief.rule_of(window.document.project, "frames", "tick").tick_note == "a moth is a guest, too"
    assert any("ticked by you: a moth is a guest, too" in r for r in rows(page))
    assert page.check.verdict.text().startswith("✓  Everything that can be measured is as the brief asks")
    window.document.undo()
    assert page.check.report.verdict == "your tick"
    window.document.redo()
    # kept with hashes, as one step
    page.check.keep.click()
    rest(qtbot, page)
    (sheet,) = window.document.project.handins or ()
    assert (sheet.deliverable, sheet.verdict, len(sheet.files)) == ("frames", "pass", 12)
    assert rows_of(page.sheets.list)[0].startswith("pass: Frames, ")
    page.sheets.still.click()
    rest(qtbot, page)
    assert page.sheets.answer.text() == "✓  All 12 files are still the files that were checked."
    # one byte altered, the size and the time as they were
    victim = folder / "shot_0003.png"
    data = bytearray(victim.read_bytes())
    data[60] ^= 1
    stamp = victim.stat().st_mtime_ns
    victim.write_bytes(bytes(data))
    os.utime(victim, ns=(stamp, stamp))
    page.sheets.still.click()
    rest(qtbot, page)
    told = page.sheets.answer.text()
    assert told.startswith("✗  Not the same any more: 1 not the file that was checked; 11 of 12 still the same.")
    assert "shot_0003.png is not the file that was checked" in told
    # and elsewhere
    os.rename(folder, tmp_path / "moved")
    page.sheets.still.click()
    rest(qtbot, page)
    assert "None of the files is where it was" in page.sheets.answer.text()
    page.sheets.elsewhere.click()
    services.choose(tmp_path / "moved")
    rest(qtbot, page)
    assert "11 of 12 still the same" in page.sheets.answer.text()
    page.sheets.remove.click()
    assert not window.document.project.handins
    window.document.undo()
    assert len(window.document.project.handins or ()) == 1


def test_every_pixel_and_a_sheet_as_files(
    qtbot: QtBot, window: MainWindow, page: BriefPage, services: FakeServices, tmp_path: Path
) -> None:
    folder = frames(tmp_path / "shot", range(1, 13))
    (folder / "shot_0005.png").write_bytes((folder / "shot_0004.png").read_bytes())
    os.utime(folder / "shot_0005.png", (1_800_000_000, 1_800_000_000))
    page.check.choose_folder.click()
    services.choose(folder)
    rest(qtbot, page)
    assert not any("Repeated" in r or "same picture" in r for r in rows(page))
    page.check.looks["deep"].click()
    assert page.check.looking.bar.isVisible()
    assert page.check.looking.stop_button.isVisible()
    assert not page.check.keep.isEnabled()
    rest(qtbot, page)
    assert page.check.report is not None
    assert page.check.report.depth == "deep"
    assert any("frame 5" in r and r.startswith("warn") for r in rows(page))
    assert not page.check.looking.isVisible()
    for each, ending in ((page.check.as_html, ".html"), (page.check.as_pdf, ".pdf")):
        each.click()
        rest(qtbot, page)
        asked = services.choose(tmp_path / f"sheet{ending}")
        assert asked.suggested.endswith(f"hand-in-frames{ending}")
        qtbot.waitUntil(lambda: not window.export_run.busy, timeout=60_000)
        assert window.statusBar().currentMessage() == f"Written: sheet{ending}"
        assert (tmp_path / f"sheet{ending}").stat().st_size > 1000
    assert "Hand-in sheet: Frames" in (tmp_path / "sheet.html").read_text(encoding="utf-8")
    page.check.as_pdf.click()
    services.choose(tmp_path / "gone" / "sheet.pdf")
    qtbot.waitUntil(lambda: not window.export_run.busy, timeout=60_000)
    assert window.statusBar().currentMessage() == "Not written: sheet.pdf."
    assert "cannot be written" in services.questions[-1].text
    assert window.document.project.handins is None


def test_other_rules_make_an_answer_old(qtbot: QtBot, window: MainWindow, page: BriefPage, tmp_path: Path) -> None:
    drop(page, frames(tmp_path / "shot", range(1, 13)))
    rest(qtbot, page)
    window.document.apply("Rename", brief.change_deliverable(window.document.project, "frames", name="Final"))
    assert page.check.keep.isEnabled()
    window.document.apply("Rule", brief.change_rule(window.document.project, "frames", "frame-count", value=13))
    assert page.check.verdict.text() == "The rules changed since this check: look again."
    assert not page.check.keep.isEnabled()
    window.document.undo()
    assert page.check.keep.isEnabled()
    window.document.apply("Out", brief.remove_deliverable(window.document.project, "frames"))
    assert page.check.report is None
    assert not page.check.list.isVisible()


def test_files_go_to_the_deliverable_that_they_look_like(
    qtbot: QtBot, window: MainWindow, page: BriefPage, tmp_path: Path
) -> None:
    p = brief.add_deliverable(window.document.project, "Notes", "text")
    window.document.apply("Notes", brief.add_rule(p, "notes", "text-length", 3, "at most"))
    (tmp_path / "notes.txt").write_text("four words are here", encoding="utf-8")
    drop(page, tmp_path / "notes.txt")
    rest(qtbot, page)
    assert page.check.report is not None
    assert page.check.report.deliverable == "notes"
    assert rows(page)[0].startswith("fail: Words of text: 4")
    # Enter on a finding goes to its rule
    qtbot.keyClick(page.check.list, Qt.Key.Key_Return)
    assert page.tree.current_key == ("notes", "text-length")
    page.check.choose_deliverable("frames")
    page.check.deliverable_chosen.emit("frames")
    rest(qtbot, page)
    assert page.check.report.deliverable == "frames"
    assert page.check.report.verdict in ("fail", "cannot tell")


def test_cancel_and_what_is_not_there(
    qtbot: QtBot, window: MainWindow, page: BriefPage, services: FakeServices, tmp_path: Path
) -> None:
    page.files.take((str(tmp_path / "gone"),))
    assert "there is no such file" in page.check.verdict.text()
    assert page.check.verdict.isVisible()
    drop(page, frames(tmp_path / "shot", range(1, 13)))
    rest(qtbot, page)
    shown = page.check.report
    page.check.looks["deep"].click()
    page.check.looking.stop_button.click()
    assert not page.files.checking.busy
    assert page.check.report == shown, "what was found before stays"
    assert page.check.looks["deep"].isEnabled()
    page.check.choose_files.click()
    services.choose(None)
    assert page.check.report == shown
    # a link to the web is no file
    mime = QMimeData()
    mime.setUrls([QUrl("https://example.org/a.png")])
    both = Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    over = QDragEnterEvent(QPoint(30, 30), *both)
    over.ignore()
    QApplication.sendEvent(page, over)
    assert not over.isAccepted()


def test_nothing_is_dropped_on_a_page_without_a_brief(window: MainWindow, page: BriefPage, tmp_path: Path) -> None:
    window.document.apply("None", window.document.project.but(deliverables=()))
    mime = QMimeData()
    mime.setUrls([QUrl.fromLocalFile(str(tmp_path))])
    over = QDragEnterEvent(
        QPoint(30, 30), Qt.DropAction.CopyAction, mime, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    )
    over.ignore()
    QApplication.sendEvent(page, over)
    assert not over.isAccepted()


HOSTILE = {
    "shot_0001.png": b"",
    "shot_0002.png": b"\0" * 500,
    "shot_0003.png": png(3)[:70],
    "shot_0004.png": b"<html><script>alert(1)</script></html>",
    "shot_0005.png": png(5).replace(struct.pack(">II", WIDTH, HEIGHT), struct.pack(">II", 60_000, 60_000)),
    "shot_0006.png": png(6)[:30] + bytes(range(256)) * 16,
    "<b>{bad} & 'x' \u202egnp.exe": b"MZ",
}


def test_hostile_files_are_findings(qtbot: QtBot, window: MainWindow, page: BriefPage, tmp_path: Path) -> None:
    folder = tmp_path / "bad <i>{good}"
    folder.mkdir()
    for name, data in HOSTILE.items():
        (folder / name).write_bytes(data)
    (folder / "loop").symlink_to(folder)
    drop(page, folder)
    rest(qtbot, page)
    page.check.looks["deep"].click()
    rest(qtbot, page)
    assert page.check.report is not None
    assert page.check.report.verdict == "fail"
    assert len(rows(page)) > 5
    page.check.list.grab()
    assert window.isVisible()


def test_a_worker_that_is_killed_takes_nobody_along(
    qtbot: QtBot, window: MainWindow, page: BriefPage, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = frames(tmp_path / "shot", range(1, 13))
    drop(page, folder)
    rest(qtbot, page)
    page.check.looks["deep"].click()
    rest(qtbot, page)
    crew = page.files.checking._crew
    assert crew is not None
    kept = [w._process.pid for w in crew._idle]
    assert kept, "worker processes stay for the next check"
    for pid in kept:
        assert pid is not None
        os.kill(pid, signal.SIGKILL)
    page.check.looks["deep"].click()
    rest(qtbot, page)
    assert page.check.report is not None
    assert page.check.report.verdict in ("cannot tell", "fail", "your tick")
    # the next look has new workers
    page.check.looks["deep"].click()
    rest(qtbot, page)
    assert page.check.report.verdict == "your tick"
    assert not any(Lost.__name__ in r for r in rows(page))


def test_a_fault_of_ours_is_told_and_the_page_goes_on(
    qtbot: QtBot, window: MainWindow, page: BriefPage, services: FakeServices, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    told: list[BaseException] = []
    monkeypatch.setattr(services, "fault", told.append)

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("on purpose")

    with monkeypatch.context() as patch:
        patch.setattr("nightplan.brief.check.check", broken)
        drop(page, frames(tmp_path / "shot", range(1, 13)))
        rest(qtbot, page)
    assert [type(e) for e in told] == [ZeroDivisionError]
    assert "a fault of ours" in page.check.verdict.text()
    page.check.looks["headers"].click()
    rest(qtbot, page)
    assert page.check.report is not None


def test_closing_in_the_middle_of_a_check_leaves_nothing_behind(
    qtbot: QtBot, window: MainWindow, page: BriefPage, tmp_path: Path
) -> None:
    drop(page, frames(tmp_path / "shot", range(1, 13)))
    rest(qtbot, page)
    page.check.looks["deep"].click()
    window.setProperty("discard", True)
    window.close()
    assert not page.files.checking.busy
    assert page.files.checking._crew is None
