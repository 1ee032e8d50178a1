# SPDX-License-Identifier: GPL-3.0-or-later
"""A movie's header, packets, frames and sound through PyAV. Runs in a worker process.

Frames are counted by every source that there is; none of them is trusted alone. The container is told by its first
bytes and given to the demuxer by name, so that a playlist or a script that is called ``.mp4`` opens nothing else.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from nightplan.brief.amounts import COMMON_RATES
from nightplan.brief.facts import Look, LookSummary, MovieFacts, SoundFacts
from nightplan.brief.limits import LIMITS
from nightplan.brief.names_of_formats import codec_words
from nightplan.speech import tr

Tell = Callable[[float], None]

_DEMUXER = {
    "MP4": "mov", "MOV": "mov", "MKV": "matroska", "WebM": "matroska", "AVI": "avi", "GIF": "gif", "MPEG-TS": "mpegts",
    "MXF": "mxf", "Ogg": "ogg",
}  # fmt: skip
_MOST_COMPLAINTS = 5
#: said by demuxers of files that are whole
_HARMLESS = (  # untranslated: what the decoder says
    "deprecated pixel format",
    "Could not find codec parameters",
    "Skipping unhandled metadata",
)


def container_of(head: bytes) -> str:
    """The container, by its first bytes; empty where it is none that is known here."""
    if head[4:8] == b"ftyp":
        return "MOV" if head[8:12] == b"qt  " else "MP4"
    if head[4:8] in (b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot"):
        return "MOV"
    if head[:4] == b"\x1a\x45\xdf\xa3":
        return "WebM" if b"webm" in head[:64] else "MKV"
    if head[:4] == b"RIFF" and head[8:12] == b"AVI ":
        return "AVI"
    if head[:6] in (b"GIF87a", b"GIF89a"):
        return "GIF"
    if head[:1] == b"\x47" and head[188:189] == b"\x47":
        return "MPEG-TS"
    if head[:4] == b"\x06\x0e\x2b\x34":
        return "MXF"
    return "Ogg" if head[:4] == b"OggS" else ""


def movie_facts(tell: Tell, path: str, depth: str, sound: bool) -> MovieFacts:
    """A job for a worker.

    Args:
        depth: "headers" (nothing is decoded but the first frame), "integrity" or "deep" (with looks).
        sound: also decode the sound for its loudness.
    """
    import av

    try:
        with open(path, "rb") as file:
            head = file.read(256)
            size = os.fstat(file.fileno()).st_size
            if size:
                file.seek(size - 1)
                tail = file.read(1)
    except OSError as error:
        return MovieFacts(fault=tr("it cannot be read: {why}", why=error.strerror or error))
    if not size:
        return MovieFacts(fault=tr("the file is empty (0 bytes)"))
    container = container_of(head)
    if not container:
        return MovieFacts(
            fault=tr("this is no movie that is known here (MP4, MOV, MKV, WebM, AVI, GIF, MPEG-TS, MXF, Ogg)")
        )
    av.logging.set_level(av.logging.ERROR)
    options = {"protocol_whitelist": "file", "max_streams": "100"}
    try:
        with (
            av.logging.Capture(local=False) as said,
            av.open(path, format=_DEMUXER[container], options=options, metadata_errors="replace") as opened,
        ):
            facts = _Probe(tell, opened, container, size, depth, sound).facts()
    except av.error.FFmpegError as error:
        return MovieFacts(container, fault=_open_words(error))
    except UnicodeDecodeError:
        return MovieFacts(container, fault=tr("the file is damaged: its texts cannot be read"))
    complaints = []
    for level, _, text in said:
        words = " ".join(text.split())
        if level <= av.logging.ERROR and words and not any(h in words for h in _HARMLESS) and words not in complaints:
            complaints.append(words[:160])
    if container == "GIF" and tail != b";":
        complaints.insert(0, tr("the end mark is missing"))
        facts = replace(facts, cut_off=True)
    return replace(facts, complaints=tuple(complaints[:_MOST_COMPLAINTS]))


movie_facts.tells = True  # type: ignore[attr-defined]


def _open_words(error: Exception) -> str:
    said = " ".join(str(part) for part in error.args)
    if "moov atom not found" in said:  # untranslated: what the decoder says
        return tr("the file is cut off: its index is missing (the export was stopped, or the copy is not whole)")
    why = str(getattr(error, "strerror", "") or error)[:150]
    return tr("it does not open as a movie: damaged or cut off ({why})", why=why)


@dataclass
class _Counts:
    packets: int = 0
    hidden: int = 0
    decoded: int = 0
    corrupt: int = 0
    undecodable: int = 0
    interlaced: int = 0
    resized: int = 0
    stamps: list[int] = field(default_factory=list)
    last_duration: int = 0
    sound_seconds: float = 0.0
    sound_faults: int = 0
    stopped: str = ""


class _Probe:
    def __init__(self, tell: Tell, opened: Any, container: str, size: int, depth: str, sound: bool) -> None:
        self.tell, self.opened, self.container, self.size = tell, opened, container, size
        self.depth, self.sound = depth, sound
        self.counts = _Counts()
        self.looks: list[Look] = []
        self.first: Any = None
        self.samples: list[Any] = []

    def facts(self) -> MovieFacts:
        pictures = [s for s in self.opened.streams.video if not _is_cover(s)]
        sounds = list(self.opened.streams.audio)
        if not pictures:
            sound = tuple(self._sound(s, False) for s in sounds)
            return MovieFacts(self.container, fault=tr("the file has no picture stream"), sound=sound)
        stream = pictures[0]
        context = stream.codec_context
        if context.width * context.height > LIMITS.pixels or context.width < 1 or context.height < 1:
            fault = tr(
                "its header gives a picture of {width}x{height}, too large to be looked into",
                width=context.width,
                height=context.height,
            )
            return MovieFacts(self.container, fault=fault)
        if stream.codec_context.codec is None:
            return MovieFacts(self.container, fault=tr("its codec is not known here"))
        # only the index that the header holds counts as a source; others grow while packets are read
        index, cut_off = _index(stream, self.size)
        seconds = stream.duration * stream.time_base if stream.duration else None
        if seconds is None and self.opened.duration:
            seconds = Fraction(self.opened.duration, 1_000_000)
        listen = sounds[0] if self.sound and sounds else None
        if self.depth == "headers":
            self._first_frame(stream)
        else:
            self._read(stream, listen)
        return self._all(stream, pictures, sounds, listen, index, cut_off, seconds)

    def _all(
        self, stream: Any, pictures: Any, sounds: Any, listen: Any, index: Any, cut_off: bool, seconds: Any
    ) -> MovieFacts:
        context, c = stream.codec_context, self.counts
        counted = self.depth != "headers"
        stamps = sorted(c.stamps)
        headers = [r for r in (stream.average_rate, stream.guessed_rate, stream.base_rate) if r]
        if self.container == "GIF":
            # it holds delays in hundredths of a second and no rate: what is given is a guess
            headers = []
        if not counted and index is not None and len(index) > 1:
            stamps = sorted(index)
        rate, slowest, fastest = steady_rate(stamps, stream.time_base, headers)
        stamped = None
        if counted and stamps:
            one = 1 / rate if rate else Fraction(c.last_duration) * stream.time_base
            stamped = (stamps[-1] - stamps[0]) * stream.time_base + one
        layout = context.format
        components = layout.components if layout else ()
        frame = self.first
        # AVFieldOrder: 0 unknown, 1 progressive, the rest interlaced
        scan = {0: "", 1: "progressive"}.get(int(context.field_order), "interlaced")
        alpha = any(x.is_alpha for x in components) or stream.metadata.get("alpha_mode") == "1"
        return MovieFacts(
            container=self.container,
            codec=codec_words(context.name if context.name != "libdav1d" else "av1", str(context.codec_tag or "")),
            width=context.width,
            height=context.height,
            rotation=int(frame.rotation) % 360 if frame is not None else 0,
            pixel_aspect=stream.sample_aspect_ratio or context.sample_aspect_ratio or None,
            bit_depth=max((x.bits for x in components), default=0),
            alpha=alpha,
            primaries=_code(context, frame, "color_primaries"),
            transfer=_code(context, frame, "color_trc"),
            scan=scan,
            interlaced_frames=c.interlaced,
            header_rate=headers[0] if headers else None,
            rate=rate,
            variable=rate is None and len(stamps) > 2,
            slowest=slowest,
            fastest=fastest,
            of_all=not stream.duration,
            header_seconds=seconds,
            stamped_seconds=stamped,
            header_frames=stream.frames or None,
            packets=c.packets if counted else None,
            decoded=c.decoded if counted else None,
            hidden=max(c.hidden, _hidden(stream, index)),
            corrupt=c.corrupt,
            undecodable=c.undecodable,
            resized=c.resized,
            cut_off=cut_off,
            pictures=len(pictures),
            sound=tuple(self._sound(s, s is listen) for s in sounds),
            looks=LookSummary(tuple(self.looks)) if self.depth == "deep" else None,
            stopped=c.stopped,
        )

    def _first_frame(self, stream: Any) -> None:
        import av

        with contextlib.suppress(av.error.FFmpegError):
            for n, packet in enumerate(self.opened.demux(stream)):
                for frame in packet.decode():
                    self.first = frame
                    return
                if n > 100:
                    return

    def _read(self, stream: Any, listen: Any) -> None:
        """Every packet of the picture, decoded; and of the sound, where it is asked for."""
        import av

        c, c_total = self.counts, float(self.size)
        stream.thread_type = "AUTO"
        wanted = [stream] if listen is None else [stream, listen]
        position = 0
        packets = self.opened.demux(*wanted)
        while True:
            try:
                packet = next(packets)
            except StopIteration:
                break
            except av.error.FFmpegError:
                c.undecodable += 1
                break
            if listen is not None and packet.stream is listen:
                self._hear(packet)
                continue
            if packet.size:
                if packet.is_discard:
                    c.hidden += 1
                else:
                    c.packets += 1
                    if packet.pts is not None:
                        c.stamps.append(packet.pts)
                        c.last_duration = packet.duration or c.last_duration
                c.corrupt += bool(packet.is_corrupt)
                if packet.pos is not None and packet.pos > position + 2_000_000:
                    position = packet.pos
                    self.tell(min(0.99, position / c_total))
            try:
                for frame in packet.decode():
                    self._see(frame)
            except av.error.FFmpegError:
                c.undecodable += 1
            if c.decoded > LIMITS.movie_frames:
                c.stopped = tr("it has more than {n} frames", n=LIMITS.movie_frames)
                break

    def _see(self, frame: Any) -> None:
        c = self.counts
        c.decoded += 1
        c.corrupt += bool(frame.is_corrupt)
        c.interlaced += bool(frame.interlaced_frame)
        if self.first is None:
            self.first = frame
        c.resized += (frame.width, frame.height) != (self.first.width, self.first.height)
        if self.depth == "deep":
            from nightplan.brief.look import look_of_frame

            self.looks.append(look_of_frame(frame, alpha=c.decoded == 1))

    def _hear(self, packet: Any) -> None:
        import av

        c = self.counts
        try:
            for frame in packet.decode():
                if c.sound_seconds <= LIMITS.sound_seconds:
                    self.samples.append(_floats(frame))
                c.sound_seconds += frame.samples / frame.sample_rate
        except av.error.FFmpegError:
            c.sound_faults += 1

    def _sound(self, stream: Any, heard: bool) -> SoundFacts:
        context = stream.codec_context
        seconds = float(stream.duration * stream.time_base) if stream.duration else None
        loudness = None
        name = codec_words(context.name) if context.codec else "unknown"
        if heard and self.depth != "headers":
            seconds = self.counts.sound_seconds or seconds
            if seconds is not None and seconds <= LIMITS.sound_seconds:
                loudness = self._loudness(context)
        return SoundFacts(
            name,
            context.sample_rate or 0,
            context.channels or 0,
            seconds,
            loudness,
            self.counts.sound_faults if heard else 0,
        )

    def _loudness(self, context: Any) -> float:
        import numpy as np

        from nightplan.brief.loudness import WEIGHTS, integrated

        parts = [s for s in self.samples if s.shape[0] == context.channels]
        if not parts:
            return float("-inf")
        weights = [WEIGHTS.get(channel.name, 1.0) for channel in context.layout.channels]
        return integrated(np.concatenate(parts, axis=1), context.sample_rate, weights)


def _floats(frame: Any) -> Any:
    """Samples of shape (channels, n), full scale 1, as 32-bit floats."""
    import numpy as np

    array = frame.to_ndarray()
    if not frame.format.is_planar:
        array = array.reshape(-1, len(frame.layout.channels)).T
    if array.dtype.kind == "u":
        return (array.astype(np.float32) - 128) / 128
    if array.dtype.kind == "i":
        return array.astype(np.float32) / float(np.iinfo(array.dtype).max + 1)
    return array.astype(np.float32)


def _is_cover(stream: Any) -> bool:
    import av

    return bool(stream.disposition & av.stream.Disposition.attached_pic)


def _code(context: Any, frame: Any, name: str) -> int:
    value = int(getattr(context, name) or 2)
    if value == 2 and frame is not None and hasattr(frame, name):
        value = int(getattr(frame, name) or 2)
    return value


def _hidden(stream: Any, index: list[int] | None) -> int:
    """Frames that the table of samples has and the index, after the edit list, has not."""
    return max(0, (stream.frames or 0) - len(index)) if index is not None else 0


def _index(stream: Any, size: int) -> tuple[list[int] | None, bool]:
    """Time stamps of the header's own index, where it has every frame, and whether it points behind the file's end."""
    entries = stream.index_entries
    count = len(entries)
    if not count or not stream.frames or count > LIMITS.movie_frames:
        return None, False
    stamps, cut = [], False
    for entry in entries:
        cut = cut or entry.pos + entry.size > size
        if not entry.is_discard:
            stamps.append(entry.timestamp)
    return stamps, cut


def steady_rate(
    stamps: list[int], base: Fraction, headers: list[Fraction]
) -> tuple[Fraction | None, Fraction | None, Fraction | None]:
    """The rate that all time stamps follow, or None with the slowest and the fastest that they show.

    A stamp may be rounded to a tick of its clock. The rates that the header gives are tried first, then common
    ones, then the mean over the whole; of several that fit (a coarse clock, few frames) the first is taken.
    """
    if len(stamps) < 2:
        return (headers[0] if headers else None), None, None
    span = (stamps[-1] - stamps[0]) * base
    if span <= 0:
        return None, None, None
    mean = (len(stamps) - 1) / span
    near = [r for r in (*headers, *COMMON_RATES) if abs(r - mean) / mean < Fraction(2, 100)]
    for candidate in dict.fromkeys([*near, mean]):
        step = 1 / (candidate * base)
        # where a tick is as long as a frame, nothing is rounded
        slack = min(Fraction(3, 2), step * Fraction(2, 5))
        first = stamps[0]
        if all(abs(stamp - first - n * step) <= slack for n, stamp in enumerate(stamps)):
            return candidate, None, None
    steps = [b - a for a, b in pairwise(stamps) if b > a]
    if not steps:
        return None, None, None
    return None, 1 / (max(steps) * base), 1 / (min(steps) * base)
