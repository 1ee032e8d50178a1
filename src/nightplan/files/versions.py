# SPDX-License-Identifier: GPL-3.0-or-later
"""Earlier versions of a project file, to go back to.

They lie in the user's data folder, not beside the file: a synced folder does not carry them about, a
hand-in does not contain them, and a drive that breaks or a file that is deleted does not take them
along. Each file has a ring of its own, named by its path; every save adds what it wrote, and what
another program had written before it. The ring is thinned by age and bounded in number and size, and
it never stands in the way of a save.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import gzip
import hashlib
import json
import os
import re
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from nightplan.files.errors import FilesError, os_words
from nightplan.files.store import MAX_BYTES, content_hash, parse, read_bytes, save, write_atomically
from nightplan.model.errors import BadInput
from nightplan.speech import tr

if TYPE_CHECKING:
    from nightplan.model.project import Project

#: at most so many versions of one file, and so many bytes (packed)
MOST_VERSIONS = 150
MOST_BYTES = 30_000_000
_HOUR = dt.timedelta(hours=1)
_DAY = dt.timedelta(days=1)
#: of what is younger than this, so many are kept whatever their distance
YOUNG = dt.timedelta(minutes=10)
MOST_YOUNG = 30
#: (younger than, one version in each); older ones: one a week
STEPS: tuple[tuple[dt.timedelta, dt.timedelta], ...] = (
    (_HOUR, dt.timedelta(minutes=1)),
    (2 * _DAY, _HOUR),
    (60 * _DAY, _DAY),
)
_LAST_STEP = dt.timedelta(days=7)
#: a Monday
_EPOCH = dt.datetime(1970, 1, 5, tzinfo=dt.UTC)
_NAME = re.compile(r"(\d{8}T\d{6}\.\d{6})Z-([0-9a-f]{64})\.json\.gz")
_STAMP = "%Y%m%dT%H%M%S.%f"


@dataclass(frozen=True)
class Version:
    """One earlier state of a file: when it was saved (aware, UTC), the hash of its bytes, its packed size."""

    when: dt.datetime
    hash: str
    size: int
    place: Path


@dataclass(frozen=True)
class Ring:
    """Where versions are kept, and the moment that it is now (naive is local time)."""

    folder: Path
    now: dt.datetime


def default_folder() -> Path:
    """The folder of all rings; the environment may name another place for the program's data."""
    given = os.environ.get("NIGHTPLAN_DATA_DIR")
    if given is None:
        from platformdirs import user_data_dir

        given = user_data_dir("nightplan", appauthor=False)
    return Path(given) / "versions"


def save_and_keep(project: Project, path: str | os.PathLike[str], ring: Ring | None, *, over: str | None = None) -> str:
    """Save as :func:`nightplan.files.store.save` does, and keep what was there and what is there now.

    Raises:
        FilesError, ChangedMeanwhile: from the save; a ring that fails is silent.
    """
    if ring is not None:
        with contextlib.suppress(OSError, FilesError, BadInput):
            keep(path, ring, foreign=True)
    written = save(project, path, over=over)
    if ring is not None:
        with contextlib.suppress(OSError, FilesError, BadInput):
            keep(path, ring)
    return written


def keep(path: str | os.PathLike[str], ring: Ring, *, foreign: bool = False) -> None:
    """Add the file as it stands to its ring, unless it is there as the newest already.

    Args:
        foreign: only where the ring has never seen it; its date is then that of the file.

    Raises:
        OSError, FilesError, BadInput: it cannot be read or kept.
    """
    place = Path(os.path.realpath(path))
    if foreign and not place.is_file():
        return
    data = read_bytes(place)
    name = hashlib.sha256(data).hexdigest()
    follow(path, ring.folder)
    found = listed(path, ring.folder)
    if any(v.hash == name for v in (found if foreign else found[:1])):
        return
    now = _utc(ring.now)
    when = min(now, dt.datetime.fromtimestamp(place.stat().st_mtime, dt.UTC)) if foreign else now
    home = ring_folder(path, ring.folder)
    home.mkdir(mode=0o700, parents=True, exist_ok=True)
    _note(home, place)
    # what another program wrote is nowhere else any more once it is written over; our own stands in the file
    write_atomically(home / f"{when.strftime(_STAMP)}Z-{name}.json.gz", _packed(data), lasting=foreign)
    for version in surplus(listed(path, ring.folder), now):
        with contextlib.suppress(OSError):
            version.place.unlink()


def listed(path: str | os.PathLike[str], folder: Path) -> tuple[Version, ...]:
    """The versions of a file, newest first; none where there is no ring."""
    found = []
    with contextlib.suppress(OSError), os.scandir(ring_folder(path, folder)) as entries:
        for entry in entries:
            match = _NAME.fullmatch(entry.name)
            if match is None or not entry.is_file(follow_symlinks=False):
                continue
            with contextlib.suppress(ValueError, OSError):
                when = dt.datetime.strptime(match[1], _STAMP).replace(tzinfo=dt.UTC)
                status = entry.stat(follow_symlinks=False)
                found.append((when, status.st_mtime_ns, Version(when, match[2], status.st_size, Path(entry.path))))
    return tuple(version for _when, _written, version in sorted(found, key=lambda row: row[:2], reverse=True))


def read(version: Version) -> bytes:
    """The bytes of a version. Raises BadInput where it is gone or damaged."""
    try:
        with gzip.open(version.place) as file:
            data = file.read(MAX_BYTES + 1)
    except (OSError, EOFError, zlib.error) as error:
        if not isinstance(error, OSError) or not error.errno:
            raise BadInput(_damaged(version)) from None
        told = tr("the version of {moment} UTC cannot be read: {why}", moment=_moment(version), why=os_words(error))
        raise BadInput(told) from None
    if hashlib.sha256(data).hexdigest() != version.hash:
        raise BadInput(_damaged(version))
    return data


def _moment(version: Version) -> str:
    return f"{version.when:%Y-%m-%d %H:%M}"


def _damaged(version: Version) -> str:
    return tr("the version of {moment} UTC cannot be read: it is damaged", moment=_moment(version))


def project_of(version: Version) -> Project:
    """The project of a version. Raises BadInput."""
    return parse(read(version), tr("the version of {moment} UTC", moment=_moment(version)))


def surplus(found: Iterable[Version], now: dt.datetime) -> tuple[Version, ...]:
    """What a ring gives up: all but the newest of each minute, hour, day or week by age, then the oldest.

    Of the last ten minutes all are kept, up to a number: what was written over just now is what is
    missed most.

    Args:
        found: newest first.
        now: aware. Versions from the future (a clock was wrong) count as new.
    """
    rows = list(found)
    taken: set[tuple[dt.timedelta, int]] = set()
    total, kept, gone = 0, 0, []
    for version in rows:
        age = now - version.when
        young = age < YOUNG and kept < MOST_YOUNG
        step = next((every for younger, every in STEPS if age < younger), _LAST_STEP)
        slot = (step, (version.when - _EPOCH) // step)
        total += version.size
        kept += 1
        # the newest stays, however large it is
        if kept > 1 and ((slot in taken and not young) or kept > MOST_VERSIONS or total > MOST_BYTES):
            gone.append(version)
            total -= version.size
            kept -= 1
            continue
        taken.add(slot)
    return tuple(gone)


def ring_folder(path: str | os.PathLike[str], folder: Path) -> Path:
    """The folder of one file's ring: its name for people, a hash of its place for the program."""
    place = os.path.realpath(path)
    stem = re.sub(r"[^\w-]+", "-", Path(place).stem)[:40].strip("-") or "project"
    # the name in ASCII: a data folder may lie on any disk
    readable = stem.encode("ascii", "ignore").decode() or "project"
    return folder / f"{readable}-{hashlib.sha256(os.fsencode(place)).hexdigest()[:20]}"


def follow(path: str | os.PathLike[str], folder: Path) -> bool:
    """Take over the ring of a file that was moved or renamed to ``path``.

    It is that of a file which is no longer where it was, and whose newest version is what stands at
    ``path`` now. True where one was taken over.
    """
    home = ring_folder(path, folder)
    if home.exists() or not folder.is_dir():
        return False
    now = content_hash(path)
    if now is None:
        return False
    for other in sorted(folder.iterdir()):
        with contextlib.suppress(OSError, ValueError, KeyError, TypeError):
            was = str(json.loads((other / _NOTE).read_text(encoding="utf-8"))["path"])
            newest = listed(was, folder)[:1]
            if not os.path.lexists(was) and newest and newest[0].hash == now and newest[0].place.parent == other:
                os.rename(other, home)
                _note(home, Path(os.path.realpath(path)))
                return True
    return False


_NOTE = "file.json"


def _note(home: Path, place: Path) -> None:
    """Say which file the ring belongs to."""
    text = json.dumps({"path": str(place)}).encode("utf-8", "surrogateescape")
    if not (home / _NOTE).is_file() or (home / _NOTE).read_bytes() != text:
        write_atomically(home / _NOTE, text, lasting=False)


def _packed(data: bytes) -> bytes:
    # without a date: the same content is the same file
    return gzip.compress(data, 6, mtime=0)


def _utc(moment: dt.datetime) -> dt.datetime:
    return moment.astimezone(dt.UTC)
