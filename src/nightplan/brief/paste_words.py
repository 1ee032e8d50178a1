# SPDX-License-Identifier: GPL-3.0-or-later
"""The patterns that the paste-in reader knows: numbers with their bounds, sizes, formats, names, duties."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from nightplan.brief.kinds import AT_LEAST, AT_MOST, LESS_THAN, ONE_OF, Comparison
from nightplan.brief.rules import Strength
from nightplan.speech import tr


@dataclass(frozen=True, slots=True)
class Found:
    """A rule that a sentence seems to state: kind, comparison, value, the words it was read from and where."""

    kind: str
    comparison: Comparison
    value: Any
    part: str
    at: int
    doubts: tuple[str, ...] = ()
    strength: Strength | None = None
    more: dict[str, Any] = field(default_factory=dict)


_I = re.IGNORECASE | re.ASCII
BREACH = re.compile(r"\bdisqualif|\bnot be (?:accepted|judged|considered)|\brejected\b|\binvalid\b", _I)
_MUST = re.compile(
    r"\bmust\b|\bshall\b|\brequired?\b|\bhas to\b|\bhave to\b|\bmandatory\b|\bonly\b|\bdisqualif|\bneeds? to\b", _I
)
_SHOULD = re.compile(r"\bshould\b|\brecommend|\bprefer|\bideally\b|\bplease\b|\btry to\b", _I)
_MAY = re.compile(r"\bmay\b|\boptional|\bcan\b|\bfeel free\b|\bif you (?:like|wish|want)\b|\bwelcome to\b", _I)

_NUMBER_WORDS = {
    w: n
    for n, w in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
        ]
    )
} | {"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "ninety": 90}
_N = rf"(?:\d[\d,]*(?:\.\d+)?|{'|'.join(_NUMBER_WORDS)})"

_WHAT = (  # untranslated: a pattern
    r"(?: (?:resolution|(?:file |picture |image |frame )?size|length|duration|running time|width|height))?"
)
_AT_LEAST = (  # untranslated: a pattern
    rf"at least|minimum{_WHAT}(?: of| is)?|min\.?|no (?:less|fewer|shorter|smaller) than"
    r"|not (?:less|fewer|shorter|smaller) than|or more than"
)
_AT_MOST = (  # untranslated: a pattern
    rf"at most|maximum{_WHAT}(?: of| is)?|max\.?"
    r"|up to|no (?:more|longer|larger|bigger) than"
    r"|not (?:exceed(?:ing)?|more than|longer than|larger than)|must not exceed"
    r"|cannot exceed|within|limited to|not over"
)
_LESS = r"less than|under|below|shorter than|smaller than|fewer than"  # untranslated: a pattern
#: past a number; "entries over 100 MB are rejected" makes it the most that is allowed
_PAST = r"(?:more|longer|larger|bigger|higher) than|over|above|exceeding"  # untranslated: a pattern
_BEFORE = re.compile(
    rf"(?:(?P<past>\b(?<!no )(?<!not )(?:{_PAST}))|(?P<least>{_AT_LEAST})|(?P<most>{_AT_MOST})"
    rf"|(?P<less>{_LESS})|(?P<exact>exactly|precisely))\s*:?\s*(?:a |an |of )?$",
    _I,
)
_AFTER = re.compile(
    r"^\s*(?:in length|long|each|in total|total)?\s*\(?(?:(?P<least>or more|or longer"
    r"|or larger|or higher|minimum|min\b|and up|at least)"
    r"|(?P<most>or less|or fewer|or shorter|or under|maximum|max\b|at most|or smaller))",
    _I,
)
_BETWEEN = re.compile(r"\bbetween\s*$", _I)


def strength_of(sentence: str) -> tuple[Strength, str]:
    """How binding a sentence is, and what is open about it."""
    if _MUST.search(sentence):
        mixed = bool(_SHOULD.search(sentence) or _MAY.search(sentence))
        return "must", tr("the sentence has a must and a may: read as a must") if mixed else ""
    if _SHOULD.search(sentence):
        return "should", ""
    if _MAY.search(sentence):
        return "note", ""
    return "must", ""


def _value(text: str) -> Any:
    text = text.lower().replace(",", "")
    if text in _NUMBER_WORDS:
        return _NUMBER_WORDS[text]
    number = float(text)
    return int(number) if number.is_integer() else number


def _bound(text: str, start: int, end: int) -> Comparison:
    """What the words around a number make of it; exactly where there are none."""
    for match in (_BEFORE.search(text[max(0, start - 40) : start]), _AFTER.match(text[end : end + 40])):
        if match:
            group = match.lastgroup
            past = AT_MOST if BREACH.search(text) else AT_LEAST
            return {"past": past, "least": AT_LEAST, "most": AT_MOST, "less": LESS_THAN, "exact": "exactly"}[
                group or "exact"
            ]  # type: ignore[return-value]
    return "exactly"


_Reader = Callable[[str], Iterator[Found]]


def _amounts(kind: str, unit: str, read: Callable[[re.Match[str], str], Any], doubt: Callable[[str], str]) -> _Reader:
    """A reader of "N unit", "N-M unit", "N to M unit", "N or M unit", "between N and M unit", "N ± T unit"."""
    two = re.compile(
        rf"(?<![\w.:/-])(?P<a>{_N})\s*(?:{unit})?\s*(?P<join>-|–|—|to|and|or|/)\s*(?P<b>{_N})\s*-?\s*(?P<unit>{unit})(?!\w)",
        _I,
    )
    plus = re.compile(
        rf"(?<![\w.:/-])(?P<a>{_N})\s*(?:{unit})?\s*(?:±|\+/-)\s*(?P<t>{_N})\s*(?P<unit>{unit})(?!\w)", _I
    )
    one = re.compile(rf"(?<![\w.:/-])(?P<a>{_N})\s*-?\s*(?P<unit>{unit})(?!\w)", _I)

    def reader(text: str) -> Iterator[Found]:
        taken: list[tuple[int, int]] = []
        for match in plus.finditer(text):
            taken.append(match.span())
            more = {"tolerance": float(_value(match["t"]))}
            yield Found(kind, "within", read(match, "a"), match[0], match.start(), (), None, more)
        for match in two.finditer(text):
            if any(s < match.end() and match.start() < e for s, e in taken):
                continue
            join = match["join"].lower()
            if join == "and" and not _BETWEEN.search(text[: match.start()]):
                continue
            taken.append(match.span())
            values = [read(match, "a"), read(match, "b")]
            if join in ("or", "/"):
                yield Found(kind, ONE_OF, values, match[0], match.start(), (doubt(match["unit"]),))
            else:
                yield Found(kind, "between", values, match[0], match.start(), (doubt(match["unit"]),))
        for match in one.finditer(text):
            if any(s < match.end() and match.start() < e for s, e in taken):
                continue
            comparison = _bound(text, match.start(), match.end())
            yield Found(kind, comparison, read(match, "a"), match[0], match.start(), (doubt(match["unit"]),))

    return reader


def _plain(match: re.Match[str], group: str) -> Any:
    return _value(match[group])


def _with_unit(match: re.Match[str], group: str) -> Any:
    unit = match["unit"].lower()
    unit = {"kilobytes": "kb", "megabytes": "mb", "gigabytes": "gb", "meg": "mb", "megs": "mb"}.get(unit, unit)
    return f"{_value(match[group])} {unit.upper().replace('IB', 'iB')}"


def _in_seconds(match: re.Match[str], group: str) -> Any:
    factor = 60 if match["unit"].lower().startswith("m") else 1
    return _value(match[group]) * factor


def _rate_text(match: re.Match[str], group: str) -> Any:
    return match[group] if "." in match[group] else _value(match[group])


def _mb_doubt(unit: str) -> str:
    return (
        ""
        if "i" in unit.lower().replace("gigabytes", "").replace("kilobytes", "")
        else tr("MB can be 1,000,000 or 1,048,576 bytes: held to both")
    )


_NO_DOUBT: Callable[[str], str] = lambda _: ""  # noqa: E731

_AMOUNTS: tuple[_Reader, ...] = (  # untranslated: patterns
    _amounts("fps", r"fps|frames? per second|frames?/s(?:ec)?", _rate_text, _NO_DOUBT),
    _amounts("frame-count", r"frames?(?!\s*(?:per|/|rate|a second|number))", _plain, _NO_DOUBT),
    _amounts("duration", r"seconds?|secs?|s(?=[\s,.;)]|$)|minutes?|mins?", _in_seconds, _NO_DOUBT),
    _amounts("file-size", r"[kmg]i?b|kilobytes|megabytes|gigabytes|megs?", _with_unit, _mb_doubt),
    _amounts("bit-depth", r"bits?(?: per channel| colou?r| depth)?(?!\s*(?:rate|/s|per s))", _plain, _NO_DOUBT),
    _amounts("text-length", r"words", _plain, _NO_DOUBT),
)

_SIZE = re.compile(r"(?<!\d)(\d{3,5})\s*(?:px|pixels)?\s*[x×*]\s*(\d{3,5})(?!\d)", _I)
_NAMED_SIZES = (
    (re.compile(r"\b(?:4k uhd|uhd|2160p)\b", _I), "3840x2160", ""),
    (re.compile(r"\b4k\b(?! uhd)", _I), "3840x2160", tr("4K can be 3840x2160 or 4096x2160: read as the first")),
    (re.compile(r"\b(?:full hd|fhd|1080p)\b", _I), "1920x1080", ""),
    (re.compile(r"\b(?:720p|hd ready)\b", _I), "1280x720", ""),
    (re.compile(r"\b2k\b", _I), "2048x1080", tr("2K can be 2048x1080, 2048 wide, or 2560x1440: read as the first")),
    (re.compile(r"\b(?:1440p|qhd)\b", _I), "2560x1440", ""),
)
_RATIO = re.compile(r"(?<![\d:.])(\d{1,2}(?:\.\d{1,3})?)\s*:\s*(\d{1,2}(?:\.\d+)?)(?![\d:]|\s*[ap]\.?m)", _I)
_KNOWN_RATIOS = {
    "16:9",
    "9:16",
    "4:3",
    "3:4",
    "1:1",
    "21:9",
    "2.39:1",
    "2.35:1",
    "1.85:1",
    "2:1",
    "4:5",
    "5:4",
    "3:2",
    "2:3",
    "2.40:1",
    "2.4:1",
    "1.78:1",
    "16:10",
}
_RANGE = re.compile(
    r"\bframes?(?: range)?:?\s*(?:from )?(\d{1,6})\s*(?:-|–|to|through|\.\.)\s*(\d{1,6})(?!\d|\s*frames)", _I
)
_CODECS = re.compile(
    r"\b(h\.?\s?26[45]|hevc|avc|prores(?: ?(?:4444 ?xq|4444|422 ?hq|422 ?lt|422 ?proxy"
    r"|422|hq|lt))?|dnxh[dr]|vp9|vp8|av1|ffv1|motion jpeg|cineform)\b",
    _I,
)
_CONTAINERS = re.compile(r"(?<![\w#}])\.?(mp4|m4v|mov|quicktime|webm|mkv|matroska|avi|mxf)\b", _I)
_IMAGES = re.compile(r"(?<![\w#}])\.?(png|jpe?g|tiff?|(?:open)?exr)s?\b", _I)
_SOUND_CODECS = re.compile(r"\b(aac|mp3|opus|flac|pcm|wav)\b", _I)
_FILE_NAME = re.compile(
    r"(?<![\w@/.])([\w{}<>\[\]#*-]*[A-Za-z_{}<>#][\w{}<>\[\]#*.-]*\.(?:mp4|mov"
    r"|webm|mkv|avi|png|jpe?g|tiff?|exr|zip|gif|txt))\b",
    _I,
)
_ENTRIES = re.compile(
    rf"\b({_N}|single)\s+(?:entry|entries|submissions?)\b(?:\s+(?:per|for each|from each)\s+\w+)?", _I
)
_POSTS = re.compile(
    rf"\b({_N}|a|an)?\s*(?:work[- ]in[- ]progress|wip|progress)\s+(?:posts?|updates?|shots?|images?|pictures?)\b", _I
)
_KEEP = re.compile(
    r"\b(?:keep|provide|submit|include|hand in|send|upload)\b[^.]{0,60}?\b((?:source"
    r"|scene|project|working|wip) files?|wireframes?|clay renders?|wires?|turntables?"
    r"|breakdowns?|making[- ]of(?: video| film)?)\b",
    _I,
)
_HOURS = re.compile(
    rf"\b({_N})\s*hours?\b[^.]{{0,40}}\b(?:work|time limit|limit|total|create|make)"
    rf"|\b(?:time limit|limit|work)[^.]{{0,30}}?({_N})\s*hours?\b",
    _I,
)
_NEW_WORK = re.compile(
    r"\b(?:new work|original work|created (?:specifically|only|solely)|made (?:specifically"
    r"|for this)|own work|not (?:been )?published|third[- ]party assets?|no ai"
    r"|ai[- ]generated)\b",
    _I,
)
_CREDITED = re.compile(r"\bthird[- ]party\b[^.]{0,60}\bcredit|\bcredits?\b[^.]{0,60}\bthird[- ]party\b[\w -]{0,20}", _I)
_NOT_BEFORE = re.compile(
    r"\b(?:do not|don't|must not|not) (?:publish|post|share|show)[^.]{0,60}\b(?:before|until)\b", _I
)
_ALPHA = (  # untranslated: a pattern
    r"\b(?:transparent background|with (?:an )?alpha|alpha channel (?:is )?required|transparency)\b"
)
_THEME = re.compile(r"\btheme\b|\btemplate\b|\bsoftware\b[^.]*\bany\b|\bany software\b", _I)


def find(text: str) -> list[Found]:
    """Everything that a sentence states, in its order; of two readings of the same letters the first kind is kept."""
    found: list[Found] = []
    for reader in (_range, *_AMOUNTS, _sizes, _formats, _sound, _others):
        for one in reader(text):
            end = one.at + len(one.part)
            same = any(
                f.at < end and one.at < f.at + len(f.part) and (f.kind == one.kind or f.kind == "frame-range")
                for f in found
            )
            if not same:
                found.append(one)
    return sorted(found, key=lambda f: f.at)


def _range(text: str) -> Iterator[Found]:
    for m in _RANGE.finditer(text):
        first, last = int(m[1]), int(m[2])
        if last > first:
            note = tr("both ends count: {n} frames", n=last - first + 1)
            yield Found("frame-range", "exactly", [first, last], m[0], m.start(), (note,) if first == 0 else ())


def _sizes(text: str) -> Iterator[Found]:
    sizes: list[tuple[str, re.Match[str], str]] = [(f"{m[1]}x{m[2]}", m, "") for m in _SIZE.finditer(text)]
    if not sizes:
        for pattern, value, doubt in _NAMED_SIZES:
            sizes += [(value, m, doubt) for m in pattern.finditer(text)]
    joined = len(sizes) > 1 and re.search(r"\bor\b", text[sizes[0][1].end() : sizes[-1][1].start()])
    if joined:
        doubts = tuple(d for _, _, d in sizes if d)
        part = text[sizes[0][1].start() : sizes[-1][1].end()]
        yield Found("picture-size", ONE_OF, [v for v, _, _ in sizes], part, sizes[0][1].start(), doubts)
    else:
        for value, m, doubt in sizes:
            comparison = _bound(text, m.start(), m.end())
            if comparison == LESS_THAN:
                comparison = AT_MOST
            yield Found("picture-size", comparison, value, m[0], m.start(), (doubt,))
    ratios = [
        m
        for m in _RATIO.finditer(text)
        if re.sub(r"\s", "", m[0]) in _KNOWN_RATIOS or re.search(r"aspect|ratio", text, _I)
    ]
    values = [re.sub(r"\s", "", m[0]) for m in ratios]
    if len(values) > 1 and re.search(r"\bor\b", text[ratios[0].end() : ratios[-1].start()]):
        yield Found("aspect", ONE_OF, values, text[ratios[0].start() : ratios[-1].end()], ratios[0].start())
    else:
        for value, m in zip(values, ratios, strict=True):
            yield Found("aspect", "exactly", value, m[0], m.start())
    square = re.search(r"\bsquare\b(?! pixel)", text, _I)
    if square and not values:
        yield Found("aspect", "exactly", "1:1", square[0], square.start())
    m2 = re.search(r"\bsquare pixels?\b", text, _I)
    if m2:
        yield Found("pixel-aspect", "exactly", 1, m2[0], m2.start())


def _choices(kind: str, pattern: re.Pattern[str], text: str) -> Iterator[Found]:
    hits = list(pattern.finditer(text))
    if not hits:
        return
    values = list(dict.fromkeys(re.sub(r"\s+", " ", m[1]) for m in hits))
    part = text[hits[0].start() : hits[-1].end()]
    if len(values) == 1:
        yield Found(kind, "exactly", values[0], hits[0][0], hits[0].start())
    else:
        yield Found(kind, ONE_OF, values, part, hits[0].start(), (tr("several are named: read as one of them"),))


def _formats(text: str) -> Iterator[Found]:
    names = [m.span() for m in _FILE_NAME.finditer(text)]
    # an ending of a file's name is no demand for a format
    plain = list(text)
    for start, end in names:
        plain[start:end] = " " * (end - start)
    blanked = "".join(plain)
    if not re.search(r"\b(?:no|not|never|without)\b", blanked, _I):
        # "no GIFs" names what is not wanted; that is left to the artist's eyes
        yield from _choices("video-codec", _CODECS, blanked)
        yield from _choices("container", _CONTAINERS, blanked)
        yield from _choices("image-format", _IMAGES, blanked)
    for m in _FILE_NAME.finditer(text):
        value = m[1].replace("[", "{").replace("]", "}")
        note = tr("parts in brackets are filled in") if "{" in value or "<" in value else ""
        if not note and "#" not in value and "*" not in value:
            note = tr("read as the exact name: write {name} for parts that you fill in")
        yield Found("name", "exactly", value, m[0], m.start(), (note,))
    for pattern, kind, value, doubt in (
        (_ALPHA, "alpha", True, ""),
        (r"\bno (?:alpha|transparency)|without (?:an )?alpha\b", "alpha", False, ""),
        (r"\bprogressive\b(?! jpe?g)", "scan", "progressive", ""),
        (r"\bs-?rgb\b", "colour", "sRGB", ""),
        (r"\brec\.?\s?709\b|\bbt\.?\s?709\b", "colour", "Rec.709", ""),
        (r"\bacescg\b", "colour", "ACEScg", ""),
    ):
        hit = re.search(pattern, text, _I)
        if hit:
            yield Found(kind, "exactly", value, hit[0], hit.start(), (doubt,))
    padded = re.search(rf"\b({_N})[- ]digits?\b(?: (?:frame )?(?:padding|numbers?))?|padded to ({_N})", text, _I)
    if padded:
        yield Found("padding", "exactly", _value(padded[1] or padded[2]), padded[0], padded.start())


def _sound(text: str) -> Iterator[Found]:
    none = re.search(
        r"\bno (?:audio|sound|music)\b|\bwithout (?:audio|sound)\b|\b(?:must|should) be silent\b", text, _I
    )
    wanted = re.search(r"\b(?:with|must have|include|needs?) (?:audio|sound)\b", text, _I)
    if none:
        doubt = tr("no sound can mean no stream of sound or a silent one: read as none")
        yield Found("audio", "exactly", False, none[0], none.start(), (doubt,))
    elif wanted:
        yield Found("audio", "exactly", True, wanted[0], wanted.start())
    yield from _choices("audio-codec", _SOUND_CODECS, text)
    for m in re.finditer(r"(?<![\w.])(\d{2}(?:\.\d)?)\s*khz\b", text, _I):
        yield Found("audio-rate", "exactly", round(float(m[1]) * 1000), m[0], m.start())
    for m in re.finditer(r"\b(stereo|mono)\b", text, _I):
        yield Found("audio-channels", "exactly", 2 if m[1].lower() == "stereo" else 1, m[0], m.start())
    for m in re.finditer(r"([-−–]\s?\d{1,2}(?:\.\d)?)\s*(?:lufs|lkfs)(?:\s*(?:±|\+/-)\s*(\d(?:\.\d)?))?", text, _I):
        value = float(re.sub(r"[−–]", "-", m[1]).replace(" ", ""))
        doubt = "" if m[2] else tr("no tolerance is given: ± 1 LU is taken")
        more = {"tolerance": float(m[2] or 1)}
        yield Found("loudness", "within", value, m[0], m.start(), (doubt,), None, more)


def _others(text: str) -> Iterator[Found]:
    m = _ENTRIES.search(text)
    if m:
        count = 1 if m[1].lower() == "single" else _value(m[1])
        comparison = _bound(text, m.start(), m.end())
        doubt = "" if comparison != "exactly" else tr("read as at most that many")
        yield Found("entry-count", AT_MOST if comparison == "exactly" else comparison, count, m[0], m.start(), (doubt,))
    m = _POSTS.search(text)
    if m:
        count = 1 if not m[1] or m[1].lower() in ("a", "an") else _value(m[1])
        yield Found("progress-post", AT_LEAST, count, m[0], m.start(), (tr("their dates are not read: enter them"),))
    m = _KEEP.search(text)
    if m:
        yield Found("kept-stage", "exactly", m[1], m[0], m.start())
    m = _HOURS.search(text)
    if m:
        yield Found("working-time", AT_MOST, f"{m[1] or m[2]} hours", m[0], m.start(), (tr("only you can tick it"),))
    m = _NOT_BEFORE.search(text)
    if m:
        yield Found("tick", "exactly", text[:300], m[0], m.start(), (tr("enter the moment as publish-not-before"),))
    credited = _CREDITED.search(text)
    if credited:
        yield Found("third-party", "exactly", "credited", credited[0], credited.start())
    m = _NEW_WORK.search(text)
    if m and not credited:
        yield Found("declaration", "exactly", text[:300], m[0], m.start(), (tr("only you can tick it"),))
    m = _THEME.search(text)
    if m:
        yield Found("tick", "exactly", text[:300], m[0], m.start(), (tr("only you can tick it"),))
