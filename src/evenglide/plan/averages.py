"""From arrays of chances to the record of a layout, with what its tests rest on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import exp, lgamma, sqrt

import numpy as np

from evenglide.maths.distributions import t_upper
from evenglide.maths.uncertain_scale import variance_factors
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.comparisons import Comparison, Lot
from evenglide.plan.designs import LayoutDesign
from evenglide.plan.layout_chances import Chances, ContrastChances, SharingCase
from evenglide.typing import FloatArray

WIDTH_NODES = 32
FAR_OUT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Averages:
    """Chances of one layout, averaged over the scatter.

    Parameters
    ----------
    difference, alike, matters : array of float, shape (comparisons, effects)
    conclusive : array of float, shape (comparisons, effects), or None
    all_difference, any_difference, all_alike : array of float, shape (effects,)
    all_conclusive, any_conclusive, main_conclusive : array of float, shape (effects,), or None
    """

    difference: FloatArray
    alike: FloatArray
    matters: FloatArray
    conclusive: FloatArray | None
    all_difference: FloatArray
    any_difference: FloatArray
    all_alike: FloatArray
    all_conclusive: FloatArray | None
    any_conclusive: FloatArray | None
    main_conclusive: FloatArray | None


def variance_nodes(belief: ScatterBelief, count: int) -> tuple[FloatArray, FloatArray]:
    """Factors of the variance between preparations, with weights; a single 1 where it is known.

    Parameters
    ----------
    belief : ScatterBelief
    count : int

    Returns
    -------
    factors, weights : array of float
    """
    if belief.df is None or belief.preparations == 0:
        return np.ones(1), np.ones(1)
    return variance_factors(belief.df, count)


def sharing_case(
    layout: LayoutDesign,
    comparisons: Sequence[Comparison],
    belief: ScatterBelief,
    *,
    averages: Averages,
    shared_part: float | None = None,
    error: float = 0.0,
) -> SharingCase:
    """Name the chances of a layout.

    Parameters
    ----------
    layout : LayoutDesign
    comparisons : sequence of Comparison
        Of the layout, in the order of the averages.
    belief : ScatterBelief
    averages : Averages
    shared_part : float or None
    error : float
        Largest Monte Carlo standard error. [1]

    Returns
    -------
    SharingCase
    """
    margins = all(one.reach is not None for one in comparisons)
    told = [_contrast(layout, one, averages, at=at, belief=belief) for at, one in enumerate(comparisons)]
    return SharingCase(
        shared_part=shared_part,
        contrasts=tuple(told),
        all_differ=_tuple(averages.all_difference),
        any_differs=_tuple(averages.any_difference),
        all_alike=_tuple(averages.all_alike) if margins else None,
        all_conclusive=_optional(averages.all_conclusive if margins else None),
        any_conclusive=_optional(averages.any_conclusive if margins else None),
        main_conclusive=_optional(averages.main_conclusive if margins else None),
        error=error,
    )


def _contrast(
    layout: LayoutDesign,
    one: Comparison,
    averages: Averages,
    *,
    at: int,
    belief: ScatterBelief,
) -> ContrastChances:
    margin = one.reach is not None
    conclusive = averages.conclusive[at] if averages.conclusive is not None and margin else None
    share = 1 if layout.adjust == "none" else one.sharing
    width = _width(one.df, one.launches, one.lot, tail=layout.level / share / 2.0, belief=belief)
    mean_factor = sum(f * chance for f, chance in one.lot)
    return ContrastChances(
        surface=layout.surfaces[one.place].surface,
        treatment=one.treatment,
        rounds=one.rounds,
        df=one.df,
        se=(mean_factor * belief.variance(one.launches)) ** 0.5 if one.lot else float("inf"),
        width=width,
        differs=_tuple(averages.difference[at]),
        alike=_tuple(averages.alike[at]) if margin else None,
        matters=_tuple(averages.matters[at]) if margin else None,
        conclusive=_optional(conclusive),
    )


@lru_cache(maxsize=4096)
def _width(df: int, launches: int, lot: Lot, *, tail: float, belief: ScatterBelief) -> float | None:
    """Expected full width of the interval that leaves `tail` on each side."""
    uncertain = belief.df is not None and belief.preparations > 0
    if df == 0 or (uncertain and (belief.df or 0.0) <= 1):
        return None
    factors, weights = np.ones(1), np.ones(1)
    if uncertain and belief.df is not None:
        factors, weights = variance_factors(belief.df, WIDTH_NODES, power=FAR_OUT)
    sd = float(weights @ np.sqrt(belief.preparations**2 * factors + belief.launches**2 / launches))
    root = sum(chance * sqrt(f) for f, chance in lot)
    ratio = sqrt(2.0 / df) * exp(lgamma((df + 1) / 2) - lgamma(df / 2))
    return 2.0 * float(t_upper(tail, df)) * ratio * root * sd


def _tuple(values: FloatArray) -> Chances:
    return tuple(values.tolist())


def _optional(values: FloatArray | None) -> Chances | None:
    return None if values is None else _tuple(values)
