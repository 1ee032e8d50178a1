# SPDX-License-Identifier: GPL-3.0-or-later
"""The brief's own rules decide what is asked of assets, and the hand-in check and its sheet are held by them.

Which licence goes with which use: the licence table of the assets page (Creative Commons, recommended practice);
that what is not known is no pass: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import io
import json
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from nightplan.actions.assets import add_asset, look_at_licences, set_terms, terms_of
from nightplan.brief.asset_rules import DECIDES
from nightplan.brief.check import check
from nightplan.brief.handin import make_sheet
from nightplan.brief.kinds import KINDS
from nightplan.brief.rules import deliverables_of
from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.files.store import load, save
from nightplan.model.errors import BadInput
from nightplan.model.project import Project

HARBOUR = Path(__file__).parents[2] / "sample_projects" / "still-harbour.nightplan"
BARE = {"author": "Ada Fern", "source": "a shelf", "changes": "recoloured"}


def brief(*rules: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return {
        "id": "still",
        "name": "Still",
        "what": "image",
        "rules": [{"id": f"r{n}", **r} for n, r in enumerate(rules)],
        **keys,
    }


@pytest.fixture
def project() -> Project:
    return load(HARBOUR).but(deliverables=(), assets=())


@pytest.fixture
def still(tmp_path: Path) -> Path:
    path = tmp_path / "still.png"
    Image.effect_noise((64, 36), 60).convert("RGB").save(path)
    return path


def asking(project: Project, *rules: dict[str, Any], **keys: Any) -> Project:
    return project.but(deliverables=(brief(*rules, **keys),))


def test_each_key_is_decided_by_one_kind_of_rule(project: Project) -> None:
    values: dict[str, Any] = {"third-party": "free only", "result-licence": "cc by-sa 4.0"}
    terms = terms_of(asking(project, *({"kind": k, "value": values.get(k, True)} for k in DECIDES)))
    assert terms.third_party == "free only"
    assert terms.result == "CC-BY-SA-4.0"
    assert (terms.prize, terms.paid_channel, terms.promotion, terms.scene_files) == (True, True, True, True)
    assert set(DECIDES) <= set(KINDS)


def test_rules_go_before_what_was_typed_and_are_changed_in_the_brief(project: Project) -> None:
    typed = set_terms(project, promotion=True, prize=True)
    there = asking(typed, {"kind": "promotion", "value": False, "wording": "We do not advertise with entries."})
    assert (terms_of(there).promotion, terms_of(there).prize) == (False, True)
    with pytest.raises(BadInput, match="We do not advertise with entries"):
        set_terms(there, promotion=True)
    assert terms_of(set_terms(there, prize=False)).prize is False
    # a deliverable that is not handed in asks for nothing
    off = asking(typed, {"kind": "promotion", "value": False}, condition="if selected")
    assert terms_of(off).promotion is True


def test_the_strictest_of_several_rules_holds(project: Project) -> None:
    rules = [{"kind": "third-party", "value": v} for v in ("credited", "none", "allowed")]
    assert terms_of(asking(project, *rules)).third_party == "none"


@pytest.mark.parametrize(
    ("value", "said"),
    [("maybe", "must be one of allowed, credited, free only, none"), (7, "must be one of allowed")],
)
def test_a_rule_that_cannot_be_read_is_named(project: Project, value: Any, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        terms_of(asking(project, {"kind": "third-party", "value": value}))
    with pytest.raises(BadInput, match="must be a licence such as CC BY"):
        terms_of(asking(project, {"kind": "result-licence", "value": "free for all"}))


@pytest.mark.parametrize(
    ("strength", "verdict"), [("must", "fail"), ("should", "warn"), ("note", "note")],
)  # fmt: skip
def test_a_softer_rule_speaks_more_softly(project: Project, strength: str, verdict: str) -> None:
    there = add_asset(project, "Bark", licence="CC BY 4.0", **BARE)
    there = asking(there, {"kind": "third-party", "value": "none", "strength": strength})
    assert [f.verdict for f in look_at_licences(there)] == [verdict]


def test_an_unknown_licence_stays_a_hold_whatever_the_rules_say(project: Project) -> None:
    there = asking(add_asset(project, "Bark"), {"kind": "third-party", "value": "allowed", "strength": "note"})
    assert [f.verdict for f in look_at_licences(there)] == ["hold"]


@pytest.mark.parametrize(
    ("licence", "rules", "verdict", "kind", "repair"),
    [
        ("?", [], "cannot tell", "licence", "find the licence"),
        ("LicenseRef-Shop-Pack", [], "cannot tell", "licence", "write into its terms"),
        ("CC BY-ND 4.0", [], "fail", "licence", "use an asset without ND"),
        ("CC BY 4.0", [], "pass", "licence", ""),
        ("CC BY 4.0", [{"kind": "third-party", "value": "none"}], "fail", "third-party", "make it yourself"),
        ("CC BY-SA 4.0", [{"kind": "result-licence", "value": "CC BY-NC-ND 4.0"}], "fail", "result-licence", "SA"),
        ("CC BY-NC 4.0", [{"kind": "prize", "value": True}], "warn", "prize", "ask the author"),
        ("editorial", [{"kind": "promotion", "value": True}], "fail", "promotion", "buy the full licence"),
        ("CC BY 4.0", [{"kind": "third-party", "value": "credited"}], "pass", "third-party", ""),
    ],
)  # fmt: skip
def test_the_check_and_its_sheet_say_rule_and_remedy(
    project: Project, still: Path, licence: str, rules: list[dict[str, Any]], verdict: str, kind: str, repair: str
) -> None:
    there = asking(add_asset(project, "Bark", licence=licence, **BARE), *rules)
    report = check(deliverables_of(there)[0], [still], project=there, depth="headers")
    found = [f for f in report.findings if f.kind == kind]
    assert [f.verdict for f in found] == [verdict]
    assert repair in found[0].repair
    assert report.verdict == verdict
    sheet = make_sheet(report)
    assert sheet.verdict == verdict
    assert any(f.kind == kind and f.verdict == verdict for f in sheet.findings)
    if verdict not in ("pass",):
        assert "Bark" in found[0].where


def test_no_asset_is_no_proof_until_it_is_ticked(project: Project, still: Path) -> None:
    def verdict(**rule: Any) -> str:
        there = asking(project, {"kind": "third-party", **rule})
        return check(deliverables_of(there)[0], [still], project=there, depth="headers").verdict

    assert verdict(value="none") == "your tick"
    assert verdict(value="none", ticked=True) == "pass"
    assert verdict(value="allowed") == "pass"


def test_assets_that_cannot_be_read_are_not_passed_over(project: Project, still: Path) -> None:
    there = asking(project.but(assets=(7,)), {"kind": "prize", "value": True})
    report = check(deliverables_of(there)[0], [still], project=there, depth="headers")
    assert report.verdict == "cannot tell"
    assert "assets[0] = 7" in report.of("licence")[0].measured


def test_the_command_line_answers_no_and_says_that_it_is_no_advice(project: Project, still: Path) -> None:
    file = still.parent / "piece.nightplan"
    save(asking(add_asset(project, "Bark"), {"kind": "alpha", "value": False}), file)
    out = io.StringIO()
    code = main(["check", str(file), str(still), "--headers"], out, out, Context(out, lambda: dt.date(2027, 3, 2)))
    assert code == 1
    assert "cannot tell  Licences: unknown licence: without a licence" in out.getvalue()
    assert "not legal advice" in out.getvalue()
    out = io.StringIO()
    main(["check", str(file), str(still), "--headers", "--json"], out, out, Context(out, lambda: dt.date(2027, 3, 2)))
    answer = json.loads(out.getvalue())
    assert answer["verdict"] == "cannot tell"
    assert next(f["repair"] for f in answer["findings"] if f["kind"] == "licence").startswith("find the licence")
