# SPDX-License-Identifier: GPL-3.0-or-later
"""What findings are about, in words for people; files and JSON keep the ids."""

from __future__ import annotations

from nightplan.brief.findings import Finding
from nightplan.brief.kinds import KINDS
from nightplan.model.brief import SheetFinding
from nightplan.speech import tr

#: the program's own checks
OWN_WORDS = {
    "alike": tr("Pictures that are alike"),
    "counts-agree": tr("Counts of frames agree"),
    "ending": tr("Ending of the name"),
    "even-padding": tr("As many digits in each frame number"),
    "finished": tr("Written to the end"),
    "licence": tr("Licences"),
    "limits": tr("Within what can be looked at"),
    "no-black": tr("Black frames"),
    "no-doubles": tr("No frame twice"),
    "no-edit-list": tr("No edit list"),
    "no-gaps": tr("Gaps in the frame numbers"),
    "no-links": tr("Links"),
    "one-file": tr("One file"),
    "one-picture": tr("One picture in a file"),
    "one-sequence": tr("One sequence"),
    "open-zip": tr("ZIP opens"),
    "readable": tr("Can be read"),
    "safe-zip": tr("ZIP is harmless"),
    "sound-length": tr("Length of the sound"),
    "square-pixels": tr("Square pixels"),
    "steady-rate": tr("Steady rate"),
    "tidy": tr("Tidy"),
    "upright": tr("Upright"),
    "whole": tr("Files are whole"),
    "whole-window": tr("Whole picture"),
}


def title_of(finding: Finding | SheetFinding) -> str:
    """The name of the rule's kind or of the program's own check; of what neither knows, its id in words."""
    name = finding.kind or finding.rule
    kind = KINDS.get(name)
    if kind is not None:
        return kind.words
    return OWN_WORDS.get(name, name.replace("-", " ").capitalize())
