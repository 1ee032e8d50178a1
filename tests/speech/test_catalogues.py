# SPDX-License-Identifier: GPL-3.0-or-later
"""The catalogues hold exactly the texts of the source, all translated, with the places to fill in that the text has.

Plural rules: Unicode CLDR, as Babel has them. The rest is common practice, no source.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("babel")
sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "packaging"))
import catalogues


def test_catalogues_are_whole_and_compiled() -> None:
    assert catalogues.check()[:20] == []


@pytest.mark.parametrize(("language", "forms"), [("de", 2), ("es", 2), ("ja", 1)])
def test_every_count_has_as_many_forms_as_the_language(language: str, forms: int) -> None:
    catalog = catalogues.catalogue(language)
    assert catalog.num_plurals == forms
    plural = [m for m in catalogues.texts(catalog) if isinstance(m.id, tuple)]
    assert plural
    assert all(len(m.string) == forms for m in plural)


def test_a_slip_is_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(catalogues, "FOLDER", tmp_path)
    for language in catalogues.LANGUAGES:
        catalogues.path(language).parent.mkdir(parents=True)
    catalogues.update()
    wrong = catalogues.take("de", [{"id": "{hours} h", "context": None, "said": "{stunden} Std."}])
    assert wrong == []
    assert any("{stunden}" in slip for slip in catalogues.slips("de"))
    assert catalogues.take("de", [{"id": "no such text", "context": None, "said": "x"}])
    assert any("not translated" in line for line in catalogues.check())


@pytest.mark.parametrize(("language", "word"), [("de", "von 100"), ("es", "de 100"), ("ja", "100回中")])
def test_the_command_line_speaks(language: str, word: str) -> None:
    sample = Path(__file__).resolve().parents[2] / "sample_projects" / "moth-and-lantern.nightplan"
    start = (sys.executable, "-X", "utf8", "-c", "from nightplan.cli.start import run; run()")
    done = subprocess.run(
        [*start, "--language", language, "odds", str(sample), "--futures", "500"],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    assert word in done.stdout
    assert " in 100" not in done.stdout
