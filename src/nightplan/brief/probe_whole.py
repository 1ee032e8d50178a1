# SPDX-License-Identifier: GPL-3.0-or-later
"""Whether a picture file is whole: checksums, ends, and tables that point into the file. No pixel is decoded."""

from __future__ import annotations

import mmap
import os
import re
import struct
import zlib

from nightplan.brief.limits import LIMITS
from nightplan.brief.probe_exr import table_fault
from nightplan.brief.probe_tiff import read_directory
from nightplan.speech import tr

CUT = tr("the file is cut off")
#: in a JPEG: anything but a stuffed byte, a restart or a filler
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_AFTER_PIXELS = frozenset((0xD9, 0xC4, 0xDA, 0xDB, 0xDC, 0xDD, 0xFE))


def whole_fault(data: bytes | mmap.mmap) -> str:
    """What is wrong with the bytes of a picture file; empty where nothing is."""
    head = data[:12]
    try:
        if head.startswith(b"\x89PNG"):
            return _png(data)
        if head.startswith(b"\xff\xd8"):
            return _jpeg(data)
        if head[:2] in (b"II", b"MM"):
            return _tiff(data)
        if head.startswith(b"\x76\x2f\x31\x01"):
            return table_fault(bytes(data))
        if head[:4] == b"GIF8":
            return "" if data[-1:] == b";" else CUT
        if head[:4] == b"RIFF":
            return "" if struct.unpack_from("<I", data, 4)[0] + 8 <= len(data) else CUT
    except (struct.error, IndexError, ValueError, OverflowError):
        return tr("the file is damaged or cut off")
    return tr("this is no picture that is known here")


def file_fault(path: str) -> str:
    """The same of a file. Meant for a worker process; never raises on a damaged file."""
    try:
        fd = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0))
    except OSError as error:
        return tr("it cannot be read: {why}", why=error.strerror or error)
    try:
        size = os.fstat(fd).st_size
        if size == 0:
            return tr("the file is empty (0 bytes)")
        if size > LIMITS.picture_file_bytes:
            return ""
        data = os.read(fd, size)
        while len(data) < size:
            part = os.read(fd, size - len(data))
            if not part:
                break
            data += part
    except OSError as error:
        return tr("it cannot be read: {why}", why=error.strerror or error)
    finally:
        os.close(fd)
    return whole_fault(data)


def files_faults(paths: tuple[str, ...]) -> list[str]:
    """A job for a worker: the faults of several files, in their order."""
    return [file_fault(path) for path in paths]


def _png(data: bytes | mmap.mmap) -> str:
    view = memoryview(data)
    at, pixels = 8, False
    try:
        while at + 12 <= len(view):
            length, name = struct.unpack_from(">I4s", view, at)
            end = at + 8 + length
            if end + 4 > len(view):
                return CUT
            if zlib.crc32(view[at + 4 : end]) != struct.unpack_from(">I", view, end)[0]:
                shown = name.decode("latin-1") if name.isalpha() else "a"
                return tr("the file is damaged: the checksum of its {shown} part does not fit", shown=shown)
            pixels = pixels or name == b"IDAT"
            if name == b"IEND":
                return "" if pixels else tr("the file has no pixels")
            at = end + 4
        return CUT
    finally:
        view.release()


def _jpeg(data: bytes | mmap.mmap) -> str:
    """Markers up to the end of the picture; between them, only restarts may stand in the pixels (T.81, B.1.1)."""
    at, scans = 2, 0
    size = len(data)
    while at + 2 <= size:
        if data[at] != 0xFF:
            return tr("the file is damaged: a marker is missing")
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == 0xD9:
            return "" if scans else tr("the file has no pixels")
        if 0xD0 <= marker <= 0xD7 or marker == 0x01:
            at += 2
            continue
        if at + 4 > size:
            return CUT
        at += 2 + struct.unpack_from(">H", data, at + 2)[0]
        if marker == 0xDA:
            scans += 1
            found = _MARKER.search(data, at)
            if found is None:
                return CUT
            at = found.start()
            following = data[at + 1]
            if following not in _AFTER_PIXELS and not 0xE0 <= following <= 0xEF:
                return tr("the file is damaged: a marker that cannot be there stands in its pixels")
    return CUT


def _tiff(data: bytes | mmap.mmap) -> str:
    raw = bytes(data[:1024])
    directory = read_directory(raw, lambda at, size: bytes(data[at : at + size]), pieces=True)
    starts = directory.numbers.get(273) or directory.numbers.get(324)
    sizes = directory.numbers.get(279) or directory.numbers.get(325)
    if not starts or not sizes or len(starts) != len(sizes):
        return tr("the file does not say where its pixels are")
    if any(start == 0 or size == 0 for start, size in zip(starts, sizes, strict=True)):
        return tr("some of its pixels were never written")
    if any(start + size > len(data) for start, size in zip(starts, sizes, strict=True)):
        return CUT
    return ""
