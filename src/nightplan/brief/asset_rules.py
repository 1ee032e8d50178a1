# SPDX-License-Identifier: GPL-3.0-or-later
"""What the brief's own rules say about assets, and the findings of the hand-in check that follow from them.

An unknown licence is no pass: it is what cannot be told, and holds the hand-in. Help, not legal advice.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from nightplan.brief import assets
from nightplan.brief.assets import Asset, AssetFinding, AssetTerms, assets_of, typed_terms
from nightplan.brief.findings import OPEN, YOURS, Finding, Verdict, ticked_words
from nightplan.brief.hold import finding, own
from nightplan.brief.names import some
from nightplan.brief.rules import Deliverable, Rule, deliverables_of, wanted_of
from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr, trn

#: kind of rule -> key of AssetTerms that it decides
DECIDES = {
    "third-party": "third_party",
    "result-licence": "result",
    "prize": "prize",
    "paid-channel": "paid_channel",
    "promotion": "promotion",
    "scene-files": "scene_files",
}
#: from the mildest to the strictest; the strictest of several rules holds
_STRICT = ("allowed", "credited", "free only", "none")  # untranslated: values of the file
_SOFT: dict[str, dict[str, assets.Verdict]] = {
    "should": {"fail": "warn", "hold": "warn"},
    "note": {"fail": "note", "hold": "note", "warn": "note"},
}
_VERDICTS: dict[str, Verdict] = {"fail": "fail", "hold": OPEN, "warn": "warn", "note": "pass"}
_FITS = tr("licences that fit this entry, each known")
_WHERE = tr("assets")


@dataclass(frozen=True, slots=True)
class Said:
    """What holds for the entry, and the rules that say so: key of :class:`AssetTerms` -> rules."""

    terms: AssetTerms
    rules: Mapping[str, tuple[Rule, ...]]


def said_by(project: Project) -> Said:
    """What the rules of the wanted deliverables say; what they leave open is as the artist wrote it down.

    Raises:
        BadInput: deliverables or terms that cannot be read.
    """
    return said_in(deliverables_of(project), typed_terms(project))


def said_in(deliverables: Sequence[Deliverable], typed: AssetTerms) -> Said:
    """As :func:`said_by`, from deliverables and terms that were read already. Raises BadInput."""
    rules: dict[str, list[Rule]] = {}
    for rule in (r for d in deliverables if d.wanted for r in d.rules if r.kind in DECIDES):
        rules.setdefault(DECIDES[rule.kind], []).append(rule)
    values: dict[str, Any] = {}
    for key, said in rules.items():
        read = [_value(r) for r in said]
        if key == "third_party":
            values[key] = max(read, key=_STRICT.index)
        elif key == "result":
            values[key] = read[0]
        else:
            values[key] = any(read)
    terms = AssetTerms.model_validate({**typed.model_dump(), **values})
    return Said(terms, {key: tuple(said) for key, said in rules.items()})


def _value(rule: Rule) -> Any:
    wanted = wanted_of(rule)
    return wanted.flag if wanted.flag is not None else wanted.words[0]


def asset_findings(project: Project) -> tuple[AssetFinding, ...]:
    """What the licences ask of this entry, the serious first; what only a softer rule asks is said more softly.

    Raises:
        BadInput: assets, deliverables or terms that cannot be read.
    """
    said = said_by(project)
    found = [_softened(f, said) for f in assets.findings(assets_of(project), said.terms)]
    return tuple(sorted(found, key=lambda f: assets.ORDER.index(f.verdict)))


def _softened(found: AssetFinding, said: Said) -> AssetFinding:
    asking = [r for key in found.asks for r in said.rules.get(key, ())]
    # what the artist typed, or one rule that is a must, is taken in earnest
    if not asking or len(asking) < len(found.asks) or any(r.strength == "must" for r in asking):
        return found
    strength = "should" if any(r.strength == "should" for r in asking) else "note"
    return replace(found, verdict=_SOFT[strength].get(found.verdict, found.verdict))


def licence_findings(deliverable: Deliverable, project: Project | None) -> list[Finding]:
    """Findings for the check of a deliverable: its rules about assets, then what the licences ask for themselves."""
    rules = [r for r in deliverable.rules if r.kind in DECIDES]
    if project is None:
        return [
            finding(r, YOURS, tr("the assets are not known here"), _WHERE, tr("look at them yourself")) for r in rules
        ]
    try:
        listed, found = assets_of(project), asset_findings(project)
    except BadInput as error:
        repair = tr("put it right in the project file, or on the page Assets")
        return [own("licence", OPEN, error.sentence, tr("assets that can be read"), _WHERE, repair)]
    titles = {a.id: a.title for a in listed}
    answers: list[Finding] = []
    told: set[AssetFinding] = set()
    for rule in rules:
        mine = [f for f in found if DECIDES[rule.kind] in f.asks]
        told |= set(mine)
        answers += [finding(rule, _verdict(f), f.why, _who(f, titles), f.remedy) for f in mine] or [
            _nothing(rule, listed)
        ]
    rest = [f for f in found if f not in told]
    answers += [own("licence", _verdict(f), f.why, f.rule, _who(f, titles), _repair(f)) for f in rest]
    if listed and not assets.held(found):
        words = trn("{n} asset, nothing stands in the way", "{n} assets, nothing stands in the way", len(listed))
        answers.append(own("licence", "pass", words, _FITS, _WHERE))
    return answers


def _verdict(found: AssetFinding) -> Verdict:
    return _VERDICTS[found.verdict]


def _repair(found: AssetFinding) -> str:
    return "" if found.verdict == "note" else found.remedy


def _who(found: AssetFinding, titles: Mapping[str, str]) -> str:
    return some([titles.get(key, key) for key in found.assets], 4)


def _nothing(rule: Rule, listed: tuple[Asset, ...]) -> Finding:
    """No asset stands against a rule; an empty list is no proof where the rule asks for something."""
    if listed or rule.kind != "third-party" or _value(rule) == "allowed":
        words = trn("{n} asset, none stands against it", "{n} assets, none stands against it", len(listed))
        return finding(rule, "pass", words, _WHERE)
    if rule.ticked:
        return finding(rule, "pass", ticked_words(tr("nothing in it was made by others")), _WHERE)
    repair = tr("write down on the page Assets what others made, or tick it when there is nothing")
    return finding(rule, YOURS, tr("no asset is written down"), _WHERE, repair)
