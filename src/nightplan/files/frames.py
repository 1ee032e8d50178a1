# SPDX-License-Identifier: GPL-3.0-or-later
"""What a folder of frames tells about a render: numbers, gaps, placeholders, times.

One look is one pass of ``os.scandir``: names, sizes and times, no file is opened. What cannot be read
for certain is refused or told as a doubt, never guessed.
"""

from __future__ import annotations

import datetime as dt
import os
import re
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from nightplan.evenings.zones import UTC
from nightplan.files.errors import os_words
from nightplan.model.errors import BadInput
from nightplan.speech import tr, trn
from nightplan.speech.words import hours

#: the number of a frame stands right before the ending
_NUMBERED = re.compile(r"(.*?)(\d{1,9})(\.[A-Za-z0-9]+)", re.DOTALL)
#: a file so far ahead of the clock was not written by this clock (seconds); network drives differ a little
_AHEAD = 120
#: frames may overtake each other by so much (seconds): some file systems count in steps of two
_STEP = 2.0
#: gaps that are told one by one
_TOLD = 3


@dataclass(frozen=True, slots=True)
class FramesFound:
    """One look into a folder; times aware, in UTC."""

    folder: str
    #: the sequence, for example ``shot_####.exr``
    pattern: str
    #: numbers of the first and the last frame, placeholders included
    first: int
    last: int
    #: frames with something in them
    whole: int
    #: files of no bytes: a running render may have put them there to claim their frames
    placeholders: int
    #: inclusive ranges of numbers between first and last that have no file
    gaps: tuple[tuple[int, int], ...]
    #: of the whole frames; None without any
    oldest: dt.datetime | None
    newest: dt.datetime | None
    #: of the whole frames
    bytes: int
    #: frames that are older than the start asked for
    before_start: int
    #: files that are no numbered frames
    others: int
    #: why the times cannot be trusted; empty where they can
    doubts: tuple[str, ...]

    @property
    def missing(self) -> int:
        """Frames between the first and the last that have no file."""
        return sum(b - a + 1 for a, b in self.gaps)

    @property
    def minutes_per_frame(self) -> float | None:
        """Minutes, (newest − oldest) ÷ (n − 1), by the clock on the wall; None below two frames or with doubts."""
        if self.doubts or self.whole < 2 or self.oldest is None or self.newest is None:
            return None
        return (self.newest - self.oldest).total_seconds() / 60.0 / (self.whole - 1)

    @property
    def megabytes_per_frame(self) -> float | None:
        """Decimal megabytes, the mean of the whole frames; None without any."""
        return self.bytes / self.whole / 1e6 if self.whole else None


def look(
    where: str | Path, now: dt.datetime, *, since: dt.datetime | None = None, several: bool = False
) -> FramesFound:
    """Look into a folder of frames.

    Args:
        where: a folder, or a folder and the sequence in it (``renders/shot_####.exr``) where it holds several.
        now: aware; a frame from the future means that a clock is wrong.
        since: aware; older files are left over from an earlier run and do not count.
        several: several machines or ranges write at once, so that times need not follow the numbers.

    Raises:
        BadInput: the folder is missing, no folder or may not be read; it holds no numbered frame, several
            sequences, or a number twice.
    """
    path = Path(where)
    wanted = path.name if "#" in path.name else None
    folder = path.parent if wanted else path
    groups, others = _read(folder)
    if wanted:
        groups = {name: files for name, files in groups.items() if _matches(name, wanted)}
    if not groups:
        if wanted:
            raise BadInput(tr("{folder}: there is no frame named {name} here yet", folder=folder, name=wanted))
        raise BadInput(tr("{folder}: there is no numbered frame, such as shot_0001.png here yet", folder=folder))
    if len(groups) > 1:
        names = sorted(groups, key=lambda g: -len(groups[g]))
        told = ", ".join(f"{_pattern(n, groups[n])} ({len(groups[n])})" for n in names[:_TOLD])
        if len(names) > _TOLD:
            told = tr("{names} and {n} more", names=told, n=len(names) - _TOLD)
        raise BadInput(
            tr(
                "{folder}: several sequences are mixed here, {sequences}; name the one that is meant, "
                "for example {example}",
                folder=folder,
                sequences=told,
                example=folder / _pattern(names[0], groups[names[0]]),
            )
        )
    ((name, files),) = groups.items()
    return _found(folder, name, files, others, now, since, several)


@dataclass(frozen=True, slots=True)
class _File:
    number: int
    digits: str
    #: bytes
    size: int
    #: seconds since 1970
    time: float


def _read(folder: Path) -> tuple[dict[tuple[str, str], list[_File]], int]:
    groups: dict[tuple[str, str], list[_File]] = {}
    others = 0
    try:
        with os.scandir(folder) as entries:
            for entry in entries:
                match = _NUMBERED.fullmatch(entry.name)
                if match is None or entry.name.startswith("."):
                    others += not entry.name.startswith(".")
                    continue
                try:
                    if not entry.is_file():
                        continue
                    stat = entry.stat()
                except FileNotFoundError:
                    # renamed or removed while we look
                    continue
                file = _File(int(match[2]), match[2], stat.st_size, stat.st_mtime)
                groups.setdefault((match[1], match[3]), []).append(file)
    except FileNotFoundError:
        raise BadInput(
            tr("{folder}: there is no such folder (an unplugged drive, or a name that was changed?)", folder=folder)
        ) from None
    except NotADirectoryError:
        raise BadInput(tr("{folder}: is a file; the folder that holds the frames is wanted", folder=folder)) from None
    except PermissionError:
        raise BadInput(tr("{folder}: you may not read this folder", folder=folder)) from None
    except (OSError, ValueError) as error:
        # ValueError: a NUL in the name
        why = os_words(error) if isinstance(error, OSError) else str(error)
        raise BadInput(tr("{folder}: cannot be read, {why}", folder=folder, why=why)) from None
    return groups, others


def _pattern(name: tuple[str, str], files: list[_File]) -> str:
    return f"{name[0]}{'#' * min(len(f.digits) for f in files)}{name[1]}"


def _matches(name: tuple[str, str], wanted: str) -> bool:
    head, _, tail = wanted.partition("#")
    return name == (head, tail.lstrip("#"))


def _found(
    folder: Path,
    name: tuple[str, str],
    files: list[_File],
    others: int,
    now: dt.datetime,
    since: dt.datetime | None,
    several: bool,
) -> FramesFound:
    files.sort(key=lambda f: (f.number, f.digits))
    for one, two in pairwise(files):
        if one.number == two.number:
            raise BadInput(
                tr(
                    "{folder}: frame {n} is there twice, as {one} and {other}: the numbers start again; "
                    "move one of the two runs away",
                    folder=folder,
                    n=one.number,
                    one=f"{name[0]}{one.digits}{name[1]}",
                    other=f"{name[0]}{two.digits}{name[1]}",
                )
            )
    start = since.timestamp() - _STEP if since is not None else float("-inf")
    whole = [f for f in files if f.size > 0]
    mine = [f for f in whole if f.time >= start]
    numbers = [f.number for f in files]
    times = [f.time for f in mine]
    return FramesFound(
        str(folder),
        _pattern(name, files),
        numbers[0],
        numbers[-1],
        len(mine),
        len(files) - len(whole),
        tuple((a + 1, b - 1) for a, b in pairwise(numbers) if b > a + 1),
        dt.datetime.fromtimestamp(min(times), UTC) if times else None,
        dt.datetime.fromtimestamp(max(times), UTC) if times else None,
        sum(f.size for f in mine),
        len(whole) - len(mine),
        others,
        _doubts(mine, now, several),
    )


def _doubts(files: list[_File], now: dt.datetime, several: bool) -> tuple[str, ...]:
    """Why the times of frames, in order of their numbers, cannot be trusted."""
    if not files:
        return ()
    latest = max(files, key=lambda f: f.time)
    ahead = latest.time - now.timestamp()
    doubts = []
    if ahead > _AHEAD:
        doubts.append(
            tr(
                "frame {n} is dated {span} ahead of this computer's clock; one of the clocks is wrong",
                n=latest.number,
                span=_long(ahead),
            )
        )
    back = [(a, b) for a, b in pairwise(files) if b.time < a.time - _STEP]
    if back and not several:
        a, b = back[0]
        earlier = files[: files.index(b)]
        if len(back) == 1 and min(f.time for f in earlier) >= max(f.time for f in files[len(earlier) :]):
            doubts.append(
                tr(
                    "frames {first} to {last} are newer than {first_old} to {last_old}: the render was begun again "
                    "over an older run; say when it was started, and only newer frames count",
                    first=files[0].number,
                    last=a.number,
                    first_old=b.number,
                    last_old=files[-1].number,
                )
            )
        else:
            doubts.append(
                tr(
                    "frame {n} is dated {span} before frame {earlier}: the clock went backwards, "
                    "frames were done again, or several machines write here",
                    n=b.number,
                    span=_long(a.time - b.time),
                    earlier=a.number,
                )
            )
    return tuple(doubts)


def _long(seconds: float) -> str:
    if seconds < 5400:
        return tr("{minutes} min", minutes=max(1, round(seconds / 60)))
    if seconds < 172_800:
        return hours(seconds / 3600)
    return trn("{n} day", "{n} days", round(seconds / 86400))
