# SPDX-License-Identifier: GPL-3.0-or-later
"""Assets as values, and what their licences ask of this entry: the rule, why, and what to do about it.

Values are read from ``project.assets`` when they are asked for. What holds for the entry as a whole is read from
the brief's rules (:mod:`nightplan.brief.asset_rules`); what they do not say may stand under the optional key
``asset_terms`` of the project.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError

from nightplan.brief.amounts import figures
from nightplan.brief.licences import CHALLENGE_ONLY, EDITORIAL, ROYALTY_FREE, Licence, licence
from nightplan.brief.names import some
from nightplan.model.errors import BadInput
from nightplan.model.parse import sentence
from nightplan.model.project import Project
from nightplan.model.values import Id, Name, Text, Value
from nightplan.speech import mark, tr

MAX_ASSETS = 2_000
TERMS = "asset_terms"

AssetKind = Literal["model", "texture", "hdri", "rig", "motion", "footage", "music", "sound", "font", "code", "other"]
KINDS = ("model", "texture", "hdri", "rig", "motion", "footage", "music", "sound", "font", "code", "other")


class Asset(Value):
    """Something in the piece that somebody made: its credit, its licence, where it is used."""

    id: Id
    title: Name
    kind: AssetKind = "other"
    author: Text = ""
    #: an address, a book, a person
    source: Text = ""
    #: SPDX identifier or LicenseRef-…
    licence: Annotated[str, Field(max_length=120)] = "LicenseRef-unknown"
    #: what was changed, in the artist's words
    changes: Text = ""
    #: False: it is shown as it came (music under picture is adapted all the same)
    adapted: bool = True
    #: stages, shots, frames
    where: Text = ""
    #: paths relative to the project file; a folder stands for all within, * for any letters
    files: tuple[Annotated[str, Field(max_length=1000)], ...] = ()
    cost: Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False)] | None = None
    receipt: Text = ""
    #: of a licence of its own: what it allows, in a sentence
    terms: Text = ""
    #: goes along in scene files that are handed in
    in_scene_files: bool = True


class AssetTerms(Value):
    """What the organiser's rules, or the artist, say about this entry as a whole."""

    #: the licence that the result is shown under; "" not said
    result: Annotated[str, Field(max_length=120)] = ""
    prize: bool = False
    #: shown on a channel that earns money
    paid_channel: bool = False
    #: the organiser may use entries for promotion
    promotion: bool = False
    #: scene files are handed in
    scene_files: bool = False
    third_party: Literal["allowed", "credited", "free only", "none"] = "allowed"


_UNCREDITED = {
    ("author",): mark("{who} asks for credit, and the author of it is missing"),
    ("source",): mark("{who} asks for credit, and the source of it is missing"),
    ("author", "source"): mark("{who} asks for credit, and the author and the source of it are missing"),
}
_UNCREDITED_BY_BRIEF = {
    ("author",): mark("the brief asks for credit, and the author of it is missing"),
    ("source",): mark("the brief asks for credit, and the source of it is missing"),
    ("author", "source"): mark("the brief asks for credit, and the author and the source of it are missing"),
}
_FILL_IN = {
    ("author",): tr("fill in the author"),
    ("source",): tr("fill in the source"),
    ("author", "source"): tr("fill in the author and the source"),
}

Verdict = Literal["fail", "hold", "warn", "note"]
ORDER: tuple[Verdict, ...] = ("fail", "hold", "warn", "note")


@dataclass(frozen=True, slots=True)
class AssetFinding:
    """One thing to know. ``fail`` and ``hold`` keep the piece from being handed in."""

    verdict: Verdict
    assets: tuple[str, ...]
    rule: str
    why: str
    remedy: str
    #: keys of :class:`AssetTerms` without which it would not be said
    asks: tuple[str, ...] = ()


def assets_of(project: Project) -> tuple[Asset, ...]:
    """The assets of a project. Raises BadInput naming ``assets[n]``."""
    if len(project.assets) > MAX_ASSETS:
        raise BadInput(tr("assets: {n} assets, at most {most} are accepted", n=len(project.assets), most=MAX_ASSETS))
    found: list[Asset] = []
    seen: dict[str, int] = {}
    for n, raw in enumerate(project.assets):
        try:
            asset = Asset.model_validate(raw)
        except ValidationError as error:
            first = error.errors(include_url=False)[0]
            raise BadInput(sentence({**first, "loc": ("assets", n, *first["loc"])})) from None
        if asset.id in seen:
            raise BadInput.at(
                f"assets[{n}].id", asset.id, tr("an id is used once, and assets[{n}] has it", n=seen[asset.id])
            )
        seen[asset.id] = n
        found.append(asset)
    return tuple(found)


def typed_terms(project: Project) -> AssetTerms:
    """What the artist wrote down about the entry as a whole. Raises BadInput naming ``asset_terms``."""
    raw: Any = project.unknown.get(TERMS)
    if raw is None:
        return AssetTerms()
    try:
        return AssetTerms.model_validate(raw)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        raise BadInput(sentence({**first, "loc": (TERMS, *first["loc"])})) from None


def findings(assets: tuple[Asset, ...], terms: AssetTerms) -> tuple[AssetFinding, ...]:
    """What the licences ask, the serious first."""
    found = [f for asset in assets for f in _one(asset, licence(asset.licence), terms)]
    found += _together(assets, terms)
    return tuple(sorted(found, key=lambda f: ORDER.index(f.verdict)))


def held(found: tuple[AssetFinding, ...]) -> bool:
    """Whether the piece should not be handed in like this."""
    return any(f.verdict in ("fail", "hold") for f in found)


def _one(asset: Asset, its: Licence, terms: AssetTerms) -> Iterator[AssetFinding]:
    def make(verdict: Verdict, rule: str, why: str, remedy: str, *asks: str) -> AssetFinding:
        return AssetFinding(verdict, (asset.id,), rule, why, remedy, asks)

    if its.family == "own":
        return
    if its.family == "unknown":
        yield make(
            "hold",
            tr("an unknown licence holds the hand-in"),
            tr("{name}: without a licence nothing may be used that somebody else made", name=its.name),
            tr("find the licence where the asset comes from, ask its author, or use another asset"),
        )
    if its.family == "custom" and not asset.terms.strip():
        yield make(
            "hold",
            tr("terms of its own have to be written down"),
            tr("nobody can tell from the name {name} what is allowed", name=repr(its.name)),
            tr("write into its terms what it allows and what it asks for, and keep a copy of the text"),
        )
    if its.credit or terms.third_party == "credited":
        missing = tuple(name for name in ("author", "source") if not getattr(asset, name).strip())
        if missing:
            yield make(
                "fail",
                tr("credit = title, author, source, licence, changes"),
                tr(_UNCREDITED[missing], who=its.name) if its.credit else tr(_UNCREDITED_BY_BRIEF[missing]),
                _FILL_IN[missing],
                *(() if its.credit else ("third_party",)),
            )
        if its.credit and asset.adapted and not asset.changes.strip():
            yield make(
                "warn",
                tr("changes are said in the credit"),
                tr("{name} asks you to say whether you changed it", name=its.name),
                tr("write what was changed, such as “retextured”, or mark it as unchanged"),
            )
    yield from _limits(asset, its, terms, make)


def _limits(asset: Asset, its: Licence, terms: AssetTerms, make: Any) -> Iterator[AssetFinding]:
    if its.non_commercial and (terms.prize or terms.paid_channel):
        near = (
            tr("a prize is near, and whether that is commercial is disputed")
            if terms.prize
            else tr("the channel earns money, and whether that is commercial is disputed")
        )
        yield make(
            "warn",
            tr("BY-NC: not for commercial use"),
            near,
            tr("ask the author in writing, or use an asset without NC"),
            *(key for key in ("prize", "paid_channel") if getattr(terms, key)),
        )
    music = asset.kind in ("music", "sound")
    if its.no_derivatives and (asset.adapted or asset.kind == "music"):
        why = (
            tr("music under picture is always adapted, also where the music itself is unchanged")
            if music
            else tr("a thing that is put into a picture of yours is adapted material")
        )
        yield make(
            "fail",
            tr("BY-ND: no adapted material may be shared"),
            why,
            tr("use an asset without ND, or get the author's permission in writing"),
        )
    if its.id == EDITORIAL:
        yield make(
            "fail" if terms.promotion else "warn",
            tr("editorial use only: not for promotion"),
            tr("the organiser may use entries for promotion")
            if terms.promotion
            else tr("an entry is easily shown as promotion"),
            tr("buy the full licence or use another asset"),
            *(("promotion",) if terms.promotion else ()),
        )
    if its.id == ROYALTY_FREE:
        if terms.scene_files and asset.in_scene_files:
            yield make(
                "fail",
                tr("royalty-free: in the render yes, in scene files no"),
                tr("scene files are handed in, and the asset would be handed on with them"),
                tr("take it out of the scene files, or put a stand-in there"),
                "scene_files",
            )
        if (asset.cost is None or asset.cost > 0) and not asset.receipt.strip():
            yield make(
                "warn",
                tr("keep the proof of purchase"),
                tr("a bought licence is proved by its receipt"),
                tr("note where the receipt is, or set its cost to 0"),
            )
    if its.id == CHALLENGE_ONLY:
        yield make(
            "note",
            tr("supplied for this challenge only"),
            tr("it may be in this entry and nowhere else"),
            tr("replace it before the piece goes anywhere else"),
        )
    if terms.third_party == "none":
        yield make(
            "fail",
            tr("the organiser's rules allow no third-party assets"),
            tr("{title} was made by somebody else", title=asset.title),
            tr("make it yourself or leave it out"),
            "third_party",
        )
    if terms.third_party == "free only" and asset.cost:  # untranslated: value of the file
        yield make(
            "fail",
            tr("the organiser's rules allow free assets only"),
            tr("{title} cost {amount}", title=asset.title, amount=figures(asset.cost, 6)),
            tr("use a free one that everybody can get"),
            "third_party",
        )


def _together(assets: tuple[Asset, ...], terms: AssetTerms) -> Iterator[AssetFinding]:
    """What holds between an asset and the result, and between two assets of one result."""
    result = licence(terms.result) if terms.result else None
    adapted = [(a, licence(a.licence)) for a in assets if a.adapted or a.kind == "music"]
    for asset, its in adapted:
        if not its.share_alike or its.no_derivatives:
            continue
        if result is None:
            yield AssetFinding(
                "warn",
                (asset.id,),
                tr("SA: the result is under the same licence"),
                tr(
                    "{name} asks that the whole result is shared under it, and nothing is said about the result",
                    name=its.name,
                ),
                tr(
                    "set the result's licence to {licence} if the organiser's rules allow that, or use another asset",
                    licence=_same(its),
                ),
            )
        elif not _satisfies(its, result):
            yield AssetFinding(
                "fail",
                (asset.id,),
                tr("SA: the result is under the same licence"),
                tr(
                    "the result is under {result}, and {asset} asks for {licence}",
                    result=result.name,
                    asset=its.name,
                    licence=_same(its),
                ),
                tr("use an asset without SA, or ask the author for another licence"),
                ("result",),
            )
    # by licence: many assets of two licences are one clash
    groups: dict[str, list[Asset]] = {}
    for asset, its in adapted:
        groups.setdefault(its.id, []).append(asset)
    for one, two in combinations(groups, 2):
        a, b = licence(one), licence(two)
        clash = _clash(a, b)
        if clash:
            yield AssetFinding(
                "fail",
                tuple(x.id for x in (*groups[one], *groups[two])),
                tr("two licences that no single result can keep"),
                tr(
                    "{one} ({titles}) and {other} ({other_titles}): {clash}",
                    one=a.name,
                    titles=_titles(groups[one]),
                    other=b.name,
                    other_titles=_titles(groups[two]),
                    clash=clash,
                ),
                tr("replace what is under one of the two"),
            )
    if result is not None and result.credit and not result.non_commercial:
        for asset, its in adapted:
            if its.non_commercial and not its.share_alike:
                yield AssetFinding(
                    "fail",
                    (asset.id,),
                    tr("NC: the result may not promise more than the asset allows"),
                    tr(
                        "the result under {licence} may be used commercially, {title} may not",
                        licence=result.name,
                        title=asset.title,
                    ),
                    tr("share the result under an NC licence, or use an asset without NC"),
                    ("result",),
                )


def _titles(assets: list[Asset]) -> str:
    return some([a.title for a in assets])


def _satisfies(its: Licence, result: Licence) -> bool:
    """Whether a result licence keeps a share-alike licence: the same parts, the same or a later version.

    Version 1.0 names no later one (Creative Commons, licence versions).
    """
    if (result.share_alike, result.non_commercial, result.no_derivatives) != (True, its.non_commercial, False):
        return False
    if its.version == "1.0":
        return result.version == "1.0"
    return result.version >= its.version


def _same(its: Licence) -> str:
    return its.name if its.version in ("1.0", "4.0") else tr("{name} or a later version", name=its.name)


def _clash(a: Licence, b: Licence) -> str:
    """Why two assets cannot be in one result; "" where they can."""
    if a.no_derivatives or b.no_derivatives:
        # said by the rule on ND already
        return ""
    if not (a.share_alike or b.share_alike):
        return ""
    if a.share_alike and b.share_alike:
        if a.non_commercial != b.non_commercial:
            return tr("one asks for a result that may be used commercially, the other for one that may not")
        if "1.0" in (a.version, b.version) and a.version != b.version:
            return tr("version 1.0 names no later version, so the two cannot meet")
        return ""
    strict, other = (a, b) if a.share_alike else (b, a)
    if other.non_commercial and not strict.non_commercial:
        return tr("one asks for a result that may be used commercially, the other forbids that")
    return ""
