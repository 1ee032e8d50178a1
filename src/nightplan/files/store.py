# SPDX-License-Identifier: GPL-3.0-or-later
"""Load and save one project file.

A save is atomic: the text goes to a new file in the same folder, is flushed to the disk, and then
takes the old one's name. Whoever reads, reads the old file or the new one, whole.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import stat
import tempfile
from pathlib import Path
from typing import Any

from nightplan.files.errors import cannot_save, os_words
from nightplan.files.migrations import migrate
from nightplan.model.errors import BadInput, shorten
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

SUFFIX = ".nightplan"
#: a project with years of evenings stays under one megabyte
MAX_BYTES = 20_000_000


def load(path: str | os.PathLike[str]) -> Project:
    """The project in a file.

    Raises:
        BadInput: the file cannot be read, is no project, or breaks a rule; the sentence starts with
            the file's name.
    """
    place = Path(path)
    return parse(read_bytes(place), place.name)


def read_bytes(path: Path) -> bytes:
    """The bytes of a file of acceptable size. Raises BadInput."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise BadInput(f"{path.name}: is a folder; a project is a file that ends in {SUFFIX}")
        if not stat.S_ISREG(status.st_mode):
            raise BadInput(f"{path.name}: is no ordinary file")
        if status.st_size > MAX_BYTES:
            raise BadInput(
                f"{path.name}: has {status.st_size / 1e6:.0f} MB; a project has at most {MAX_BYTES / 1e6:.0f} MB"
            )
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise BadInput(f"{path}: there is no such file") from None
    except PermissionError:
        raise BadInput(f"{path}: you may not read this file") from None
    except (OSError, ValueError) as error:
        # ValueError: a NUL byte in the path
        words = os_words(error) if isinstance(error, OSError) else str(error)
        raise BadInput(f"{shorten(str(path))}: cannot be read: {words}") from None
    return data


def parse(data: bytes, name: str) -> Project:
    """The project in the bytes of a file called ``name``. Raises BadInput that starts with the name."""
    try:
        return project_from_raw(migrate(raw_json(data)))
    except BadInput as error:
        raise BadInput(f"{name}: {error.sentence}", more=error.more) from None


def raw_json(data: bytes) -> Any:
    """JSON values from bytes: UTF-8 with or without a mark, no key twice in one object. Raises BadInput."""
    if not data.strip():
        raise BadInput("the file is empty")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(f"byte {error.start} is no UTF-8; a project is written as UTF-8 text") from None
    try:
        return json.loads(text, object_pairs_hook=_object)
    except json.JSONDecodeError as error:
        ends = error.pos >= len(text.rstrip()) - 1
        what = "the file breaks off" if ends else "this is no JSON"
        raise BadInput(f"line {error.lineno}, column {error.colno}: {what} ({error.msg})") from None
    except RecursionError:
        raise BadInput("the file is nested too deeply to be a project") from None
    except ValueError as error:
        # an integer of thousands of digits
        raise BadInput(f"a number in the file cannot be read ({shorten(str(error))})") from None


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise BadInput(f"the key {shorten(key)} stands twice in one object; keep one of them")
            seen.add(key)
    return found


def dumps(project: Project) -> str:
    """The text of a project file: keys in the order of the model, one line a value, a final newline."""
    return json.dumps(project_to_raw(project), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def save(project: Project, path: str | os.PathLike[str]) -> str:
    """Write a project; on any failure the file is as it was. Returns the hash of what was written.

    Raises:
        FilesError: with the reason in plain words.
    """
    data = dumps(project).encode("utf-8")
    write_atomically(Path(path), data)
    return hashlib.sha256(data).hexdigest()


def write_atomically(path: Path, data: bytes) -> None:
    """Replace the content of a file; a link is followed, the mode kept. Raises FilesError."""
    temporary: str | None = None
    try:
        target = Path(os.path.realpath(path))
        mode = _mode(target)
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:100]}.", suffix=".part", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, mode)
        os.replace(temporary, target)
        temporary = None
        _sync_folder(target.parent)
    except OSError as error:
        raise cannot_save(path, error) from error
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)


def _mode(target: Path) -> int:
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system has such a thing."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    except OSError:
        # some network drives refuse to sync a folder; the file itself is safe
        pass
    finally:
        os.close(handle)


def content_hash(path: str | os.PathLike[str]) -> str | None:
    """SHA-256 of a file's bytes; None where there is none to read."""
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
