# SPDX-License-Identifier: GPL-3.0-or-later
"""Headers of PNG, JPEG, TIFF, EXR, GIF and WebP pictures, read within bounds and without a decoder.

Sources: PNG third edition (W3C 2025); ITU-T T.81 and JFIF 1.02; TIFF 6.0 and BigTIFF; OpenEXR file layout;
GIF89a; RFC 9649 (WebP); ICC.1:2022 for the name of a profile.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable
from fractions import Fraction

from nightplan.brief.amounts import figures
from nightplan.brief.facts import ImageFacts
from nightplan.brief.names_of_formats import colour_words, profile_words
from nightplan.brief.probe_exr import read_exr
from nightplan.brief.probe_tiff import read_tiff
from nightplan.speech import tr

#: bytes that are read of each file at first; more only where the header is longer
FIRST = 1024
#: a JPEG header with a large preview, or a PNG with a large profile, may be this long
MOST = 4_000_000

#: bytes from an offset, fewer at the end of the file
Reader = Callable[[int, int], bytes]

_PNG_CHANNELS = {0: 1, 2: 3, 3: 3, 4: 2, 6: 4}
_NOTHING = ImageFacts(fault=tr("the file is empty (0 bytes): a placeholder, or a frame that was never written"))


def read_header(data: bytes, more: Reader) -> ImageFacts:
    """The header of a picture.

    Args:
        data: the first :data:`FIRST` bytes.
        more: reads further bytes; it is asked for at most :data:`MOST` of them.
    """
    if not data:
        return _NOTHING
    try:
        if data.startswith(b"\x89PNG\r\n\x1a\n"):
            return _png(data, more)
        if data.startswith(b"\xff\xd8"):
            return _jpeg(data, more)
        if data[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
            return read_tiff(data, more)
        if data.startswith(b"\x76\x2f\x31\x01"):
            return read_exr(data, more)
        if data[:6] in (b"GIF87a", b"GIF89a"):
            width, height = struct.unpack_from("<HH", data, 6)
            return _sane(ImageFacts("GIF", width, height, 3, 8))
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return _sane(_webp(data))
    except (struct.error, IndexError, ValueError, OverflowError, ZeroDivisionError):
        return ImageFacts(fault=tr("the header is damaged or cut off"))
    if not data.strip(b"\0"):
        return ImageFacts(fault=tr("the file has zeros only"))
    return ImageFacts(fault=tr("this is no PNG, JPEG, TIFF, EXR, GIF or WebP picture"))


def _sane(facts: ImageFacts) -> ImageFacts:
    if facts.width < 1 or facts.height < 1:
        return ImageFacts(facts.format, fault=tr("the header gives a picture without width or height"))
    return facts


def _png(data: bytes, more: Reader) -> ImageFacts:
    if data[12:16] != b"IHDR" or len(data) < 33:
        return ImageFacts("PNG", fault=tr("the header is damaged or cut off"))
    width, height, depth, kind, _, _, interlace = struct.unpack_from(">IIBBBBB", data, 16)
    if zlib.crc32(data[12:29]) != struct.unpack_from(">I", data, 29)[0] or kind not in _PNG_CHANNELS:
        return ImageFacts("PNG", fault=tr("the header is damaged (its checksum does not fit)"))
    aspect: Fraction | None = None
    tags: dict[bytes, str] = {}
    alpha, animated, found_pixels, at = kind in (4, 6), False, False, 33
    for _ in range(200):
        if at + 8 > len(data):
            data += more(len(data), min(65_536, MOST - len(data)))
            if at + 8 > len(data):
                break
        length, name = struct.unpack_from(">I4s", data, at)
        if name in (b"IDAT", b"IEND"):
            found_pixels = name == b"IDAT"
            break
        wanted = name in (b"pHYs", b"sRGB", b"gAMA", b"iCCP", b"cICP")
        if wanted and at + 8 + min(length, 128) > len(data):
            data += more(len(data), 65_536)
        body = data[at + 8 : at + 8 + min(length, 128)]
        if name == b"pHYs" and length == 9:
            x, y, _ = struct.unpack(">IIB", body)
            aspect = Fraction(y, x) if x and y else None
        elif name == b"sRGB":
            tags[name] = "sRGB"
        elif name == b"gAMA" and length == 4:
            gamma = struct.unpack(">I", body)[0]
            tags[name] = (
                "linear"
                if gamma == 100_000
                else ""
                if gamma == 45_455
                else tr("gamma {value}", value=figures(gamma / 100_000, 4))
            )
        elif name == b"iCCP":
            tags[name] = profile_words(body.split(b"\0", 1)[0].decode("latin-1"))
        elif name == b"cICP" and length == 4:
            tags[name] = colour_words(body[0], body[1])
        elif name == b"tRNS":
            alpha = True
        elif name == b"acTL":
            animated = True
        step = at + 12 + length
        if step > len(data) and step < MOST:
            data += more(len(data), step - len(data) + 64)
        at = step
    # the order that the standard gives them: cICP, iCCP, sRGB, gAMA
    colour = next((tags[k] for k in (b"cICP", b"iCCP", b"sRGB", b"gAMA") if k in tags), "")
    if not found_pixels:
        return ImageFacts("PNG", fault=tr("the file ends before its pixels"))
    odd = "palette" if kind == 3 else "interlaced" if interlace else ""
    bits = 8 if kind == 3 else depth
    return _sane(
        ImageFacts(
            "PNG", width, height, _PNG_CHANNELS[kind] + (kind == 3 and alpha), bits, alpha, aspect, colour,
            more_pictures=animated, odd=odd,
        )
    )  # fmt: skip


def _jpeg(data: bytes, more: Reader) -> ImageFacts:
    aspect: Fraction | None = None
    colour, turned, at = "", False, 2
    for _ in range(500):
        if at + 64 > len(data) and len(data) < MOST:
            data += more(len(data), 65_536)
        if at + 4 > len(data):
            return ImageFacts("JPEG", fault=tr("the file ends before its pixels"))
        if data[at] != 0xFF:
            return ImageFacts("JPEG", fault=tr("the header is damaged"))
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        length = struct.unpack_from(">H", data, at + 2)[0]
        if marker in (0xD9, 0xDA) or length < 2:
            return ImageFacts("JPEG", fault=tr("the header is damaged (pixels without a size)"))
        if at + 2 + length > len(data) and len(data) < MOST and marker in (0xE1, 0xE2):
            data += more(len(data), length + 1024)
        body = data[at + 4 : at + 2 + length]
        if 0xC0 <= marker <= 0xCF and marker not in (0xC4, 0xC8, 0xCC):
            depth, height, width, channels = struct.unpack_from(">BHHB", body)
            odd = "CMYK" if channels == 4 else ""
            return _sane(
                ImageFacts(
                    "JPEG", width, height, channels, depth, pixel_aspect=aspect, colour=colour, turned=turned, odd=odd
                )
            )
        if marker == 0xE0 and body[:5] == b"JFIF\0" and len(body) >= 12:
            _, x, y = struct.unpack_from(">BHH", body, 7)
            if x and y:
                # densities are dots per inch or centimetre, or, with unit 0, the shape itself
                aspect = Fraction(y, x)
        elif marker == 0xE1 and body[:6] == b"Exif\0\0":
            turned = _exif_turned(body[6:])
        elif marker == 0xE2 and body[:12] == b"ICC_PROFILE\0":
            colour = profile_words(profile_name(body[14:]))
        at += 2 + length
    return ImageFacts("JPEG", fault=tr("the header is longer than any picture needs"))


def _exif_turned(exif: bytes) -> bool:
    """Orientation 5 to 8 of Exif 2.32 swap width and height."""
    order = "<" if exif[:2] == b"II" else ">"
    start = struct.unpack_from(order + "I", exif, 4)[0]
    if start + 2 > len(exif):
        return False
    count = struct.unpack_from(order + "H", exif, start)[0]
    for n in range(min(count, 200)):
        at = start + 2 + 12 * n
        if at + 12 > len(exif):
            return False
        tag, kind, _, value = struct.unpack_from(order + "HHIH", exif, at)
        if tag == 0x0112 and kind == 3:
            return bool(5 <= value <= 8)
    return False


def profile_name(profile: bytes) -> str:
    """The description of an ICC profile; empty where the part that is here has none."""
    if len(profile) < 132 or profile[36:40] != b"acsp":
        return ""
    count = struct.unpack_from(">I", profile, 128)[0]
    for n in range(min(count, 100)):
        entry = profile[132 + 12 * n : 144 + 12 * n]
        if len(entry) < 12:
            return ""
        name, start, size = struct.unpack(">4sII", entry)
        if name == b"desc" and start + size <= len(profile):
            body = profile[start : start + min(size, 512)]
            if body[:4] == b"desc" and len(body) > 12:
                length = struct.unpack_from(">I", body, 8)[0]
                return body[12 : 12 + min(length, 200)].split(b"\0", 1)[0].decode("latin-1")
            if body[:4] == b"mluc" and len(body) >= 28:
                length, offset = struct.unpack_from(">II", body, 20)
                return body[offset : offset + min(length, 400)].decode("utf-16-be", "replace").strip("\0")
    return ""


def _webp(data: bytes) -> ImageFacts:
    kind = data[12:16]
    if kind == b"VP8X":
        flags = data[20]
        width = int.from_bytes(data[24:27], "little") + 1
        height = int.from_bytes(data[27:30], "little") + 1
        return ImageFacts("WebP", width, height, 3, 8, alpha=bool(flags & 0x10), more_pictures=bool(flags & 0x02))
    if kind == b"VP8L":
        bits = struct.unpack_from("<I", data, 21)[0]
        return ImageFacts("WebP", (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1, 3, 8, alpha=bool(bits >> 28 & 1))
    width, height = struct.unpack_from("<HH", data, 26)
    return ImageFacts("WebP", width & 0x3FFF, height & 0x3FFF, 3, 8)
