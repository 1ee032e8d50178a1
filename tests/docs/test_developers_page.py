# SPDX-License-Identifier: GPL-3.0-or-later
"""DEVELOPERS.md names what there is: modules and functions of the drawings, rooms, dependencies with their bounds."""

from __future__ import annotations

import importlib
import re
import tomllib
from functools import reduce

import pytest
from docs_pages import ROOT

TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ROOMS = tuple(p.name for p in sorted((ROOT / "src" / "nightplan").iterdir()) if (p / "__init__.py").is_file())


def part(head: str) -> str:
    """The text under a heading."""
    return TEXT.split(f"## {head}\n")[1].split("\n## ")[0]


def names() -> list[str]:
    """Dotted names of the code in the part on the flow of data."""
    found = re.findall(rf"\b(?:{'|'.join(ROOMS)})\.[A-Za-z_][A-Za-z_.]*[A-Za-z_]", part("How data flows"))
    return sorted(set(found))


def test_the_drawings_name_many_things() -> None:
    assert len(names()) > 25


@pytest.mark.parametrize("name", names())
def test_what_the_drawings_name_exists(name: str) -> None:
    if name.startswith("desk."):
        pytest.importorskip("PySide6.QtWidgets", exc_type=ImportError)
    parts = f"nightplan.{name}".split(".")
    for count in range(len(parts), 1, -1):
        try:
            module = importlib.import_module(".".join(parts[:count]))
        except ModuleNotFoundError:
            continue
        reduce(getattr, parts[count:], module)
        return
    raise AssertionError(f"{name}: no such module")


def test_every_room_is_named() -> None:
    told = set(re.findall(r"^\| `(\w+)` \|", part("Rooms"), re.M))
    assert told == set(ROOMS)


def test_files_to_read_first_exist() -> None:
    for room, files in re.findall(r"^\| `(\w+)` \|[^|]*\|([^|]*)\|", part("Rooms"), re.M):
        for file in re.findall(r"`(\w+\.py)`", files):
            assert (ROOT / "src" / "nightplan" / room / file).is_file(), f"{room}/{file}"


def test_every_dependency_has_its_reason_and_bound() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = [*project["dependencies"], *project["optional-dependencies"]["tables"]]
    table, tests = part("Dependencies").split("Tests only:")
    for line in wanted:
        name = re.match(r"[A-Za-z0-9-]+", line)
        assert name is not None
        row = next((r for r in table.splitlines() if r.startswith("|") and name[0] in r.split("|")[1]), None)
        if row is None:
            assert name[0] in tests, f"{name[0]} has no row"
            continue
        bound = re.search(r"<(\d[\d.]*)", line)
        if bound is not None and name[0] != "pandas":
            assert f"<{bound[1]}" in row, f"{name[0]}: {row}"
    for line in project["optional-dependencies"]["tests"]:
        name = re.match(r"[A-Za-z0-9-]+", line)
        assert name is not None
        assert name[0] in part("Dependencies"), name[0]
