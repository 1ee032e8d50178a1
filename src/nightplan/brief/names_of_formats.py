# SPDX-License-Identifier: GPL-3.0-or-later
"""One spelling for codecs, containers, image formats, scans and colour tags, however a rule writes them."""

from __future__ import annotations

import re

from nightplan.brief.licences import licence, licence_id
from nightplan.speech import tr


def _aliases(table: dict[str, str]) -> dict[str, str]:
    return {alias: name for name, words in table.items() for alias in words.split()}


#: the one spelling: how else it is written, without case, dots and spaces
_WORDS: dict[str, dict[str, str]] = {  # untranslated: names of formats, and spellings
    "image-format": _aliases(
        {
            "PNG": "png",
            "JPEG": "jpeg jpg jpe",
            "TIFF": "tiff tif",
            "EXR": "exr openexr",
            "GIF": "gif",
            "WebP": "webp",
        }
    ),
    "container": _aliases(
        {
            "MP4": "mp4 m4v mpeg4part14",
            "MOV": "mov quicktime qt",
            "MKV": "mkv matroska",
            "WebM": "webm",
            "AVI": "avi",
            "GIF": "gif",
            "MPEG-TS": "ts mpegts",
            "MXF": "mxf",
            "Ogg": "ogg ogv",
        }
    ),
    "video-codec": _aliases(
        {
            "H.264": "h264 avc x264 mpeg4avc",
            "H.265": "h265 hevc x265",
            "ProRes": "prores",
            "ProRes 422 Proxy": "prores422proxy proresproxy",
            "ProRes 422 LT": "prores422lt proreslt",
            "ProRes 422": "prores422",
            "ProRes 422 HQ": "prores422hq proreshq",
            "ProRes 4444": "prores4444",
            "ProRes 4444 XQ": "prores4444xq",
            "DNxHD": "dnxhd dnxhr",
            "VP8": "vp8",
            "VP9": "vp9",
            "AV1": "av1",
            "Motion JPEG": "mjpeg motionjpeg",
            "MPEG-4 Part 2": "mpeg4",
            "MPEG-2": "mpeg2 mpeg2video",
            "FFV1": "ffv1",
            "Animation": "qtrle animation",
            "GIF": "gif",
            "uncompressed": "rawvideo uncompressed",
            "PNG": "png",
            "Theora": "theora",
            "CineForm": "cineform cfhd",
            "Hap": "hap",
        }
    ),
    "audio-codec": _aliases(
        {
            "AAC": "aac",
            "MP3": "mp3 mp3float",
            "Opus": "opus",
            "Vorbis": "vorbis",
            "FLAC": "flac",
            "ALAC": "alac",
            "AC-3": "ac3",
            "PCM": "pcm wav uncompressed lpcm linearpcm",
        }
    ),
    "third-party": _aliases(
        {
            "allowed": "allowed yes",
            "credited": "credited allowedwithcredit allowedifcredited withcredit",
            "free only": "freeonly free",
            "none": "none no notallowed forbidden",
        }
    ),
    "scan": _aliases(
        {
            "progressive": "progressive p",
            "interlaced": "interlaced i",
        }
    ),
    "colour": _aliases(
        {
            "sRGB": "srgb",
            "Rec.709": "rec709 bt709 709",
            "Rec.2020": "rec2020 bt2020",
            "Rec.2100 PQ": "rec2100pq bt2100pq hdr10 pq",
            "Rec.2100 HLG": "rec2100hlg hlg",
            "Display P3": "displayp3 p3 p3d65",
            "Rec.601": "rec601 bt601",
            "Adobe RGB (1998)": "adobergb adobergb1998",
            "linear": "linear linearrec709",
            "ACES": "aces",
            "ACEScg": "acescg",
        }
    ),
}


def canonical(kind: str, raw: object) -> str:
    """The one spelling. Raises ValueError with what is accepted."""
    if kind == "result-licence":
        return _licence(raw)
    table = _WORDS[kind]
    if isinstance(raw, str):
        key = re.sub(r"[^a-z0-9]", "", raw.lower())
        key = re.sub(r"^(itur|apple|avid|the)", "", key)
        key = re.sub(r"(video|codec|file|files|format|sequence|image|images|audio)$", "", key) or key
        if key in table:
            return table[key]
        if kind == "audio-codec" and key.startswith("pcm"):
            return "PCM"
    raise ValueError(tr("must be one of {values}", values=", ".join(dict.fromkeys(table.values()))))


def _licence(raw: object) -> str:
    found = licence_id(raw) if isinstance(raw, str) else ""
    if licence(found).family == "unknown":
        raise ValueError(tr("must be a licence such as CC BY 4.0, an SPDX identifier, or a LicenseRef-… of its own"))
    return found


_PRORES = {
    "apco": "ProRes 422 Proxy",
    "apcs": "ProRes 422 LT",
    "apcn": "ProRes 422",
    "apch": "ProRes 422 HQ",
    "ap4h": "ProRes 4444",
    "ap4x": "ProRes 4444 XQ",
}


def codec_words(name: str, tag: str = "") -> str:
    """A decoder's name as people write it; ProRes is told apart by its four-letter tag."""
    if name == "prores" and tag in _PRORES:
        return _PRORES[tag]
    if name.startswith("pcm_"):
        return "PCM"
    for kind in ("video-codec", "audio-codec"):
        try:
            return canonical(kind, name)
        except ValueError:
            continue
    return name


def same_codec(measured: str, wanted: str) -> bool:
    """Whether a codec is the wanted one; "ProRes" alone takes every kind of it."""
    return measured == wanted or (wanted == "ProRes" and measured.startswith("ProRes"))


#: ITU-T H.273: code points of primaries, transfer and matrix
_PRIMARIES = {1: "BT.709", 5: "BT.601 625", 6: "BT.601 525", 9: "BT.2020", 11: "P3 DCI", 12: "P3 D65", 4: "BT.470 M"}
_TRANSFERS = {
    1: "BT.709",
    4: "gamma 2.2",
    5: "gamma 2.8",
    6: "BT.601",
    8: "linear",
    13: "sRGB",
    14: "BT.2020 10-bit",
    15: "BT.2020 12-bit",
    16: "PQ",
    18: "HLG",
}


def colour_words(primaries: int, transfer: int) -> str:
    """The tag that code points of H.273 stand for; empty where nothing is tagged."""
    unset = (0, 2)
    if primaries in unset and transfer in unset:
        return ""
    name = {  # untranslated: names of colour spaces
        (1, 1): "Rec.709",
        (1, 6): "Rec.709",
        (1, 13): "sRGB",
        (1, 8): "linear",
        (9, 16): "Rec.2100 PQ",
        (9, 18): "Rec.2100 HLG",
        (9, 1): "Rec.2020",
        (9, 14): "Rec.2020",
        (9, 15): "Rec.2020",
        (12, 13): "Display P3",
        (5, 6): "Rec.601",
        (6, 6): "Rec.601",
        (5, 1): "Rec.601",
        (6, 1): "Rec.601",
        (5, 5): "Rec.601",
    }.get((primaries, transfer))
    if name:
        return name
    p = tr("untagged") if primaries in unset else _PRIMARIES.get(primaries) or tr("code {n}", n=primaries)
    t = tr("untagged") if transfer in unset else _TRANSFERS.get(transfer) or tr("code {n}", n=transfer)
    return tr("primaries {primaries}, transfer {transfer}", primaries=p, transfer=t)


def profile_words(description: str) -> str:
    """The tag that the name of an ICC profile stands for, or the name itself."""
    key = re.sub(r"[^a-z0-9]", "", description.lower())
    for start, tag in (
        ("srgb", "sRGB"),
        ("displayp3", "Display P3"),  # untranslated: a name
        ("adobergb", "Adobe RGB (1998)"),  # untranslated: a name
        ("rec709", "Rec.709"),
        ("bt709", "Rec.709"),
        ("iturbt709", "Rec.709"),
        ("rec2020", "Rec.2020"),
    ):
        if key.startswith(start):
            return tag
    return tr("profile {name}", name=description) if description else ""


#: endings that go with what a file holds
ENDINGS = {
    "PNG": (".png",),
    "JPEG": (".jpg", ".jpeg", ".jpe"),
    "TIFF": (".tif", ".tiff"),
    "EXR": (".exr",),
    "GIF": (".gif",),
    "WebP": (".webp",),
    "MP4": (".mp4", ".m4v"),
    "MOV": (".mov", ".qt"),
    "MKV": (".mkv",),
    "WebM": (".webm",),
    "AVI": (".avi",),
    "MPEG-TS": (".ts", ".m2ts", ".mts"),
    "MXF": (".mxf",),
    "Ogg": (".ogv", ".ogg"),
}
IMAGE_ENDINGS = frozenset(e for f in ("PNG", "JPEG", "TIFF", "EXR", "WebP") for e in ENDINGS[f])
MOVIE_ENDINGS = frozenset(
    e for f in ("MP4", "MOV", "MKV", "WebM", "AVI", "MPEG-TS", "MXF", "Ogg", "GIF") for e in ENDINGS[f]
)
