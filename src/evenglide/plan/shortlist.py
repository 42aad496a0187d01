r"""Which of many layouts are worth working out: a rough chance for each, and the best for their length.

With s the standard error, M the margin and :math:`u^2 = \chi^2_\nu/\nu`, a difference of M is claimed with
chance :math:`E\,\Phi(M/s - t u)` but for the far side, and "no difference that matters" with
:math:`E\,\max(0, 2\Phi(M/s - t u) - 1)`. Here the means are over a few points of u and of the scatter, at
the level shared equally: good to a few in a hundred, and used for nothing but choosing what to work out.
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

LENGTHS = 16
"""Layouts are compared with others about as long."""
OF_EACH = 1
SCATTERS = 9
ERRORS = 7
"""Points of what the scatter may be, and of how a standard error may come out: middles of equal shares."""


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
        differs = _above(far, left, share / 2).mean(axis=0)
        alike = np.maximum(0.0, 2 * _above(far, left, share) - 1).mean(axis=0)
        chance += np.minimum(differs, alike) / SCATTERS
    chance = np.where((df >= 1) & (rounds >= 1), chance, 0.0)
    count = np.bincount(of.astype(np.int64), minlength=len(designs))
    return np.bincount(of.astype(np.int64), weights=chance, minlength=len(designs)) / count


def _above(far: FloatArray, df: FloatArray, tail: FloatArray) -> FloatArray:
    """Chance that an estimate `far` standard errors away passes t, for each error that may come out."""
    u = np.sqrt(2 * special.gammaincinv(df / 2, _middles(ERRORS)[:, np.newaxis]) / df)
    return np.asarray(special.ndtr(far - special.stdtrit(df, 1 - tail) * u))


def _factors(belief: ScatterBelief) -> FloatArray:
    """Factors of the variance between preparations."""
    if belief.df is None:
        return np.ones(SCATTERS)
    half = belief.df / 2
    return np.asarray(half / special.gammaincinv(half, 1 - _middles(SCATTERS)))


def _middles(count: int) -> FloatArray:
    return (np.arange(count) + 0.5) / count


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
