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
import itertools
import json
import math
import os
import re
import stat
import tempfile
from pathlib import Path
from typing import Any

from nightplan.files.errors import NewerFile, cannot_save, changed_meanwhile, os_words
from nightplan.files.migrations import migrate
from nightplan.model.errors import BadInput, shorten
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import FORMAT, VERSION, Project
from nightplan.speech import mark, tr

SUFFIX = ".nightplan"
#: a project with years of evenings stays under one megabyte
MAX_BYTES = 20_000_000
#: a project is 6 levels deep; the rest is room for unknown keys
MAX_DEPTH = 64
#: 100 items and 280 ticked evenings with their forecasts; a file made to fill the memory has millions
MAX_VALUES = 300_000
#: what every reader of JSON keeps exactly (RFC 8259, section 6)
MAX_INTEGER = 2**53
#: ending of a file that is being written
_PART = ".part"
#: a save takes a moment; on the slowest drive it is given up long before
_OLD_SECONDS = 600.0
_MOST_ENTRIES = 20_000


def load(path: str | os.PathLike[str]) -> Project:
    """The project in a file.

    Raises:
        BadInput: the file cannot be read, is no project, or breaks a rule; the sentence starts with
            the file's name.
    """
    place = Path(path)
    return parse(read_bytes(place), place.name)


def load_known(path: str | os.PathLike[str]) -> tuple[Project, str]:
    """The project in a file and the hash of the bytes that it was read from. Raises BadInput as :func:`load`."""
    place = Path(path)
    data = read_bytes(place)
    return parse(data, place.name), hashlib.sha256(data).hexdigest()


def read_bytes(path: Path) -> bytes:
    """The bytes of a file of acceptable size. Raises BadInput."""
    try:
        status = path.stat()
        if stat.S_ISDIR(status.st_mode):
            raise BadInput(
                tr("{file}: is a folder; a project is a file that ends in {ending}", file=path.name, ending=SUFFIX)
            )
        if not stat.S_ISREG(status.st_mode):
            raise BadInput(tr("{file}: is no ordinary file", file=path.name))
        if status.st_size > MAX_BYTES:
            raise BadInput(
                tr(
                    "{file}: has {size} MB; a project has at most {most} MB",
                    file=path.name,
                    size=round(status.st_size / 1e6),
                    most=round(MAX_BYTES / 1e6),
                )
            )
        with path.open("rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise BadInput(tr("{file}: there is no such file", file=path)) from None
    except PermissionError:
        raise BadInput(tr("{file}: you may not read this file", file=path)) from None
    except (OSError, ValueError) as error:
        # ValueError: a NUL byte in the path
        words = os_words(error) if isinstance(error, OSError) else str(error)
        raise BadInput(tr("{file}: cannot be read: {why}", file=shorten(str(path)), why=words)) from None
    return data


def parse(data: bytes, name: str) -> Project:
    """The project in the bytes of a file called ``name``.

    Raises:
        BadInput: the sentence starts with the name.
        NewerFile: the file is of a later format.
    """
    raw = None
    try:
        raw = raw_json(data)
        return project_from_raw(migrate(raw))
    except BadInput as error:
        sentence = f"{name}: {error.sentence}"
        newer = newer_version(raw)
        if newer is not None:
            raise NewerFile(sentence, newer) from None
        raise BadInput(sentence, more=error.more) from None


def newer_version(raw: Any) -> int | None:
    """The version of a project of a later format than ours, as raw values; None for anything else."""
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        return None
    version = raw.get("version")
    return version if isinstance(version, int) and not isinstance(version, bool) and version > VERSION else None


def raw_json(data: bytes) -> Any:
    """JSON values from bytes: UTF-8 with or without a mark, no key twice in one object, finite numbers.

    Raises:
        BadInput: with line and column, or the place inside the project.
    """
    if not data.removeprefix(codecs.BOM_UTF8).strip():
        raise BadInput(tr("the file is empty"))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        if error.reason == "unexpected end of data":  # untranslated: what Python says
            raise BadInput(tr("the file breaks off in the middle of a letter")) from None
        raise BadInput(tr("byte {n} is no UTF-8; a project is written as UTF-8 text", n=error.start)) from None
    # a bound, found before anything is built: what stands in a text counts, too
    count = text.count(",") + text.count("[") + text.count("{")
    if count > MAX_VALUES:
        raise BadInput(tr("about {n} values; a project has at most {most}", n=count, most=MAX_VALUES))
    try:
        raw = json.loads(text, object_pairs_hook=_object)
    except json.JSONDecodeError as error:
        told = (
            mark("line {line}, column {column}: the file breaks off ({why})")
            if _breaks_off(text, error)
            else mark("line {line}, column {column}: this is no JSON ({why})")
        )
        raise BadInput(tr(told, line=error.lineno, column=error.colno, why=error.msg)) from None
    except RecursionError:
        raise BadInput(_TOO_DEEP) from None
    except ValueError as error:
        # an integer of thousands of digits
        raise BadInput(tr("a number in the file cannot be read ({why})", why=shorten(str(error)))) from None
    _check_values(raw)
    return raw


_TOO_DEEP = tr("the file is nested too deeply to be a project (at most {n} levels)", n=MAX_DEPTH)


def _breaks_off(text: str, error: json.JSONDecodeError) -> bool:
    rest = text[error.pos :].strip()
    if error.msg.startswith("Unterminated string"):  # untranslated: what Python says
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
                raise BadInput.at(place_text(place), value, tr("must be a finite number"))
        elif isinstance(value, int):
            if abs(value) > MAX_INTEGER:
                raise BadInput.at(place_text(place), value, tr("a whole number up to {n} is accepted", n=MAX_INTEGER))
        elif isinstance(value, str):
            _check_text(value, place)


def _check_text(text: str, place: tuple[int | str, ...]) -> None:
    try:
        text.encode()
    except UnicodeEncodeError:
        shown = text[:60].encode("ascii", "backslashreplace").decode()
        raise BadInput.at(
            place_text(place), shown, tr("holds half a letter (a lone surrogate), which no text may")
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
                raise BadInput(tr("the key {key} stands twice in one object; keep one of them", key=shorten(key)))
            seen.add(key)
    return found


def dumps(project: Project) -> str:
    """The text of a project file: keys in the order of the model, a final newline."""
    return json.dumps(project_to_raw(project), ensure_ascii=False, indent=1, allow_nan=False) + "\n"


def save(project: Project, path: str | os.PathLike[str], *, over: str | None = None) -> str:
    """Write a project; on any failure the file is as it was. Returns the hash of what was written.

    Args:
        over: hash of what is to be written over, "" where no file was; where something else stands there by
            now, nothing is written. None writes over whatever is there.

    Raises:
        FilesError: with the reason in plain words.
        ChangedMeanwhile: the file is not the one of ``over``.
    """
    data = dumps(project).encode("utf-8")
    write_atomically(Path(path), data, over=over)
    return hashlib.sha256(data).hexdigest()


def write_atomically(path: Path, data: bytes, *, over: str | None = None, lasting: bool = True) -> None:
    """Replace the content of a file; a link is followed, mode, owner and group are kept as far as they may be.

    Args:
        over: as in :func:`save`.
        lasting: wait until the disk has it, so that a power cut cannot take it.

    Raises:
        FilesError, ChangedMeanwhile.
    """
    temporary: str | None = None
    handle = -1
    try:
        target = Path(os.path.realpath(path))
        before, mode = _before(target)
        handle, temporary = _temporary(target)
        rest = memoryview(data)
        while rest:
            # a disk that is nearly full takes a part
            written = os.write(handle, rest)
            if written <= 0:
                raise OSError(errno.EIO, os.strerror(errno.EIO))
            rest = rest[written:]
        if lasting:
            os.fsync(handle)
        _dress(handle, temporary, before, mode)
        # the disk may refuse what it took until now; a name of our own is not free before it is closed
        closing, handle = handle, -1
        os.close(closing)
        if over is not None and standing(target) != over:
            raise changed_meanwhile(path)
        os.replace(temporary, target)
        temporary = None
        if lasting:
            _sync_folder(target.parent)
    except OSError as error:
        raise cannot_save(path, error) from error
    finally:
        if handle >= 0:
            with contextlib.suppress(OSError):
                os.close(handle)
        if temporary is not None:
            with contextlib.suppress(OSError):
                os.unlink(temporary)


def _temporary(target: Path) -> tuple[int, str]:
    """A new file in the same folder, held by a lock; what killed saves left behind is cleared away."""
    # 40 characters are at most 160 bytes, the limit of a name is 255
    prefix = f".{target.name[:40]}."
    handle, made = tempfile.mkstemp(prefix=prefix, suffix=_PART, dir=target.parent)
    with contextlib.suppress(OSError):
        _hold(handle)
        _clear(target.parent, prefix, os.fstat(handle))
    return handle, made


def _hold(handle: int) -> None:
    """Lock an open file as one that is being written. Raises OSError where another does so."""
    with contextlib.suppress(ImportError):
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _clear(folder: Path, prefix: str, mine: os.stat_result) -> None:
    """Remove what killed saves left behind: of this name and this user, old, and held by nobody."""
    ours = re.compile(re.escape(prefix) + "[a-z0-9_]{8}" + re.escape(_PART))
    with os.scandir(folder) as entries:
        # a folder of frames has many files; a save does not wait for all of them
        left = [e.path for e in itertools.islice(entries, _MOST_ENTRIES) if ours.fullmatch(e.name)]
    for path in left:
        with contextlib.suppress(OSError):
            found = os.lstat(path)
            # both times are of the same disk: no clock of a machine counts
            old = mine.st_mtime - found.st_mtime > _OLD_SECONDS
            if not old or not stat.S_ISREG(found.st_mode) or found.st_uid != mine.st_uid:
                continue
            handle = os.open(path, os.O_RDWR | getattr(os, "O_NOFOLLOW", 0))
            try:
                _hold(handle)
                os.unlink(path)
            finally:
                os.close(handle)


def _dress(handle: int, temporary: str, before: os.stat_result | None, mode: int) -> None:
    """Mode, owner and group of the file whose place it takes."""
    now = os.fstat(handle)
    if before is not None and (before.st_uid, before.st_gid) != (now.st_uid, now.st_gid):
        # only some users may; the content matters more
        with contextlib.suppress(OSError, AttributeError):
            os.chown(temporary, before.st_uid, before.st_gid)
    # disks without modes refuse the call, and have none to keep
    if stat.S_IMODE(os.stat(temporary).st_mode) != mode:
        os.chmod(temporary, mode)


def _before(target: Path) -> tuple[os.stat_result | None, int]:
    """What stands in the place, and the mode that a new file gets there."""
    try:
        found = target.stat()
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return None, 0o666 & ~mask
    if not os.access(target, os.W_OK):
        # a new name would slip past the protection of the old file
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    return found, stat.S_IMODE(found.st_mode)


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut, where the system has such a thing."""
    # the file itself is whole and in place by now: a folder that cannot be synced is no failed save
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def standing(path: str | os.PathLike[str]) -> str:
    """SHA-256 of a file's bytes, "" where there is no file. Raises OSError where it cannot be read."""
    try:
        with open(path, "rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return ""


def content_hash(path: str | os.PathLike[str]) -> str | None:
    """SHA-256 of a file's bytes; None where there is none to read."""
    try:
        return standing(path) or None
    except OSError:
        return None
