# SPDX-License-Identifier: GPL-3.0-or-later
"""What a project keeps about the brief beside its rules: hand-in sheets, the pasted text, what was refused of it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from nightplan.model.values import Id, Json, Text, Value

Verdict = Literal["pass", "warn", "fail", "cannot tell", "your tick"]  # untranslated: values of the file
#: letters of a pasted rule sheet
MAX_BRIEF_TEXT = 200_000
MAX_REFUSED = 1_000


class SheetFile(Value):
    """A file of a hand-in sheet, as it was when it was checked; ``modified`` is an ISO time in UTC."""

    name: Text
    path: Text = ""
    bytes: int = Field(ge=0)
    sha256: str = Field(pattern=r"^[0-9a-f]{64}$")
    modified: Text = ""


class SheetFinding(Value):
    """One finding of a hand-in sheet, in the words that were shown."""

    rule: Text
    kind: Text = ""
    verdict: Verdict
    measured: Text = ""
    wanted: Text = ""
    where: Text = ""
    repair: Text = ""
    wording: Text = ""
    breach: Text = ""


class Sheet(Value):
    """One hand-in sheet; ``deliverable`` is the id under which it was checked, ``checked_at`` an ISO time."""

    deliverable: Id
    name: Text = ""
    depth: Text = ""
    checked_at: Text | None = None
    verdict: Verdict
    findings: tuple[SheetFinding, ...] = ()
    files: tuple[SheetFile, ...] = ()
    made_by: Text = ""


class Refused(Value):
    """A rule that the paste-in reader proposed and that the artist does not want."""

    kind: Text
    comparison: Text = ""
    value: Json = None
    sentence: Text = ""


class BriefNotes(Value):
    """The organiser's text as it was pasted, and what was refused of it."""

    text: Annotated[str, StringConstraints(max_length=MAX_BRIEF_TEXT)] = ""
    refused: Annotated[tuple[Refused, ...], Field(max_length=MAX_REFUSED)] = ()
