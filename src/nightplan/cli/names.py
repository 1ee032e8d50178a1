# SPDX-License-Identifier: GPL-3.0-or-later
"""Items and machine jobs as people name them: by the id of the file, or by the name that the plan shows."""

from __future__ import annotations

from nightplan.model.errors import BadInput
from nightplan.model.project import Project
from nightplan.speech import tr
from nightplan.speech.words import listed


def id_of(project: Project, said: str) -> str:
    """The id that is meant; what is neither an id nor a name comes back as it was, to be refused where it is used.

    Raises:
        BadInput: several items or jobs have that name.
    """
    if said in project.items or said in project.jobs_by_id:
        return said
    wanted = " ".join(said.split()).casefold()
    named = {i.id: i.name for i in project.items.values()} | {j.id: j.name for j in project.jobs}
    found = [key for key, name in named.items() if " ".join(name.split()).casefold() == wanted]
    if len(found) > 1:
        raise BadInput(tr("{name} is the name of several: say {ids}", name=repr(said), ids=listed(found)))
    return found[0] if found else said


__all__ = ["id_of"]
