# SPDX-License-Identifier: GPL-3.0-or-later
"""Small pictures, movies and ZIPs for the tests, made by Pillow, OpenEXR, PyAV and zipfile."""

from __future__ import annotations

import importlib
import io
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterable
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

import av
import numpy as np
from PIL import Image

WIDTH, HEIGHT = 192, 108


@lru_cache(maxsize=64)
def _noise(width: int, height: int, seed: int) -> np.ndarray:
    # coarse, so that it stays small in every format
    rng = np.random.default_rng(seed)
    coarse = rng.integers(40, 220, (height // 6 + 1, width // 6 + 1, 3), dtype=np.uint8)
    return np.repeat(np.repeat(coarse, 6, axis=0), 6, axis=1)[:height, :width].copy()


def picture(n: int = 0, width: int = WIDTH, height: int = HEIGHT) -> np.ndarray:
    """RGB, uint8; another one for each n."""
    array = _noise(width, height, 1).copy()
    array[:, (7 * n) % width :][:, :6] = 250
    array[(5 * n) % height :][:3] = 90
    return array


def png(array: np.ndarray, **save: Any) -> bytes:
    return encoded(Image.fromarray(array), "PNG", **save)


def encoded(image: Image.Image, kind: str, **save: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **save)
    return out.getvalue()


def raw_png(width: int, height: int, depth: int, kind: int, lines: bytes, *, extra: bytes = b"") -> bytes:
    """A PNG part by part, for what Pillow does not write."""
    head = struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + extra
        + chunk(b"IDAT", zlib.compress(lines, 1))
        + chunk(b"IEND", b"")
    )


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png16(array: np.ndarray) -> bytes:
    """16 bits per channel, RGB."""
    wide = (array.astype(">u2") * 257).astype(">u2")
    lines = b"".join(b"\0" + row.tobytes() for row in wide)
    return raw_png(array.shape[1], array.shape[0], 16, 2, lines)


def frames(
    folder: Path,
    numbers: Iterable[int],
    make: Callable[[int], bytes] | None = None,
    name: str = "shot_{:04d}.png",
) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for n in numbers:
        (folder / name.format(n)).write_bytes(make(n) if make else png(picture(n), compress_level=1))
    return folder


def exr(path: Path, array: np.ndarray | None = None, *, alpha: bool = False, full: bool = False, **header: Any) -> Path:
    """Half floats unless ``full``."""
    openexr = importlib.import_module("OpenEXR")
    pixels = (picture() if array is None else array).astype(np.float32)
    if array is None:
        pixels /= 255
    kind = np.float32 if full else np.float16
    channels = {c: np.ascontiguousarray(pixels[:, :, n]).astype(kind) for n, c in enumerate("RGB")}
    if alpha:
        channels["A"] = np.ones(pixels.shape[:2], kind)
    meta = {"compression": openexr.ZIP_COMPRESSION, "type": openexr.scanlineimage, **header}
    with openexr.File(meta, channels) as file:
        file.write(str(path))
    return path


def movie(
    path: Path,
    *,
    codec: str = "libx264",
    count: int = 24,
    rate: Any = 24,
    size: tuple[int, int] = (WIDTH, HEIGHT),
    pixels: str = "yuv420p",
    options: dict[str, str] | None = None,
    container: dict[str, str] | None = None,
    stamps: list[int] | None = None,
    make: Callable[[int], np.ndarray] | None = None,
    sound: dict[str, Any] | None = None,
    prepare: Callable[[Any], None] | None = None,
    each: Callable[[Any], None] | None = None,
    form: str | None = None,
    drop: set[int] = frozenset(),  # type: ignore[assignment]
) -> Path:
    """A movie; ``stamps`` are time stamps in 1/1000 s, ``drop`` leaves encoded packets out."""
    av.logging.set_level(av.logging.PANIC)
    with av.open(str(path), "w", format=form, options=container or {}) as out:
        stream: Any = out.add_stream(codec, rate=Fraction(rate))
        stream.width, stream.height, stream.pix_fmt = *size, pixels
        if stamps is not None:
            stream.codec_context.time_base = Fraction(1, 1000)
        if options:
            stream.options = options
        if prepare:
            prepare(stream)
        heard: Any = None
        if sound is not None:
            heard = out.add_stream(sound.get("codec", "aac"), rate=sound.get("rate", 48000))
            heard.codec_context.layout = sound.get("layout", "stereo")
        written = 0
        for n in range(count):
            array = make(n) if make else picture(n, *size)
            frame = av.VideoFrame.from_ndarray(array, format="rgba" if array.shape[2] == 4 else "rgb24")
            if stamps is not None:
                frame.pts, frame.time_base = stamps[n], Fraction(1, 1000)
            if each:
                frame = frame.reformat(format=pixels)
                each(frame)
            for packet in stream.encode(frame):
                if written not in drop:
                    out.mux(packet)
                written += 1
        for packet in stream.encode():
            if written not in drop:
                out.mux(packet)
            written += 1
        if heard is not None:
            for frame in _sound_frames(sound or {}, heard, count / float(Fraction(rate))):
                out.mux(heard.encode(frame))
            out.mux(heard.encode(None))
    return path


def tone(seconds: float, rate: int, level_db: float, hz: float = 997.0) -> np.ndarray:
    """One channel of a sine, its peak at a level below full scale."""
    t = np.arange(round(seconds * rate)) / rate
    return (10 ** (level_db / 20) * np.sin(2 * np.pi * hz * t)).astype(np.float32)


def _sound_frames(sound: dict[str, Any], stream: Any, seconds: float) -> Iterable[Any]:
    rate = sound.get("rate", 48000)
    channels = {"mono": 1, "stereo": 2}[sound.get("layout", "stereo")]
    wave = tone(sound.get("seconds", seconds), rate, sound.get("level", -20.0))
    samples = np.stack([wave] * channels)
    resampler = av.AudioResampler(stream.codec_context.format, stream.codec_context.layout, rate)
    step = 1024
    for at in range(0, samples.shape[1], step):
        part = np.ascontiguousarray(samples[:, at : at + step])
        frame = av.AudioFrame.from_ndarray(part, format="fltp", layout=sound.get("layout", "stereo"))
        frame.sample_rate, frame.pts, frame.time_base = rate, at, Fraction(1, rate)
        yield from resampler.resample(frame)


def zipped(path: Path, files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> Path:
    with zipfile.ZipFile(path, "w", method) as archive:
        for name, data in files.items():
            archive.writestr(name, data, compresslevel=1)
    return path


def cut(path: Path, share: float = 0.6) -> Path:
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


def scratch(path: Path, at: float = 0.5, length: int = 40) -> Path:
    """Damage in the middle of a file."""
    data = bytearray(path.read_bytes())
    start = int(len(data) * at)
    for n in range(start, min(start + length, len(data))):
        data[n] ^= 0x5A
    path.write_bytes(bytes(data))
    return path
