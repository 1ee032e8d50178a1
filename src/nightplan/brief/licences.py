# SPDX-License-Identifier: GPL-3.0-or-later
"""Licences of things that somebody else made: what each asks for. Help, not legal advice.

Names are SPDX identifiers where there is one (SPDX License List), ``LicenseRef-…`` for the rest. What
the Creative Commons licences ask for is in their deeds and legal codes (creativecommons.org).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from nightplan.speech import tr

NOTICE = tr(
    "This is help, not legal advice: the licence text, the organiser's rules and the law "
    "where you live go first. Where much depends on it, ask somebody who knows."
)

Family = Literal["free", "attribution", "share-alike", "limited", "own", "custom", "unknown"]

OWN = "LicenseRef-own-work"
UNKNOWN = "LicenseRef-unknown"
ROYALTY_FREE = "LicenseRef-royalty-free"
EDITORIAL = "LicenseRef-editorial"
CHALLENGE_ONLY = "LicenseRef-challenge-only"


@dataclass(frozen=True, slots=True)
class Licence:
    """What a licence asks for, as far as it matters for a picture or a film."""

    id: str
    name: str
    family: Family
    url: str = ""
    credit: bool = False
    share_alike: bool = False
    non_commercial: bool = False
    no_derivatives: bool = False
    #: of a Creative Commons licence
    version: str = ""
    #: in one sentence
    meaning: str = ""


_CC_MEANING = {
    "BY": tr("use it with credit"),
    "BY-SA": tr("use it with credit; the result is under the same licence"),
    "BY-NC": tr("use it with credit, not commercially"),
    "BY-NC-SA": tr("use it with credit, not commercially; the result is under the same licence"),
    "BY-ND": tr("share it with credit, unchanged"),
    "BY-NC-ND": tr("share it with credit, unchanged, not commercially"),
}


def _creative_commons() -> list[Licence]:
    made = []
    for kind, meaning in _CC_MEANING.items():
        for version in ("1.0", "2.0", "2.5", "3.0", "4.0"):
            parts = kind.split("-")
            # the address of the oldest of these has another order
            path = "by-nd-nc" if (kind, version) == ("BY-NC-ND", "1.0") else kind.lower()
            made.append(
                Licence(
                    f"CC-{kind}-{version}",
                    f"CC {kind} {version}",
                    "share-alike" if "SA" in parts else "attribution",
                    f"https://creativecommons.org/licenses/{path}/{version}/",
                    True,
                    "SA" in parts,
                    "NC" in parts,
                    "ND" in parts,
                    version,
                    meaning,
                )
            )
    return made


_OTHER = [  # untranslated: names of licences
    Licence(
        "CC0-1.0", "CC0 1.0", "free", "https://creativecommons.org/publicdomain/zero/1.0/", meaning=tr("use it freely")
    ),
    Licence(
        "CC-PDM-1.0",
        "Public Domain Mark 1.0",
        "free",
        "https://creativecommons.org/publicdomain/mark/1.0/",
        meaning=tr("known to be free of copyright"),
    ),
    Licence(
        "OFL-1.1",
        "SIL Open Font License 1.1",
        "free",
        "https://openfontlicense.org/",
        meaning=tr("use the font freely"),
    ),
    Licence(
        "MIT",
        "MIT License",
        "free",
        "https://spdx.org/licenses/MIT.html",
        meaning=tr("keep the notice with copies of it"),
    ),
    Licence(
        "Apache-2.0",
        "Apache License 2.0",
        "free",
        "https://www.apache.org/licenses/LICENSE-2.0",
        meaning=tr("keep the notice with copies of it"),
    ),
    Licence(
        "BSD-3-Clause",
        "BSD 3-Clause License",
        "free",
        "https://spdx.org/licenses/BSD-3-Clause.html",
        meaning=tr("keep the notice with copies of it"),
    ),
    Licence("Unlicense", "The Unlicense", "free", "https://unlicense.org/", meaning=tr("use it freely")),
    Licence(OWN, tr("own work"), "own", meaning=tr("made by yourself")),
    Licence(
        ROYALTY_FREE,
        tr("royalty-free licence"),
        "limited",
        meaning=tr("in the render: yes; handed on in scene files: no"),
    ),
    Licence(EDITORIAL, tr("editorial use only"), "limited", meaning=tr("for reporting, not for promotion")),
    Licence(
        CHALLENGE_ONLY, tr("supplied for this challenge only"), "limited", meaning=tr("in this entry, nowhere else")
    ),
    Licence(UNKNOWN, tr("unknown licence"), "unknown", meaning=tr("nobody has said that it may be used")),
]

#: by SPDX identifier or LicenseRef
LICENCES: dict[str, Licence] = {licence.id: licence for licence in (*_creative_commons(), *_OTHER)}

_SPELLINGS = {  # untranslated: what a person writes
    "": UNKNOWN,
    "unknown": UNKNOWN,
    "?": UNKNOWN,
    "own": OWN,
    "own work": OWN,
    "mine": OWN,
    "cc0": "CC0-1.0",
    "cc zero": "CC0-1.0",
    "public domain": "CC-PDM-1.0",
    "ofl": "OFL-1.1",
    "royalty free": ROYALTY_FREE,
    "royalty-free": ROYALTY_FREE,
    "editorial": EDITORIAL,
    "editorial only": EDITORIAL,
    "editorial use only": EDITORIAL,
    "challenge only": CHALLENGE_ONLY,
}
_CC = re.compile(
    r"(?:CC|CREATIVE COMMONS)[ -]?(BY(?:[ -](?:NC|SA|ND))*)[ -]?(?:V?(\d\.\d))?(?: INTERNATIONAL)?", re.ASCII
)
_REF = re.compile(r"LicenseRef-[A-Za-z0-9.-]{1,80}", re.ASCII)


def licence_id(text: str) -> str:
    """The identifier for what a person wrote: ``CC BY 4.0`` → ``CC-BY-4.0``. What is not known stays as it is."""
    plain = " ".join(text.split())
    by_case = {key.lower(): key for key in LICENCES}
    if plain.lower() in by_case:
        return by_case[plain.lower()]
    if plain.lower() in _SPELLINGS:
        return _SPELLINGS[plain.lower()]
    match = _CC.fullmatch(plain.upper())
    if match and match[2]:
        # the order of the parts is that of the licence, whatever was typed
        parts = set(match[1].replace(" ", "-").split("-"))
        name = "-".join(p for p in ("BY", "NC", "SA", "ND") if p in parts)
        if f"CC-{name}-{match[2]}" in LICENCES:
            return f"CC-{name}-{match[2]}"
    return plain


def licence(identifier: str) -> Licence:
    """What an identifier stands for; a LicenseRef of the artist's own is ``custom``, anything else ``unknown``."""
    known = LICENCES.get(identifier)
    if known is not None:
        return known
    if _REF.fullmatch(identifier):
        name = identifier.removeprefix("LicenseRef-").replace("-", " ")
        return Licence(identifier, name, "custom", meaning=tr("own terms, written down beside it"))
    return Licence(identifier, identifier or tr("unknown licence"), "unknown", meaning=tr("not known to this program"))
