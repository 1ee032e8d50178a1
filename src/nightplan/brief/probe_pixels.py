# SPDX-License-Identifier: GPL-3.0-or-later
"""Decodes one picture file and says how it looks. Runs in a worker process: decoders can crash, hang and eat memory."""

from __future__ import annotations

import importlib
import os
from typing import Any

from nightplan.brief.facts import Look
from nightplan.brief.limits import LIMITS
from nightplan.brief.look import BLACK, GRID, black_cells, look_of, look_of_frame, signature
from nightplan.brief.probe_image import FIRST, read_header
from nightplan.brief.probe_whole import CUT, whole_fault
from nightplan.speech import tr


def picture_look(path: str) -> Look:
    """A job for a worker: the look of a picture file, or its fault. The header is trusted in nothing but the cap."""
    try:
        fd = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0))
        with os.fdopen(fd, "rb") as file:
            if os.fstat(file.fileno()).st_size > LIMITS.picture_file_bytes:
                return Look(unknown=tr("the file is too large to be decoded here"))
            data = file.read()
    except OSError as error:
        return Look(fault=tr("it cannot be read: {why}", why=error.strerror or error))
    facts = read_header(data[:FIRST], lambda at, size: data[at : at + size])
    if facts.fault:
        return Look(fault=facts.fault)
    channels = max(facts.channels, 1)
    if (
        facts.width * facts.height > LIMITS.pixels
        or facts.width * facts.height * channels * max(facts.bit_depth, 8) // 8 > LIMITS.picture_bytes
    ):
        return Look(
            unknown=tr("{width}x{height} is too large to be decoded here", width=facts.width, height=facts.height)
        )
    try:
        if facts.format == "EXR":
            look = _exr(path)
        elif facts.format in ("PNG", "JPEG"):
            look = _quick(data, facts.format, facts.alpha) or _pillow(data)
        else:
            look = _pillow(data)
        # the decoder has told of damage; only an end that is missing can have escaped it
        wrong = _end_fault(data) if facts.format == "JPEG" else whole_fault(data)
    except MemoryError:
        return Look(unknown=tr("there is not enough memory to decode it"))
    return Look(fault=wrong) if wrong and not look.fault else look


def _end_fault(data: bytes) -> str:
    return "" if data.rfind(b"\xff\xd9") > data.rfind(b"\xff\xda") else CUT


_QUIET = ("deprecated pixel format",)  # untranslated: what the decoder says


def _quick(data: bytes, kind: str, alpha: bool) -> Look | None:
    """Through PyAV, which tells of damage that Pillow passes over; None for the rare kinds that it does not know."""
    import av

    # quiet by default, and then damage passes unsaid
    av.logging.set_level(av.logging.ERROR)
    with av.logging.Capture(local=False) as said:
        try:
            decoder = av.CodecContext.create("png" if kind == "PNG" else "mjpeg", "r")
            decoder.thread_count = 1
            frames: list[Any] = [*decoder.decode(av.Packet(data)), *decoder.decode(None)]
        except av.error.PatchWelcomeError:
            return None
        except (av.error.InvalidDataError, av.error.ExternalError) as error:
            if kind == "JPEG":
                return None
            return Look(fault=tr("its pixels are damaged ({why})", why=_words(error)))
        except av.error.FFmpegError:
            return None
        complaints = [text.strip() for level, _, text in said if level <= av.logging.ERROR]
    complaints = [c for c in complaints if not any(q in c for q in _QUIET)]
    if len(frames) != 1:
        return None
    if complaints or frames[0].is_corrupt:
        return Look(
            fault=tr("its pixels are damaged ({why})", why=complaints[0] if complaints else tr("decoded with errors"))
        )
    look = look_of_frame(frames[0], alpha=alpha)
    # a black corner at the end can be lines that are not there: the decoder leaves them black and says nothing
    if kind == "PNG" and look.black_cells & 1 and not _all_lines(data):
        return Look(fault=tr("its pixels end early: lines are missing at the bottom"))
    return look


def _all_lines(data: bytes) -> bool:
    """Whether a PNG's stream unpacks to at least as many bytes as its header asks for (PNG, 7.2, 8.2)."""
    import struct
    import zlib

    width, height, depth, kind, _, _, interlace = struct.unpack_from(">IIBBBBB", data, 16)
    bits = depth * {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}[kind]
    passes = [(0, 0, 1, 1)]
    if interlace:
        passes = [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2)]
    need = 0
    for x, y, dx, dy in passes:
        columns, lines = -(-(width - x) // dx), -(-(height - y) // dy)
        if columns > 0 and lines > 0:
            need += lines * (1 + (columns * bits + 7) // 8)
    unpack, got, at = zlib.decompressobj(), 0, 8
    while at + 12 <= len(data):
        length, name = struct.unpack_from(">I4s", data, at)
        if name == b"IDAT":
            part = data[at + 8 : at + 8 + length]
            while part and not unpack.eof:
                try:
                    got += len(unpack.decompress(part, 1 << 20))
                except zlib.error:
                    return False
                part = unpack.unconsumed_tail
        at += 12 + length
    return got >= need


def _words(error: Exception) -> str:
    text = str(getattr(error, "strerror", "") or error)
    return text[:120]


_NOT_KNOWN = ("cannot identify", "unknown", "not supported")  # untranslated: what the decoder says


def _pillow(data: bytes) -> Look:
    import io

    import numpy as np
    from PIL import Image, ImageFile

    Image.MAX_IMAGE_PIXELS = None  # the cap of the caller holds
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    try:
        with Image.open(io.BytesIO(data), formats=("PNG", "JPEG", "TIFF", "GIF", "WEBP")) as image:
            image.load()
            odd = image.mode in ("P", "CMYK", "YCbCr", "LAB", "HSV", "1", "PA", "La")
            array = np.asarray(image.convert("RGB") if odd else image)
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, KeyError, TypeError) as error:
        text = str(error)[:120]
        if any(said in text.lower() for said in _NOT_KNOWN):
            return _other(data)
        return Look(fault=tr("its pixels are damaged ({why})", why=text))
    return _look_of_array(array)


def _other(data: bytes) -> Look:
    """TIFF layouts that Pillow does not read, through PyAV."""
    import av

    if data[:2] not in (b"II", b"MM"):
        return Look(unknown=tr("no decoder here reads it"))
    try:
        decoder = av.CodecContext.create("tiff", "r")
        frames: list[Any] = [*decoder.decode(av.Packet(data)), *decoder.decode(None)]
    except av.error.FFmpegError:
        return Look(unknown=tr("no decoder here reads it"))
    return look_of_frame(frames[0]) if len(frames) == 1 else Look(unknown=tr("no decoder here reads it"))


def _look_of_array(array: Any) -> Look:
    import numpy as np

    lines = np.ascontiguousarray(array).reshape(array.shape[0], -1).view(np.uint8)
    opaque = None
    samples = array
    if array.ndim == 3 and array.shape[2] in (2, 4):
        most = 1.0 if array.dtype.kind == "f" else np.iinfo(array.dtype).max
        opaque = bool((array[:, :, -1] >= most).all())
        samples = array[:, :, :-1]
    if array.dtype.kind == "f":
        wrong = not bool(np.isfinite(array).all())
        look = look_of([lines], _cells(np.nan_to_num(samples), 0.002), opaque)
        return Look(look.signature, look.black_cells, wrong, opaque)
    full = 255.0 if array.dtype == np.uint8 else 65535.0
    return look_of([lines], _cells(samples, BLACK * full), opaque)


def _cells(samples: Any, black: float) -> int:
    step = samples.shape[2] if samples.ndim == 3 else 1
    return black_cells(samples.reshape(samples.shape[0], -1), black, step)


def _exr(path: str) -> Look:
    import numpy as np

    openexr: Any = importlib.import_module("OpenEXR")
    try:
        with openexr.File(path, separate_channels=True) as file:
            if not file.parts:
                return Look(fault=tr("its pixels do not decode"))
            part = file.parts[0]
            arrays = {name: channel.pixels for name, channel in part.channels.items()}
            if not arrays or any(a is None for a in arrays.values()):
                return Look(fault=tr("it has no pixels"))
            # no copy is kept past the file
            return _exr_look({k: np.asarray(v) for k, v in arrays.items() if np.asarray(v).dtype.kind in "fiu"})
    except MemoryError:
        raise
    except Exception as error:
        # the package raises plain RuntimeError and others of its own for damage
        return Look(fault=tr("its pixels are damaged ({why})", why=str(error)[:120]))


def _exr_look(arrays: dict[str, Any]) -> Look:
    """Colour of the first layer decides what is black; every channel goes into the signature."""
    import numpy as np

    if not arrays:
        return Look(unknown=tr("it has deep data only"))
    rows = sorted(arrays.items())
    largest = [0] * len(rows)

    def seen(number: int, part: Any) -> None:
        largest[number] = max(largest[number], int(part.view(f"u{rows[number][1].dtype.itemsize}").max()))

    lines = [np.ascontiguousarray(a).reshape(a.shape[0], -1).view(np.uint8) for _, a in rows]
    digest = signature(lines, seen)
    wrong = any(a.dtype.kind == "f" and not _finite(a, top) for (_, a), top in zip(rows, largest, strict=True))
    shape = next(iter(arrays.values())).shape
    beauty = [a for name, a in arrays.items() if name.rpartition(".")[2] in ("R", "G", "B", "Y")]
    # layers beside the picture (depth, normals) are lit where it is black: three channels are the picture
    beauty = [a for a in beauty if a.shape == shape] or [next(iter(arrays.values()))]
    alphas = [a for name, a in arrays.items() if name == "A" or name.endswith(".A")]
    cells = None if wrong else _cells_of_bits(beauty)
    if cells is None:
        # what is no number in one channel hides nothing of the others
        stacked = np.maximum.reduce([np.nan_to_num(a.astype(np.float32)) for a in beauty])
        cells = _cells(stacked, _LIT)
    opaque = all(_opaque(a, wrong) for a in alphas) if alphas else None
    return Look(digest, cells, wrong, opaque)


#: linear light that counts as black (common practice, no source)
_LIT = 0.002
_BITS = {2: "i2", 4: "i4"}


def _bits(array: Any) -> Any:
    """Floats as whole numbers of the same bits: from 0 up they have the same order (IEEE 754, 5.10), those below 0
    are below 0. A pass over them is many times faster than one over half floats."""
    if array.dtype.kind == "f" and array.dtype.itemsize in _BITS and array.dtype.isnative and array.flags.c_contiguous:
        return array.view(_BITS[array.dtype.itemsize])
    return None


def _finite(array: Any, largest: int) -> bool:
    """Whether no sample is endless or no number: these have the largest exponent, with either sign.

    ``largest``: the largest of its samples as whole numbers without a sign, where its lines can be divided by 8 bytes.
    """
    import numpy as np

    bits = _bits(array)
    if bits is None or not bits.size:
        return bool(np.isfinite(array).all())
    endless = int(array.dtype.type(np.inf).view(bits.dtype))
    sign = 1 << (8 * array.dtype.itemsize - 1)
    if array.shape[-1] * array.dtype.itemsize % 8:
        largest = int(bits.view(f"u{array.dtype.itemsize}").max())
    # seen without a sign, numbers below 0 come after all others
    if largest < sign:
        return largest < endless
    return largest < endless + sign and int(bits.max()) < endless


def _cells_of_bits(beauty: list[Any]) -> int | None:
    """Black cells of finite floats of one kind; None where the channels are another kind."""
    import numpy as np

    planes = [_bits(a) for a in beauty]
    kind = beauty[0].dtype
    if any(p is None for p in planes) or any(a.dtype != kind for a in beauty):
        return None
    thin = 4 if planes[0].shape[0] >= 4 * GRID else 1
    stacked = planes[0][::thin] if len(planes) == 1 else np.maximum(planes[0][::thin], planes[1][::thin])
    for other in planes[2:]:
        np.maximum(stacked, other[::thin], out=stacked)
    black = kind.type(_LIT)
    if float(black) > float(np.float32(_LIT)):
        black = np.nextafter(black, kind.type(0))
    return black_cells(stacked.reshape(stacked.shape[0], -1), int(black.view(planes[0].dtype)), every=4 // thin)


def _opaque(array: Any, wrong: bool) -> bool:
    bits = None if wrong else _bits(array)
    if bits is None or not bits.size:
        return bool((array >= 1).all())
    return int(bits.min()) >= int(array.dtype.type(1).view(bits.dtype))
