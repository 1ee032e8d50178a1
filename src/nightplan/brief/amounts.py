# SPDX-License-Identifier: GPL-3.0-or-later
"""Values of rules read from JSON: frame rates as fractions, sizes in both meanings of MB, shapes, durations.

Every reader raises ValueError with the part of a sentence that says what is accepted.
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from typing import Any

from nightplan.speech import tr
from nightplan.speech.dates import decimal
from nightplan.speech.dates import whole as whole_words

#: rates that are written rounded; SMPTE ST 428-11 and ITU-R BT.709 give them as n/1001
_ROUNDED = {
    "23.976": Fraction(24000, 1001),
    "23.98": Fraction(24000, 1001),
    "29.97": Fraction(30000, 1001),
    "47.952": Fraction(48000, 1001),
    "47.95": Fraction(48000, 1001),
    "59.94": Fraction(60000, 1001),
    "119.88": Fraction(120000, 1001),
}
#: what a movie's rate can be when its time stamps are rounded
COMMON_RATES = tuple(Fraction(n) for n in (24, 25, 30, 48, 50, 60, 12, 15, 8, 10, 20, 100, 120)) + tuple(
    dict.fromkeys(_ROUNDED.values())
)
_MAX = Fraction(10**15)


def number(raw: Any, rule: str = tr("must be a number")) -> Fraction:
    """A finite number, exactly as it is written."""
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        raise ValueError(rule)
    text = str(raw).strip()
    if len(text) > 40 or not re.fullmatch(r"[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d{1,2})?", text, re.IGNORECASE | re.ASCII):
        raise ValueError(rule)
    try:
        value = Fraction(Decimal(text))
    except (InvalidOperation, ValueError, OverflowError):
        raise ValueError(rule) from None
    if abs(value) > _MAX:
        raise ValueError(tr("{rule} of a size that files have", rule=rule))
    return value


def whole(raw: Any) -> Fraction:
    """A whole number of 0 or more. Raises ValueError."""
    value = number(raw, tr("must be a whole number"))
    if value.denominator != 1 or value < 0:
        raise ValueError(tr("must be a whole number of 0 or more"))
    return value


def rate(raw: Any) -> Fraction:
    """Frames per second: 24, "24", "23.976" (24000/1001), "24000/1001"."""
    rule = tr('must be frames per second, for example 24, "23.976" or "24000/1001"')
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        raise ValueError(rule)
    text = re.sub(r"\s*(fps|/s)$", "", str(raw).strip().lower())
    if text in _ROUNDED:
        return _ROUNDED[text]
    match = re.fullmatch(r"(\d{1,7})\s*/\s*(\d{1,7})", text, re.ASCII)
    if match and int(match[2]):
        value = Fraction(int(match[1]), int(match[2]))
    else:
        value = number(text, rule)
    if not 0 < value <= 1000:
        raise ValueError(rule)
    return value


def rate_words(value: Fraction) -> str:
    """``24``, ``24000/1001 (23.976)``."""
    if value.denominator == 1:
        return str(value.numerator)
    return f"{value.numerator}/{value.denominator} ({decimal(float(value), 3)})"


def seconds(raw: Any) -> Fraction:
    """Seconds: 5, "5 s", "1:30", "1 min 30 s"."""
    rule = tr('must be seconds, for example 5, "1:30" or "2 min"')
    if isinstance(raw, str):
        text = raw.strip().lower()
        match = re.fullmatch(r"(?:(\d{1,3}):)?(\d{1,3}):(\d\d(?:\.\d+)?)", text, re.ASCII)
        if match:
            return Fraction(match[3]) + 60 * int(match[2]) + 3600 * int(match[1] or 0)
        match = re.fullmatch(
            r"(?:(\d+(?:\.\d+)?)\s*m(?:in(?:ute)?s?)?)?\s*(?:(\d+(?:\.\d+)?)\s*s(?:ec(?:ond)?s?)?)?", text, re.ASCII
        )
        if match and (match[1] or match[2]):
            return Fraction(match[1] or 0) * 60 + Fraction(match[2] or 0)
    value = number(raw, rule)
    if value < 0:
        raise ValueError(rule)
    return value


def picture(raw: Any) -> tuple[int, int]:
    """Width and height in pixels: "1920x1080" or [1920, 1080]."""
    rule = tr('must be width and height, for example "1920x1080"')
    if isinstance(raw, str):
        match = re.fullmatch(r"(\d{1,6})\s*[x×*]\s*(\d{1,6})(\s*px)?", raw.strip().lower(), re.ASCII)
        pair: list[Any] = [int(match[1]), int(match[2])] if match else []
    else:
        pair = list(raw) if isinstance(raw, (list, tuple)) else []
    if len(pair) != 2 or any(isinstance(n, bool) or not isinstance(n, int) or not 1 <= n <= 1_000_000 for n in pair):
        raise ValueError(rule)
    return pair[0], pair[1]


def ratio(raw: Any) -> Fraction:
    """Width over height: "16:9", "2.39:1", 1.85, "square"."""
    rule = tr('must be a shape, for example "16:9", "2.39:1" or 1.85')
    if isinstance(raw, str):
        text = raw.strip().lower()
        if text in ("square", "1:1"):
            return Fraction(1)
        match = re.fullmatch(r"(\d{1,5}(?:\.\d{1,4})?)\s*[:/x]\s*(\d{1,5}(?:\.\d{1,4})?)", text, re.ASCII)
        if match and Fraction(match[1]) > 0 and Fraction(match[2]) > 0:
            return Fraction(match[1]) / Fraction(match[2])
    value = number(raw, rule)
    if not Fraction(1, 100) <= value <= 100:
        raise ValueError(rule)
    return value


_DECIMAL = {"": 1, "k": 10**3, "m": 10**6, "g": 10**9, "t": 10**12}
_BINARY = {"": 1, "k": 2**10, "m": 2**20, "g": 2**30, "t": 2**40}


def sizes(raw: Any) -> tuple[Fraction, Fraction]:
    """Bytes in the decimal and in the binary meaning; "100 MB" has both, "100 MiB" and a plain number have one.

    IEC 80000-13 gives MB as 10⁶ and MiB as 2²⁰ bytes; many programs show the second and write the first.
    """
    rule = tr('must be a size, for example "100 MB", "100 MiB" or a number of bytes')
    if not isinstance(raw, str):
        value = number(raw, rule)
        if value < 0:
            raise ValueError(rule)
        return value, value
    match = re.fullmatch(
        r"(\d+(?:\.\d+)?)\s*([kmgt]?)(i?)(b(?:ytes?)?)?", raw.strip().lower().replace(",", ""), re.ASCII
    )
    if not match or len(raw) > 30 or (match[3] and not match[2]):
        raise ValueError(rule)
    amount = Fraction(match[1])
    binary = amount * _BINARY[match[2]]
    return (binary if match[3] else amount * _DECIMAL[match[2]]), binary


def bytes_words(count: int) -> str:
    """``1.2 MB (1,234,567 bytes)``; decimal, as the standard has it."""
    for unit, factor in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= factor:
            size = f"{decimal(count / factor, 1)} {unit}"
            return tr("{size} ({n} bytes)", size=size, n=whole_words(count))
    return tr("{n} bytes", n=count)


def frame_range(raw: Any) -> tuple[int, int]:
    """First and last frame, both included: "1-120" or [1, 120]."""
    rule = tr('must be first and last frame, for example "1-120"')
    if isinstance(raw, str):
        match = re.fullmatch(r"(\d{1,9})\s*(?:-|–|to|\.\.)\s*(\d{1,9})", raw.strip().lower(), re.ASCII)
        pair: list[Any] = [int(match[1]), int(match[2])] if match else []
    else:
        pair = list(raw) if isinstance(raw, (list, tuple)) else []
    if len(pair) != 2 or any(isinstance(n, bool) or not isinstance(n, int) or not 0 <= n < 10**9 for n in pair):
        raise ValueError(rule)
    if pair[1] < pair[0]:
        raise ValueError(tr("the last frame must not be before the first"))
    return pair[0], pair[1]


def frames_or_seconds(raw: Any) -> tuple[Fraction, bool]:
    """An amount and whether it counts frames: "24 frames", 2, "2 s"."""
    if isinstance(raw, str):
        match = re.fullmatch(r"(\d{1,6})\s*(?:frames?|f)", raw.strip().lower(), re.ASCII)
        if match:
            return Fraction(int(match[1])), True
    return seconds(raw), False


def plain(value: Fraction, digits: int = 3) -> str:
    """A number without trailing zeros, as the artist's language writes it."""
    if value.denominator == 1:
        return str(value.numerator)
    return ("-" if round(float(value), digits) < 0 else "") + decimal(abs(float(value)), digits, least=0)


def fixed(value: float, digits: int, *, plus: bool = False) -> str:
    """``-14.0``, ``+1.5``: a number with all its digits behind the point, as the artist's language writes it."""
    sign = "-" if round(value, digits) < 0 else "+" if plus else ""
    return sign + decimal(abs(value), digits)


def figures(value: Fraction | float, count: int) -> str:
    """A number with so many digits that count, as the artist's language writes it."""
    text = f"{float(value):.{count}g}"
    return decimal(float(text), len(text.partition(".")[2])) if "." in text and "e" not in text else text
