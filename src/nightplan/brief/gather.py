# SPDX-License-Identifier: GPL-3.0-or-later
"""Files of a folder with their sizes and headers, in one pass that follows no link and leaves the folder nowhere."""

from __future__ import annotations

import os
import stat
import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from nightplan.brief.facts import ImageFacts
from nightplan.brief.findings import FileSeen
from nightplan.brief.limits import LIMITS, Limits
from nightplan.brief.names_of_formats import IMAGE_ENDINGS
from nightplan.brief.probe_exr import read_attributes
from nightplan.brief.probe_image import FIRST, read_header
from nightplan.model.errors import BadInput, shorten
from nightplan.speech import tr

#: what file managers leave behind
LITTER = frozenset((".ds_store", "thumbs.db", "desktop.ini", ".directory"))
_FLAGS = (
    os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    | getattr(os, "O_CLOEXEC", 0)
)  # fmt: skip
_BY_FOLDER = os.open in os.supports_dir_fd
_UNREADABLE = ImageFacts(fault=tr("it cannot be read"))


@dataclass(slots=True)
class Listing:
    """Files in the order of their names; ``images[i]`` belongs to ``files[i]``, None for what is no picture."""

    files: list[FileSeen] = field(default_factory=list)
    images: list[ImageFacts | None] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    folders: list[str] = field(default_factory=list)
    litter: list[str] = field(default_factory=list)
    #: why the listing is not whole
    stopped: str = ""


class _Headers:
    """Reads headers; frames of one sequence have the same one, which is then read once, and share one value."""

    def __init__(self) -> None:
        self._known: dict[bytes, ImageFacts] = {}
        self._alike: dict[ImageFacts, ImageFacts] = {}
        self._exr_lengths: list[int] = []

    def of(self, fd: int) -> ImageFacts:
        data = os.read(fd, FIRST)
        mark = data[:2]
        if mark == b"\x89P":
            # everything before the pixels is the header
            key = data[: max(0, data.find(b"IDAT", 33))]
        elif mark == b"\xff\xd8":
            key = data[: max(0, data.find(b"\xff\xda"))]
        elif mark == b"\x76\x2f":
            # what starts with a whole header that is known has that header
            key = next((data[:n] for n in self._exr_lengths if data[:n] in self._known), b"")
        else:
            key = b""
        known = self._known.get(key) if key else None
        if known is not None:
            return known
        read = read_header(data, lambda at, size: _read_at(fd, at, size))
        # frames of a TIFF sequence share one value already
        facts = read if read.format == "TIFF" else self._alike.setdefault(read, read)
        if mark == b"\x76\x2f" and not facts.fault:
            key = self._exr_key(data)
        if key and not facts.fault and len(self._known) < 10_000:
            self._known[key] = facts
        return facts

    def _exr_key(self, data: bytes) -> bytes:
        try:
            end = read_attributes(data, lambda at, size: b"").end
        except (ValueError, struct.error):
            return b""
        if end not in self._exr_lengths:
            if len(self._exr_lengths) >= 8:
                return b""
            self._exr_lengths.append(end)
        return data[:end]


def _read_at(fd: int, at: int, size: int) -> bytes:
    if size <= 0:
        return b""
    os.lseek(fd, at, os.SEEK_SET)
    parts = []
    while size > 0:
        part = os.read(fd, size)
        if not part:
            break
        parts.append(part)
        size -= len(part)
    return b"".join(parts)


def list_folder(
    folder: str, *, below: bool = False, limits: Limits = LIMITS, tick: Callable[[float], None] | None = None
) -> Listing:
    """Files of a folder (``below``: and of the folders in it) with the headers of its pictures.

    Raises:
        BadInput: the folder cannot be read.
    """
    found = Listing()
    headers = _Headers()
    base = os.path.abspath(folder)
    waiting = [("", base, 0)]
    while waiting:
        prefix, place, depth = waiting.pop()
        try:
            _list_one(prefix, place, found, headers, limits, tick)
        except OSError as error:
            if not prefix:
                raise BadInput(
                    tr("{path}: cannot be read: {why}", path=shown(folder), why=error.strerror or error)
                ) from None
            found.stopped = found.stopped or tr("the folder {folder} cannot be read", folder=prefix)
        if not below:
            break
        for name in found.folders:
            if name.startswith(prefix) and "/" not in name[len(prefix) :]:
                if depth >= limits.folder_depth:
                    found.stopped = found.stopped or tr("folders lie deeper than {n}", n=limits.folder_depth)
                else:
                    waiting.append((f"{name}/", os.path.join(base, *name.split("/")), depth + 1))
        if found.stopped:
            break
    order = sorted(range(len(found.files)), key=lambda i: found.files[i].name)
    found.files = [found.files[i] for i in order]
    found.images = [found.images[i] for i in order]
    return found


def _list_one(
    prefix: str, place: str, found: Listing, headers: _Headers, limits: Limits, tick: Callable[[float], None] | None
) -> None:
    at = os.open(place, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0)) if _BY_FOLDER else -1
    start = place + os.sep
    add_file, add_image = found.files.append, found.images.append
    count = 0
    try:
        with os.scandir(place) as entries:
            for entry in entries:
                name = entry.name
                count += 1
                if tick and not count & 0xFF:
                    tick(0.0)
                if entry.is_symlink():
                    found.links.append(prefix + name)
                    continue
                if entry.is_dir(follow_symlinks=False):
                    found.folders.append(prefix + name)
                    continue
                if len(found.files) >= limits.files:
                    found.stopped = tr("more than {n} files lie there", n=limits.files)
                    return
                if name.lower() in LITTER or name.startswith("._"):
                    found.litter.append(prefix + name)
                    continue
                dot = name.rfind(".")
                path = start + name
                if name[dot:].lower() not in IMAGE_ENDINGS:
                    status = entry.stat(follow_symlinks=False)
                    if stat.S_ISREG(status.st_mode):
                        add_file(FileSeen(path, prefix + name, status.st_size, status.st_mtime_ns))
                        add_image(None)
                    continue
                try:
                    fd = os.open(name, _FLAGS, dir_fd=at) if _BY_FOLDER else os.open(path, _FLAGS)
                except OSError:
                    add_file(FileSeen(path, prefix + name, 0, 0))
                    add_image(_UNREADABLE)
                    continue
                try:
                    status = os.fstat(fd)
                    if stat.S_ISREG(status.st_mode):
                        add_file(FileSeen(path, prefix + name, status.st_size, status.st_mtime_ns))
                        add_image(headers.of(fd))
                except OSError:
                    add_file(FileSeen(path, prefix + name, 0, 0))
                    add_image(_UNREADABLE)
                finally:
                    os.close(fd)
    finally:
        if at >= 0:
            os.close(at)


def list_files(paths: list[str]) -> Listing:
    """The same for files that were named one by one; a link that the caller named is followed. Raises BadInput."""
    found = Listing()
    headers = _Headers()
    for path in paths:
        place = os.path.realpath(path)
        try:
            fd = os.open(place, _FLAGS)
        except OSError as error:
            raise BadInput(tr("{path}: cannot be read: {why}", path=shown(path), why=error.strerror or error)) from None
        try:
            status = os.fstat(fd)
            if not stat.S_ISREG(status.st_mode):
                raise BadInput(tr("{path}: is no ordinary file", path=shown(path)))
            found.files.append(FileSeen(place, Path(path).name, status.st_size, status.st_mtime_ns))
            picture = os.path.splitext(path)[1].lower() in IMAGE_ENDINGS
            found.images.append(headers.of(fd) if picture else None)
        finally:
            os.close(fd)
    order = sorted(range(len(found.files)), key=lambda i: found.files[i].name)
    found.files = [found.files[i] for i in order]
    found.images = [found.images[i] for i in order]
    return found


def shown(path: str) -> str:
    """A path in a sentence: as it is, where it can be printed and is not too long."""
    return path if len(path) <= 200 and path.isprintable() else shorten(path, 200)


def there(paths: list[str]) -> Iterator[str]:
    """The paths, each of which is there. Raises BadInput where one is not."""
    for path in paths:
        try:
            os.stat(path)
        except (OSError, ValueError) as error:
            told = (
                tr("{path}: there is no such file", path=shown(path))
                if isinstance(error, FileNotFoundError)
                else tr("{path}: cannot be read: {why}", path=shown(path), why=error)
            )
            raise BadInput(told) from None
        yield path
