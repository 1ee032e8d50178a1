# SPDX-License-Identifier: GPL-3.0-or-later
"""When the ways back are offered, and the reason that a re-plan is recorded with unless the artist types another."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from nightplan.actions.recover import replans
from nightplan.engine.watch import Offer, offers
from nightplan.model.errors import BadInput
from nightplan.model.project import Project


def worth_saying(project: Project, as_of: dt.date, odds: Mapping[str, float]) -> tuple[Offer, ...]:
    """Reasons to offer the ways back wherever the artist works; empty where the project has no plan.

    Nobody is told twice: once the artist has re-planned, only odds below the asked ones or an evening
    ticked off since bring the offer back.
    """
    try:
        found = offers(project, as_of, odds)
    except BadInput:
        return ()
    if any(o.kind == "odds" for o in found):
        return found
    taken = max((r.date for r in replans(project)), default=None)
    last = max((e.evening for e in project.log if e.evening <= as_of), default=None)
    settled = taken is not None and (last is None or taken >= last)
    return () if settled else found


def why(project: Project, found: Sequence[Offer]) -> str:
    """What happened since the last re-plan, in one line; odds only where nothing else did."""
    told = [r.reason for r in replans(project)]
    news = [o.reason for o in found if o.kind != "odds" and not any(o.reason in reason for reason in told)]
    return "; ".join(news or [o.reason for o in found if o.kind == "odds"] or [o.reason for o in found])
