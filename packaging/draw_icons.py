# SPDX-License-Identifier: GPL-3.0-or-later
"""Draw the icon's sizes from its two SVG files: ``python packaging/draw_icons.py [--to FOLDER]``.

Below 48 px the small drawing is used, whose edges lie on pixels at 16 and 32. PNG for the desktops, ``.ico`` for
Windows, ``.icns`` for macOS; what is drawn lies in ``assets``, so that installing needs none of this.
"""

from __future__ import annotations

import argparse
import io
import os
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PIL import Image
from PySide6.QtCore import QBuffer, QIODevice, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtSvg import QSvgRenderer

ASSETS = Path(__file__).resolve().parents[1] / "assets"
APP_ID = "org.nightplan.Nightplan"
LARGE = Path("share/icons/hicolor/scalable/apps") / f"{APP_ID}.svg"
SMALL = Path("icons/nightplan-small.svg")
SIZES = (16, 22, 24, 32, 48, 64, 128, 256, 512)
ICO = (16, 24, 32, 48, 64, 128, 256)
ICNS = (16, 32, 64, 128, 256, 512)


def drawn(pixels: int) -> Image.Image:
    """The icon, ``pixels`` wide and high, RGBA."""
    renderer = QSvgRenderer(str(ASSETS / (SMALL if pixels < 48 else LARGE)))
    picture = QImage(pixels, pixels, QImage.Format.Format_ARGB32)
    picture.fill(Qt.GlobalColor.transparent)
    painter = QPainter(picture)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    picture.save(buffer, "PNG")
    return Image.open(io.BytesIO(bytes(buffer.data().data()))).convert("RGBA")


def draw_all(folder: Path) -> list[Path]:
    """Write every size below ``folder``, laid out like ``assets``; the files written."""
    pictures = {size: drawn(size) for size in sorted({*SIZES, *ICO, *ICNS})}
    written = []
    for size in SIZES:
        path = folder / f"share/icons/hicolor/{size}x{size}/apps/{APP_ID}.png"
        path.parent.mkdir(parents=True, exist_ok=True)
        pictures[size].save(path, optimize=True)
        written.append(path)
    (folder / "icons").mkdir(parents=True, exist_ok=True)
    for name, sizes in (("nightplan.ico", ICO), ("nightplan.icns", ICNS)):
        path = folder / "icons" / name
        first, *rest = (pictures[size] for size in reversed(sizes))
        first.save(path, sizes=[(s, s) for s in sizes], append_images=rest)
        written.append(path)
    return written


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.split(":")[0])
    parser.add_argument("--to", type=Path, default=ASSETS, metavar="FOLDER", help="where to; assets/ unless given")
    for path in draw_all(parser.parse_args().to):
        print(path)
