# SPDX-License-Identifier: GPL-3.0-or-later
"""What is built and installed is whole: every file that the program reads at run time is in the sdist and the wheel."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

from nightplan import __version__

ROOT = Path(__file__).parents[2]
#: what benches, tests and editors leave in a checkout; none of it is the project's
LYING_ABOUT = (
    "benchmarks/hostile-failed/a.nightplan",
    "benchmarks/hostile-failed/notes.txt",
    "benchmarks/soak.log",
    "benchmarks/profile.out",
    "docs/guide/draft.odt",
    "packaging/nightplan.spec.bak",
    "sample_projects/moth-and-lantern.nightplan.lock",
    "src/nightplan.egg-info/SOURCES.txt",
    "src/nightplan/speech/catalogues/de/LC_MESSAGES/nightplan.po~",
    "tests/left.nightplan",
    "build/lib/nightplan/__init__.py",
    "notes.txt",
)
BIN = "Scripts" if os.name == "nt" else "bin"

pytest.importorskip("build", reason="the builder is not installed")
pytest.importorskip("hatchling", reason="the build backend is not installed")


@pytest.fixture(scope="module")
def checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the checkout, so that a file saved meanwhile does not disturb; what lies about comes with it."""
    folder = tmp_path_factory.mktemp("copy") / "nightplan"
    shutil.copytree(ROOT, folder, ignore=shutil.ignore_patterns(".git", ".venv", "*_cache", "__pycache__", "dist"))
    for name in LYING_ABOUT:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text("left by a run", encoding="utf-8")
    return folder


def belonging() -> set[str]:
    """What the project's history knows; without a history, what building and testing name."""
    if not (ROOT / ".git").exists() or shutil.which("git") is None:
        return {f"src/nightplan/{name}" for name in files(ROOT / "src" / "nightplan")}
    told = run("git", "-C", ROOT, "ls-files", "-z")
    return {name for name in told.split("\0") if name and (ROOT / name).is_file()}


@pytest.fixture(scope="module")
def built(checkout: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The sdist, and the wheel that is built from it; nothing is fetched."""
    folder = tmp_path_factory.mktemp("built")
    run(sys.executable, "-m", "build", "--no-isolation", "--outdir", folder, checkout)
    return next(folder.glob("*.tar.gz")), next(folder.glob("*.whl"))


def run(*command: str | Path, cwd: Path | None = None) -> str:
    # names of people's own settings must not reach the installed program
    env = {k: v for k, v in os.environ.items() if k not in ("PYTHONPATH", "DISPLAY", "WAYLAND_DISPLAY")}
    done = subprocess.run([str(c) for c in command], cwd=cwd, env=env, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


def files(folder: Path) -> dict[str, bytes]:
    """Every file below that belongs to the project: path from there -> content."""
    found = {}
    for path in folder.rglob("*"):
        parts = path.relative_to(folder).parts
        ours = path.is_file() and not path.as_posix().endswith(LYING_ABOUT)
        if ours and not any(p == "__pycache__" or p.startswith(".") for p in parts):
            found["/".join(parts)] = path.read_bytes()
    return found


def in_wheel(wheel: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(wheel) as file:
        return {name: file.read(name) for name in file.namelist()}


def test_the_wheel_holds_the_package_and_its_data_byte_for_byte(built: tuple[Path, Path], checkout: Path) -> None:
    wheel = in_wheel(built[1])
    wanted = {f"nightplan/{name}": content for name, content in files(checkout / "src" / "nightplan").items()}
    for data in ("assets", "sample_projects"):
        inside = files(checkout / data)
        assert inside, data
        wanted |= {f"nightplan/_data/{data}/{name}": content for name, content in inside.items()}
    info = f"nightplan-{__version__}.dist-info"
    wanted[f"{info}/licenses/LICENSE"] = (checkout / "LICENSE").read_bytes()
    # what desktops, man and shells look for below the prefix
    share = f"nightplan-{__version__}.data/data/share"
    wanted |= {f"{share}/{name}": content for name, content in files(checkout / "assets" / "share").items()}
    assert {name for name in wanted if wheel.get(name) != wanted[name]} == set()
    # and nothing else but what a wheel says of itself
    told = {f"{info}/{name}" for name in ("METADATA", "RECORD", "WHEEL", "entry_points.txt")}
    assert set(wheel) - set(wanted) == told


def test_the_wheel_says_what_it_is(built: tuple[Path, Path], checkout: Path) -> None:
    told = in_wheel(built[1])[f"nightplan-{__version__}.dist-info/METADATA"].decode()
    head = told.split("\n\n")[0]
    project = tomllib.loads((checkout / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert f"Version: {__version__}" in head
    assert "License-Expression: GPL-3.0-or-later" in head
    assert "License-File: LICENSE" in head
    assert f"Requires-Python: {project['requires-python']}" in head
    assert head.count("Requires-Dist: ") >= len(project["dependencies"])


def test_the_sdist_holds_what_building_and_testing_need(built: tuple[Path, Path], checkout: Path) -> None:
    top = f"nightplan-{__version__}"
    with tarfile.open(built[0]) as file:
        inside = {m.name.removeprefix(f"{top}/"): m for m in file.getmembers() if m.isfile()}
        told = {name: file.extractfile(inside[name]).read() for name in ("LICENSE", "pyproject.toml")}  # type: ignore[union-attr]
    assert told == {name: (checkout / name).read_bytes() for name in told}
    assert belonging() - set(inside) == set()
    assert {"constraints.txt", "conftest.py", "README.md", "CHANGELOG.md", "DEVELOPERS.md"} <= set(inside)
    assert set(LYING_ABOUT) & set(inside) == set()
    assert not [name for name in inside if "__pycache__" in name or name.startswith((".venv", "build/", "dist/"))]


@pytest.fixture(scope="module")
def installed(built: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh virtual environment with the wheel in it, which borrows the libraries that are here already."""
    home = tmp_path_factory.mktemp("fresh") / "env"
    venv.create(home, with_pip=False)
    python = home / BIN / ("python.exe" if os.name == "nt" else "python")
    pip = [sys.executable, "-m", "pip", "--python", python, "--disable-pip-version-check"]
    run(*pip, "install", "-q", "--no-index", "--no-deps", built[1])
    # a plain path: an editable checkout in those libraries does not come along
    site = Path(run(python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))").strip())
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return home


def test_the_installed_program_needs_no_checkout(installed: Path, checkout: Path, tmp_path: Path) -> None:
    program = installed / BIN / ("nightplan.exe" if os.name == "nt" else "nightplan")
    assert run(program, "--version", cwd=tmp_path) == f"nightplan {__version__}\n"
    told = run(program, "sample", cwd=tmp_path)
    assert "in 100" in told
    made = files(tmp_path / "nightplan-samples")
    assert {k: v for k, v in made.items() if k.endswith(".nightplan")} == files(checkout / "sample_projects")
    assert made["report.html"].startswith(b"<!DOCTYPE html>")


def test_the_installed_package_reads_its_own_data(installed: Path, tmp_path: Path) -> None:
    python = installed / BIN / ("python.exe" if os.name == "nt" else "python")
    ask = (
        "import json, nightplan; from nightplan.files.data import data_folder;"
        "print(json.dumps([nightplan.__file__, str(data_folder('assets')), str(data_folder('sample_projects'))]))"
    )
    for place in json.loads(run(python, "-c", ask, cwd=tmp_path)):
        assert Path(place).is_relative_to(installed.resolve()), place
    assert (installed / "share" / "man" / "man1" / "nightplan.1").is_file()
