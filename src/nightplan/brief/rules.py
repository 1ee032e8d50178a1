# SPDX-License-Identifier: GPL-3.0-or-later
"""What a brief holds: deliverables with their rules, as frozen values read from the project's JSON."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Literal, Self

from pydantic import Field, JsonValue, TypeAdapter, ValidationError, model_validator
from pydantic_core import ErrorDetails, PydanticCustomError

from nightplan.brief import amounts
from nightplan.brief.kinds import KINDS, ONE_OF, Comparison
from nightplan.brief.names_of_formats import canonical
from nightplan.brief.patterns import check_pattern
from nightplan.evenings.zones import to_utc, zone_info
from nightplan.model.errors import BadInput
from nightplan.model.parse import sentence
from nightplan.model.project import Project
from nightplan.model.values import Id, Name, Text, Value
from nightplan.speech import tr

Strength = Literal["must", "should", "note"]
What = Literal["sequence", "movie", "image", "zip", "folder", "text"]
KindId = Literal[
    "frame-count", "frame-range", "numbering", "padding", "fps", "duration", "picture-size", "long-side", "aspect",
    "pixel-aspect", "bit-depth", "alpha", "image-format", "container", "video-codec", "scan", "colour", "audio",
    "audio-codec", "audio-rate", "audio-channels", "loudness", "file-size", "name", "tree", "text-length",
    "entry-count", "slate", "progress-post", "kept-stage", "working-time", "declaration", "publish-not-before", "tick",
    "third-party", "result-licence", "prize", "paid-channel", "promotion", "scene-files",
]  # fmt: skip

MAX_RULES = 200
MAX_DELIVERABLES = 50


class Rule(Value):
    """One rule. ``value`` has the form that ``KINDS[kind].form`` names; a list of them for between and one of."""

    id: Id
    kind: KindId
    comparison: Comparison = "exactly"
    value: JsonValue = None
    #: with the comparison within: value ± tolerance
    tolerance: Annotated[float, Field(ge=0, allow_inf_nan=False, strict=True)] | None = None
    strength: Strength = "must"
    #: the organiser's own sentence, kept verbatim
    wording: Text = ""
    #: what happens on a breach, in the organiser's words
    breach: Text = ""
    #: where the rule stands, or what proves that it is kept
    evidence: Text = ""
    #: of a duration or a frame count: titles and credits, whose length is ``titles_seconds``, may be left out of it
    counts: Literal["everything", "without titles"] = "everything"
    titles_seconds: Annotated[float, Field(ge=0, le=86_400, allow_inf_nan=False, strict=True)] | None = None
    #: of a slate: at which end, and whether it has to be black
    place: Literal["start", "end"] = "start"
    look: Literal["card", "black"] = "card"
    #: IANA zone of a moment (publish-not-before)
    zone: Annotated[str, Field(max_length=80)] | None = None
    #: of a progress post: the days they are due
    due: tuple[Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")], ...] = ()
    #: a person's tick, and the note beside it
    ticked: bool = False
    tick_note: Text = ""

    @model_validator(mode="after")
    def _fits_kind(self) -> Self:
        kind = KINDS[self.kind]
        if self.comparison not in kind.comparisons:
            raise _fault(
                "comparison",
                tr("for {kind} must be one of {comparisons}", kind=self.kind, comparisons=", ".join(kind.comparisons)),
            )
        for day in self.due:
            try:
                dt.date.fromisoformat(day)
            except ValueError:
                raise _fault(
                    "due", tr("must be days of the calendar such as 2027-11-14, and {day} is none", day=repr(day))
                ) from None
        if self.comparison == "within" and self.tolerance is None:
            raise _fault("tolerance", tr("is needed with the comparison within"))
        try:
            wanted_of(self)
        except ValueError as error:
            raise _fault("value", str(error)) from None
        return self


class Deliverable(Value):
    """One thing to hand in."""

    id: Id
    name: Name
    what: What
    condition: Literal["always", "if selected"] = "always"
    selected: bool = False
    #: the rate that frames of a sequence are shown at, for its duration
    fps: JsonValue = None
    rules: tuple[Rule, ...] = ()

    @property
    def wanted(self) -> bool:
        """Whether it has to be handed in."""
        return self.condition == "always" or self.selected

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        if self.fps is not None:
            try:
                amounts.rate(self.fps)
            except ValueError as error:
                raise _fault("fps", str(error)) from None
        if len(self.rules) > MAX_RULES:
            raise _fault("rules", tr("must have at most {n} rules", n=MAX_RULES))
        seen: set[str] = set()
        for rule in self.rules:
            if rule.id in seen:
                raise _fault("rules", tr("uses the id {id} twice", id=repr(rule.id)))
            seen.add(rule.id)
        return self


def _fault(key: str, rule: str) -> PydanticCustomError:
    return PydanticCustomError("place:" + key, rule.replace("{", "{{").replace("}", "}}"))


_LIST = TypeAdapter(tuple[Deliverable, ...])


def deliverables_of(project: Project) -> tuple[Deliverable, ...]:
    """The deliverables of a project.

    Raises:
        BadInput: the first broken rule with its place (``deliverables[0].rules[2].value = ...``).
    """
    return deliverables_from_raw(list(project.deliverables))


def deliverables_from_raw(raw: Any) -> tuple[Deliverable, ...]:
    """Deliverables from JSON values. Raises BadInput like :func:`deliverables_of`."""
    if not isinstance(raw, (list, tuple)) or len(raw) > MAX_DELIVERABLES:
        raise BadInput.at(
            "deliverables",
            raw,
            tr("must be a list of at most {n} deliverables", n=MAX_DELIVERABLES),
        )
    try:
        found = _LIST.validate_python(list(raw))
    except ValidationError as error:
        sentences = [sentence(_placed(e)) for e in error.errors(include_url=False)]
        raise BadInput(sentences[0], more=tuple(sentences[1:])) from None
    seen: dict[str, int] = {}
    for n, deliverable in enumerate(found):
        if deliverable.id in seen:
            raise BadInput.at(
                f"deliverables[{n}].id",
                deliverable.id,
                tr("an id is used once, and deliverables[{n}] has it", n=seen[deliverable.id]),
            )
        seen[deliverable.id] = n
    return found


def _placed(error: ErrorDetails) -> ErrorDetails:
    placed = error.copy()
    placed["loc"] = ("deliverables", *error["loc"])
    return placed


def deliverables_to_raw(deliverables: tuple[Deliverable, ...]) -> tuple[JsonValue, ...]:
    """JSON values for ``project.but(deliverables=...)``, unknown keys kept."""
    return tuple(d.model_dump(mode="json", exclude_defaults=True) for d in deliverables)


@dataclass(frozen=True, slots=True)
class Wanted:
    """The value of a rule, read.

    ``numbers`` are the alternatives (one of), the two ends (between) or the one number; for file sizes ``binary``
    has the same in the binary meaning of MB. ``pairs`` are picture sizes, ``words`` names, ``flag`` a yes or no.
    """

    comparison: Comparison
    numbers: tuple[Fraction, ...] = ()
    binary: tuple[Fraction, ...] = ()
    tolerance: Fraction = Fraction(0)
    pairs: tuple[tuple[int, int], ...] = ()
    words: tuple[str, ...] = ()
    flag: bool | None = None
    in_frames: bool = False


def wanted_of(rule: Rule) -> Wanted:
    """The value of a rule. Raises ValueError with what is accepted."""
    form, c = KINDS[rule.kind].form, rule.comparison
    value = rule.value
    several = c == ONE_OF or (c == "between" and form != "range")
    values: list[Any] = [value]
    if several:
        if not isinstance(value, list) or not 1 <= len(value) <= 50 or (c == "between" and len(value) != 2):
            raise ValueError(
                tr("must be a list of two, the lower end first")
                if c == "between"
                else tr("must be a list of what is accepted")
            )
        values = value
    tolerance = Fraction(str(rule.tolerance or 0))
    match form:
        case "count" | "number" | "fps" | "seconds" | "ratio":
            read = {
                "count": amounts.whole,
                "number": amounts.number,
                "fps": amounts.rate,
                "seconds": amounts.seconds,
                "ratio": amounts.ratio,
            }[form]
            numbers = tuple(read(v) for v in values)
            if c == "between" and numbers[1] < numbers[0]:
                raise ValueError(tr("must have the lower end first"))
            return Wanted(c, numbers, tolerance=tolerance)
        case "bytes":
            both = [amounts.sizes(v) for v in values]
            if c == "between" and both[1][0] < both[0][0]:
                raise ValueError(tr("must have the lower end first"))
            return Wanted(c, tuple(b[0] for b in both), tuple(b[1] for b in both))
        case "picture":
            return Wanted(c, pairs=tuple(amounts.picture(v) for v in values))
        case "range":
            first, last = amounts.frame_range(value)
            return Wanted(c, (Fraction(first), Fraction(last)))
        case "yes-no":
            if not isinstance(value, bool):
                raise ValueError(tr("must be true or false"))
            return Wanted(c, flag=value)
        case "word":
            return Wanted(c, words=tuple(canonical(rule.kind, v) for v in values))
        case "pattern":
            return Wanted(c, words=tuple(check_pattern(v) for v in values))
        case "patterns":
            if not isinstance(value, list) or not 1 <= len(value) <= 500:
                raise ValueError(tr('must be a list of names, for example ["frames/####.png", "readme.txt"]'))
            return Wanted(c, words=tuple(check_pattern(v, tree=True) for v in value))
        case "frames-or-seconds":
            amount, in_frames = amounts.frames_or_seconds(value)
            return Wanted(c, (amount,), in_frames=in_frames)
        case "moment":
            return Wanted(c, words=(_moment(value, rule.zone),))
        case "text":
            if value is not None and (not isinstance(value, str) or len(value) > 20_000):
                raise ValueError(tr("must be text"))
            return Wanted(c, words=(value,) if isinstance(value, str) and value.strip() else ())


def _moment(value: Any, zone: str | None) -> str:
    rule = tr("must be a moment such as 2027-11-14T12:00, its zone under the key zone")
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}", value, re.ASCII):
        raise ValueError(rule)
    try:
        at = dt.datetime.fromisoformat(value)
        return to_utc(at, zone_info(zone or "UTC")).isoformat()
    except (ValueError, BadInput, OverflowError) as error:
        raise ValueError(error.sentence if isinstance(error, BadInput) else rule) from None
