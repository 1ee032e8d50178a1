# SPDX-License-Identifier: GPL-3.0-or-later
"""The hand-in sheet: what was checked, with a hash of every file, kept in the project; and whether it still holds."""

from __future__ import annotations

import datetime as dt
import hashlib
import os
import stat
from dataclasses import dataclass
from typing import Any, Literal

from nightplan.brief.findings import FileSeen, Report, report_values
from nightplan.brief.worker import Progress
from nightplan.model.brief import Sheet as Sheet
from nightplan.model.brief import SheetFile as SheetFile
from nightplan.model.brief import SheetFinding as SheetFinding
from nightplan.model.errors import BadInput, shorten
from nightplan.model.project import Project
from nightplan.speech import tr

#: what the sheet says under its findings
ADVICE = (
    tr(
        "Hand in early: a first valid version as soon as the rules allow one, the last one not "
        "in the last hour. Uploads fail, pages close by another clock, and a file that arrives "
        "beats a better one that does not."
    ),
    tr(
        "This check is help, no promise. It knows the rules as they were written into the brief; "
        "the organiser's rules decide."
    ),
)
_CHUNK = 1 << 20
#: sheets kept for each deliverable; the oldest go
KEEP = 6


@dataclass(frozen=True, slots=True)
class FileState:
    """Whether a file is still the one that was checked."""

    name: str
    state: Literal["same", "changed", "missing", "unreadable"]
    words: str


def make_sheet(report: Report, *, progress: Progress | None = None) -> Sheet:
    """The sheet of a report; every file is read for its hash.

    Raises:
        BadInput: a file is gone, or is not as it was when it was checked.
    """
    from nightplan import __version__

    total = max(1, sum(f.bytes for f in report.files))
    done = 0
    files = []
    for seen in report.files:

        def tell(read: int, before: int = done) -> None:
            if progress:
                progress(min(1.0, (before + read) / total))

        digest, size, modified_ns = file_hash(seen.path, tell)
        if (size, modified_ns) != (seen.bytes, seen.modified_ns):
            raise BadInput(tr("{name}: is not the file that was checked any more; check it again", name=seen.name))
        done += seen.bytes
        files.append(_sheet_file(seen, digest))
    values = report_values(report)
    values.update(files=files, made_by=f"nightplan {__version__}")
    return Sheet.model_validate(values)


def _sheet_file(seen: FileSeen, digest: str) -> dict[str, Any]:
    modified = dt.datetime.fromtimestamp(seen.modified_ns // 10**9, dt.UTC)
    return {
        "name": seen.name,
        "path": seen.path,
        "bytes": seen.bytes,
        "sha256": digest,
        "modified": modified.isoformat(timespec="seconds"),
    }


def file_hash(path: str, tell: Any = None) -> tuple[str, int, int]:
    """SHA-256, size and time of a file. Raises BadInput where it cannot be read."""
    digest = hashlib.sha256()
    try:
        with open(path, "rb") as file:
            status = os.fstat(file.fileno())
            if not stat.S_ISREG(status.st_mode):
                raise BadInput(tr("{path}: is no ordinary file", path=shorten(path)))
            read = 0
            while part := file.read(_CHUNK):
                digest.update(part)
                read += len(part)
                if tell:
                    tell(read)
    except OSError as error:
        raise BadInput(tr("{path}: cannot be read: {why}", path=shorten(path), why=error.strerror or error)) from None
    return digest.hexdigest(), read, status.st_mtime_ns


def verify(sheet: Sheet, folder: str | None = None, *, progress: Progress | None = None) -> tuple[FileState, ...]:
    """Whether each file of a sheet is still the file that was checked, by its hash.

    Args:
        folder: where the files are now; where they were when they were checked unless given.
    """
    states = []
    for n, file in enumerate(sheet.files):
        path = os.path.join(folder, *file.name.split("/")) if folder is not None else file.path
        if progress:
            progress(n / len(sheet.files))
        if not path or not os.path.exists(path):
            states.append(FileState(file.name, "missing", tr("{name} is not there any more", name=file.name)))
            continue
        try:
            digest, size, _ = file_hash(path)
        except BadInput as error:
            states.append(FileState(file.name, "unreadable", error.sentence))
            continue
        if digest == file.sha256:
            states.append(FileState(file.name, "same", tr("{name} is the file that was checked", name=file.name)))
        else:
            told = (
                tr(
                    "{name} is not the file that was checked ({then} bytes then, {now} now)",
                    name=file.name,
                    then=file.bytes,
                    now=size,
                )
                if size != file.bytes
                else tr("{name} is not the file that was checked (the same size, other content)", name=file.name)
            )
            states.append(FileState(file.name, "changed", told))
    if progress:
        progress(1.0)
    return tuple(states)


def handins_of(project: Project) -> tuple[Sheet, ...]:
    """The sheets of a project, oldest first."""
    return project.handins or ()


def store(project: Project, sheet: Sheet) -> Project:
    """The project with the sheet added; of each deliverable the newest :data:`KEEP` are kept."""
    kept = [*handins_of(project), sheet]
    mine = [n for n, entry in enumerate(kept) if entry.deliverable == sheet.deliverable]
    gone = set(mine[:-KEEP])
    return project.but(handins=tuple(entry for n, entry in enumerate(kept) if n not in gone))
