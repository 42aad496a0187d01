"""The looks at one comparison as the answer states them, field by field."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from evenglide.answer.results import Looks, OneLook
from evenglide.maths.distributions import t_upper
from evenglide.maths.stopping import NEVER

if TYPE_CHECKING:  # a judged table has no looks, and needs nothing of what makes them
    from evenglide.analysis.looks import Codes, JudgedLooks, Look


def stated_looks(judged: JudgedLooks, key: Codes) -> Looks:
    """State the looks at one comparison, field by field."""
    name = judged.launches.surface.labels[key[0]]
    planned = judged.plan.surfaces[name]
    settled = judged.settled[key]
    return Looks(
        planned=planned.fractions,
        preparations=planned.preparations[-1],
        reached=len(judged.looks),
        stopped_at=None if settled == NEVER else settled + 1,
        ended_early=judged.early,
        at=tuple(
            _one_look(look, key, level=judged.level, planned=place < len(judged.looks) or not judged.early)
            for place, look in enumerate(judged.looks, start=1)
        ),
    )


def _one_look(look: Look, key: Codes, *, level: float, planned: bool) -> OneLook:
    found, bounds = look.estimates[key], look.bounds[key]
    p = [None if np.isnan(one) else float(one) for one in look.p[key]]
    tails = (bounds.difference_tail(level), bounds.alike_tail(level), bounds.alike_tail(level / 2))
    df = found.df or 0.0
    limits = [float(t_upper(tail, df)) if df > 0 else None for tail in tails]
    return OneLook(
        preparations=look.preparations[key[0]],
        share=look.shares[key[0]],
        planned=planned,
        estimate=found.estimate,
        se=found.se,
        df=found.df,
        bound_difference=limits[0],
        bound_alike=None if p[1] is None else limits[1],
        bound_matters=None if p[2] is None else limits[2],
        p_difference=p[0],
        p_alike=p[1],
        p_matters=p[2],
    )
