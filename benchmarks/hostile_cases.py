# SPDX-License-Identifier: GPL-3.0-or-later
# ruff: noqa: E501 (tables of values)
"""Project files and calendars with something wrong in them, the same ones for the same seed and number."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable
from typing import Any

from nightplan.files.data import SAMPLES, data_folder

#: what a text may carry to be taken for something else than text: markup, formulas, steering characters
TEXTS = (
    "",
    " ",
    "<b>x</b><img src='file:///etc/hostname'>&amp;",
    "<script>alert(1)</script>",
    "]]></svg><script>x</script>",
    "[red]x[/red][link=file:///etc]y[/link]",
    "[/]",
    "\x1b[2J\x1b]0;title\x07",
    "\x9b31m",
    "$\\frac{1}{0}$ $ $$",
    "$\\undefinedmacro{",
    "_x^{y}",
    "=cmd|'/C calc'!A0",
    "@SUM(1)",
    "-1+1",
    "+1",
    "a\x00b",
    "line\nline\r\nline\ttab\x0b\x0c",
    "\u202egnp.exe\u202c",
    "\u2066\u2067\u2068\u2069\u200b\u200d\ufeff",
    "\u2028\u2029\x85",
    "e" + "\u0301" * 300,
    "\U0001f9d1\u200d\U0001f680" * 20,
    "\ud83c\udf19",
    "W" * 200,
    "x" * 20_000,
    "x" * 25_000,
    "../../../etc/passwd",
    "/etc/passwd",
    "C:\\Windows\\win.ini",
    "\\\\server\\share",
    "CON",
    "~root/x",
    "file:///etc/passwd",
    "javascript:alert(1)",
    "%s%n{0}{__class__}",
    "{",
    "&Save &&",
    "\ufffd\uffff",
)
IDS = ("lock", "deadline", "a", "0", "a.b-c_d", "A" * 80, "A" * 81, "-", "a b", "<b>", "__class__", "constructor", "")
DATES = (
    "0001-01-01", "0999-12-31", "1582-10-10", "1899-12-31", "1990-01-01", "2027-02-29", "2028-02-29", "2027-13-01",
    "2200-01-01", "2300-01-01", "9999-12-31", "10000-01-01", "2027-10-24", "2027-11-01", "2026-03-29", "2027-10-31",
    "2027-W01-1", "２０２７-01-01", "27-1-1",
)  # fmt: skip
MOMENTS = (
    "2027-10-31T23:59", "2027-10-31T02:30", "2027-03-28T02:30", "0001-01-01T00:00", "9999-12-31T23:59:59",
    "2027-10-31T24:00", "2027-10-31T23:59Z", "2027-10-31T23:59+02:00", "2027-10-31 23:59", "2027-10-31T23:59:60",
)  # fmt: skip
TIMES = ("00:00", "23:59", "24:00", "02:30", "20:00", "2:00", "20:60", "20:00:00", "１２:00")
ZONES = (
    "Europe/Lisbon", "Pacific/Apia", "Antarctica/Troll", "Asia/Kathmandu", "America/St_Johns", "Australia/Lord_Howe",
    "+14:00", "-12:00", "+99:00", "-08:00", "UTC", "GMT", "localtime", "../../../etc/passwd", "/etc/localtime",
    "Europe/../Europe/Lisbon", "posixrules", "zone.tab", "tzdata.zi", "Europe", "\x00", "Europe/Lisbon\x00", "", "x" * 80,
    "x" * 81, "Factory", "right/UTC", "Africa/El_Aaiun", "America/Godthab",
)  # fmt: skip
NUMBERS: tuple[float, ...] = (
    0, -0.0, 1, -1, 0.5, 0.9, 1.0, 2, 24, 24.000001, 25, 100, 1e-9, 5e-324, 1e-300, 1e5, 100_000.0, 100_001, 1e9, 1e15,
    1e300, 1.7976931348623157e308, 2**31, 2**53, 2**53 + 1, 2**63, 10**30, 0.1 + 0.2, 0.3333333333333333,
)  # fmt: skip
WRONG: tuple[Any, ...] = (
    None,
    True,
    False,
    0,
    -1,
    3.5,
    "x",
    "",
    [],
    {},
    [[]],
    [None],
    {"": None},
    [1, "a", {}],
    {"likely": 1},
)
#: written into the text as they are, since no JSON value stands for them
RAW = (
    "NaN", "Infinity", "-Infinity", "1e999", "-1e999", "1" * 400, "1" * 5000, "-", "1.", ".5", "0x10", "01", "'x'", "undefined",
    '"\\ud800"', '"\\udc00\\ud800"', '"\\u0000"', "[" * 60 + "]" * 60, "[" * 5000 + "]" * 5000, '{"a":' * 70 + "1" + "}" * 70,
    "[" * 200_000, '{"a":1,"a":2}', "/* c */ 1", "1,", '"\\x41"', '"unterminated', '"\t"',
)  # fmt: skip


def _samples() -> list[dict[str, Any]]:
    folder = data_folder("sample_projects")
    return [json.loads((folder / f"{name}.nightplan").read_text("utf-8")) for name in SAMPLES]


_SAMPLES = _samples()
_STAND_IN = "\ue000RAW\ue000"


def project_bytes(seed: int, number: int) -> bytes:
    """A project file made wrong, or made odd; about one in two still loads."""
    rng = random.Random(f"project {seed} {number}")
    raw = json.loads(json.dumps(rng.choice(_SAMPLES)))
    if rng.random() < 0.5:
        _shorter(rng, raw)
    raws: list[str] = []
    for _ in range(rng.choice((0, 1, 1, 1, 2, 5))):
        rng.choice(_STEPS)(rng, raw, raws)
    text = json.dumps(raw, ensure_ascii=rng.random() < 0.3, indent=rng.choice((None, 1)))
    for written in raws:
        text = text.replace(json.dumps(_STAND_IN, ensure_ascii=False), written, 1)
        text = text.replace(json.dumps(_STAND_IN), written, 1)
    data = text.encode("utf-8", "surrogatepass")
    if rng.random() < 0.15:
        data = _bytes_changed(rng, data)
    return data


def _shorter(rng: random.Random, raw: dict[str, Any]) -> None:
    """Whole lists left out, so that other parts of the plan are what matters."""
    for key in rng.sample(("log", "forecasts", "baselines", "jobs", "busy", "off", "changes", "assets", "replans"), 4):
        raw.pop(key, None)


def _places(value: Any) -> list[tuple[Any, Any]]:
    """(container, key) of every value below."""
    found: list[tuple[Any, Any]] = []
    stack = [value]
    while stack:
        holder = stack.pop()
        pairs = holder.items() if isinstance(holder, dict) else enumerate(holder)
        for key, inner in pairs:
            found.append((holder, key))
            if isinstance(inner, (dict, list)):
                stack.append(inner)
    return found


def _fitting(rng: random.Random, key: Any, value: Any) -> Any:
    """A value of the same kind as the one that stands there."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, (int, float)):
        return rng.choice((*NUMBERS, value * 2, value / 3, value + 1, round(rng.uniform(0, 3), 3)))
    if isinstance(value, str):
        if key == "zone":
            return rng.choice(ZONES)
        if re.fullmatch(r"\d{4}-\d\d-\d\d", value):
            near = f"{rng.choice((value[:4], '2026', '2027', '2028'))}-{rng.randint(1, 12):02}-{rng.randint(1, 28):02}"
            return rng.choice((*DATES, near, near, near, near))
        if re.fullmatch(r"\d\d:\d\d", value):
            return rng.choice((*TIMES, f"{rng.randint(0, 23):02}:{rng.randint(0, 59):02}"))
        if "T" in value and re.match(r"\d{4}-\d\d-\d\dT", value):
            return rng.choice((*MOMENTS, f"2027-{rng.randint(1, 12):02}-{rng.randint(1, 28):02}T12:00"))
        if key in ("id", "gate", "item", "job"):
            return rng.choice(IDS)
        return rng.choice(TEXTS)
    return rng.choice(WRONG)


def _other_value(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    places = _places(raw)
    holder, key = rng.choice(places)
    holder[key] = _fitting(rng, key, holder[key])


def _all_texts(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    names = ("title", "piece", "name", "why", "note", "wording", "machine", "folder", "source")
    for holder, key in _places(raw):
        if key in names and isinstance(holder[key], str):
            holder[key] = rng.choice(TEXTS)[:200] or "x"


def _wrong_kind(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    holder, key = rng.choice(_places(raw))
    holder[key] = rng.choice(WRONG)


def _gone(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    holder, key = rng.choice(_places(raw))
    del holder[key]


def _unknown_key(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    objects = [raw, *(h[k] for h, k in _places(raw) if isinstance(h[k], dict))]
    rng.choice(objects)[rng.choice((*TEXTS[:20], "__proto__", "model_config", "items_", "from_", "class"))] = (
        rng.choice(WRONG)
    )


def _again(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    lists = [h[k] for h, k in _places(raw) if isinstance(h[k], list) and h[k]]
    if lists:
        chosen = rng.choice(lists)
        chosen.append(json.loads(json.dumps(rng.choice(chosen))))


def _many(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    """A list far longer than anybody writes, its ids and dates told apart where it has them."""
    lists = [(k, h[k]) for h, k in _places(raw) if isinstance(h[k], list) and h[k]]
    if not lists:
        return
    key, chosen = rng.choice(lists)
    count = rng.choice((20, 45, 150, 300, 1_500, 5_000))
    like = rng.choice(chosen)
    for n in range(count):
        fresh = json.loads(json.dumps(like))
        if isinstance(fresh, dict):
            if "id" in fresh:
                fresh["id"] = f"n{n}"
            for date in ("on", "evening"):
                if date in fresh and key != "gates":
                    fresh[date] = f"{2020 + n // 336}-{n // 28 % 12 + 1:02}-{n % 28 + 1:02}"
        chosen.append(fresh)
    if len(json.dumps(raw)) > 8_000_000:
        del chosen[300:]


def _wait(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    """Stages, items and jobs that wait for others: rings, fans, chains of empty stages."""
    stages = [s for s in raw.get("stages", []) if isinstance(s, dict)] if isinstance(raw.get("stages"), list) else []
    stages = [s for s in stages if isinstance(s.get("items", []), list)]
    names = [o.get("id") for s in stages for o in (s, *s.get("items", [])) if isinstance(o, dict)]
    names += (
        [j.get("id") for j in raw.get("jobs") or [] if isinstance(j, dict)] if isinstance(raw.get("jobs"), list) else []
    )
    names = [n for n in names if isinstance(n, str)]
    if not names or not stages:
        return
    kind = rng.randrange(4)
    if kind == 0:
        rng.choice(stages)["after"] = [rng.choice(names) for _ in range(rng.choice((1, 2, 20)))]
    elif kind == 1:
        items = [i for s in stages for i in s.get("items", []) if isinstance(i, dict)]
        for item in rng.sample(items, min(len(items), 5)):
            item["after"] = [rng.choice(names)]
    elif kind == 2:
        # empty stages, each after the one before it and more than once
        count, times = rng.choice(((40, 2), (30, 5), (150, 1), (6, 3), (1_500, 1)))
        chain = [{"id": f"e{n}", "name": "empty", "after": [f"e{n - 1}"] * times if n else []} for n in range(count)]
        raw["stages"] = [*chain, *stages]
        stages[-1]["after"] = [f"e{count - 1}"]
    else:
        for job in raw.get("jobs") or []:
            if isinstance(job, dict):
                job["after"], job["before"] = [rng.choice(names)], [rng.choice(names)]


def _written_raw(rng: random.Random, raw: Any, raws: list[str]) -> None:
    holder, key = rng.choice(_places(raw))
    holder[key] = _STAND_IN
    raws.append(rng.choice(RAW))


def _estimates(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    objects = [h for h, k in _places(raw) if k == "likely"]
    for one in objects:
        likely = rng.choice((0.0, 1e-9, 0.01, 2.0, 40.0, 1e3, 1e5))
        one["likely"], one["high"] = likely, rng.choice((likely, likely * 1.5, likely * 10, 1e5))
        one.pop("low", None)


def _swapped(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    places = _places(raw)
    (a, k), (b, m) = rng.choice(places), rng.choice(places)
    try:
        copy_a, copy_b = json.dumps(a[k]), json.dumps(b[m])
    except (KeyError, IndexError):
        return
    if len(copy_a) + len(copy_b) < 60_000:
        a[k], b[m] = json.loads(copy_b), json.loads(copy_a)


def _week(rng: random.Random, raw: Any, _raws: list[str]) -> None:
    raw["week"] = [
        {
            "day": rng.choice(("mon", "tue", "wed", "thu", "fri", "sat", "sun")),
            "start": rng.choice(("00:00", "02:30", "20:00", "23:59")),
            "hours": rng.choice((0.01, 1.0, 2.5, 8, 24)),
            "chance": rng.choice((0, 0.5, 0.9, 1)),
        }
        for _ in range(rng.choice((0, 1, 3, 7)))
    ]


_STEPS: tuple[Callable[[random.Random, Any, list[str]], None], ...] = (
    _other_value, _other_value, _other_value, _other_value, _all_texts, _wrong_kind, _gone, _unknown_key, _again, _many,
    _wait, _written_raw, _estimates, _swapped, _week,
)  # fmt: skip


def _bytes_changed(rng: random.Random, data: bytes) -> bytes:
    changed = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 5, 30))):
        at = rng.randrange(len(changed)) if changed else 0
        step = rng.randrange(7)
        if step == 0 and changed:
            changed[at] = rng.randrange(256)
        elif step == 1:
            changed[at:at] = rng.choice(
                (b"\xff\xfe", b"\xef\xbb\xbf", b"\x00", b"\xc3", b"[", b"{", b'"', b",", b"\xed\xa0\x80")
            )
        elif step == 2:
            del changed[at : at + rng.choice((1, 2, 10, 200))]
        elif step == 3:
            part = changed[at : at + rng.choice((5, 50, 2_000))]
            changed[at:at] = part * rng.choice((1, 2, 30))
        elif step == 4:
            del changed[at:]
        elif step == 5 and changed:
            changed[at] ^= 1 << rng.randrange(8)
        elif step == 6:
            changed[at : at + 1] = rng.choice((b"9", b"-", b"e9", b"0", b".", b"\\u0000", b"null", b"true"))
    return bytes(changed)


# ---- calendars -----------------------------------------------------------------------------------
CALENDAR = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//somebody//calendar//EN
BEGIN:VTIMEZONE
TZID:Own Zone
BEGIN:STANDARD
DTSTART:19701025T030000
RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=-1SU
TZOFFSETFROM:+0200
TZOFFSETTO:+0100
TZNAME:CET
END:STANDARD
BEGIN:DAYLIGHT
DTSTART:19700329T020000
RRULE:FREQ=YEARLY;BYMONTH=3;BYDAY=-1SU
TZOFFSETFROM:+0100
TZOFFSETTO:+0200
TZNAME:CEST
END:DAYLIGHT
END:VTIMEZONE
BEGIN:VEVENT
UID:one@example.org
DTSTAMP:20270801T000000Z
DTSTART;TZID=Europe/Lisbon:20270907T190000
DTEND;TZID=Europe/Lisbon:20270907T220000
RRULE:FREQ=WEEKLY;BYDAY=TU,TH;UNTIL=20271231T000000Z
EXDATE;TZID=Europe/Lisbon:20270914T190000
SUMMARY:Choir practice
END:VEVENT
BEGIN:VEVENT
UID:one@example.org
DTSTAMP:20270801T000000Z
RECURRENCE-ID;TZID=Europe/Lisbon:20270916T190000
DTSTART;TZID=Europe/Lisbon:20270916T200000
DURATION:PT1H30M
SEQUENCE:2
SUMMARY:Choir practice\\, later
END:VEVENT
BEGIN:VEVENT
UID:two@example.org
DTSTAMP:20270801T000000Z
DTSTART;VALUE=DATE:20270920
DTEND;VALUE=DATE:20270923
SUMMARY:Away
TRANSP:OPAQUE
END:VEVENT
BEGIN:VEVENT
UID:three@example.org
DTSTAMP:20270801T000000Z
DTSTART;TZID=Own Zone:20270901T183000
DTEND;TZID=Own Zone:20270901T203000
RDATE;TZID=Own Zone:20270908T183000,20270915T183000
RDATE;VALUE=PERIOD:20271001T180000Z/PT2H,20271002T180000Z/20271002T190000Z
RRULE:FREQ=MONTHLY;BYDAY=1WE;BYSETPOS=1;COUNT=12
SUMMARY:Course
STATUS:CONFIRMED
BEGIN:VALARM
TRIGGER:-PT15M
ACTION:DISPLAY
END:VALARM
END:VEVENT
BEGIN:VFREEBUSY
UID:four@example.org
DTSTAMP:20270801T000000Z
FREEBUSY;FBTYPE=BUSY:20271003T180000Z/PT3H,20271004T180000Z/20271004T200000Z
END:VFREEBUSY
END:VCALENDAR
"""
RULES = (
    "FREQ=DAILY", "FREQ=HOURLY", "FREQ=MINUTELY", "FREQ=SECONDLY", "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
    "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=29;BYDAY=MO", "FREQ=DAILY;INTERVAL=999999999", "FREQ=DAILY;COUNT=999999999",
    "FREQ=YEARLY;BYYEARDAY=366;BYHOUR=0,1,2,3,4,5,6,7;BYMINUTE=0,1,2,3,4,5,6,7,8,9,10,11",
    "FREQ=MONTHLY;BYSETPOS=-1,1,2,3;BYDAY=MO,TU,WE,TH,FR,SA,SU;BYHOUR=1,2,3", "FREQ=DAILY;UNTIL=99991231T235959Z",
    "FREQ=WEEKLY;BYDAY=", "FREQ=", "", "FREQ=DAILY;FREQ=DAILY", "FREQ=YEARLY;BYWEEKNO=53;BYDAY=SU;BYMONTH=12", "BYDAY=MO",
    "FREQ=HOURLY;BYMONTH=2;BYMONTHDAY=31", "FREQ=DAILY;BYHOUR=25", "FREQ=DAILY;UNTIL=20270101", "FREQ=YEARLY;BYEASTER=1",
)  # fmt: skip
LINES = (
    "BEGIN:VEVENT", "END:VEVENT", "BEGIN:VCALENDAR", "END:VCALENDAR", "BEGIN:VALARM", "BEGIN:", "END:", ":", ";", "X", " folded",
    "\tfolded", "DTSTART:00010101T000000", "DTSTART:99991231T235959Z", "DTSTART;VALUE=DATE:99991231", "DTSTART:20270230T000000",
    "DTSTART;TZID=/etc/passwd:20270901T190000", "DTSTART;TZID=../../x:20270901T190000", "DTEND:20200101T000000",
    "DURATION:P99999999999D", "DURATION:-P1D", "DURATION:PT", "SEQUENCE:9999999999999999999999", "SEQUENCE:x", "STATUS:CANCELLED",
    "TRANSP:TRANSPARENT", "SUMMARY:<img src=x>\x1b[31m", "SUMMARY;LANGUAGE=\"a:b\";X=\"y\":z", "TZID:Own Zone", "TZOFFSETTO:+9999",
    "TZOFFSETFROM:x", "ATTACH;ENCODING=BASE64;VALUE=BINARY:AAAA", "ATTACH:file:///etc/passwd", "URL:http://127.0.0.1/",
    "RECURRENCE-ID:20270916T190000", "RDATE:", "EXDATE:x", "RDATE;VALUE=PERIOD:20270101T000000Z/P1D/P1D", "UID:", "\x00", "\ufeff",
    "EXRULE:FREQ=DAILY", "FREEBUSY:20270101T000000Z/PT1H", "FREEBUSY:x/y",
)  # fmt: skip


def calendar_bytes(seed: int, number: int) -> bytes:
    """A calendar made wrong, or made odd."""
    rng = random.Random(f"calendar {seed} {number}")
    lines = CALENDAR.split("\n")
    for _ in range(rng.choice((0, 1, 1, 2, 4, 12))):
        rng.choice(_CALENDAR_STEPS)(rng, lines)
    data = rng.choice(("\r\n", "\n", "\r")).join(lines).encode("utf-8", "surrogatepass")
    return _bytes_changed(rng, data) if rng.random() < 0.3 else data


def _rule(rng: random.Random, lines: list[str]) -> None:
    at = [n for n, line in enumerate(lines) if line.startswith("RRULE")]
    if at:
        lines[rng.choice(at)] = f"RRULE:{rng.choice(RULES)}"


def _line(rng: random.Random, lines: list[str]) -> None:
    lines.insert(rng.randrange(len(lines) + 1), rng.choice(LINES))


def _line_gone(rng: random.Random, lines: list[str]) -> None:
    if lines:
        del lines[rng.randrange(len(lines))]


def _line_twice(rng: random.Random, lines: list[str]) -> None:
    if lines:
        lines.insert(rng.randrange(len(lines)), rng.choice(lines))


def _flood(rng: random.Random, lines: list[str]) -> None:
    n = rng.choice((100, 2_000, 20_000))
    at = next((i for i, line in enumerate(lines) if line.startswith("SUMMARY")), 0)
    kind = rng.randrange(6)
    if kind == 0:
        lines.insert(
            at, "RDATE:" + ",".join(f"2027{m % 12 + 1:02}{m % 28 + 1:02}T{m % 24:02}{m % 60:02}00Z" for m in range(n))
        )
    elif kind == 1:
        lines[at:at] = [f"EXDATE:2027{m % 12 + 1:02}{m % 28 + 1:02}T190000" for m in range(n)]
    elif kind == 2:
        event = "BEGIN:VEVENT\nUID:{}\nDTSTART:20270901T190000\nDTEND:20270901T200000\nRRULE:{}\nEND:VEVENT"
        rule = rng.choice(RULES)
        lines[3:3] = "\n".join(event.format(m, rule) for m in range(min(n, 2_000))).split("\n")
    elif kind == 3:
        lines[3:3] = ["BEGIN:X-NEST"] * rng.choice((5, 50, n)) + ["END:X-NEST"] * rng.choice((5, 50, n))
    elif kind == 4:
        lines.insert(at, "DESCRIPTION:" + "x" * n * 50)
    else:
        lines.insert(at, "SUMMARY;" + ";".join(f'P{m}="{m}"' for m in range(n)) + ":x")


def _zone_rules(rng: random.Random, lines: list[str]) -> None:
    at = next((i for i, line in enumerate(lines) if line.startswith("TZOFFSETFROM")), 0)
    lines[at:at] = rng.choice(
        (
            ["RDATE:" + ",".join(f"{1970 + n}0101T000000" for n in range(rng.choice((2, 50, 5_000))) if n < 8_000)],
            ["RRULE:FREQ=SECONDLY"],
            ["RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30"],
            ["RRULE:FREQ=YEARLY;BYMONTH=1;COUNT=999;UNTIL=20300101T000000Z"],
            ["EXDATE:19701025T030000"],
            ["TZOFFSETTO:+235959"],
            ["DTSTART:00010101T000000"],
            ["RRULE:FREQ=YEARLY;BYMONTH=13"],
        )
    )


def _digits(rng: random.Random, lines: list[str]) -> None:
    at = [n for n, line in enumerate(lines) if re.search(r"\d", line)]
    if at:
        n = rng.choice(at)
        lines[n] = re.sub(r"\d", lambda m: rng.choice("0123456789") if rng.random() < 0.2 else m[0], lines[n])


_CALENDAR_STEPS: tuple[Callable[[random.Random, list[str]], None], ...] = (
    _rule, _rule, _line, _line, _line_gone, _line_twice, _flood, _zone_rules, _digits, _digits,
)  # fmt: skip
