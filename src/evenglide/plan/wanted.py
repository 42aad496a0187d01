"""What it would take: the smallest margin that a layout settles, the fewest rounds that settle a margin."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from evenglide.errors import Problem, StudyError
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.chances import chances_of
from evenglide.plan.comparisons import comparisons_of
from evenglide.plan.designs import LayoutDesign

CHANCE = 0.8
"""Enough to go out for: common practice, no source. [1]"""
MOST_ROUNDS = 200
WIDEST = 1000.0
"""In standard deviations of a preparation's value."""
PRECISION = 1e-3


def clear_chance(layout: LayoutDesign, belief: ScatterBelief) -> float:
    """Chance of a clear answer whichever way the truth lies, mean over the comparisons that are asked about.

    Parameters
    ----------
    layout : LayoutDesign
        With a margin on every surface.
    belief : ScatterBelief

    Returns
    -------
    float
        The smaller of "alike" without effect and "a difference" at the margin; on the main surface, if any.

    Raises
    ------
    StudyError
        Without a margin.
    """
    (found,) = chances_of([layout], belief, either=False)
    case = found.cautious
    asked = [one for one in case.contrasts if layout.main in (None, one.surface)]
    return sum(min((one.alike or (0.0,))[0], one.differs[1]) for one in asked) / len(asked)


def smallest_margin(layout: LayoutDesign, belief: ScatterBelief, *, chance: float = CHANCE) -> float | None:
    """Smallest margin, the same on every surface, that a layout settles with a chance.

    Parameters
    ----------
    layout : LayoutDesign
        Its own margins are not looked at.
    belief : ScatterBelief
    chance : float
        Of a clear answer. [1]

    Returns
    -------
    float or None
        High end, analysis scale, to a thousandth of itself; None if no margin is wide enough.

    Raises
    ------
    StudyError
        If a comparison has no degree of freedom.
    """
    _check_degrees(layout)

    def reached(margin: float) -> bool:
        wider = tuple(replace(one, margin=(-margin, margin)) for one in layout.surfaces)
        return clear_chance(replace(layout, surfaces=wider), belief) >= chance

    unit = float(np.sqrt(max(belief.variance(one.launches) for one in layout.surfaces)))
    high = unit
    while not reached(high):
        high *= 2.0
        if high > WIDEST * unit:
            return None
    low = 0.0
    while high - low > PRECISION * high:
        middle = (low + high) / 2.0
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high


def least_rounds(
    layout_of: Callable[[int], LayoutDesign], belief: ScatterBelief, *, chance: float = CHANCE
) -> int | None:
    """Fewest rounds that give a chance of a clear answer.

    Parameters
    ----------
    layout_of : callable
        Makes the layout of so many rounds.
    belief : ScatterBelief
    chance : float
        Of a clear answer. [1]

    Returns
    -------
    int or None
        None if even 200 rounds fall short.

    Raises
    ------
    StudyError
        Without a margin.
    """
    low, high = 1, 2
    while clear_chance(layout_of(high), belief) < chance:
        if high == MOST_ROUNDS:
            return None
        low, high = high, min(2 * high, MOST_ROUNDS)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if clear_chance(layout_of(middle), belief) >= chance else (middle, high)
    return high


def _check_degrees(layout: LayoutDesign) -> None:
    without = [one for one in comparisons_of(layout) if one.df == 0]
    if without:
        surface = layout.surfaces[without[0].place]
        raise StudyError(
            [
                Problem(
                    code="no-df",
                    where=f"surface {surface.surface}",
                    found=f"{without[0].rounds} rounds, which leave nothing to judge scatter by",
                    expected="a round more than treatments and pieces of gear need",
                    remedy="Plan more rounds.",
                )
            ]
        )
