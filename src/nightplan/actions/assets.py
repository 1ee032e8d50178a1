# SPDX-License-Identifier: GPL-3.0-or-later
"""Assets: add, change, take out, read a list, what their licences ask, credits, files that none covers."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from fnmatch import fnmatchcase
from pathlib import Path, PurePosixPath
from typing import Any

from nightplan.actions.values import changed, free_id, made
from nightplan.brief.asset_rules import Said, asset_findings, said_by
from nightplan.brief.assets import (
    KINDS,
    MAX_ASSETS,
    TERMS,
    Asset,
    AssetFinding,
    AssetTerms,
    assets_of,
    typed_terms,
)
from nightplan.brief.licences import LICENCES, OWN, licence, licence_id
from nightplan.exports.credits import Credit
from nightplan.model.errors import BadInput, Cancelled, shorten
from nightplan.model.project import Project
from nightplan.speech import dates, tr

MAX_CSV_BYTES = 2_000_000
#: five times the assets that a project may have
MAX_CSV_ROWS = 10_000
MAX_FILES = 50_000
_COLUMNS = {
    "title": ("title", "name", "asset"),
    "kind": ("kind", "type"),
    "author": ("author", "creator", "by", "artist"),
    "source": ("source", "url", "link", "from"),
    "licence": ("licence", "license"),
    "changes": ("changes", "changed"),
    "where": ("where", "used in", "where used", "use"),
    "files": ("files", "file", "path"),
    "cost": ("cost", "price"),
    "receipt": ("receipt", "invoice"),
    "terms": ("terms",),
}  # untranslated: headings of lists
#: endings of what people take from elsewhere
_MEDIA = (
    "abc aif aiff blend bmp bvh dae dds exr fbx flac glb gltf hdr jpeg jpg m4a ma max mb mov mp3 mp4 obj ogg otf ply "
    "png psd sbsar stl tga tif tiff ttf usd usda usdc usdz vdb wav webm webp woff woff2 ztl"
)  # untranslated: endings of file names
_ENDINGS = frozenset(f".{ending}" for ending in _MEDIA.split(" "))


def _with(project: Project, assets: tuple[Asset, ...]) -> Project:
    if len(assets) > MAX_ASSETS:
        raise BadInput(tr("assets: {n} assets, at most {most} are accepted", n=len(assets), most=MAX_ASSETS))
    return project.but(assets=tuple(a.model_dump(mode="json") for a in assets))


def add_asset(project: Project, title: str, **keys: Any) -> Project:
    """A further asset; its licence may be written as people write it.

    Raises:
        BadInput: naming the key and what is accepted.
    """
    there = assets_of(project)
    raw = {"id": free_id({a.id for a in there}, title, "asset"), "title": title, **_plain(keys)}
    return _with(project, (*there, made(Asset, f"assets[{len(there)}]", raw)))


def change_asset(project: Project, asset_id: str, **changes: Any) -> Project:
    """Change keys of an asset. Raises BadInput."""
    there = assets_of(project)
    place = _place(there, asset_id)
    new = changed(there[place], f"assets[{place}]", **_plain(changes))
    return _with(project, (*there[:place], new, *there[place + 1 :]))


def remove_asset(project: Project, asset_id: str) -> Project:
    """Take an asset out of the list. Raises BadInput where it is not there."""
    there = assets_of(project)
    place = _place(there, asset_id)
    return _with(project, (*there[:place], *there[place + 1 :]))


def set_terms(project: Project, **changes: Any) -> Project:
    """What holds for the entry as a whole: result, prize, paid_channel, promotion, scene_files, third_party.

    Raises:
        BadInput: also where the brief's own rules say it; it is changed there.
    """
    rules = said_by(project).rules
    for key in (k for k in changes if k in rules):
        words = rules[key][0].wording or rules[key][0].kind
        raise BadInput(
            tr("{key}: the brief says it ({rule}); change the rule there", key=f"{TERMS}.{key}", rule=shorten(words))
        )
    if "result" in changes:
        changes["result"] = licence_id(changes["result"]) if changes["result"].strip() else ""
    new = changed(typed_terms(project), TERMS, **changes)
    return project.but(**{TERMS: new.model_dump(mode="json")})


def _place(there: tuple[Asset, ...], asset_id: str) -> int:
    for n, asset in enumerate(there):
        if asset.id == asset_id:
            return n
    raise BadInput(tr("{id!r} is no asset of this project", id=asset_id))


def _plain(keys: dict[str, Any]) -> dict[str, Any]:
    if isinstance(keys.get("licence"), str):
        keys = {**keys, "licence": licence_id(keys["licence"])}
    return keys


def look_at_licences(project: Project) -> tuple[AssetFinding, ...]:
    """What the licences ask of this entry, held against the brief's own rules; help, not legal advice.

    Raises:
        BadInput: assets or rules that cannot be read.
    """
    return asset_findings(project)


def terms_of(project: Project) -> AssetTerms:
    """What holds for the entry as a whole: the brief's rules, and what was typed where they are silent."""
    return said_by(project).terms


def credits_of(project: Project) -> tuple[Credit, ...]:
    """Credits of everything that somebody else made, in the artist's order."""
    rows = []
    for asset in assets_of(project):
        its = licence(asset.licence)
        if its.family == "own":
            continue
        plain = not asset.adapted and not asset.changes.strip()
        rows.append(Credit(asset.title, asset.author, asset.source, its.name, its.url, asset.changes, plain))
    return tuple(rows)


# ---- a list as CSV -------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class ListRead:
    """The project with a list taken in, and what was done."""

    project: Project
    added: int
    updated: int
    #: headings that are not read
    ignored: tuple[str, ...]


def import_assets(project: Project, text: str | bytes) -> ListRead:
    """Read a list as CSV with a row of headings; an asset with the same title and source is updated, not doubled.

    Raises:
        BadInput: naming the line and what is accepted.
    """
    if len(text) > MAX_CSV_BYTES:
        raise BadInput(
            tr(
                "the list has {size} MB; at most {most} MB are read",
                size=dates.decimal(len(text) / 1e6, 1),
                most=dates.decimal(MAX_CSV_BYTES / 1e6, 0),
            )
        )
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise BadInput(tr("byte {n} is no UTF-8; save the list as CSV in UTF-8", n=error.start)) from None
    text = text.removeprefix("\ufeff")
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark))
    except csv.Error as error:
        raise BadInput(tr("the list is no CSV: {fault}", fault=error)) from None
    if not rows:
        raise BadInput(tr("the list is empty"))
    names = {alias: key for key, aliases in _COLUMNS.items() for alias in aliases}
    heads = [names.get(h.strip().lower()) for h in rows[0]]
    if "title" not in heads:
        raise BadInput.at(
            _line(1), first[:60], tr("a heading for the title is needed ({headings})", headings=", ".join(_COLUMNS))
        )
    if len(rows) > MAX_CSV_ROWS:
        raise BadInput(tr("the list has {count} rows; at most {most} are read", count=len(rows), most=MAX_CSV_ROWS))
    there = list(assets_of(project))
    # the first of several that are alike
    places = {(a.title, a.source): n for n, a in reversed(list(enumerate(there)))}
    added = updated = 0
    for line, row in enumerate(rows[1:], 2):
        raw = {key: cell.strip() for key, cell in zip(heads, row, strict=False) if key is not None and cell.strip()}
        if not raw:
            continue
        keys = _cells(raw, line)
        same = places.get((str(keys.get("title", "")), str(keys.get("source", ""))))
        if same is not None:
            there[same] = changed(there[same], _line(line), **keys)
            updated += 1
        else:
            fresh = free_id({a.id for a in there}, str(keys.get("title", "")), "asset")
            there.append(made(Asset, _line(line), {"id": fresh, **keys}))
            places.setdefault((there[-1].title, there[-1].source), len(there) - 1)
            added += 1
        if len(there) > MAX_ASSETS:
            raise BadInput(tr("line {n}: at most {most} assets are accepted", n=line, most=MAX_ASSETS))
    ignored = tuple(shorten(h)[1:-1] for h, key in zip(rows[0], heads, strict=True) if key is None and h.strip())
    return ListRead(_with(project, tuple(there)), added, updated, ignored)


def _line(number: int) -> str:
    return tr("line {n}", n=number)


def _cells(raw: dict[str, str], line: int) -> dict[str, Any]:
    # the apostrophe that keeps a spreadsheet from working a cell out
    keys: dict[str, Any] = {key: cell[1:] if re.match("'[=+@\\t\\r-]", cell) else cell for key, cell in raw.items()}
    if "licence" in keys:
        keys["licence"] = licence_id(keys["licence"])
    if "files" in keys:
        keys["files"] = [part.strip() for part in re.split(r"[;|\n]", keys["files"]) if part.strip()]
    if "kind" in keys:
        keys["kind"] = keys["kind"].lower() if keys["kind"].lower() in KINDS else "other"
    if "cost" in keys:
        # a sign or name of a currency may stand beside it
        amount = re.fullmatch(r"[^\d.,-]{0,4}(\d{1,9}(?:[.,]\d{1,6})?)[^\d.,-]{0,4}", keys["cost"], re.ASCII)
        if amount is None:
            raise BadInput.at(f"{_line(line)}.cost", raw["cost"], tr("a number is accepted, for example 12.50"))
        keys["cost"] = float(amount[1].replace(",", "."))
    return keys


def assets_csv(project: Project) -> str:
    """The assets as CSV that :func:`import_assets` reads back."""
    from nightplan.exports.tables import Table, csv_text

    rows = tuple(
        (
            a.title,
            a.kind,
            a.author,
            a.source,
            a.licence,
            a.changes,
            a.where,
            ";".join(a.files),
            a.cost,
            a.receipt,
            a.terms,
        )
        for a in assets_of(project)
    )
    return csv_text(Table("assets", tuple(_COLUMNS), rows))


# ---- files in the project folder -----------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class FilesSeen:
    """Files of the project folder held against the list of assets."""

    #: relative to the folder, with /, that no asset covers
    uncovered: tuple[str, ...]
    #: (asset id, path) that is not there
    missing: tuple[tuple[str, str], ...]
    #: False: there were more files than are looked at
    complete: bool


def files_without_asset(
    project: Project, folder: Path, *, progress: Callable[[float], None] | None = None
) -> FilesSeen:
    """Media, models and fonts below the project folder that no asset names. Hidden folders and links are not followed.

    Raises:
        Cancelled: by ``progress``.
    """
    assets = assets_of(project)
    patterns = [(a.id, _normal(path)) for a in assets for path in a.files if path.strip()]
    uncovered: list[str] = []
    covered: set[tuple[str, str]] = set()
    looked = 0
    complete = True
    for where, folders, names in os.walk(folder, followlinks=False):
        folders[:] = sorted(d for d in folders if not d.startswith("."))
        if progress is not None:
            progress(min(1.0, looked / MAX_FILES))
        base = Path(where).relative_to(folder).as_posix()
        for name in sorted(names):
            looked += 1
            path = name if base == "." else f"{base}/{name}"
            hits = [p for p in patterns if _covers(p[1], path)]
            covered.update(hits)
            if not hits and not name.startswith(".") and PurePosixPath(name).suffix.lower() in _ENDINGS:
                uncovered.append(path)
        if looked >= MAX_FILES:
            complete = False
            break
    missing = tuple(p for p in patterns if p not in covered) if complete else ()
    return FilesSeen(tuple(uncovered), missing, complete)


def _normal(path: str) -> str:
    return path.replace("\\", "/").removeprefix("./").rstrip("/").strip()


def _covers(pattern: str, path: str) -> bool:
    return path == pattern or path.startswith(f"{pattern}/") or ("*" in pattern and fnmatchcase(path, pattern))


__all__ = [
    "LICENCES",
    "OWN",
    "Asset",
    "AssetFinding",
    "AssetTerms",
    "Cancelled",
    "FilesSeen",
    "ListRead",
    "Said",
    "add_asset",
    "assets_csv",
    "assets_of",
    "change_asset",
    "credits_of",
    "files_without_asset",
    "import_assets",
    "look_at_licences",
    "remove_asset",
    "said_by",
    "set_terms",
    "terms_of",
]
