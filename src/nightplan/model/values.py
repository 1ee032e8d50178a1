# SPDX-License-Identifier: GPL-3.0-or-later
"""What every value of the project is made of: dates, times, hours, chances, estimates."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    JsonValue,
    PlainSerializer,
    SerializerFunctionWrapHandler,
    StringConstraints,
    WithJsonSchema,
    model_serializer,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

from nightplan.speech import tr

MAX_HOURS = 100_000.0
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


def fault(rule: str) -> PydanticCustomError:
    """An error of the model with a whole sentence as its rule."""
    # braces in a template would be read as fields
    return PydanticCustomError("rule", rule.replace("{", "{{").replace("}", "}}"))


def _date(value: object) -> dt.date:
    if isinstance(value, dt.datetime) or not isinstance(value, (str, dt.date)):
        raise fault(tr("a date is written as text, for example 2027-10-24"))
    if isinstance(value, dt.date):
        return value
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        raise fault(tr("a date is written YYYY-MM-DD, for example 2027-10-24"))
    try:
        return dt.date.fromisoformat(value)
    except ValueError:
        raise fault(tr("there is no such day in the calendar")) from None


def _time(value: object) -> dt.time:
    if isinstance(value, dt.time):
        return value
    if not isinstance(value, str) or not re.fullmatch(r"\d{2}:\d{2}", value):
        raise fault(tr("a time of day is written HH:MM, for example 20:30"))
    try:
        return dt.time.fromisoformat(value)
    except ValueError:
        raise fault(tr("a time of day runs from 00:00 to 23:59")) from None


def _moment(value: object) -> dt.datetime:
    if isinstance(value, dt.datetime):
        return value.replace(tzinfo=None)
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?", value):
        raise fault(
            tr(
                "a moment is written YYYY-MM-DDTHH:MM without an offset, for example 2027-10-31T23:59; "
                "its zone stands beside it under the key zone"
            )
        )
    try:
        return dt.datetime.fromisoformat(value)
    except ValueError:
        raise fault(tr("there is no such moment in the calendar")) from None


def _moment_text(value: dt.datetime) -> str:
    return value.isoformat(timespec="seconds" if value.second else "minutes")


def _time_text(value: dt.time) -> str:
    return value.isoformat(timespec="minutes")


Date = Annotated[
    dt.date,
    BeforeValidator(_date),
    PlainSerializer(lambda d: d.isoformat(), return_type=str),
    WithJsonSchema({"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}),
]
ClockTime = Annotated[
    dt.time,
    BeforeValidator(_time),
    PlainSerializer(_time_text, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^\d{2}:\d{2}$"}),
]
Moment = Annotated[
    dt.datetime,
    BeforeValidator(_moment),
    PlainSerializer(_moment_text, return_type=str),
    WithJsonSchema({"type": "string", "pattern": r"^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(:\d{2})?$"}),
]


def _finite(value: JsonValue) -> JsonValue:
    left = [value]
    while left:
        part = left.pop()
        if isinstance(part, float) and not math.isfinite(part):
            raise PydanticCustomError("finite", tr("must hold finite numbers only"))
        left += part.values() if isinstance(part, dict) else part if isinstance(part, list) else ()
    return value


#: whatever JSON can say (RFC 8259 has no infinite numbers)
Json = Annotated[JsonValue, AfterValidator(_finite)]
Text = Annotated[str, StringConstraints(max_length=20_000)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Id = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]*$", max_length=80)]
Hours = Annotated[float, Field(ge=0, le=MAX_HOURS, allow_inf_nan=False, strict=True)]
Positive = Annotated[float, Field(gt=0, le=1e9, allow_inf_nan=False, strict=True)]
Chance = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False, strict=True)]
Day = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
Tier = Literal["primary", "secondary", "tertiary"]
State = Literal["open", "done", "cut"]
Role = Literal["work", "chain-test", "critique", "hand-in"]


class Value(BaseModel):
    """Base of every value of the model: frozen, unknown keys kept."""

    model_config = ConfigDict(
        frozen=True, extra="allow", validate_by_name=True, validate_by_alias=True, serialize_by_alias=True
    )

    def but(self, **changes: Any) -> Self:
        """A copy with some fields changed; the result is validated like a file would be."""
        # not dict(self): that would carry cached lookups along as if they were keys of the file
        fields = {name: getattr(self, name) for name in type(self).model_fields}
        return type(self).model_validate({**fields, **self.unknown, **changes})

    @property
    def unknown(self) -> dict[str, Any]:
        """The keys of the file that this version does not know."""
        return dict(self.__pydantic_extra__ or {})

    @model_serializer(mode="wrap")
    def _without_empty(self, handler: SerializerFunctionWrapHandler) -> Any:
        # a key that is absent and a key that is null mean the same in every part of the model;
        # unknown keys are somebody else's, so they are written as they came
        raw = handler(self)
        kept = self.__pydantic_extra__ or {}
        return {k: v for k, v in raw.items() if v is not None or k in kept}


def check_estimate(likely: float, high: float, low: float | None) -> None:
    """Refuse an estimate whose numbers are not in order (low ≤ likely ≤ high; 0 only where all is 0).

    Raises:
        PydanticCustomError: naming the key that is wrong.
    """
    if high < likely:
        raise PydanticCustomError("place:high", tr("must be at least likely ({likely})"), {"likely": likely})
    if likely == 0 and high > 0:
        raise PydanticCustomError("place:likely", tr("must be above 0 when high is above 0"))
    if low is not None and low > likely:
        raise PydanticCustomError("place:low", tr("must be at most likely ({likely})"), {"likely": likely})


class Span(Value):
    """An uncertain amount: median ``likely``, 90th percentile ``high``, optionally a ``low`` end.

    In the file a plain number stands for a certain amount.
    """

    likely: Hours
    high: Hours
    low: Hours | None = None

    @model_validator(mode="before")
    @classmethod
    def _from_number(cls, raw: Any) -> Any:
        if isinstance(raw, (int, float)) and not isinstance(raw, bool):
            return {"likely": raw, "high": raw}
        if isinstance(raw, dict) and "likely" in raw and "high" not in raw:
            return {**raw, "high": raw["likely"]}
        if not isinstance(raw, (dict, Span)):
            raise fault(tr("must be a number or an object with likely and high"))
        return raw

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        check_estimate(self.likely, self.high, self.low)
        return self

    @model_serializer(mode="wrap")
    def _as_number(self, handler: SerializerFunctionWrapHandler) -> Any:
        raw = handler(self)
        if self.certain and self.low is None and not self.unknown:
            return self.likely
        return {k: v for k, v in raw.items() if v is not None or k in self.unknown}

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        number = {"type": "number", "minimum": 0, "maximum": MAX_HOURS}
        return {
            "anyOf": [
                number,
                {
                    "type": "object",
                    "properties": {"likely": number, "high": number, "low": {"anyOf": [number, {"type": "null"}]}},
                    "required": ["likely"],
                },
            ]
        }

    @property
    def certain(self) -> bool:
        """``high`` equal to ``likely``: no uncertainty."""
        return self.high == self.likely

    @classmethod
    def sure(cls, amount: float) -> Span:
        """A certain amount."""
        return cls(likely=amount, high=amount)


class DaysOff(Value):
    """Days without evenings, both ends included."""

    from_: Date = Field(alias="from")
    to: Date
    why: Text = ""

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.to < self.from_:
            raise PydanticCustomError(
                "place:to", tr("must not be before from ({start})"), {"start": self.from_.isoformat()}
            )
        return self
