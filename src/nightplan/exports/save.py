# SPDX-License-Identifier: GPL-3.0-or-later
"""Figures to files, the same bytes for the same figure; SVG text that may stand within a page of HTML."""

from __future__ import annotations

import io
import os
import re
import tempfile
import threading
import warnings
from pathlib import Path
from typing import Any

from nightplan.model.errors import BadInput
from nightplan.speech import tr

FIGURE_ENDINGS = (".png", ".svg", ".pdf")

#: matplotlib's settings are global
DRAWING = threading.Lock()
_METADATA: dict[str, dict[str, Any]] = {
    "png": {"Software": None},
    "svg": {"Date": None, "Creator": None, "Format": None, "Type": None},
    "pdf": {"Creator": None, "Producer": None, "CreationDate": None},
}


def figure_bytes(figure: Any, kind: str, *, dpi: float = 150, salt: str = "nightplan") -> bytes:
    """A figure as ``png``, ``svg`` or ``pdf``; no date and no random ids within."""
    import matplotlib

    settings: dict[Any, Any] = {
        "svg.hashsalt": salt,
        "svg.fonttype": "path",
        "pdf.fonttype": 42,
        "hatch.linewidth": 0.7,
    }
    out = io.BytesIO()
    with DRAWING, matplotlib.rc_context(settings), warnings.catch_warnings():
        # a letter that the font lacks is drawn as a box; that is no reason to stop
        warnings.filterwarnings("ignore", message=r"Glyph .* missing from")  # untranslated: a pattern
        warnings.filterwarnings(
            "ignore", message=r"Matplotlib currently does not support .* natively"
        )  # untranslated: a pattern
        figure.savefig(out, format=kind, dpi=dpi, facecolor=figure.get_facecolor(), metadata=_METADATA[kind])
    return out.getvalue()


def save_figure(figure: Any, path: str | os.PathLike[str], *, dpi: float = 150) -> None:
    """Write a figure; the ending says as what.

    Raises:
        BadInput: the ending is not .png, .svg or .pdf, or the file cannot be written.
    """
    target = Path(path)
    kind = target.suffix.lower()
    if kind not in FIGURE_ENDINGS:
        raise BadInput.at("path", str(target), tr("a picture ends with .png, .svg or .pdf"))
    write_bytes(target, figure_bytes(figure, kind[1:], dpi=dpi))


def write_bytes(target: Path, data: bytes) -> None:
    """Write a file whole or not at all. Raises BadInput where it cannot be written."""
    scrap = None
    try:
        # realpath: a link stays a link
        target = Path(os.path.realpath(target))
        mode = target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask()
        handle, scrap = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}-", suffix=".part")
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.chmod(scrap, mode)
        os.replace(scrap, target)
    except OSError as error:
        if scrap is not None:
            Path(scrap).unlink(missing_ok=True)
        raise BadInput.at("path", str(target), tr("cannot be written ({fault})", fault=error.strerror)) from None


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def inline_svg(figure: Any, name: str, label: str) -> str:
    """A figure as an ``<svg>`` element for a page of HTML.

    Args:
        name: letters that make the ids of this figure unlike those of others on the page.
        label: what the figure shows, for those who do not see it.
    """
    from html import escape

    text = figure_bytes(figure, "svg", salt=name).decode("utf-8")
    text = text[text.index("<svg") :].strip()
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.S)
    # a style sheet within would rule over the whole page; the page has the same rule for its pictures
    text = re.sub(r"<style[^>]*>.*?</style>", "", text, flags=re.S)
    text = re.sub(r"<!--.*?-->\s*", "", text, flags=re.S)
    # "work 2027-10-12 animate" may not be an id: ids have no spaces
    text = re.sub(r'\bid="([^"]*)"', lambda m: f'id="{name}-{_plain_id(m[1])}"', text)
    text = re.sub(r'(xlink:href="#|url\(#)([^")]*)', lambda m: f"{m[1]}{name}-{_plain_id(m[2])}", text)
    head, rest = text.split(">", 1)
    head = re.sub(r'\s(width|height)="[^"]*"', "", head)
    return f'{head} role="img" aria-label="{escape(label)}">{rest}'  # untranslated: HTML


def _plain_id(text: str) -> str:
    return re.sub(r"[^A-Za-z0-9_.-]", "_", text)
