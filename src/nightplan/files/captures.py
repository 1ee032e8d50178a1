# SPDX-License-Identifier: GPL-3.0-or-later
"""Captures beside the project file: small pictures of them, a sheet of many, two side by side.

Originals are opened for reading only and never moved. Thumbnails are made anew whenever they are
missing, so that the folder ``.captures`` may be thrown away at any time.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import os
import stat
from collections.abc import Callable, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from nightplan.files.errors import cannot_save
from nightplan.files.store import write_atomically
from nightplan.model.errors import BadInput, shorten
from nightplan.speech import tr

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PIL.Image import Image

THUMBNAILS = ".captures"
PASTED = "captures"
THUMBNAIL_SIDE = 320
#: a 16K picture has 132 million pixels
MAX_PIXELS = 200_000_000
MAX_BYTES = 1_000_000_000
ENDINGS = (".png", ".jpg", ".jpeg", ".webp", ".tif", ".tiff", ".bmp", ".gif")
_FORMATS = ("PNG", "JPEG", "WEBP", "TIFF", "BMP", "GIF")
_MAX_LISTED = 20_000
_LONGEST_PATH = 4_000


def placed(path: str, folder: Path) -> Path:
    """Where a capture of a project in ``folder`` lies.

    A relative path leads to a file below the folder, neither by ``..`` nor by a link out of it; an absolute one is
    the artist's word. On another machine, where a name alone makes this one sign in, nothing is opened.

    Raises:
        BadInput: it leads elsewhere, or is no path.
    """
    name = shorten(path)
    if not 0 < len(path) <= _LONGEST_PATH or any(ord(c) < 32 for c in path):
        raise BadInput(tr("{name}: is no path of a file", name=name))
    if path.startswith(("\\\\", "//")):
        raise BadInput(tr("{name}: lies on another machine; copy it beside the project", name=name))
    try:
        whole = folder / path
        if not os.path.isabs(path) and not whole.resolve().is_relative_to(folder.resolve()):
            raise BadInput(tr("{name}: leads out of the folder of the project", name=name))
    except (OSError, ValueError, RuntimeError):
        # a ring of links, a name too long
        raise BadInput(tr("{name}: is no path of a file", name=name)) from None
    return whole


def _check_ordinary(path: Path, name: str) -> os.stat_result:
    """Status of a file that can be read to its end: no pipe that never speaks, no device that never ends."""
    status = path.stat()
    if not stat.S_ISREG(status.st_mode):
        raise BadInput(tr("{name}: is no ordinary file", name=name))
    return status


@contextmanager
def _opened(path: Path | io.BytesIO, name: str) -> Iterator[Image]:
    """A picture as RGB, turned as its camera says. Raises BadInput."""
    import warnings

    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        if isinstance(path, Path) and _check_ordinary(path, name).st_size > MAX_BYTES:
            raise BadInput(
                tr("{name}: is larger than {n} GB, too large for a capture", name=name, n=MAX_BYTES // 10**9)
            )
        with warnings.catch_warnings():
            # our own limit is below
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(path, formats=_FORMATS) as picture:
                if picture.width * picture.height > MAX_PIXELS:
                    raise BadInput(
                        tr(
                            "{name}: has {width} × {height} pixels, too many for a capture",
                            name=name,
                            width=picture.width,
                            height=picture.height,
                        )
                    )
                picture.draft("RGB", (THUMBNAIL_SIDE * 2, THUMBNAIL_SIDE * 2)) if picture.format == "JPEG" else None
                picture.load()
                yield ImageOps.exif_transpose(picture).convert("RGB")
    except FileNotFoundError:
        raise BadInput(tr("{name}: there is no such file any more", name=name)) from None
    except (UnidentifiedImageError, Image.DecompressionBombError):
        raise BadInput(
            tr("{name}: is no picture that can be shown ({endings})", name=name, endings=", ".join(ENDINGS))
        ) from None
    except (OSError, ValueError, SyntaxError, OverflowError, MemoryError) as error:
        why = " ".join(str(error).split())[:80]
        raise BadInput(tr("{name}: cannot be read as a picture ({why})", name=name, why=why)) from None


def thumbnail(original: Path, folder: Path) -> Path:
    """A JPEG of at most 320 pixels a side in ``.captures`` below ``folder``, made where it is missing.

    Raises:
        BadInput: the original is gone or no picture.
        FilesError: the folder cannot be written.
    """
    try:
        status = _check_ordinary(original, original.name)
    except (OSError, ValueError):
        raise BadInput(tr("{name}: there is no such file any more", name=original.name)) from None
    key = f"{original.resolve()}\0{status.st_size}\0{status.st_mtime_ns}"
    target = folder / THUMBNAILS / f"{hashlib.sha256(key.encode('utf-8', 'surrogatepass')).hexdigest()[:24]}.jpg"
    if target.exists():
        return target
    with _opened(original, original.name) as picture:
        picture.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE))
        out = io.BytesIO()
        picture.save(out, "JPEG", quality=82)
    _write(target, out.getvalue())
    return target


def _write(target: Path, data: bytes) -> None:
    try:
        target.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise cannot_save(target, error) from None
    write_atomically(target, data)


def keep_pasted(data: bytes, folder: Path, date: dt.date) -> Path:
    """Write a pasted picture as PNG into ``captures`` below ``folder``; an older one is never overwritten.

    Raises:
        BadInput: the bytes are no picture.
        FilesError: the folder cannot be written.
    """
    with _opened(io.BytesIO(data), tr("the pasted picture")) as picture:
        out = io.BytesIO()
        picture.save(out, "PNG")
    for n in range(1, 1000):
        target = folder / PASTED / f"{date.isoformat()}-{n}.png"
        if not target.exists():
            _write(target, out.getvalue())
            return target
    raise BadInput(tr("{place}: there are 999 pasted pictures of {date} already", place=PASTED, date=date))


def pictures_since(folder: Path, since: float) -> tuple[Path, ...]:
    """Pictures right in a folder that were written after a moment (seconds since 1970), oldest first.

    Raises:
        BadInput: the folder cannot be looked through.
    """
    found = []
    try:
        with os.scandir(folder) as entries:
            for n, entry in enumerate(entries):
                if n >= _MAX_LISTED:
                    break
                if entry.name.startswith(".") or Path(entry.name).suffix.lower() not in ENDINGS:
                    continue
                if entry.is_file() and (written := entry.stat().st_mtime) > since:
                    found.append((written, Path(entry.path)))
    except OSError as error:
        raise BadInput(tr("{folder}: cannot be looked through ({why})", folder=folder, why=error.strerror)) from None
    return tuple(path for _, path in sorted(found))


def contact_sheet(
    rows: Sequence[tuple[Path | BadInput, str]],
    *,
    title: str = "",
    columns: int = 4,
    cell: int = 400,
    progress: Callable[[float], None] | None = None,
) -> bytes:
    """Many captures on one picture (PNG), each with its line below; one that is gone leaves a frame that says so.

    Args:
        rows: the file and its line, or why there is no file; at most 400.
        columns: pictures side by side, 1 to 12.
        cell: width of each, 80 to 1000 pixels.

    Raises:
        BadInput: nothing to show, or too much.
        Cancelled: by ``progress``.
    """
    from PIL import Image, ImageDraw

    if not rows:
        raise BadInput(tr("captures: there is none to show yet"))
    if not (1 <= columns <= 12 and 80 <= cell <= 1000 and len(rows) <= 400):
        raise BadInput(tr("captures: 1 to 12 columns of 80 to 1000 pixels and at most 400 captures fit on a sheet"))
    gap, text, head = 16, 30, 64 if title else 16
    tall = cell * 9 // 16
    lines = -(-len(rows) // columns)
    wide = gap + columns * (cell + gap)
    sheet = Image.new("RGB", (wide, head + lines * (tall + text + gap)), "#16182E")
    pen = ImageDraw.Draw(sheet)
    if title:
        pen.text((gap, 18), title, fill="#ECEBF5", font=_letters(26))
    for n, (path, line) in enumerate(rows):
        if progress is not None:
            progress(n / len(rows))
        x = gap + n % columns * (cell + gap)
        y = head + n // columns * (tall + text + gap)
        try:
            if isinstance(path, BadInput):
                raise path
            with _opened(path, path.name) as picture:
                picture.thumbnail((cell, tall))
                sheet.paste(picture, (x + (cell - picture.width) // 2, y + (tall - picture.height) // 2))
        except BadInput as error:
            pen.rectangle((x, y, x + cell - 1, y + tall - 1), outline="#ABADCF")
            pen.text((x + 8, y + 8), _fitting(pen, error.sentence, cell - 16, 15), fill="#ECEBF5", font=_letters(15))
        pen.text((x, y + tall + 6), _fitting(pen, line, cell, 16), fill="#ECEBF5", font=_letters(16))
    return _png(sheet)


def compared(before: Path, after: Path, *, how: Literal["beside", "difference"] = "beside", tall: int = 720) -> bytes:
    """Two captures as one picture (PNG): beside each other, or what differs between them (grey is the same).

    ``tall``: height in pixels.

    Raises:
        BadInput: one of them cannot be shown.
    """
    from PIL import Image, ImageChops

    with _opened(before, before.name) as one, _opened(after, after.name) as two:
        # before anything is made of them: a line of one pixel would be as wide as it is long
        if any(picture.width > 8 * picture.height for picture in (one, two)):
            raise BadInput(tr("captures: one of the two is more than eight times as wide as it is tall"))
        left = one.resize((max(1, round(one.width * tall / one.height)), tall))
        right = two.resize((max(1, round(two.width * tall / two.height)), tall))
        if how == "difference":
            right = two.resize(left.size)
            return _png(ImageChops.subtract(right, left, scale=2.0, offset=128))
        gap = 12
        sheet = Image.new("RGB", (left.width + gap + right.width, tall), "#16182E")
        sheet.paste(left, (0, 0))
        sheet.paste(right, (left.width + gap, 0))
        return _png(sheet)


def _png(picture: Image) -> bytes:
    out = io.BytesIO()
    picture.save(out, "PNG")
    return out.getvalue()


def _letters(size: int) -> Any:
    from PIL import ImageFont

    return ImageFont.load_default(size)


def _fitting(pen: Any, text: str, wide: int, size: int) -> str:
    line = " ".join(text.split())[:300]
    font = _letters(size)
    while line and pen.textlength(line, font=font) > wide:
        line = line[:-2].rstrip("…") + "…" if len(line) > 2 else ""
    return line
