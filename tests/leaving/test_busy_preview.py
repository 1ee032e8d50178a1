# SPDX-License-Identifier: GPL-3.0-or-later
"""What busy times do to evenings: taken, made shorter, given back. By hand; common practice, no source."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from nightplan.actions.busy import BusyImport, import_busy, remove_busy
from nightplan.evenings.dated import calendar
from nightplan.files.store import load
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

#: evenings: Tuesday and Thursday 20:30 for 2.5 h, Saturday 14:00 for 4 h
MOTH = load(Path(__file__).parents[2] / "sample_projects" / "moth-and-lantern.nightplan")
DAY = dt.date(2027, 10, 14)


def ics(*times: tuple[str, str], day: dt.date = DAY, name: str = "Choir") -> str:
    body = "".join(
        f"BEGIN:VEVENT\r\nUID:{n}\r\nSUMMARY:{name}\r\nDTSTART:{day:%Y%m%d}T{a}\r\nDTEND:{day:%Y%m%d}T{b}\r\nEND:VEVENT\r\n"
        for n, (a, b) in enumerate(times)
    )
    return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:t\r\n{body}END:VCALENDAR\r\n"


def take(*times: tuple[str, str], keep: float | None = 1.0, project: Project = MOTH, day: dt.date = DAY) -> BusyImport:
    return import_busy(project, ics(*times, day=day), "work.ics", keep_hours=keep)


def evening(project: Project, day: dt.date = DAY) -> tuple[dt.time, float] | None:
    return next(((e.start, e.hours) for e in calendar(project).evenings if e.date == day), None)


@pytest.mark.parametrize(
    ("times", "keep", "left"),
    [
        ([("180000", "203000")], 1.0, (dt.time(20, 30), 2.5)),
        ([("180000", "210000")], 1.0, (dt.time(21), 2.0)),
        ([("180000", "210200")], 1.0, (dt.time(21, 5), 1.75)),
        ([("220000", "233000")], 1.0, (dt.time(20, 30), 1.5)),
        ([("213000", "220000")], 1.0, (dt.time(20, 30), 1.0)),
        ([("212500", "214000")], 1.0, (dt.time(21, 40), 1.25)),
        ([("213000", "220000")], 1.5, None),
        ([("180000", "230000")], 1.0, None),
        ([("200000", "204500"), ("223000", "230000")], 1.0, (dt.time(20, 45), 1.75)),
        ([("180000", "210000")], None, None),
    ],
)
def test_what_is_left_of_an_evening(
    times: list[tuple[str, str]], keep: float | None, left: tuple[dt.time, float] | None
) -> None:
    read = take(*times, keep=keep)
    found = evening(read.project)
    assert found == left
    if left is None:
        assert [(t.date, t.why) for t in read.taken] == [(DAY, "Choir")]
        assert read.shorter == ()
    elif left == (dt.time(20, 30), 2.5):
        assert read.taken == read.shorter == ()
    else:
        (row,) = read.shorter
        assert (row.date, row.start, row.was_start, row.was_hours, row.why) == (
            DAY,
            left[0],
            dt.time(20, 30),
            2.5,
            "Choir",
        )
        assert read.taken == ()
    assert read.given_back == ()
    # nothing else moved, it can be stored, and it goes as it came
    stored = project_from_raw(project_to_raw(read.project))
    assert stored == read.project
    assert [e for e in calendar(stored).evenings if e.date != DAY] == [
        e for e in calendar(MOTH).evenings if e.date != DAY
    ]
    assert remove_busy(stored, "work.ics") == MOTH


def test_refreshing_gives_back_and_takes_anew() -> None:
    first = take(("180000", "210000"))
    again = import_busy(first.project, ics(("180000", "210000")), "work.ics", keep_hours=1.0)
    assert again.project == first.project
    assert (again.taken, again.shorter, again.given_back) == ((), (), ())
    longer = import_busy(first.project, ics(("180000", "213000")), "work.ics", keep_hours=1.0)
    assert [(s.was_start, s.start, s.hours) for s in longer.shorter] == [(dt.time(21), dt.time(21, 30), 1.5)]
    gone = import_busy(first.project, ics(), "work.ics", keep_hours=1.0)
    assert gone.project == MOTH
    assert gone.given_back == (DAY,)


def test_two_calendars_do_not_undo_each_other() -> None:
    one = take(("180000", "210000"))
    two = import_busy(one.project, ics(("223000", "233000"), name="Call"), "home.ics", keep_hours=1.0)
    # the piece that was saved belongs to the first calendar: it is a word on that date, and is taken by the second
    assert evening(two.project) is None
    assert [(t.date, t.why) for t in two.taken] == [(DAY, "Call")]
    assert remove_busy(two.project, "home.ics") == one.project


def test_the_artists_own_word_on_a_date_is_not_overwritten() -> None:
    from nightplan.model.project import EveningChange

    own = MOTH.but(changes=(EveningChange(on=DAY, start=dt.time(20), hours=3.0, why="late train"),))
    read = take(("180000", "210000"), project=own)
    assert read.shorter == ()
    assert [t.date for t in read.taken] == [DAY]
    assert remove_busy(read.project, "work.ics") == own


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(0, 1430), st.integers(1, 300)).map(lambda p: (p[0], min(p[0] + p[1], 1439))),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from([0.25, 1.0, 2.0]),
)
def test_what_is_kept_is_free_and_long_enough(spans: list[tuple[int, int]], keep: float) -> None:
    times = [(f"{a // 60:02}{a % 60:02}00", f"{b // 60:02}{b % 60:02}00") for a, b in spans]
    read = take(*times, keep=keep, day=dt.date(2027, 10, 16))
    left = evening(read.project, dt.date(2027, 10, 16))
    before, after = 14 * 60, 18 * 60
    met = [(a, b) for a, b in spans if a < after and b > before]
    if left is None:
        assert met
        return
    first = left[0].hour * 60 + left[0].minute
    last = first + left[1] * 60
    assert before <= first < last <= after + 1e-6
    assert all(b <= first or a >= last - 1e-6 for a, b in spans)
    assert last - first >= keep * 60 - 1e-6
    assert bool(met) == bool(read.shorter)


def test_hours_to_keep_have_to_be_some() -> None:
    with pytest.raises(BadInput, match="keep_hours = 0: a number of hours above 0"):
        take(keep=0)
