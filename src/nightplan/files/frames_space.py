# SPDX-License-Identifier: GPL-3.0-or-later
"""Room on the disk for frames that are still to come."""

from __future__ import annotations

import shutil
from pathlib import Path

from nightplan.files.errors import os_words
from nightplan.model.errors import BadInput
from nightplan.speech import tr


def free_bytes(where: str | Path) -> int:
    """Bytes that are free on the disk of a folder, or of its nearest parent that is there.

    Raises:
        BadInput: not even the drive is there.
    """
    path = Path(where)
    if "#" in path.name:
        path = path.parent
    for place in (path, *path.parents):
        try:
            return shutil.disk_usage(place).free
        except FileNotFoundError:
            continue
        except OSError as error:
            raise BadInput(
                tr("{place}: its free space cannot be read, {why}", place=place, why=os_words(error))
            ) from None
    raise BadInput(tr("{place}: there is no such drive", place=path))
