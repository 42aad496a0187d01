"""The luck that simulated layouts share: the same draws whatever the layout, the scatter and the effect.

Draws are made round by round, so a layout with one round more meets the luck of the shorter one and then
some: what differs between two layouts is the layout.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy import special

from evenglide.typing import BoolArray, FloatArray, IntArray

ROUNDED_UP_TO = 8
"""Rounds are drawn in lots of so many and kept for the next layout."""
MOST_TRIES = 200
"""Where rules leave no order, some studies keep one without an estimate: their tests claim nothing."""


def normals(seed: int, name: str, *, rounds: int, of_round: tuple[int, ...], studies: int) -> FloatArray:
    """Standard normal numbers.

    Parameters
    ----------
    seed : int
    name : str
        What they are for; different names, different luck.
    rounds : int
    of_round : tuple of int
        Numbers for each round of each study.
    studies : int

    Returns
    -------
    array of float, shape (rounds, *of_round, studies)
    """
    lots = -(-max(rounds, 1) // ROUNDED_UP_TO) * ROUNDED_UP_TO
    return _drawn(seed, name, (lots, *of_round, studies), uniform=False)[:rounds]


def uniforms(seed: int, name: str, *, rounds: int, of_round: tuple[int, ...], studies: int) -> FloatArray:
    """Numbers from 0 to 1; otherwise as `normals`."""
    lots = -(-max(rounds, 1) // ROUNDED_UP_TO) * ROUNDED_UP_TO
    return _drawn(seed, name, (lots, *of_round, studies), uniform=True)[:rounds]


@lru_cache(maxsize=16)
def _drawn(seed: int, name: str, shape: tuple[int, ...], *, uniform: bool) -> FloatArray:
    source = np.random.Generator(np.random.SFC64([seed, *name.encode()]))
    drawn = source.random(shape) if uniform else source.standard_normal(shape)
    drawn.flags.writeable = False
    return drawn


@lru_cache(maxsize=16)
def variance_factors_drawn(seed: int, df: float, studies: int) -> FloatArray:
    """One factor of the variance between preparations for each study, spread evenly over what may be.

    Parameters
    ----------
    seed : int
    df : float
        Degrees of freedom that the scatter is worth.
    studies : int

    Returns
    -------
    array of float, shape (studies,)
    """
    source = np.random.Generator(np.random.SFC64([seed, *b"scatter"]))
    place = (source.permutation(studies) + source.random(studies)) / studies
    factors = df / (2.0 * special.gammaincinv(df / 2.0, np.maximum(place, 1e-12)))
    factors.flags.writeable = False
    return np.asarray(factors)


def launches_left(uniform: FloatArray, launches: int, *, voids: float) -> IntArray:
    """Launches that are left of each preparation if each is set aside by itself.

    Parameters
    ----------
    uniform : array of float
        From 0 to 1.
    launches : int
    voids : float
        Chance to be set aside. [1]

    Returns
    -------
    array of int, shape of `uniform`
    """
    up_to = special.bdtr(np.arange(launches, dtype=np.float64), launches, 1.0 - voids)
    return np.searchsorted(up_to, uniform.ravel(), side="left").reshape(uniform.shape)


def signs(seed: int, name: str, *, met: BoolArray, studies: int) -> FloatArray:
    """Which of two pieces of gear is treated in each round: -1 or 1, as the lot may fall.

    Parameters
    ----------
    seed : int
    name : str
    met : array of bool, shape (rules, rounds)
        Sets of rounds in which either piece must be treated at least once, where they are two or more.
    studies : int

    Returns
    -------
    array of float, shape (rounds, studies)
    """
    rounds = met.shape[1]
    drawn = np.where(uniforms(seed, name, rounds=rounds, of_round=(), studies=studies) < 0.5, -1.0, 1.0)
    source = np.random.Generator(np.random.SFC64([seed, *name.encode(), 1]))
    rules = met[met.sum(axis=1) >= 2]
    for _ in range(MOST_TRIES):
        stuck = (np.abs(rules @ drawn) == rules.sum(axis=1)[:, np.newaxis]).any(axis=0)
        if not stuck.any():
            break
        drawn[:, stuck] = np.where(source.random((rounds, int(stuck.sum()))) < 0.5, -1.0, 1.0)
    return drawn
