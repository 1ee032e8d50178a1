# SPDX-License-Identifier: GPL-3.0-or-later
"""What can go wrong between a project and the disk, in plain words."""

from __future__ import annotations

import errno
from pathlib import Path

from nightplan.model.errors import NightplanError

_WORDS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your quota on this disk is used up",
    errno.EACCES: "you may not write there",
    errno.EPERM: "you may not write there",
    errno.EROFS: "the disk is read-only",
    errno.ENOENT: "the folder is gone",
    errno.ENOTDIR: "a part of the path is no folder",
    errno.EIO: "the disk reports a fault",
    errno.ENAMETOOLONG: "the name is too long",
    errno.EISDIR: "it is a folder",
}


class FilesError(NightplanError):
    """A file could not be written; the one that was there is untouched."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def os_words(error: OSError) -> str:
    """The reason of an OSError in plain words."""
    return _WORDS.get(error.errno or 0, error.strerror or str(error))


def cannot_save(path: Path, error: OSError) -> FilesError:
    return FilesError(f"{path} was not saved: {os_words(error)}; the file is as it was, save to another place")
