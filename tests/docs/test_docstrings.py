# SPDX-License-Identifier: GPL-3.0-or-later
"""What the core offers says what it is: public modules, classes, functions, properties. Common practice, no source."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from docs_pages import ROOT

SOURCE = ROOT / "src" / "nightplan"
ROOMS = ("speech", "model", "evenings", "engine", "exports", "files", "actions", "brief")


def without(module: Path) -> Iterator[str]:
    """Names of the public things of a module that have no docstring."""
    tree = ast.parse(module.read_text(encoding="utf-8"))
    if not ast.get_docstring(tree):
        yield "the module"
    # what stands within a function is nobody else's
    left: list[tuple[str, ast.stmt]] = [("", node) for node in tree.body]
    while left:
        inside, node = left.pop()
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef) or node.name.startswith("_"):
            continue
        name = f"{inside}{node.name}"
        if not ast.get_docstring(node):
            yield name
        if isinstance(node, ast.ClassDef):
            left += [(f"{name}.", inner) for inner in node.body]


@pytest.mark.parametrize("room", ROOMS)
def test_everything_public_has_a_docstring(room: str) -> None:
    modules = sorted((SOURCE / room).glob("*.py"))
    assert modules
    assert {m.name: names for m in modules if (names := list(without(m)))} == {}
