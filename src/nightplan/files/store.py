# SPDX-License-Identifier: GPL-3.0-or-later
"""Load and save one project file.

A save is atomic: the text goes to a new file in the same folder, is flushed to the disk, and then
takes the old one's name. Whoever reads, reads the old file or the new one, whole.
"""

from __future__ import annotations

import codecs
import contextlib
import errno
import hashlib
import json
import math
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
#: a project is 6 levels deep; the rest is room for unknown keys
MAX_DEPTH = 64
#: 100 items and 280 ticked evenings with their forecasts; a file made to fill the memory has millions
MAX_VALUES = 300_000
#: what every reader of JSON keeps exactly (RFC 8259, section 6)
MAX_INTEGER = 2**53


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
    """JSON values from bytes: UTF-8 with or without a mark, no key twice in one object, finite numbers.

    Raises:
        BadInput: with line and column, or the place inside the project.
    """
    if not data.removeprefix(codecs.BOM_UTF8).strip():
        raise BadInput("the file is empty")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":
            raise BadInput("the file breaks off in the middle of a letter") from None
        raise BadInput(f"byte {error.start} is no UTF-8; a project is written as UTF-8 text") from None
    # a bound, found before anything is built: what stands in a text counts, too
    count = text.count(",") + text.count("[") + text.count("{")
    if count > MAX_VALUES:
        raise BadInput(f"about {count} values; a project has at most {MAX_VALUES}")
    try:
        raw = json.loads(text, object_pairs_hook=_object)
    except json.JSONDecodeError as error:
        what = "the file breaks off" if _breaks_off(text, error) else "this is no JSON"
        raise BadInput(f"line {error.lineno}, column {error.colno}: {what} ({error.msg})") from None
    except RecursionError:
        raise BadInput(_TOO_DEEP) from None
    except ValueError as error:
        # an integer of thousands of digits
        raise BadInput(f"a number in the file cannot be read ({shorten(str(error))})") from None
    _check_values(raw)
    return raw


_TOO_DEEP = f"the file is nested too deeply to be a project (at most {MAX_DEPTH} levels)"


def _breaks_off(text: str, error: json.JSONDecodeError) -> bool:
    rest = text[error.pos :].strip()
    if error.msg.startswith("Unterminated string"):
        return True
    # also a word or an escape that is cut in two: tru, -, \u00e
    return len(rest) <= 1 or (len(rest) < 6 and any(w.startswith(rest) for w in ("true", "false", "null", "\\u")))


def _check_values(raw: Any) -> None:
    """What JSON text can hold but no project may: endless numbers, half letters, endless nesting.

    The model looks at the keys that it knows; this looks at all of them, since unknown ones are
    written back.
    """
    # iterative: the depth is what is in question
    stack: list[tuple[Any, tuple[int | str, ...]]] = [(raw, ())]
    while stack:
        value, place = stack.pop()
        if isinstance(value, (dict, list)):
            if len(place) >= MAX_DEPTH:
                raise BadInput(_TOO_DEEP)
            if isinstance(value, dict):
                stack += [(inner, (*place, key)) for key, inner in value.items()]
                for key in value:
                    _check_text(key, place)
            else:
                stack += [(inner, (*place, n)) for n, inner in enumerate(value)]
        elif isinstance(value, float):
            if not math.isfinite(value):
                raise BadInput.at(place_text(place), value, "must be a finite number")
        elif isinstance(value, int):
            if abs(value) > MAX_INTEGER:
                raise BadInput.at(place_text(place), value, f"a whole number up to {MAX_INTEGER} is accepted")
        elif isinstance(value, str):
            _check_text(value, place)


def _check_text(text: str, place: tuple[int | str, ...]) -> None:
    try:
        text.encode()
    except UnicodeEncodeError:
        shown = text[:60].encode("ascii", "backslashreplace").decode()
        raise BadInput.at(
            place_text(place), shown, "holds half a letter (a lone surrogate), which no text may"
        ) from None


def place_text(place: tuple[int | str, ...]) -> str:
    """``("stages", 2, "items", 0, "high")`` as ``stages[2].items[0].high``."""
    text = ""
    for part in place:
        text += f"[{part}]" if isinstance(part, int) else ("." if text else "") + shorten(part)[1:-1]
    return text


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
    """The text of a project file: keys in the order of the model, a final newline."""
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
        # 40 characters are at most 160 bytes, the limit of a name is 255
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name[:40]}.", suffix=".part", dir=target.parent)
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
        mode = stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask
    if not os.access(target, os.W_OK):
        # a new name would slip past the protection of the old file
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    return mode


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system has such a thing."""
    # the file itself is whole and in place by now: a folder that cannot be synced is no failed save
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def content_hash(path: str | os.PathLike[str]) -> str | None:
    """SHA-256 of a file's bytes; None where there is none to read."""
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return None
