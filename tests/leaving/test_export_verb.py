# SPDX-License-Identifier: GPL-3.0-or-later
"""``nightplan export`` by its endings, refusals, and papers as they come out of another program's renderer."""

from __future__ import annotations

import datetime as dt
import io
import json
import re
import shutil
import subprocess
from pathlib import Path

import html5lib
import icalendar
import pytest
from PIL import Image

from nightplan.actions.leaving import PARTS
from nightplan.cli.context import Context
from nightplan.cli.main import main
from nightplan.engine.forecast import forecast
from nightplan.engine.plan import plan
from nightplan.exports.page_pdf_one import one_page_pdf
from nightplan.exports.page_pdf_sheet import Column, Pages, inches, paper, wrapped
from nightplan.files.store import save
from nightplan.model.errors import BadInput
from nightplan.model.parse import project_from_raw
from nightplan.model.project import Project

SAMPLES = Path(__file__).parents[2] / "sample_projects"
FEW = ("--futures", "300")
HEADS = {".png": b"\x89PNG", ".svg": b"<?xml", ".pdf": b"%PDF-1.4", ".html": b"<!DOCTYPE html>", ".ics": b"BEGIN:VCAL"}


def call(*argv: str | Path) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    code = main([str(a) for a in argv], out, err, Context(out, lambda: dt.date(2027, 10, 10)))
    return code, out.getvalue(), err.getvalue()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "moth.nightplan"
    raw = json.loads((SAMPLES / "moth-and-lantern.nightplan").read_text(encoding="utf-8"))
    Image.new("RGB", (640, 360), "#446688").save(tmp_path / "frame.png")
    raw["log"][0]["captures"] = [{"path": "frame.png", "note": "first wings"}, "gone.png"]
    raw["assets"] = [{"id": "bark", "title": "Oak bark", "author": "Ada Fern", "licence": "CC-BY-4.0"}]
    save(project_from_raw(raw), path)
    return path


@pytest.mark.parametrize(("ending", "what"), [(e, w) for e, ws in PARTS.items() for w in ws])
def test_every_part_is_written_and_said_as_json(file: Path, ending: str, what: str) -> None:
    to = file.parent / f"out{ending}"
    code, out, err = call("export", file, "--to", to, "--what", what, "--json", *FEW)
    assert (code, err) == (0, "")
    said = json.loads(out)
    assert said == {"to": str(to), "what": what, "bytes": to.stat().st_size, "as_of": "2027-10-10"}
    assert to.read_bytes().startswith(HEADS.get(ending, b""))
    assert to.stat().st_size > 100
    first = to.read_bytes()
    assert call("export", file, "--to", to, "--what", what, *FEW)[0] == 0
    assert to.read_bytes() == first


def test_only_a_calendar_changes_the_project_and_only_when_there_is_news(file: Path) -> None:
    before = file.read_bytes()
    assert call("export", file, "--to", file.parent / "a.csv", *FEW)[0] == 0
    assert file.read_bytes() == before
    ics = file.parent / "a.ics"
    assert call("export", file, "--to", ics)[0] == 0
    remembered = json.loads(file.read_bytes())
    events = icalendar.Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    assert len(remembered.pop("calendar_told")["entries"]) == len(events)
    assert remembered == json.loads(before)
    told = file.read_bytes()
    assert call("export", file, "--to", ics)[0] == 0
    assert file.read_bytes() == told


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (("--to", "a.doc"), "to = 'a.doc': the file's ending is one of .ics .csv"),
        (("--to", "a.csv", "--what", "strip"), "what = 'strip': a file that ends in .csv holds plan or log or futures"),
        (("--to", "a.pdf", "--paper", "a3"), "--paper = 'a3': a4 or letter is accepted"),
        (("--to", "a.png", "--look", "neon", *FEW), "look = 'neon': one of light, night, print is accepted"),
        (("--to", "no-such/a.csv"), "cannot be written"),
        (("--to", "a.md", "--minutes", "-3"), "'-3' is no length of up to 600 minutes"),
        ((), "the following arguments are required: --to"),
    ],
)
def test_what_cannot_be_done_is_one_sentence_and_code_2(
    file: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...], sentence: str
) -> None:
    monkeypatch.chdir(file.parent)
    before = file.read_bytes(), sorted(p.name for p in file.parent.iterdir())
    code, out, err = call("export", file, *args)
    assert (code, out) == (2, "")
    assert err.startswith("nightplan: ")
    assert sentence in err
    assert err.count("\n") == 1
    assert (file.read_bytes(), sorted(p.name for p in file.parent.iterdir())) == before


@pytest.mark.parametrize("what", PARTS[".html"])
def test_the_page_of_html_is_valid(file: Path, what: str) -> None:
    # source: the HTML parsing rules, by html5lib in strict mode
    to = file.parent / "a.html"
    assert call("export", file, "--to", to, "--what", what, *FEW)[0] == 0
    html5lib.HTMLParser(strict=True).parse(to.read_text(encoding="utf-8"))


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler's pdftoppm renders the pages")
@pytest.mark.parametrize("what", ["report", "one-page", "wall-sheet"])
@pytest.mark.parametrize(("size", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_papers_have_their_size_and_no_colour(file: Path, what: str, size: str, points: tuple[int, int]) -> None:
    # source: poppler as a renderer that is not ours; ISO 216 and ANSI/ASME Y14.1 sizes in points
    to = file.parent / "a.pdf"
    assert call("export", file, "--to", to, "--what", what, "--paper", size, *FEW)[0] == 0
    subprocess.run(["pdftoppm", "-r", "72", "-png", to, file.parent / "page"], check=True)
    pages = sorted(file.parent.glob("page-*.png"))
    assert len(pages) == len(re.findall(rb"/Type /Page\b", to.read_bytes()))
    for page in pages:
        with Image.open(page) as picture:
            rgb = picture.convert("RGB")
            assert all(abs(a - b) <= 1 for a, b in zip(rgb.size, points, strict=True))
            red, green, blue = (channel.tobytes() for channel in rgb.split())
            assert red == green == blue
            # something is on it, and the margin is free of ink
            assert min(red) < 60
            edge = int(0.3 * 72)
            assert min(rgb.convert("L").crop((0, 0, edge, rgb.height)).tobytes()) > 250


def crowded(title: str, gates: int, days: int) -> Project:
    """Long names, many gates, an evening on every day of half a year."""
    raw = json.loads((SAMPLES / "moth-and-lantern.nightplan").read_text(encoding="utf-8"))
    raw.update(title=title, piece=title, log=[], baselines=[], forecasts=[], extra=[], off=[])
    end = dt.date.fromisoformat(raw["announced"]) + dt.timedelta(days=days)
    raw["gates"][-1].update(at=f"{end}T23:59")
    for n in range(gates):
        day = str(dt.date.fromisoformat(raw["announced"]) + dt.timedelta(days=20 + n))
        raw["gates"].insert(0, {"id": f"g{n}", "name": f"{title} {n}", "on": day, "wording": title})
    names = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    raw["week"] = [{"day": d, "start": "20:30", "hours": 2.5, "chance": 0.6} for d in names]
    for stage in raw["stages"]:
        stage["name"] = f"{title} {stage['name']}"[:200]
        for item in stage["items"]:
            item.update(name=f"{title} {item['name']}"[:200], state="open")
    for job in raw["jobs"]:
        job["name"] = title
    return project_from_raw(raw)


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize(("title", "gates", "days"), [("A name that is rather long " * 7, 12, 180), ("Short", 0, 180)])
def test_the_short_report_is_one_page_whatever_the_project_holds(title: str, gates: int, days: int, size: str) -> None:
    project = crowded(title.strip(), gates, days)
    day = project.announced
    data = one_page_pdf(project, forecast(project, day, futures=200), plan(project, day), size=size)
    assert len(re.findall(rb"/Type /Page\b", data)) == 1


def test_a_paragraph_wraps_within_its_width() -> None:
    text = "A word and anotherverylongwordthatdoesnotfitatall " * 4
    lines = wrapped(text, 1.2, 9)
    assert all(inches(line, 9) <= 1.2 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert wrapped(text, 1.2, 9, most=2)[-1].endswith("…")
    assert wrapped("", 1.2, 9) == [""]


def test_letters_that_the_font_lacks_and_dollars_are_written_without_a_word() -> None:
    # pytest makes an error of any warning
    pages = Pages(paper("letter"), title="灯 $x_1$", foot="ქართული")
    pages.text("灯と蛾 $\\frac{1}{2}$ देवनागरी " * 20)
    assert pages.pdf().startswith(b"%PDF")


def test_a_long_table_goes_on_with_its_heads() -> None:
    pages = Pages(paper("a4"))
    pages.table((Column("Evening", 1), Column("Hours", 1, True)), [(f"row {n}", str(n)) for n in range(120)])
    assert len(pages.figures) > 1
    texts = [[t.get_text() for t in figure.texts] for figure in pages.figures]
    assert all(page.count("Evening") == 1 for page in texts)
    assert [t for page in texts for t in page if t.startswith("row")] == [f"row {n}" for n in range(120)]
    with pytest.raises(BadInput, match="a4 or letter"):
        paper("a3")
