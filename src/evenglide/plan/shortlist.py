r"""Which of many layouts are worth working out: a rough chance for each, and the best for their length.

The claim of a difference of the margin M is made with a chance near

.. math:: \Phi\!\left(\frac{M/s - t}{\sqrt{1 + t^2/2\nu}}\right)

(normal approximation to the noncentral t; Johnson and Welch 1940, Biometrika 31:362-389, from memory), that
of "no difference that matters" near twice such a chance less one. Averaged over three points of the scatter,
at the level shared equally. Good to a few in a hundred, and used for nothing but choosing what to work out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from scipy import special

from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.designs import LayoutDesign
from evenglide.plan.layouts import Layout
from evenglide.typing import FloatArray

LENGTHS = 14
"""Layouts are compared with others about as long."""
OF_EACH = 2
POINTS = (0.15, 0.5, 0.85)
"""Quantiles of what the scatter may be."""


def shortlist(
    layouts: Sequence[Layout], designs: Sequence[LayoutDesign], belief: ScatterBelief
) -> tuple[int, ...]:
    """Choose the layouts to work out.

    Parameters
    ----------
    layouts, designs : sequence of Layout, of LayoutDesign
    belief : ScatterBelief

    Returns
    -------
    tuple of int
        Places, increasing: all if they are few, else the best few for their length.
    """
    if len(layouts) <= LENGTHS * OF_EACH:
        return tuple(range(len(layouts)))
    chance = rough_chances(designs, belief)
    minutes = np.array([one.minutes for one in layouts])
    cuts = np.linspace(minutes.min(), minutes.max(), LENGTHS + 1)[1:-1]
    length = np.digitize(minutes, cuts)
    by_chance = np.lexsort((minutes, -np.round(chance, 6), length))
    kept: list[int] = []
    for at in by_chance.tolist():
        if sum(length[other] == length[at] for other in kept[-OF_EACH:]) < OF_EACH:
            kept.append(at)
    return tuple(sorted(kept))


def rough_chances(designs: Sequence[LayoutDesign], belief: ScatterBelief) -> FloatArray:
    """Chance of a clear answer, roughly, on the main surface or as the mean over all.

    Parameters
    ----------
    designs : sequence of LayoutDesign
    belief : ScatterBelief

    Returns
    -------
    array of float, shape (layouts,)
    """
    rows = [(at, *row) for at, design in enumerate(designs) for row in _comparisons(design)]
    of, rounds, df, launches, margin, share = (
        np.array(column, dtype=np.float64) for column in zip(*rows, strict=True)
    )
    left = np.maximum(df, 1.0)
    chance = np.zeros(len(rows))
    for factor in _factors(belief):
        spread = factor * belief.preparations**2 + belief.launches**2 / (launches * (1 - belief.voids))
        far = margin / np.sqrt(2 * spread / np.maximum(rounds, 1.0))
        differs = _above(far, left, share / 2)
        alike = np.maximum(0.0, 2 * _above(far, left, share) - 1)
        chance += np.minimum(differs, alike) / len(POINTS)
    chance = np.where((df >= 1) & (rounds >= 1), chance, 0.0)
    count = np.bincount(of.astype(np.int64), minlength=len(designs))
    return np.bincount(of.astype(np.int64), weights=chance, minlength=len(designs)) / count


def _above(far: FloatArray, df: FloatArray, tail: FloatArray) -> FloatArray:
    t = special.stdtrit(df, 1 - tail)
    return np.asarray(special.ndtr((far - t) / np.sqrt(1 + t**2 / (2 * df))))


def _factors(belief: ScatterBelief) -> tuple[float, ...]:
    """Factors of the variance between preparations."""
    if belief.df is None:
        return (1.0,) * len(POINTS)
    half = belief.df / 2
    return tuple(half / float(special.gammaincinv(half, 1 - point)) for point in POINTS)


def _comparisons(design: LayoutDesign) -> list[tuple[float, ...]]:
    """Rounds, df, launches, margin and share of the level of each comparison that is asked about."""
    found: list[tuple[float, ...]] = []
    for place, one in enumerate(design.surfaces):
        if design.main not in {None, one.surface}:
            continue
        size = 2 if design.pairs else design.treatments
        df = len(one.rounds) * (size - 1) - design.contrasts - one.items
        level = design.level / design.family_size(place)
        for other in range(design.contrasts):
            in_turn = design.pairs and design.contrasts > 1
            rounds = sum(not in_turn or at % design.contrasts == other for at in one.rounds)
            margin = one.margin[1] if one.margin else math.inf
            found.append((float(rounds), float(df), float(one.launches), margin, level))
    return found
