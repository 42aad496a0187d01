r"""How much each rehearsed study scatters: drawn anew from what is believed, as the planner averages over it.

Of the scatter between preparations an estimate :math:`s` worth :math:`\nu` degrees of freedom is believed, so
each study gets :math:`\tau = s \sqrt{\nu / \chi^2_\nu}`; each gets one of the believed shares of it that a
preparation carries to every surface, every share equally often.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import special

from evenglide.answer.rehearsed import SupposedScatter
from evenglide.plan.beliefs import ScatterBelief
from evenglide.study.study import Study
from evenglide.typing import FloatArray

TAIL = 0.1
"""Left out at either end of the range that is told: four of five lie inside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatters:
    """Scatter of each study, analysis scale.

    Parameters
    ----------
    preparations : array of float, shape (studies,)
        Standard deviation between preparations.
    together : array of float, shape (studies,)
        Share of its square that one preparation carries to every surface. [1]
    """

    preparations: FloatArray
    together: FloatArray


def draw_scatters(belief: ScatterBelief, source: np.random.Generator, *, studies: int) -> Scatters:
    """Draw the scatter of studies.

    Parameters
    ----------
    belief : ScatterBelief
    source : numpy.random.Generator
    studies : int

    Returns
    -------
    Scatters
    """
    size = np.full(studies, belief.preparations)
    if belief.df is not None:
        size *= np.sqrt(belief.df / source.chisquare(belief.df, studies))
    shares = np.array(belief.shared_part)
    return Scatters(preparations=size, together=shares[source.integers(len(shares), size=studies)])


def supposed_scatter(belief: ScatterBelief, study: Study, *, source: str) -> SupposedScatter:
    """Tell what is believed of the scatter.

    Parameters
    ----------
    belief : ScatterBelief
    study : Study
    source : str
        Where it comes from.

    Returns
    -------
    SupposedScatter
    """
    low = high = None
    if belief.df is not None:
        low, high = (
            belief.preparations * float(np.sqrt(belief.df / special.chdtri(belief.df, tail)))
            for tail in (TAIL, 1.0 - TAIL)
        )
    shared = study.design.preparations == "shared over surfaces" and len(study.surfaces) > 1
    return SupposedScatter(
        source=source,
        preparations=belief.preparations,
        launches=belief.launches,
        low=low,
        high=high,
        together=belief.shared_part if shared else (),
        voids=belief.voids,
    )
