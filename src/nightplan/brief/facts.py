# SPDX-License-Identifier: GPL-3.0-or-later
"""What was read from files: plain frozen values that can travel between processes."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class ImageFacts:
    """The header of one picture file. ``fault`` says why there is none."""

    format: str = ""
    width: int = 0
    height: int = 0
    channels: int = 0
    #: bits of each channel as stored (16 for half floats)
    bit_depth: int = 0
    alpha: bool = False
    #: width of a pixel over its height; None where the file does not say
    pixel_aspect: Fraction | None = None
    #: empty: untagged
    colour: str = ""
    #: quarter turns clockwise that a viewer has to make (Exif orientation 6 and 8 are one each way)
    turned: bool = False
    #: animation frames or pages beyond the first
    more_pictures: bool = False
    #: what is odd about it, for comparisons: "palette", "interlaced", "CMYK", "data window 640x480" …
    odd: str = ""
    fault: str = ""

    @property
    def shown(self) -> tuple[int, int]:
        """Width and height as a viewer shows them."""
        return (self.height, self.width) if self.turned else (self.width, self.height)


@dataclass(frozen=True, slots=True)
class SoundFacts:
    """One stream of sound."""

    codec: str
    rate: int
    channels: int
    #: None: not decoded
    seconds: float | None = None
    #: integrated, LUFS; None: not measured; -inf: silence
    loudness: float | None = None
    faults: int = 0


@dataclass(frozen=True, slots=True)
class MovieFacts:
    """A movie, as its header tells it and, where it was decoded, as it is."""

    container: str = ""
    fault: str = ""
    codec: str = ""
    width: int = 0
    height: int = 0
    #: degrees anticlockwise that the file asks players to turn it
    rotation: int = 0
    pixel_aspect: Fraction | None = None
    bit_depth: int = 0
    alpha: bool = False
    primaries: int = 2
    transfer: int = 2
    #: "progressive", "interlaced" or "" where the header does not say
    scan: str = ""
    interlaced_frames: int = 0
    #: rate that the header gives
    header_rate: Fraction | None = None
    #: the rate that the time stamps have; None where they vary or were not read
    rate: Fraction | None = None
    variable: bool = False
    slowest: Fraction | None = None
    fastest: Fraction | None = None
    #: seconds of picture by the header; of the whole file where ``of_all`` is true
    of_all: bool = False
    header_seconds: Fraction | None = None
    #: seconds from the first shown frame to the end of the last, by the time stamps
    stamped_seconds: Fraction | None = None
    #: frame counts; None: this source does not say
    header_frames: int | None = None
    packets: int | None = None
    decoded: int | None = None
    #: packets that an edit list hides
    hidden: int = 0
    #: frames that decoded with the corrupt flag, packets that did not decode, what the decoder complained of
    corrupt: int = 0
    undecodable: int = 0
    complaints: tuple[str, ...] = ()
    #: decoded frames that are not of the first one's size
    resized: int = 0
    #: the index points behind the end of the file
    cut_off: bool = False
    pictures: int = 1
    sound: tuple[SoundFacts, ...] = ()
    looks: LookSummary | None = None
    #: why counting stopped early
    stopped: str = ""


@dataclass(frozen=True, slots=True)
class Look:
    """How one frame looks: enough to find black, half-black and repeated ones."""

    #: the same for the same pixels
    signature: bytes = b""
    #: which cells of a 16 × 16 grid are black, row by row, as bits
    black_cells: int = 0
    #: not a number or endless, in a picture of floats
    not_numbers: bool = False
    #: alpha channel that is opaque everywhere; None without one
    opaque: bool | None = None
    fault: str = ""
    #: not decoded here, with the reason (too large, no decoder)
    unknown: str = ""

    @property
    def black(self) -> bool:
        """Whether every cell of the frame is black."""
        return not self.fault and not self.unknown and self.black_cells == ALL_BLACK


#: every cell of the grid
ALL_BLACK = (1 << 256) - 1


@dataclass(frozen=True, slots=True)
class LookSummary:
    """Looks of the frames of a movie, in the order that they are shown."""

    looks: tuple[Look, ...] = ()


@dataclass(frozen=True, slots=True)
class ZipEntry:
    """One entry of a ZIP; bytes unpacked and packed."""

    name: str
    bytes: int
    packed: int
    folder: bool = False
    image: ImageFacts | None = None


@dataclass(frozen=True, slots=True)
class ZipFacts:
    """A ZIP's table of contents. ``hostile`` has what no receiver should unpack."""

    fault: str = ""
    entries: tuple[ZipEntry, ...] = ()
    hostile: tuple[str, ...] = ()
    encrypted: tuple[str, ...] = ()
    odd: tuple[str, ...] = ()
    #: entries that do not unpack to what their checksum says
    damaged: tuple[str, ...] = ()
    unread: tuple[str, ...] = ()
    tested: bool = False
    names: tuple[str, ...] = field(default=())
