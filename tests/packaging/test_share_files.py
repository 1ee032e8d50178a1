# SPDX-License-Identifier: GPL-3.0-or-later
"""Menu entry, file type, AppStream metadata, manual page and icons.

They are held against each other, against the command line's own help, and by the validators of freedesktop.org, libxml2
and mandoc where those are installed.
"""

from __future__ import annotations

import configparser
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from nightplan import __version__
from nightplan.cli import completion
from nightplan.files.store import SUFFIX

ROOT = Path(__file__).parents[2]
ASSETS = ROOT / "assets"
SHARE = ASSETS / "share"
APP_ID = "org.nightplan.Nightplan"
ENTRY = SHARE / "applications" / f"{APP_ID}.desktop"
MIME = SHARE / "mime" / "packages" / f"{APP_ID}.xml"
METAINFO = SHARE / "metainfo" / f"{APP_ID}.metainfo.xml"
MANUAL = SHARE / "man" / "man1" / "nightplan.1"
ICONS = SHARE / "icons" / "hicolor"
SIZES = (16, 22, 24, 32, 48, 64, 128, 256, 512)
MIME_NS = "{http://www.freedesktop.org/standards/shared-mime-info}"


def checked(*command: str | Path) -> str:
    """What a validator says; skips where it is missing, fails where it refuses."""
    if shutil.which(str(command[0])) is None:
        pytest.skip(f"{command[0]} is not installed")
    env = {**os.environ, "LC_ALL": "C.UTF-8", "MANROFFSEQ": "", "MANWIDTH": "80"}
    done = subprocess.run([str(c) for c in command], capture_output=True, text=True, timeout=120, env=env)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr


def entry() -> configparser.SectionProxy:
    parser = configparser.ConfigParser(interpolation=None, delimiters=("=",), comment_prefixes=("#",))
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read(ENTRY, encoding="utf-8")
    return parser["Desktop Entry"]


# --- the validators ---


def test_the_menu_entry_is_valid() -> None:
    assert checked("desktop-file-validate", ENTRY) == ""


def test_the_metadata_is_valid() -> None:
    told = checked("appstreamcli", "validate", "--no-net", METAINFO)
    assert not re.search(r"^[EW]: ", told, re.MULTILINE), told


def test_the_xml_is_well_formed() -> None:
    drawings = [*ICONS.rglob("*.svg"), *(ASSETS / "icons").glob("*.svg")]
    assert len(drawings) == 2
    assert checked("xmllint", "--noout", MIME, METAINFO, *drawings) == ""


def test_the_manual_page_has_no_fault_for_mandoc() -> None:
    assert checked("mandoc", "-Tlint", "-Wstyle", MANUAL) == ""


def test_the_manual_page_has_no_warning_for_man() -> None:
    if shutil.which("groff") is None and shutil.which("nroff") is None:
        pytest.skip("groff is not installed")
    # the formatted page itself goes away with -Z: what is left are the warnings
    command = ["man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", str(MANUAL)]
    if shutil.which("man") is None:
        pytest.skip("man is not installed")
    env = {**os.environ, "LC_ALL": "C.UTF-8", "MANROFFSEQ": "", "MANWIDTH": "80"}
    done = subprocess.run(command, capture_output=True, timeout=120, env=env)
    assert (done.returncode, done.stderr) == (0, b"")


# --- they agree ---


def test_one_name_for_the_program_everywhere() -> None:
    said = entry()
    metainfo = ElementTree.parse(METAINFO).getroot()
    assert said["Icon"] == metainfo.findtext("id") == metainfo.findtext("icon") == APP_ID
    assert metainfo.findtext("launchable") == ENTRY.name
    assert (ICONS / "scalable" / "apps" / f"{APP_ID}.svg").is_file()
    services = (ROOT / "src" / "nightplan" / "desk" / "services.py").read_text(encoding="utf-8")
    assert f'APP_ID = "{APP_ID}"' in services


def test_one_file_type_everywhere() -> None:
    kind = ElementTree.parse(MIME).getroot().find(f"{MIME_NS}mime-type")
    assert kind is not None
    name = kind.get("type")
    globs = [glob.get("pattern") for glob in kind.findall(f"{MIME_NS}glob")]
    assert globs == [f"*{SUFFIX}"]
    assert entry()["MimeType"] == f"{name};"
    assert ElementTree.parse(METAINFO).getroot().findtext("provides/mediatype") == name


def test_the_metadata_tells_of_this_version() -> None:
    releases = ElementTree.parse(METAINFO).getroot().findall("releases/release")
    assert releases[0].get("version") == __version__


def test_the_entry_speaks_every_language_that_it_begins() -> None:
    languages = {key[key.index("[") :] for key in entry() if "[" in key}
    assert languages == {"[de]", "[es]", "[ja]"}
    assert all(f"{key}{lang}" in entry() for key in ("GenericName", "Comment") for lang in languages)


# --- written from the program's help ---


def test_manual_and_completions_are_those_of_todays_help(tmp_path: Path) -> None:
    subprocess.run(
        [sys.executable, str(ROOT / "packaging" / "write_share.py"), "--to", str(tmp_path)],
        check=True,
        capture_output=True,
        timeout=120,
    )
    written = {p.relative_to(tmp_path): p.read_text(encoding="utf-8") for p in tmp_path.rglob("*") if p.is_file()}
    assert len(written) == 4
    stale = [str(name) for name, text in written.items() if (SHARE / name).read_text(encoding="utf-8") != text]
    assert stale == [], "run: python packaging/write_share.py"


def test_the_manual_page_names_every_verb_and_option() -> None:
    shown = MANUAL.read_text(encoding="utf-8").replace("\\-", "-")
    for verb in completion.verbs():
        assert f".SS {verb.name}\n" in shown
        part = shown.split(f".SS {verb.name}\n")[1].split("\n.S")[0]
        for option in verb.options:
            if not {"--json", "--help"} & set(option.names):
                assert all(f"\\fB{name}\\fR" in part for name in option.names), (verb.name, option.names)


# --- icons ---


def test_every_size_is_there_and_is_what_its_name_says() -> None:
    from PIL import Image

    for pixels in SIZES:
        with Image.open(ICONS / f"{pixels}x{pixels}" / "apps" / f"{APP_ID}.png") as picture:
            assert (picture.size, picture.mode) == ((pixels, pixels), "RGBA")
            assert picture.getpixel((0, 0))[3] < 128  # round corners
    with Image.open(ASSETS / "icons" / "nightplan.ico") as picture:
        assert {16, 32, 48, 256} <= {w for w, _ in picture.info["sizes"]}
    with Image.open(ASSETS / "icons" / "nightplan.icns") as picture:
        assert max(w for w, *_ in picture.info["sizes"]) >= 256


def test_the_sizes_are_drawings_of_the_svg(tmp_path: Path) -> None:
    pytest.importorskip("PySide6.QtSvg")
    import numpy as np
    from PIL import Image

    subprocess.run(
        [sys.executable, str(ROOT / "packaging" / "draw_icons.py"), "--to", str(tmp_path)],
        check=True,
        capture_output=True,
        timeout=120,
    )
    for pixels in SIZES:
        name = f"share/icons/hicolor/{pixels}x{pixels}/apps/{APP_ID}.png"
        old, new = (np.asarray(Image.open(folder / name), dtype=float) for folder in (ASSETS, tmp_path))
        # versions of Qt smooth edges a little differently
        assert np.abs(old - new).mean() < 1.0, f"run: python packaging/draw_icons.py ({pixels} px)"


def test_the_icon_stands_out_from_light_and_dark_grounds() -> None:
    """Its edge or its ground has 3:1 against white, grey and black panels (WCAG 2.2, 1.4.11)."""
    from PIL import Image

    def luminance(rgb: tuple[float, ...]) -> float:
        parts = [c / 255 for c in rgb[:3]]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    def contrast(a: tuple[float, ...], b: tuple[float, ...]) -> float:
        low, high = sorted((luminance(a), luminance(b)))
        return (high + 0.05) / (low + 0.05)

    with Image.open(ICONS / "32x32" / "apps" / f"{APP_ID}.png") as picture:
        edge, inside = picture.getpixel((16, 1)), picture.getpixel((16, 4))
        moon, bar = picture.getpixel((20, 10)), picture.getpixel((7, 20))
    for ground in ((255, 255, 255), (243, 243, 245), (48, 48, 52), (32, 34, 38), (0, 0, 0)):
        assert max(contrast(edge, ground), contrast(inside, ground)) >= 3, ground
    assert contrast(moon, inside) >= 3
    assert contrast(bar, inside) >= 3
