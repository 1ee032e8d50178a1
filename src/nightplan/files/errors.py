# SPDX-License-Identifier: GPL-3.0-or-later
"""What can go wrong between a project and the disk, in plain words."""

from __future__ import annotations

import errno
from pathlib import Path

from nightplan.model.errors import BadInput, NightplanError
from nightplan.speech import tr

_GONE = tr("the drive does not answer; is it still connected?")
#: by name: not every system knows all of them
_WORDS_BY_NAME = {
    "ENOSPC": tr("the disk is full"),
    "EDQUOT": tr("your quota on this disk is used up"),
    "EACCES": tr("you may not write there"),
    "EPERM": tr("you may not write there"),
    "EROFS": tr("the disk is read-only"),
    "ENOENT": tr("the folder is gone"),
    "ENOTDIR": tr("a part of the path is no folder"),
    "EISDIR": tr("it is a folder"),
    "EIO": tr("the disk reports a fault"),
    "ESTALE": _GONE,
    "ENXIO": _GONE,
    "ENODEV": _GONE,
    "ENOTCONN": _GONE,
    "EHOSTDOWN": _GONE,
    "EHOSTUNREACH": _GONE,
    "ETIMEDOUT": _GONE,
    "ENAMETOOLONG": tr("the name is too long"),
    "ELOOP": tr("its links lead in a circle"),
    "EFBIG": tr("the file would be too large for this disk"),
    "EBUSY": tr("another program holds it"),
    "ETXTBSY": tr("another program holds it"),
    "EMFILE": tr("too many files are open"),
    "ENFILE": tr("too many files are open"),
}
_WORDS = {getattr(errno, name): words for name, words in _WORDS_BY_NAME.items() if hasattr(errno, name)}


class FilesError(NightplanError):
    """A file could not be written; the one that was there is untouched."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


class NewerFile(BadInput):
    """A project file of a later format than this program writes; it can be looked at (:mod:`nightplan.files.newer`)."""

    def __init__(self, sentence: str, version: int) -> None:
        super().__init__(sentence)
        self.version = version


class ChangedMeanwhile(FilesError):
    """Another program wrote the file since it was read; nothing was written over its words."""


def os_words(error: OSError) -> str:
    """The reason of an OSError in plain words."""
    return _WORDS.get(error.errno or 0, error.strerror or str(error))


def changed_meanwhile(path: Path) -> ChangedMeanwhile:
    """The refusal to write over what another program wrote."""
    return ChangedMeanwhile(
        tr("{path} was not saved: another program changed it since it was read; the file is as it is", path=path)
    )


def cannot_save(path: Path, error: OSError) -> FilesError:
    """A failed save in plain words; the file is as it was."""
    return FilesError(
        tr(
            "{path} was not saved: {why}; the file is as it was, save to another place",
            path=path,
            why=os_words(error),
        )
    )
