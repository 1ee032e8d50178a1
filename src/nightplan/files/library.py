# SPDX-License-Identifier: GPL-3.0-or-later
"""The library of past projects: folders of project files, indexed in one SQLite file.

The files are the truth; the index holds what a look back needs and may be deleted at any time. A file
is read again when its size or its time has changed. Nothing leaves the machine.
"""

from __future__ import annotations

import contextlib
import json
import os
import sqlite3
import stat
import zlib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self, TypeVar, cast

import numpy as np

from nightplan.evenings.dated import calendar
from nightplan.files.errors import os_words
from nightplan.files.library_facts import Row, extract
from nightplan.files.migrations import migrate
from nightplan.files.store import MAX_BYTES, SUFFIX, load
from nightplan.model.errors import BadInput
from nightplan.model.project import FORMAT, VERSION
from nightplan.model.results_lookback import (
    DriftFact,
    EveningFact,
    Facts,
    FinishFact,
    GateFact,
    ItemFact,
    LeftFact,
    Outcome,
    ProjectFact,
    Skipped,
    SwitchFact,
)
from nightplan.speech import tr

#: changes with the tables: an index of another version is built anew
SCHEMA = 1
#: marks a database as an index of ours ("NpLb"); it stands at byte 68 of the file (SQLite file format, 1.3)
APPLICATION = 0x4E704C62
_TABLES = {  # untranslated: SQL
    "files": "project INTEGER PRIMARY KEY, path TEXT UNIQUE, mtime INTEGER, size INTEGER, sum INTEGER, why TEXT",
    "projects": "project INTEGER PRIMARY KEY, title TEXT, piece TEXT, announced INTEGER, finished INTEGER, "
    "last_log INTEGER, s_n INTEGER, s_x REAL, s_y REAL, s_xx REAL, s_xy REAL, s_yy REAL",
    "items": "project INTEGER, stage TEXT, planned REAL, high REAL, own REAL, actual REAL",
    "evenings": "project INTEGER, weekday INTEGER, sure INTEGER, promised INTEGER, kept INTEGER, unlogged INTEGER, "
    "chance REAL",
    "gates": "project INTEGER, gate TEXT, name TEXT, due INTEGER, finished INTEGER, state TEXT, horizon INTEGER, "
    "n INTEGER, as_of BLOB, odds BLOB, p10 BLOB, p50 BLOB, p80 BLOB, p90 BLOB",
    "finishes": "project INTEGER, p10 REAL, p50 REAL, p80 REAL, p90 REAL, finished INTEGER, horizon INTEGER",
    "leftover": "project INTEGER, said REAL, actual REAL",
    "drift": "project INTEGER, share REAL, ratio REAL",
}
_FACTS = ("items", "evenings", "gates", "finishes", "leftover", "drift")
_BATCH = 100

_T = TypeVar("_T")
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Refreshed:
    """How many files were read anew, were known, and are gone."""

    read: int
    known: int
    gone: int


class _Bad(Exception):
    pass


def project_files(paths: Iterable[str | os.PathLike[str]]) -> list[Path]:
    """Project files among paths and, for folders, in all folders below.

    Hidden folders and links to folders are not entered.

    Raises:
        BadInput: a path that is not there.
    """
    found: dict[Path, None] = {}
    for given in paths:
        path = Path(os.path.abspath(given))
        if path.is_dir():
            for folder, below, names in os.walk(path):
                below[:] = sorted(n for n in below if not n.startswith("."))
                for name in sorted(names):
                    if name.endswith(SUFFIX) and not name.startswith("."):
                        found[Path(folder, name)] = None
        elif path.exists():
            found[path] = None
        else:
            raise BadInput(tr("{path}: there is no such file or folder", path=given))
    return list(found)


class Library:
    """The index; a context manager. ``path`` None keeps it in memory."""

    def __init__(self, path: str | os.PathLike[str] | None = None, *, ours: bool = False) -> None:
        """Open or make the index.

        Args:
            ours: the place belongs to the program: whatever is broken there is put aside. Else only what
                is marked as an index is.

        Raises:
            BadInput: it can neither be opened nor made, or another program's file is in its place.
        """
        self._path = None if path is None else Path(path)
        self._ours = ours
        try:
            self._db = self._open()
        except sqlite3.OperationalError as error:
            raise BadInput(
                tr("{path}: no index of the library can be kept there ({why})", path=path, why=error)
            ) from None
        except sqlite3.DatabaseError as error:
            self._db = self._anew(error)

    def _anew(self, error: Exception) -> sqlite3.Connection:
        """A broken index is no loss: it is built from the files."""
        if self._path is None or not (self._ours or _marked(self._path)):
            told = tr("{path}: this is no index of the library; name another file", path=self._path)
            raise BadInput(told) from None
        try:
            self._path.unlink()
            return self._open()
        except (sqlite3.DatabaseError, OSError):
            told = tr("{path}: the index of the library is broken ({why}); delete it", path=self._path, why=error)
            raise BadInput(told) from None

    def _open(self) -> sqlite3.Connection:
        if self._path is not None:
            with contextlib.suppress(OSError):
                self._path.parent.mkdir(parents=True, exist_ok=True)
        # used by one thread at a time: the page opens it where its work is done
        db = sqlite3.connect(":memory:" if self._path is None else self._path, timeout=20, check_same_thread=False)
        try:
            # safe to lose: no need to wait for the disk
            db.execute("PRAGMA synchronous = OFF")
            mark, version = (db.execute(f"PRAGMA {p}").fetchone()[0] for p in ("application_id", "user_version"))
            if mark != APPLICATION and db.execute("SELECT COUNT(*) FROM sqlite_master").fetchone()[0]:
                told = tr("{path}: this is another program's database; name another file", path=self._path)
                raise BadInput(told)
            if (mark, version) != (APPLICATION, SCHEMA):
                with db:
                    for name, columns in _TABLES.items():
                        db.execute(f"DROP TABLE IF EXISTS {name}")
                        db.execute(f"CREATE TABLE {name} ({columns})")
                    for name in _FACTS:
                        db.execute(f"CREATE INDEX of_{name} ON {name} (project)")
                    db.execute(f"PRAGMA application_id = {APPLICATION}")
                    db.execute(f"PRAGMA user_version = {SCHEMA}")
        except BaseException:
            db.close()
            raise
        return db

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the index; nothing can be asked afterwards."""
        self._db.close()

    # ---- filling ---------------------------------------------------------------------------------
    def rebuild(self, paths: Iterable[str | os.PathLike[str]], progress: Progress | None = None) -> Refreshed:
        """Forget everything and read every file again. Raises as :meth:`refresh`."""
        with contextlib.suppress(sqlite3.Error), self._db:
            for name in _TABLES:
                self._db.execute(f"DELETE FROM {name}")
        return self.refresh(paths, progress)

    def refresh(self, paths: Iterable[str | os.PathLike[str]], progress: Progress | None = None) -> Refreshed:
        """Make the index that of these files and folders.

        Args:
            progress: called with the share done; may raise to cancel, then the index is as it was.

        Raises:
            BadInput: a path that is not there; the index cannot be written.
        """
        wanted = project_files(paths)
        try:
            return self._refresh(wanted, progress)
        except sqlite3.OperationalError as error:
            told = tr("{path}: the index of the library cannot be written ({why})", path=self._path, why=error)
            raise BadInput(told) from None
        except sqlite3.DatabaseError as error:
            self._db.close()
            self._db = self._anew(error)
            return self._refresh(wanted, progress)

    def _refresh(self, wanted: list[Path], progress: Progress | None) -> Refreshed:
        known = {
            path: (project, mtime, size)
            for project, path, mtime, size in self._db.execute("SELECT project, path, mtime, size FROM files")
        }
        gone = set(known) - {_name(p) for p in wanted}
        number = max((p for p, _, _ in known.values()), default=0)
        read = 0
        with self._db:
            self._forget([known[path][0] for path in gone])
            rows: list[tuple[int, str, int, int, int, str | None, Row | None]] = []
            for n, path in enumerate(wanted):
                place = _name(path)
                mtime, size = _stamp(path)
                was = known.get(place)
                if was is not None:
                    if was[1:] == (mtime, size):
                        continue
                    self._forget([was[0]])
                number += 1
                read += 1
                checksum, why, row = _read(path, size)
                rows.append((number, place, mtime, size, checksum, why, row))
                if len(rows) >= _BATCH:
                    self._write(rows)
                    rows.clear()
                    if progress is not None:
                        progress(n / len(wanted))
            self._write(rows)
        return Refreshed(read, len(wanted) - read, len(gone))

    def _forget(self, projects: Sequence[int]) -> None:
        for name in _TABLES:
            self._db.executemany(f"DELETE FROM {name} WHERE project = ?", [(p,) for p in projects])

    def _write(self, rows: Sequence[tuple[int, str, int, int, int, str | None, Row | None]]) -> None:
        self._many("files", [r[:6] for r in rows])
        good = [(r[0], r[6]) for r in rows if r[6] is not None]
        self._many(
            "projects", [(k, r.title, r.piece, r.announced, r.finished, r.last_log, *r.switching) for k, r in good]
        )
        for name in _FACTS:
            part = "left" if name == "leftover" else name
            self._many(name, [(k, *values) for k, r in good for values in getattr(r, part)])

    def _many(self, table: str, rows: list[Any]) -> None:
        if rows:
            self._db.executemany(f"INSERT INTO {table} VALUES ({', '.join('?' * len(rows[0]))})", rows)

    # ---- reading ---------------------------------------------------------------------------------
    def facts(self, today: int) -> Facts:
        """What the index knows, a copy of a file counted once.

        Args:
            today: ordinal; a gate that is past by then and whose work is not done was missed.

        Raises:
            BadInput: the index is broken; refresh builds it anew.
        """
        try:
            return self._facts(today)
        except sqlite3.DatabaseError as error:
            told = tr("{path}: the index of the library cannot be read ({why})", path=self._path, why=error)
            raise BadInput(told) from None

    def _facts(self, today: int) -> Facts:
        ask = self._db.execute
        # the same bytes under several names are one project
        first = "SELECT MIN(project) FROM files WHERE why IS NULL GROUP BY sum, size"
        only = f"WHERE project IN ({first})"  # untranslated: SQL
        skipped = [Skipped(path, why) for path, why in ask("SELECT path, why FROM files WHERE why IS NOT NULL")]
        skipped += [
            Skipped(path, tr("{path} is the same as {other}: counted once", path=path, other=other))
            for path, other in ask(
                "SELECT f.path, g.path FROM files f JOIN files g ON f.sum = g.sum AND f.size = g.size "
                f"WHERE f.why IS NULL AND g.project IN ({first}) AND f.project <> g.project"
            )
        ]
        sums = {
            k: (n, p, a)
            for k, n, p, a in ask(
                f"SELECT project, COUNT(*), SUM(planned), SUM(actual) FROM items {only} GROUP BY project"
            )
        }
        projects = tuple(
            _made(ProjectFact, k, path, *rest, *sums.get(k, (0, 0.0, 0.0)))
            for k, path, *rest in ask(
                "SELECT p.project, f.path, title, piece, announced, finished, last_log FROM projects p "
                f"JOIN files f ON f.project = p.project WHERE p.project IN ({first}) ORDER BY announced, p.project"
            )
        )
        switching = ask(
            f"SELECT SUM(s_n), SUM(s_x), SUM(s_y), SUM(s_xx), SUM(s_xy), SUM(s_yy) FROM projects {only}"
        ).fetchone()
        items = ask(f"SELECT project, stage, planned, high, own, actual FROM items {only} ORDER BY rowid")
        evenings = ask(
            "SELECT weekday, sure, SUM(promised), SUM(kept), SUM(unlogged), SUM(chance) / SUM(promised) "
            f"FROM evenings {only} GROUP BY weekday, sure ORDER BY weekday, sure DESC"
        )
        gates = ask(
            "SELECT project, gate, name, due, finished, state, horizon, as_of, odds, p10, p50, p80, p90 "
            f"FROM gates {only} ORDER BY rowid"
        )
        finishes = ask(f"SELECT project, p10, p50, p80, p90, finished, horizon FROM finishes {only}")
        return Facts(
            projects,
            tuple(ItemFact(*r) for r in items),
            tuple(EveningFact(r[0], bool(r[1]), *r[2:]) for r in evenings),
            tuple(_gate(r, today) for r in gates),
            tuple(_made(FinishFact, r[0], *(np.nan if v is None else v for v in r[1:5]), *r[5:]) for r in finishes),
            tuple(LeftFact(*r) for r in ask(f"SELECT project, said, actual FROM leftover {only}")),
            tuple(DriftFact(*r) for r in ask(f"SELECT project, share, ratio FROM drift {only}")),
            SwitchFact(*(v or 0 for v in switching)),
            tuple(skipped),
        )


def _made(kind: Callable[..., _T], *columns: Any) -> _T:
    """A fact from columns whose types the tables hold."""
    return kind(*columns)


def _gate(row: tuple[Any, ...], today: int) -> GateFact:
    project, gate, name, due, finished, state, horizon, *packed = row
    outcome: Outcome = "unknown" if state == "open" else cast(Outcome, state)
    if state == "open" and today > due:
        outcome = "missed"
    return _made(
        GateFact,
        project,
        gate,
        name,
        due,
        finished,
        outcome,
        *(np.frombuffer(p, dtype=np.float64) for p in packed),
        horizon,
    )


def _name(path: Path) -> str:
    """A path as text that the index can keep; a name that is no UTF-8 is shown as far as it is."""
    return str(path).encode("utf-8", "backslashreplace").decode("utf-8")


def _stamp(path: Path) -> tuple[int, int]:
    try:
        status = path.stat()
    except OSError:
        return 0, -1
    return status.st_mtime_ns, status.st_size if stat.S_ISREG(status.st_mode) else -1


def _read(path: Path, size: int) -> tuple[int, str | None, Row | None]:
    """Checksum, reason it cannot be used, and what it says."""
    data = b""
    try:
        if not 0 <= size <= MAX_BYTES:
            raise _Bad
        data = path.read_bytes()
        raw = json.loads(data)
        if raw.get("format") != FORMAT or raw.get("version") != VERSION:
            raw = migrate(raw)
            if raw["format"] != FORMAT or raw["version"] != VERSION:
                raise _Bad
        row = extract(raw)
    except (_Bad, BadInput, KeyError, TypeError, ValueError, AttributeError, IndexError, OverflowError, RecursionError):
        return zlib.crc32(data), _why(path), None
    except OSError as error:
        return 0, tr("{file}: cannot be read: {why}", file=path.name, why=os_words(error)), None
    return zlib.crc32(data), None, row


def _why(path: Path) -> str:
    """The sentence of the real reader."""
    try:
        project = load(path)
    except BadInput as error:
        return error.sentence
    try:
        calendar(project)
    except BadInput as error:
        return f"{path.name}: {error.sentence}"
    return tr("{file}: its log or its forecasts could not be made sense of", file=path.name)


def _marked(path: Path) -> bool:
    """Whether a file is, or was once, an index of ours."""
    try:
        with path.open("rb") as file:
            head = file.read(72)
    except OSError:
        return False
    return not head or head[68:72] == APPLICATION.to_bytes(4, "big")
