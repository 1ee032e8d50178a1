# SPDX-License-Identifier: GPL-3.0-or-later
"""Licences and what they ask, credits with every part, lists as CSV, files that no asset covers."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Any

import pytest
from markdown_it import MarkdownIt
from PIL import Image

from nightplan.actions.assets import (
    add_asset,
    assets_csv,
    assets_of,
    change_asset,
    credits_of,
    files_without_asset,
    import_assets,
    look_at_licences,
    remove_asset,
    set_terms,
)
from nightplan.brief.assets import Asset, AssetTerms, findings, held
from nightplan.brief.licences import LICENCES, NOTICE, licence, licence_id
from nightplan.exports.credits import Credit, credit_line, credits_markdown, credits_png, credits_text
from nightplan.files.store import load
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw, project_to_raw
from nightplan.model.project import Project

SAMPLES = Path(__file__).parents[2] / "sample_projects"


FREE = "the organiser's rules allow free assets only"
CREDIT = "credit = title, author, source, licence, changes"


def asset(licence: str, **keys: Any) -> Asset:
    base = {"id": licence.lower().replace(" ", "-"), "title": f"Thing under {licence}", "licence": licence}
    return Asset.model_validate(
        {**base, "author": "Ada Fern", "source": "https://example.org/x", "changes": "recoloured", **keys}
    )


def said(*assets: Asset, **terms: Any) -> list[tuple[str, str]]:
    return [(f.verdict, f.rule.partition(":")[0]) for f in findings(assets, AssetTerms.model_validate(terms))]


@pytest.mark.parametrize(
    ("assets", "terms", "wanted"),
    [
        # source: the licence table of trade.md (Creative Commons recommended practice; legal codes)
        ([asset("CC-BY-4.0")], {}, []),
        ([asset("CC0-1.0", author="", source="")], {}, []),
        ([asset("LicenseRef-own-work")], {"third_party": "none"}, []),
        ([asset("CC-BY-SA-4.0")], {"result": "CC-BY-SA-4.0"}, []),
        ([asset("CC-BY-SA-3.0")], {"result": "CC-BY-SA-4.0"}, []),
        ([asset("CC-BY-SA-4.0")], {}, [("warn", "SA")]),
        ([asset("CC-BY-SA-4.0")], {"result": "CC-BY-NC-ND-4.0"}, [("fail", "SA")]),
        ([asset("CC-BY-SA-4.0")], {"result": "CC-BY-SA-3.0"}, [("fail", "SA")]),
        ([asset("CC-BY-SA-1.0")], {"result": "CC-BY-SA-4.0"}, [("fail", "SA")]),
        ([asset("CC-BY-NC-4.0")], {}, []),
        ([asset("CC-BY-NC-4.0")], {"prize": True}, [("warn", "BY-NC")]),
        ([asset("CC-BY-NC-4.0")], {"paid_channel": True}, [("warn", "BY-NC")]),
        ([asset("CC-BY-NC-4.0")], {"result": "CC-BY-4.0"}, [("fail", "NC")]),
        ([asset("CC-BY-ND-4.0")], {}, [("fail", "BY-ND")]),
        ([asset("CC-BY-ND-4.0", adapted=False)], {}, []),
        ([asset("CC-BY-ND-4.0", adapted=False, kind="music")], {}, [("fail", "BY-ND")]),
        ([asset("LicenseRef-editorial")], {}, [("warn", "editorial use only")]),
        ([asset("LicenseRef-editorial")], {"promotion": True}, [("fail", "editorial use only")]),
        ([asset("LicenseRef-royalty-free", receipt="order 7")], {}, []),
        ([asset("LicenseRef-royalty-free", cost=0)], {"scene_files": True}, [("fail", "royalty-free")]),
        ([asset("LicenseRef-royalty-free", cost=0, in_scene_files=False)], {"scene_files": True}, []),
        ([asset("LicenseRef-royalty-free", cost=9)], {}, [("warn", "keep the proof of purchase")]),
        ([asset("LicenseRef-challenge-only")], {}, [("note", "supplied for this challenge only")]),
        ([asset("LicenseRef-unknown")], {}, [("hold", "an unknown licence holds the hand-in")]),
        ([asset("found on a forum")], {}, [("hold", "an unknown licence holds the hand-in")]),
        ([asset("LicenseRef-Studio-Pack")], {}, [("hold", "terms of its own have to be written down")]),
        ([asset("LicenseRef-Studio-Pack", terms="renders only")], {}, []),
        ([asset("CC0-1.0")], {"third_party": "none"}, [("fail", "the organiser's rules allow no third-party assets")]),
        ([asset("CC0-1.0", cost=3)], {"third_party": "free only"}, [("fail", FREE)]),
        ([asset("CC-BY-4.0", author="")], {}, [("fail", "credit = title, author, source, licence, changes")]),
        ([asset("CC0-1.0", author="")], {"third_party": "credited"}, [("fail", CREDIT)]),
        ([asset("CC-BY-4.0", changes="")], {}, [("warn", "changes are said in the credit")]),
        ([asset("CC-BY-4.0", changes="", adapted=False)], {}, []),
    ],
)  # fmt: skip
def test_what_a_licence_asks(assets: list[Asset], terms: dict[str, Any], wanted: list[tuple[str, str]]) -> None:
    assert said(*assets, **terms) == wanted


@pytest.mark.parametrize(
    ("one", "two", "clash"),
    [
        # source: Creative Commons, licence compatibility: share-alike asks for its own conditions, no more, no less
        ("CC-BY-4.0", "CC-BY-SA-4.0", False),
        ("CC-BY-NC-4.0", "CC-BY-SA-4.0", True),
        ("CC-BY-NC-SA-4.0", "CC-BY-SA-4.0", True),
        ("CC-BY-NC-SA-4.0", "CC-BY-NC-4.0", False),
        ("CC-BY-SA-3.0", "CC-BY-SA-4.0", False),
        ("CC-BY-SA-1.0", "CC-BY-SA-4.0", True),
        ("CC-BY-NC-4.0", "CC-BY-4.0", False),
        ("CC0-1.0", "CC-BY-NC-SA-4.0", False),
    ],
)
def test_two_licences_in_one_result(one: str, two: str, clash: bool) -> None:
    for pair in ((one, two), (two, one)):
        rules = [r for v, r in said(*(asset(x) for x in pair)) if v == "fail"]
        assert rules == (["two licences that no single result can keep"] if clash else [])


def test_unknown_holds_the_hand_in_and_each_finding_has_a_remedy() -> None:
    many = tuple(asset(x) for x in LICENCES)
    found = findings(many, AssetTerms(result="CC-BY-NC-ND-4.0", prize=True, promotion=True, scene_files=True))
    assert held(found)
    assert held(findings((asset("LicenseRef-unknown"),), AssetTerms()))
    assert not held(findings((asset("CC-BY-4.0"),), AssetTerms()))
    assert all(f.rule and f.why and f.remedy and f.assets for f in found)
    assert [f.verdict for f in found] == sorted((f.verdict for f in found), key=["fail", "hold", "warn", "note"].index)
    assert "not legal advice" in NOTICE


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ("CC BY 4.0", "CC-BY-4.0"),
        ("cc-by-nc-sa 3.0", "CC-BY-NC-SA-3.0"),
        ("Creative Commons BY-SA 4.0 International", "CC-BY-SA-4.0"),
        ("CC BY SA NC 4.0", "CC-BY-NC-SA-4.0"),
        ("cc0", "CC0-1.0"),
        ("mit", "MIT"),
        ("royalty free", "LicenseRef-royalty-free"),
        ("", "LicenseRef-unknown"),
        ("CC BY", "CC BY"),
        ("CC BY 9.9", "CC BY 9.9"),
        ("LicenseRef-Own-Terms", "LicenseRef-Own-Terms"),
    ],
)
def test_licences_as_people_write_them(typed: str, wanted: str) -> None:
    assert licence_id(typed) == wanted
    assert licence_id(wanted) == wanted


def test_a_licence_without_its_version_is_not_guessed() -> None:
    assert licence("CC BY").family == "unknown"
    assert licence("LicenseRef-Own-Terms").family == "custom"
    # source: the addresses of the deeds (creativecommons.org)
    assert licence("CC-BY-NC-ND-4.0").url == "https://creativecommons.org/licenses/by-nc-nd/4.0/"


NASTY = Credit(
    "Lamp *old* [x](javascript:1) <b>", "A|B `c`", "https://example.org/a b?q=1&x=(2)", "CC BY 4.0",
    "https://creativecommons.org/licenses/by/4.0/", "new\nmaterial", False,
)  # fmt: skip
GOOD = Credit(
    "Oak bark", "Ada Fern", "https://example.org/bark", "CC BY 4.0", licence("CC-BY-4.0").url, "tiled and darkened"
)


@pytest.mark.parametrize("credit", [GOOD, NASTY], ids=["good", "nasty"])
def test_each_credit_has_the_five_parts(credit: Credit) -> None:
    # source: Creative Commons, best practices for attribution: title, author, source, licence; 4.0 3(a)(1)(B): changes
    plain = credit_line(credit)
    assert "\n" not in plain
    for part in (credit.title, credit.author, credit.source, credit.licence, credit.licence_url):
        assert part in plain
    assert "changes: " + " ".join(credit.changes.split()) in plain
    assert plain in credits_text("Piece", [credit])


@pytest.mark.parametrize("key", [key for key in LICENCES if key.startswith("CC-BY")])
def test_each_cc_text_has_its_elements_in_every_form(key: str) -> None:
    # source: legal codes of CC BY and its relatives. 4.0, 3(a)(1): creator, licence by name or address, an address
    # of the material, that it was changed; 1.0 to 3.0, 4(b) or 4(c): also the title
    project = load(SAMPLES / "still-harbour.nightplan").but(assets=(), deliverables=())
    keys = {"author": "Ada Fern", "source": "https://example.org/bark", "licence": key}
    project = add_asset(project, "Oak bark", changes="tiled", **keys)
    project = add_asset(project, "Elm bark", adapted=False, **keys)
    changed, plain = credits_of(project)
    forms = (credits_text("P", [changed, plain]), credits_markdown("P", [changed, plain]))
    for text in forms:
        lines = [line for line in text.splitlines() if "bark" in line]
        assert len(lines) == 2
        for line, title, how in zip(lines, ("Oak bark", "Elm bark"), ("changes: tiled", "unchanged"), strict=True):
            assert title in line
            assert "by Ada Fern" in line
            assert "https://example.org/bark" in line
            assert LICENCES[key].url in line
            assert LICENCES[key].name in line
            assert how in line


def test_markdown_read_by_another_program_shows_the_same_words_and_only_our_links() -> None:
    # source: CommonMark, by markdown-it-py
    text = credits_markdown("My #1 *piece*", [GOOD, NASTY])
    tokens = [t for block in MarkdownIt("commonmark").parse(text) for t in (block.children or [])]
    links = [str(t.attrs["href"]) for t in tokens if t.type == "link_open"]
    assert links == [GOOD.source, GOOD.licence_url, NASTY.licence_url]
    shown = "".join(t.content for t in tokens if t.type == "text")
    for credit in (GOOD, NASTY):
        assert credit.title in shown
        assert credit.author in shown
    assert not any(t.type in ("html_inline", "code_inline", "em_open") for t in tokens)


def test_used_as_it_came_is_said() -> None:
    assert credit_line(Credit("T", "A", "S", "CC0 1.0", "", "", True)).endswith("; unchanged")


def test_the_end_title_is_exactly_as_large_as_asked_and_not_empty() -> None:
    data = credits_png("Piece", [GOOD] * 8)
    with Image.open(io.BytesIO(data)) as picture:
        assert picture.size == (1920, 1080)
        grey = picture.convert("L")
        assert grey.getpixel((0, 0)) == 0
        assert max(grey.tobytes()) > 200
        # the safe margin is free
        assert max(grey.crop((0, 0, 1920, 60)).tobytes()) == 0
        assert max(grey.crop((1850, 0, 1920, 1080)).tobytes()) == 0
    with Image.open(io.BytesIO(credits_png("Piece", [], size=(640, 360)))) as picture:
        assert picture.size == (640, 360)
    with pytest.raises(BadInput, match="do not fit"):
        credits_png("Piece", [GOOD] * 400)
    with pytest.raises(BadInput, match="64 to 8192"):
        credits_png("Piece", [GOOD], size=(10, 10))


@pytest.fixture
def project() -> Project:
    return load(SAMPLES / "moth-and-lantern.nightplan").but(assets=(), deliverables=())


def test_assets_are_added_changed_and_taken_out(project: Project) -> None:
    one = add_asset(project, "Oak bark", licence="CC BY 4.0", author="Ada Fern", kind="texture")
    two = add_asset(one, "Oak bark", licence="?")
    assert [(a.id, a.licence) for a in assets_of(two)] == [
        ("oak-bark", "CC-BY-4.0"),
        ("oak-bark-2", "LicenseRef-unknown"),
    ]
    three = change_asset(two, "oak-bark-2", licence="own work", cost=2.5)
    assert assets_of(three)[1].cost == 2.5
    assert remove_asset(three, "oak-bark-2") == one
    again = project_from_raw(project_to_raw(set_terms(three, result="cc by-sa 4.0", prize=True)))
    assert assets_of(again) == assets_of(three)
    assert {f.rule for f in look_at_licences(again)} == {
        "credit = title, author, source, licence, changes",
        "changes are said in the credit",
    }
    # own work needs no credit
    assert [c.title for c in credits_of(again)] == ["Oak bark"]


@pytest.mark.parametrize(
    ("assets", "sentence"),
    [
        ([{"id": "a"}], "assets[0].title: is missing"),
        ([7], "assets[0] = 7: must be an object"),
        ([{"id": "a", "title": "t"}, {"id": "a", "title": "u"}], "assets[1].id = 'a': an id is used once"),
        ([{"id": "a", "title": "t", "cost": -1}], "assets[0].cost = -1: must be at least 0"),
    ],
)
def test_spoilt_assets_are_named(project: Project, assets: list[Any], sentence: str) -> None:
    with pytest.raises(BadInput) as caught:
        assets_of(project.but(assets=tuple(assets)))
    assert sentence in caught.value.sentence


def test_a_list_goes_out_and_comes_back(project: Project) -> None:
    start = add_asset(
        project, '=Bark; "old"', licence="CC BY 4.0", author="Ada\nFern", files=("tex/a.png", "tex/b.png"), cost=12.5
    )
    start = add_asset(start, "Drone", kind="sound", source="https://example.org", licence="CC0")
    read = import_assets(project, assets_csv(start))
    assert (read.added, read.updated, read.ignored) == (2, 0, ())
    assert assets_of(read.project) == assets_of(start)
    again = import_assets(read.project, assets_csv(start).encode("utf-8-sig"))
    assert (again.added, again.updated) == (0, 2)
    assert again.project == read.project


def test_a_list_of_another_program_is_read(project: Project) -> None:
    read = import_assets(project, "Name;License;Price;Colour\nOak;cc by 4.0;€ 3,50;red\n;;;\nElm;;;\n")
    assert [(a.title, a.licence, a.cost) for a in assets_of(read.project)] == [
        ("Oak", "CC-BY-4.0", 3.5),
        ("Elm", "LicenseRef-unknown", None),
    ]
    assert read.ignored == ("Colour",)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "the list is empty"),
        ("a,b\n1,2\n", "a heading for the title is needed"),
        ("title,cost\nOak,much\n", "line 2.cost = 'much': a number is accepted"),
        (b"title\n\xff\n", "byte 6 is no UTF-8"),
        (f"title\n{'x' * 300}\n", "line 2.title"),
        ("title\n" + "x" * 2_000_001, "at most 2 MB"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused(project: Project, text: str | bytes, sentence: str) -> None:
    with pytest.raises(BadInput) as caught:
        import_assets(project, text)
    assert sentence in caught.value.sentence


def test_files_that_no_asset_covers(project: Project, tmp_path: Path) -> None:
    for name in ("tex/oak/a.png", "tex/elm.PNG", "sound/hum.wav", "notes.txt", ".captures/x.png", "own/scene.blend"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")
    with_assets = add_asset(project, "Oak", files=("tex/oak",))
    with_assets = add_asset(with_assets, "Hum", files=("./sound/*.wav", "gone.wav"))
    with_assets = add_asset(with_assets, "Mine", licence="own work", files=("own\\",))
    seen = files_without_asset(with_assets, tmp_path)
    assert seen.uncovered == ("tex/elm.PNG",)
    assert seen.missing == (("hum", "gone.wav"),)
    assert seen.complete
