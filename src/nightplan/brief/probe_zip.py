# SPDX-License-Identifier: GPL-3.0-or-later
"""A ZIP's table of contents, what in it no receiver should unpack, and whether it unpacks. Nothing is written anywhere.

Sources: APPNOTE.TXT 6.3.10 (PKWARE); D. Fifield, "A better zip bomb", WOOT 2019, for entries that overlap.
"""

from __future__ import annotations

import os
import stat
import struct
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import replace
from typing import IO

from nightplan.brief.facts import ZipEntry, ZipFacts
from nightplan.brief.limits import LIMITS
from nightplan.brief.names_of_formats import IMAGE_ENDINGS
from nightplan.brief.probe_image import read_header
from nightplan.brief.probe_whole import whole_fault
from nightplan.speech import tr
from nightplan.speech.dates import decimal

_CHUNK = 1 << 20
#: larger pictures inside are held to their checksum only
_WHOLE_PICTURE = 64_000_000
_NO_NAMES = {"CON", "PRN", "AUX", "NUL", *(f"COM{n}" for n in range(1, 10)), *(f"LPT{n}" for n in range(1, 10))}
_JUNK = ("__macosx/", ".ds_store", "thumbs.db", "desktop.ini")


def zip_facts(tell: Callable[[float], None], path: str, depth: str) -> ZipFacts:
    """A job for a worker: contents, and at depth "integrity" and "deep" every checksum."""
    try:
        size = os.stat(path).st_size
        if not size:
            return ZipFacts(fault=tr("the file is empty (0 bytes)"))
        with open(path, "rb") as file:
            fault = _end_fault(file, size)
            if fault:
                return ZipFacts(fault=fault)
            with zipfile.ZipFile(file) as archive:
                return _contents(tell, archive, size, depth)
    except OSError as error:
        return ZipFacts(fault=tr("it cannot be read: {why}", why=error.strerror or error))
    except (zipfile.BadZipFile, struct.error, ValueError, NotImplementedError, UnicodeError, OverflowError) as error:
        return ZipFacts(fault=tr("the ZIP is damaged or cut off ({why})", why=str(error)[:100]))


zip_facts.tells = True  # type: ignore[attr-defined]


def _end_fault(file: IO[bytes], size: int) -> str:
    """Look at the end record first: a table that claims millions of entries is never loaded."""
    file.seek(max(0, size - 65_557))
    tail = file.read()
    at = tail.rfind(b"PK\x05\x06")
    if at < 0 or at + 22 > len(tail):
        file.seek(0)
        return (
            tr("the ZIP is cut off: its table of contents is missing")
            if file.read(2) == b"PK"
            else tr("this is no ZIP")
        )
    entries, table = struct.unpack_from("<HI", tail, at + 10)
    if entries == 0xFFFF or table == 0xFFFFFFFF:
        large = tail.rfind(b"PK\x06\x06")
        if large >= 0 and large + 56 <= len(tail):
            entries, table = struct.unpack_from("<QQ", tail, large + 32)
    if entries > LIMITS.files or (table > 500_000_000 and table != 0xFFFFFFFF):
        return tr("its table of contents claims {n} entries, more than is looked into", n=entries)
    return ""


def _contents(tell: Callable[[float], None], archive: zipfile.ZipFile, size: int, depth: str) -> ZipFacts:
    infos = archive.infolist()
    if len(infos) > LIMITS.files:
        return ZipFacts(fault=tr("it has {n} entries, more than is looked into", n=len(infos)))
    hostile: list[str] = []
    encrypted: list[str] = []
    odd: list[str] = []
    entries: list[ZipEntry] = []
    seen: dict[str, str] = {}
    total = sum(i.file_size for i in infos)
    if total > LIMITS.unpacked_bytes or (total > LIMITS.unpacked_free_bytes and total > size * LIMITS.unpacked_ratio):
        hostile.append(
            tr("a small file that unpacks to {size} GB (a decompression bomb)", size=decimal(total / 1e9, 1))
        )
    if sum(i.compress_size for i in infos) > size:
        hostile.append(tr("entries that overlap each other (a decompression bomb)"))
    for info in infos:
        name = info.filename
        wrong = name_fault(name, info)
        if wrong:
            hostile.append(f"{name[:80]!r}: {wrong}")
        if info.flag_bits & 0x1:
            encrypted.append(name)
        key = name.casefold()
        if key in seen:
            odd.append(
                tr("{name} is there twice", name=repr(name))
                if seen[key] == name
                else tr("{name} and {other} are one file on many systems", name=repr(name), other=repr(seen[key]))
            )
        seen[key] = name
        if any(key.startswith(j) or key.endswith("/" + j) or key == j for j in _JUNK):
            odd.append(tr("{name} is litter of a file manager", name=repr(name)))
        entries.append(ZipEntry(name, info.file_size, info.compress_size, info.is_dir()))
    facts = ZipFacts(entries=tuple(entries), hostile=tuple(hostile), encrypted=tuple(encrypted), odd=tuple(odd[:50]))
    if hostile:
        # nothing of it is unpacked
        return facts
    return _unpacked(tell, archive, infos, facts, depth)


def name_fault(name: str, info: zipfile.ZipInfo) -> str:
    """Why an entry must not be unpacked; empty where it may."""
    parts = name.replace("\\", "/").split("/")
    if name.startswith(("/", "\\")) or (len(name) > 1 and name[1] == ":"):
        return tr("an absolute place outside the folder")
    if ".." in parts:
        return tr("a way out of the folder")
    if "\\" in name:
        return tr("a backslash, which unpacks differently on each system")
    if any(ord(c) < 32 or c == "\x7f" for c in name):
        return tr("control characters in the name")
    if any(p.split(".")[0].upper() in _NO_NAMES for p in parts):
        return tr("a name that Windows keeps for devices")
    mode = info.external_attr >> 16
    if info.create_system == 3 and mode and stat.S_ISLNK(mode):
        return tr("a symbolic link")
    if info.create_system == 3 and mode and stat.S_IFMT(mode) not in (0, stat.S_IFREG, stat.S_IFDIR):
        return tr("a device, no file")
    return ""


def _unpacked(
    tell: Callable[[float], None], archive: zipfile.ZipFile, infos: list[zipfile.ZipInfo], facts: ZipFacts, depth: str
) -> ZipFacts:
    damaged: list[str] = []
    unread: list[str] = []
    entries = list(facts.entries)
    total = max(1, sum(i.file_size for i in infos))
    done = 0
    for n, info in enumerate(infos):
        if info.is_dir() or info.flag_bits & 0x1:
            continue
        picture = os.path.splitext(info.filename.lower())[1] in IMAGE_ENDINGS
        if depth == "headers" and not picture:
            continue
        try:
            head, fault = _one(archive, info, picture, depth)
        except (zipfile.BadZipFile, zlib.error, EOFError, struct.error, ValueError) as error:
            why = str(error)[:80] or tr("cut off")
            damaged.append(f"{info.filename}: {why}")
            continue
        except (NotImplementedError, RuntimeError, OSError):
            unread.append(info.filename)
            continue
        if fault:
            damaged.append(f"{info.filename}: {fault}")
        if picture:
            image = read_header(head[:1024], lambda at, size, head=head: head[at : at + size])  # type: ignore[misc]
            if depth == "headers" and image.fault:
                # a header that lies behind the part that was unpacked
                image = replace(image, fault="") if len(head) >= 65_536 and image.format == "TIFF" else image
            entries[n] = replace(entries[n], image=image)
        done += info.file_size
        tell(min(0.99, done / total))
    return replace(
        facts, entries=tuple(entries), damaged=tuple(damaged), unread=tuple(unread), tested=depth != "headers"
    )


def _one(archive: zipfile.ZipFile, info: zipfile.ZipInfo, picture: bool, depth: str) -> tuple[bytes, str]:
    """First bytes of an entry, and what is wrong with the picture in it; its checksum is read where asked for."""
    with archive.open(info) as entry:
        if depth == "headers":
            return entry.read(65_536), ""
        if picture and info.file_size <= _WHOLE_PICTURE:
            data = entry.read(info.file_size + 1)
            return data, whole_fault(data) if data else tr("empty (0 bytes)")
        head = entry.read(_CHUNK)
        got = len(head)
        while got <= info.file_size:
            part = entry.read(_CHUNK)
            if not part:
                break
            got += len(part)
    return head, "" if got == info.file_size else tr("its size is not what the table says")
