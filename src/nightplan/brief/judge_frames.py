# SPDX-License-Identifier: GPL-3.0-or-later
"""Rules about frames and time: count, range, numbering, padding, rate, duration, slates."""

from __future__ import annotations

from fractions import Fraction

from nightplan.brief import amounts
from nightplan.brief.facts import Look, MovieFacts
from nightplan.brief.findings import OPEN, YOURS, Finding, Verdict, ticked_words
from nightplan.brief.hold import finding, holds, nearest
from nightplan.brief.kinds import AT_LEAST, AT_MOST, LESS_THAN
from nightplan.brief.names import frames_words, gaps, some, spans
from nightplan.brief.rules import Rule, wanted_of
from nightplan.brief.subject import Subject, numbers_of
from nightplan.speech import mark, tr, trn
from nightplan.speech.words import listed

HALF = Fraction(1, 2)
#: 24 and 24000/1001 are a thousandth apart; rates written as decimals are a few millionths off
_RATE_SLACK = Fraction(2, 100_000)


#: what each source of a count says
_SOURCES = {
    "header": mark("header {count}"),
    "duration × rate": mark("duration × rate {count}"),
    "packets": mark("packets {count}"),
    "decoded": mark("decoded {count}"),
}


def sources_of(movie: MovieFacts) -> dict[str, Fraction]:
    """Every count of frames that the file gives, by its source."""
    found: dict[str, Fraction] = {}
    if movie.header_frames is not None:
        found["header"] = Fraction(movie.header_frames - movie.hidden)
    rate = movie.rate or (None if movie.variable else movie.header_rate)
    if movie.header_seconds is not None and rate is not None:
        found["duration × rate"] = movie.header_seconds * rate
    if movie.packets is not None:
        found["packets"] = Fraction(movie.packets)
    if movie.decoded is not None:
        found["decoded"] = Fraction(movie.decoded)
    return found


def contradiction(movie: MovieFacts) -> str:
    """Where the sources differ by half a frame or more; empty where they agree.

    A duration of the whole file may be that of its sound, which ends up to 0.1 s later (encoder padding, common
    practice, no source).
    """
    found = sources_of(movie)
    best = found.get("decoded", found.get("packets", found.get("header")))
    if best is None:
        return ""
    rate = movie.rate or movie.header_rate or Fraction(25)
    for name, count in found.items():
        slack = HALF
        if name == "duration × rate" and movie.of_all:
            slack = Fraction(1) + (rate / 10 if movie.sound else 0)
        if abs(count - best) > slack:
            return ", ".join(tr(_SOURCES[n], count=amounts.plain(c, 1)) for n, c in found.items())
    return ""


def frame_count(rule: Rule, subject: Subject) -> list[Finding]:
    """How many frames: files of a sequence, or what all sources of a movie agree on."""
    wanted = wanted_of(rule)
    titles = _titles(rule, subject)
    movie = subject.movie
    if movie is None:
        if not subject.pictures:
            return [finding(rule, "fail", tr("no frames"), subject.label, tr("hand in the frames"))]
        count = Fraction(len(set(numbers_of(subject.pictures))) or len(subject.pictures))
        return [_counted(rule, subject, count, titles, _count_repair(rule, subject, int(count)))]
    found = sources_of(movie)
    wrong = contradiction(movie)
    best = found.get("decoded", found.get("packets"))
    if best is None:
        guess = found.get("header", found.get("duration × rate"))
        if guess is None:
            return [finding(rule, OPEN, tr("the header gives no count"), subject.label, _look_closer())]
        guess = Fraction(round(guess))
        only_one = len(found) < 2
        if not holds(wanted, guess) and not wrong and not only_one:
            return [_counted(rule, subject, guess, titles, _frames_repair(rule, int(guess)))]
        if wrong or only_one or movie.cut_off or movie.variable:
            said = wrong or tr("{measured} by the header alone", measured=amounts.plain(guess))
            return [finding(rule, OPEN, said, subject.label, _look_closer())]
        return [_counted(rule, subject, guess, titles, _frames_repair(rule, int(guess)))]
    result = _counted(rule, subject, best, titles, _frames_repair(rule, int(best)))
    if wrong and result.verdict == "pass":
        repair = tr("export the movie again: its sources do not agree, another player may count differently")
        return [finding(rule, OPEN, wrong, subject.label, repair)]
    return [result]


def _look_closer() -> str:
    return tr("check the file itself, not only its header")


def _titles(rule: Rule, subject: Subject) -> Fraction | None:
    """Frames of titles that may be left out; None where nobody said how long they are."""
    if rule.counts == "everything":
        return Fraction(0)
    if rule.titles_seconds is None:
        return None
    rate = subject.rate()
    return Fraction(str(rule.titles_seconds)) * rate if rate else None


def _counted(rule: Rule, subject: Subject, count: Fraction, titles: Fraction | None, repair: str) -> Finding:
    wanted = wanted_of(rule)
    if holds(wanted, count):
        return finding(rule, "pass", amounts.plain(count), subject.label)
    if titles is None:
        words = tr("{measured} with everything", measured=amounts.plain(count))
        return finding(
            rule, YOURS, words, subject.label, tr("say how long titles and credits are, or count without them")
        )
    if titles and holds(wanted, count - titles, HALF):
        return finding(
            rule,
            "pass",
            tr("{measured}, {rest} without titles", measured=amounts.plain(count), rest=amounts.plain(count - titles)),
            subject.label,
        )
    return finding(rule, "fail", amounts.plain(count), subject.label, repair)


def _count_repair(rule: Rule, subject: Subject, count: int) -> str:
    wanted = wanted_of(rule)
    numbers = sorted(set(numbers_of(subject.pictures)))
    if wanted.comparison == "exactly" and numbers:
        goal = int(wanted.numbers[0])
        first, last = numbers[0], numbers[-1]
        missing = gaps(numbers, first, last, 100_000)
        if missing and count + len(missing) == goal:
            return tr("{frames} missing: render range {range}", frames=frames_words(missing), range=spans(missing))
        if count == goal + 1 and first == 0 and not missing:
            return tr(
                "frames 0 to {last} are {count}: both ends count; leave out frame 0 or frame {last}",
                last=last,
                count=count,
            )
        if count < goal and not missing:
            return tr(
                "{n} more: render range {next}-{last}, if the range starts at {first}",
                n=goal - count,
                next=last + 1,
                last=last + goal - count,
                first=first,
            )
        if count > goal:
            return tr(
                "{n} too many: take out {frames}, if the range starts at {first}",
                n=count - goal,
                frames=frames_words(numbers[goal:]),
                first=first,
            )
    return _frames_repair(rule, count)


def _frames_repair(rule: Rule, count: int) -> str:
    wanted = wanted_of(rule)
    goal = wanted.numbers[0]
    if wanted.comparison in ("exactly", AT_LEAST) and count < goal:
        return tr("{frames} missing: export the whole range again", frames=_frames(int(goal) - count))
    if wanted.comparison in ("exactly", AT_MOST) and count > goal:
        return tr(
            "{frames} too many: export frames 1-{goal} only (both ends count)",
            frames=_frames(count - int(goal)),
            goal=int(goal),
        )
    return tr("export the range that the brief asks for")


def _frames(count: int) -> str:
    return trn("{n} frame", "{n} frames", count)


def frame_range(rule: Rule, subject: Subject) -> list[Finding]:
    """First and last frame number, and every one between."""
    numbers = sorted(set(numbers_of(subject.pictures)))
    if not numbers:
        return [finding(rule, OPEN, tr("no frame numbers"), subject.label, tr("hand in numbered frames"))]
    first, last = (int(n) for n in wanted_of(rule).numbers)
    missing = gaps(numbers, first, last, 1_000_000)
    extra = [n for n in numbers if not first <= n <= last]
    measured = trn(
        "{first} to {last}, {n} frame",
        "{first} to {last}, {n} frames",
        len(numbers),
        first=numbers[0],
        last=numbers[-1],
    )
    repairs = []
    if missing:
        repairs.append(tr("{frames} missing: render range {range}", frames=frames_words(missing), range=spans(missing)))
    if extra:
        repairs.append(tr("{frames} too many: take them out", frames=frames_words(extra)))
    return [finding(rule, "fail" if repairs else "pass", measured, subject.label, "; ".join(repairs))]


def numbering(rule: Rule, subject: Subject) -> list[Finding]:
    """The first frame number."""
    numbers = numbers_of(subject.pictures)
    if not numbers:
        return [finding(rule, OPEN, tr("no frame numbers"), subject.label, tr("hand in numbered frames"))]
    first = min(numbers)
    good = holds(wanted_of(rule), Fraction(first))
    repair = tr("rename the frames so that they start at {number}", number=amounts.plain(wanted_of(rule).numbers[0]))
    return [finding(rule, "pass" if good else "fail", tr("starts at {first}", first=first), subject.label, repair)]


def padding(rule: Rule, subject: Subject) -> list[Finding]:
    """Digits of the frame number."""
    run = subject.run
    if run is None:
        return [finding(rule, OPEN, tr("no frame numbers"), subject.label, tr("hand in numbered frames"))]
    wanted = wanted_of(rule)
    # a number that has outgrown the padding has all its digits, and no zero before them
    fits = {digits: holds(wanted, Fraction(digits)) for digits in set(run.digits)}
    wrong = [
        name
        for name, number, digits in zip(run.names, run.numbers, run.digits, strict=True)
        if not fits[digits]
        and not (digits == len(str(number)) and digits > wanted.numbers[0] and wanted.comparison == "exactly")
    ]
    measured = listed([str(d) for d in sorted(set(run.digits))[:4]])
    goal = amounts.plain(wanted.numbers[0])
    repair = tr("rename with {goal} digits: {names}", goal=goal, names=some(wrong))
    return [
        finding(
            rule,
            "fail" if wrong else "pass",
            trn("{digits} digit", "{digits} digits", 1 if measured == "1" else 2, digits=measured),
            subject.label,
            repair,
        )
    ]


def fps(rule: Rule, subject: Subject) -> list[Finding]:
    """Frames a second; of a sequence the rate that the brief gives."""
    movie = subject.movie
    if movie is None:
        return [
            finding(
                rule, YOURS, tr("pictures carry no rate"), subject.label, tr("see to it where they are put together")
            )
        ]
    wanted = wanted_of(rule)
    if movie.variable:
        low, high = movie.slowest or Fraction(0), movie.fastest or Fraction(0)
        words = tr(
            "variable, {slowest} to {fastest}", slowest=amounts.figures(low, 3), fastest=amounts.figures(high, 3)
        )
        inside = wanted.comparison != "exactly" and holds(wanted, low) and holds(wanted, high)
        repair = tr("export with a constant frame rate")
        return [finding(rule, "warn" if inside else "fail", words, subject.label, repair)]
    rate = movie.rate or movie.header_rate
    if rate is None:
        return [finding(rule, OPEN, tr("the file does not say"), subject.label, _look_closer())]
    good = holds(wanted, rate, wanted.numbers[0] * _RATE_SLACK)
    if not good:
        repair = tr("export at {rate} frames per second", rate=amounts.rate_words(nearest(wanted, rate)))
        return [finding(rule, "fail", amounts.rate_words(rate), subject.label, repair)]
    header = movie.header_rate
    stamped = movie.rate is not None and movie.packets is not None
    if header and stamped and movie.container != "GIF" and abs(header - rate) > rate * Fraction(1, 2000):
        words = tr(
            "{rate} by the time stamps, {header} by the header",
            rate=amounts.rate_words(rate),
            header=amounts.rate_words(header),
        )
        return [finding(rule, OPEN, words, subject.label, tr("export the movie again: its sources do not agree"))]
    return [finding(rule, "pass", amounts.rate_words(rate), subject.label)]


def duration(rule: Rule, subject: Subject) -> list[Finding]:
    """Seconds, held to half a frame."""
    wanted, rate, movie = wanted_of(rule), subject.rate(), subject.movie
    wrong = ""
    if movie is not None:
        seconds = movie.stamped_seconds if movie.stamped_seconds is not None else movie.header_seconds
        wrong = contradiction(movie)
        if (
            movie.packets is not None
            and movie.decoded is not None
            and movie.decoded < movie.packets
            and rate
            and seconds
        ):
            # what does not decode is not seen
            seconds = min(seconds, Fraction(movie.decoded) / rate)
    elif rate is None:
        return [
            finding(rule, OPEN, tr("the brief gives no rate"), subject.label, tr("say at how many frames per second"))
        ]
    else:
        count = len(set(numbers_of(subject.pictures))) or len(subject.pictures)
        seconds = Fraction(count) / rate
    if seconds is None:
        return [finding(rule, OPEN, tr("the header gives no duration"), subject.label, _look_closer())]
    slack = HALF / rate if rate else Fraction(1, 50)
    measured = tr("{seconds} s", seconds=amounts.plain(seconds))
    if holds(wanted, seconds, slack):
        if wrong or (movie is not None and movie.cut_off):
            repair = tr("export the movie again: its sources do not agree")
            return [
                finding(
                    rule,
                    OPEN,
                    tr("{measured}, but {fault}", measured=measured, fault=wrong or tr("cut off")),
                    subject.label,
                    repair,
                )
            ]
        if movie is not None and movie.packets is None and movie.of_all:
            return [
                finding(
                    rule, OPEN, tr("{measured} by the header alone", measured=measured), subject.label, _look_closer()
                )
            ]
        return [finding(rule, "pass", measured, subject.label)]
    if rule.counts == "without titles":  # untranslated: value of the file
        if rule.titles_seconds is None:
            repair = tr("say how long titles and credits are, or measure without them")
            return [finding(rule, YOURS, tr("{measured} with everything", measured=measured), subject.label, repair)]
        rest = seconds - Fraction(str(rule.titles_seconds))
        if holds(wanted, rest, slack):
            return [
                finding(
                    rule,
                    "pass",
                    tr("{measured}, {rest} s without titles", measured=measured, rest=amounts.plain(rest)),
                    subject.label,
                )
            ]
    # a movie of another rate is made again at the one that is asked for
    rate = subject.wanted_rate() or rate
    if wanted.comparison == LESS_THAN and rate:
        repair = tr("shorten it to at most {n} frames", n=int((wanted.numbers[0] * rate - Fraction(1, 10**9)) // 1))
    else:
        goal = nearest(wanted, seconds)
        repair = (
            tr("bring it to {seconds} s ({n} frames)", seconds=amounts.plain(goal), n=amounts.plain(goal * rate, 1))
            if rate
            else tr("bring it to {seconds} s", seconds=amounts.plain(goal))
        )
    return [finding(rule, "fail", measured, subject.label, repair)]


def slate(rule: Rule, subject: Subject) -> list[Finding]:
    """A slate at one end. Only a black one can be measured; a card is for a person's eyes."""
    if rule.ticked:
        return [finding(rule, "pass", ticked_words(rule.tick_note), subject.label)]
    wanted, rate = wanted_of(rule), subject.rate()
    frames = wanted.numbers[0] if wanted.in_frames else wanted.numbers[0] * rate if rate else None
    looks = ordered_looks(subject)
    if rule.look == "card" or frames is None or not looks:
        at_start = rule.place == "start"
        repair = tr("look at the start of it") if at_start else tr("look at the end of it")
        if not looks and rule.look != "card":
            repair = (
                tr("look at the start of it; a deep check measures a black one")
                if at_start
                else tr("look at the end of it; a deep check measures a black one")
            )
        return [
            finding(
                rule,
                YOURS,
                tr("not measured"),
                subject.label,
                repair,
            )
        ]
    line = looks if rule.place == "start" else looks[::-1]
    black = next((n for n, look in enumerate(line) if not look.black), len(line))
    good: Verdict = (
        "pass"
        if holds(
            wanted,
            Fraction(black) if wanted.in_frames else Fraction(black) / (rate or 1),
            HALF / (rate or 1) if not wanted.in_frames else Fraction(0),
        )
        else "fail"
    )
    return [
        finding(
            rule,
            good,
            trn("{n} black frame", "{n} black frames", black),
            subject.label,
            tr("make {n} frames at the start black", n=amounts.plain(frames))
            if rule.place == "start"
            else tr("make {n} frames at the end black", n=amounts.plain(frames)),
        )
    ]


def ordered_looks(subject: Subject) -> list[Look]:
    """Looks in the order that they are shown; empty where pixels were not looked at."""
    if subject.movie is not None:
        return list(subject.movie.looks.looks) if subject.movie.looks else []
    return [subject.looks[p.name] for p in subject.pictures if p.name in subject.looks]
