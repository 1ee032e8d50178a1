# SPDX-License-Identifier: GPL-3.0-or-later
"""Texts for people that no translator would see: ``python tests/speech/find_words.py [FILE or FOLDER ...]``.

A text is one that has words with a space between them, or anything with a letter that is handed to something that
shows it. It is fine within ``tr``, ``trn``, ``trc`` or ``mark``, as a docstring, as a pattern, or on a line (of its
statement) that ends in ``# untranslated: why``.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

SOURCE = Path(__file__).resolve().parents[2] / "src" / "nightplan"
SPOKEN = {"tr", "trn", "trc", "mark"}
#: calls whose first texts are shown to people as they are
SHOWN = {
    "QLabel", "QPushButton", "QCheckBox", "QRadioButton", "QToolButton", "QAction", "QGroupBox", "PlainLabel",
    "setText", "setToolTip", "setStatusTip", "setWhatsThis", "setAccessibleName", "setAccessibleDescription",
    "setWindowTitle", "setTitle", "setPlaceholderText", "setFormat", "setSuffix", "setPrefix", "setSpecialValueText",
    "addItem", "addMenu", "addAction", "addTab", "setHorizontalHeaderLabels", "setVerticalHeaderLabels", "showMessage",
    "say", "setInformativeText", "setDetailedText", "setLabelText", "addRow",
    "set_xlabel", "set_ylabel", "set_title", "annotate",
}  # fmt: skip
#: calls whose texts are for programs
PATTERNS = {"compile", "match", "fullmatch", "search", "sub", "findall", "finditer", "split", "strftime", "execute",
            "executemany", "executescript", "setProperty", "setObjectName", "property", "encode", "decode", "getenv",
            "TypeVar", "NewType", "setStyleSheet", "ImportError", "RuntimeError", "TypeError", "AssertionError",
            "NotImplementedError", "Literal"}  # fmt: skip
_WORDS = re.compile(r"[^\W\d_]{2,}[,;:.!?)\"”’]* +\(?[^\W\d_]{1,}")
_LETTER = re.compile(r"[^\W\d_]{2,}")
_MARKUP = re.compile(r"^\s*(<[a-z!/?]|SELECT |INSERT |DELETE |UPDATE |CREATE |PRAGMA |DROP |BEGIN|rect\()")
_FINE = re.compile(r"#\s*untranslated: \S")


def name_of(call: ast.Call) -> str:
    f = call.func
    return f.attr if isinstance(f, ast.Attribute) else f.id if isinstance(f, ast.Name) else ""


def text_of(node: ast.expr) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(v.value if isinstance(v, ast.Constant) else "{}" for v in node.values)
    return None


class Finder(ast.NodeVisitor):
    def __init__(self, source: str) -> None:
        self.lines = source.splitlines()
        self.found: list[tuple[int, str]] = []
        self.statement: ast.stmt | None = None

    def visit(self, node: ast.AST) -> None:
        before = self.statement
        if isinstance(node, ast.stmt):
            self.statement = node
        super().visit(node)
        self.statement = before

    def fine(self, node: ast.expr) -> bool:
        lines = {node.lineno, node.end_lineno or node.lineno}
        if self.statement is not None and not isinstance(
            self.statement, ast.FunctionDef | ast.ClassDef | ast.If | ast.For | ast.While | ast.With | ast.Try
        ):
            lines |= {self.statement.lineno, self.statement.end_lineno or self.statement.lineno}
        return any(_FINE.search(self.lines[n - 1]) for n in lines)

    def take(self, node: ast.expr, shown: bool) -> None:
        text = text_of(node)
        if text is None or _MARKUP.match(text):
            return
        if (_WORDS.search(text) or (shown and _LETTER.search(text))) and not self.fine(node):
            self.found.append((node.lineno, text))

    def visit_Expr(self, node: ast.Expr) -> None:
        # a docstring, or a text that goes nowhere
        if not isinstance(node.value, ast.Constant):
            self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        name = name_of(node)
        if name in SPOKEN or name in PATTERNS:
            for part in (*node.args, *(k.value for k in node.keywords)):
                if text_of(part) is None or (name in SPOKEN and isinstance(part, ast.JoinedStr)):
                    self.visit(part)
            return
        for n, part in enumerate(node.args):
            # what follows a label's text is its role
            if name in SHOWN and text_of(part) is not None and not (n and name == "PlainLabel"):
                self.take(part, True)
            else:
                self.visit(part)
        for keyword in node.keywords:
            self.visit(keyword.value)
        self.visit(node.func)

    def visit_Subscript(self, node: ast.Subscript) -> None:
        # a key, or a type
        self.visit(node.value)
        if text_of(node.slice) is None:
            self.visit(node.slice)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_Assert(self, node: ast.Assert) -> None:
        """What an assertion says is for us."""

    def visit_Constant(self, node: ast.Constant) -> None:
        self.take(node, False)

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        self.take(node, False)
        for part in node.values:
            if isinstance(part, ast.FormattedValue):
                self.visit(part.value)
                for call in ast.walk(part.value):
                    # what collects the texts does not look in there
                    if isinstance(call, ast.Call) and name_of(call) in SPOKEN:
                        self.found.append((call.lineno, ast.unparse(call)))

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for part in (*node.args.defaults, *(d for d in node.args.kw_defaults if d), *node.body, *node.decorator_list):
            self.visit(part)


def untranslated(source: str) -> list[tuple[int, str]]:
    """Line and text of each."""
    finder = Finder(source)
    finder.visit(ast.parse(source))
    return sorted(set(finder.found))


def files(paths: list[Path]) -> Iterator[Path]:
    for path in paths:
        yield from sorted(path.rglob("*.py")) if path.is_dir() else (path,)


if __name__ == "__main__":
    count = 0
    for path in files([Path(p) for p in sys.argv[1:]] or [SOURCE]):
        for line, text in untranslated(path.read_text("utf-8")):
            print(f"{path}:{line}: {text!r}")
            count += 1
    print(f"{count} texts", file=sys.stderr)
    sys.exit(int(bool(count)))
