"""Comparisons that stop once they are settled, and the chance that they are by each look.

A comparison is settled at the first look at which, with the error rate shared over all comparisons, a
difference or equivalence is claimed. From then on it keeps the p values of that look. Sharing goes on over
all comparisons, the settled ones included, so a claim that was made is never lost.

Error rates hold because what is claimed so is a part of what a procedure would claim that let every
comparison keep the smallest of its repeated p values, and those are valid p values at every look.

Reference: Maurer and Bretz (2013) Stat. Biopharm. Res. 5:311-320.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from evenglide.maths.equivalence import beyond_p, difference_p, equivalence_p
from evenglide.maths.looks import LookTable, look_table
from evenglide.maths.multiplicity import holm
from evenglide.typing import FloatArray, IntArray

KINDS = 3
"""Difference, equivalence, beyond the range of equivalence."""
NEVER = -1
TOLERANCE = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Stopping:
    """What holds at each look.

    Parameters
    ----------
    p : array of float, shape (looks, 3, comparisons, ...)
        p values in force. [1]
    adjusted : array of float, shape as `p`
        With the error rate shared. [1]
    settled : array of int, shape (comparisons, ...)
        Look, from 0, at which a comparison stopped; -1 if none so far.
    """

    p: FloatArray
    adjusted: FloatArray
    settled: IntArray


def stop_when_settled(p: FloatArray, *, adjust: Callable[[FloatArray], FloatArray], level: float) -> Stopping:
    """Let comparisons stop once they are settled.

    Parameters
    ----------
    p : array of float, shape (looks, 3, comparisons, ...)
        Repeated p values of difference, equivalence, and beyond its range; NaN where there is none. [1]
    adjust : callable
        From p values of one look, shape (3, comparisons, ...), to adjusted ones.
    level : float

    Returns
    -------
    Stopping
    """
    held, adjusted = np.empty_like(p), np.empty_like(p)
    settled = np.full(p.shape[2:], NEVER, dtype=np.int64)
    for look in range(len(p)):
        held[look] = np.where(settled == NEVER, p[look], held[look - 1])
        adjusted[look] = adjust(held[look])
        now = (adjusted[look, :2] <= level + TOLERANCE).any(axis=0)
        settled = np.where((settled == NEVER) & now, look, settled)
    return Stopping(p=held, adjusted=adjusted, settled=settled)


def repeated_claims(p: FloatArray, look: int, *, two_sided: LookTable, one_sided: LookTable) -> FloatArray:
    """Turn the p values of one look's data into repeated ones.

    Parameters
    ----------
    p : array of float, shape (3, ...)
        Difference, equivalence (the larger of two one-sided tests), beyond its range (twice the smaller of
        two). [1]
    look : int
    two_sided, one_sided : LookTable
        A difference spends two-sided, the others one-sided on each side.

    Returns
    -------
    array of float, shape as `p`
        [1]
    """
    return np.stack(
        [
            two_sided.repeated(p[0], look),
            one_sided.repeated(p[1], look),
            np.minimum(1.0, 2.0 * one_sided.repeated(p[2] / 2.0, look)),
        ]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LookChances:
    """Chances of being settled by each look.

    Parameters
    ----------
    each : array of float, shape (looks, comparisons)
        Chance that a comparison is settled. [1]
    all : array of float, shape (looks,)
        Chance that all of them are. [1]
    standard_error : float
        Of a chance of one half, from the number of draws. [1]
    """

    each: FloatArray
    all: FloatArray
    standard_error: float


def settled_by_look(
    *,
    fractions: Sequence[float],
    df: Sequence[float],
    se: ArrayLike,
    effect: ArrayLike,
    margin: ArrayLike,
    level: float,
    draws: int = 20_000,
    seed: int = 0,
) -> LookChances:
    """Chance that independent comparisons of one balanced plan are settled by each look, shared by Holm.

    Sufficient statistics are drawn: scores with independent steps and residual squares, as in `maths.looks`.

    Parameters
    ----------
    fractions : sequence of float, length looks
        Share of the information at each look, rising to 1; ``[1.0]`` for a single look. [1]
    df : sequence of float, length looks
        Degrees of freedom at each look. [1]
    se : float or array of float, shape (comparisons,)
        True standard error of the estimate at the end. [unit of the effect]
    effect : float or array of float, shape (comparisons,)
        True effect.
    margin : float or array of float, shape (comparisons,)
        Largest effect that counts as equivalence; NaN or 0 where there is none.
    level : float
        Error rate of a kind of claim over all comparisons.
    draws : int, optional
    seed : int, optional

    Returns
    -------
    LookChances

    Raises
    ------
    ValueError
        If the fractions do not rise to 1, or the degrees of freedom fall or lie below 1.

    Examples
    --------
    One look is the usual power: 5 pairs, effect two standard errors.

    >>> found = settled_by_look(fractions=[1.0], df=[4], se=1.0, effect=2.0, margin=0.0, level=0.05)
    >>> round(float(found.all[-1]), 2)
    0.34
    """
    tables = {sides: look_table(fractions, df, sides=sides) for sides in (1, 2)}
    scale, away, room = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(one, dtype=np.float64)) for one in (se, effect, margin))
    )
    half = np.where(room > 0, room, np.nan)[:, np.newaxis] / scale[:, np.newaxis]
    chance = np.random.default_rng(seed)
    estimates, errors = grown_estimates(
        fractions, df, shift=(away / scale)[:, np.newaxis], draws=draws, chance=chance
    )
    p = np.empty((len(df), KINDS, len(scale), draws))
    for look, own in enumerate(df):
        found, error = estimates[look], errors[look]
        alone = np.stack(
            [
                difference_p(found, error, own),
                equivalence_p(found, error, df=own, low=-half, high=half),
                beyond_p(found, error, df=own, low=-half, high=half),
            ]
        )
        p[look] = repeated_claims(alone, look, two_sided=tables[2], one_sided=tables[1])
    settled = stop_when_settled(p, adjust=lambda one: holm(one, axis=1), level=level).settled
    by = [(settled != NEVER) & (settled <= look) for look in range(len(df))]
    return LookChances(
        each=np.array([one.mean(axis=1) for one in by]),
        all=np.array([one.all(axis=0).mean() for one in by]),
        standard_error=0.5 / float(np.sqrt(draws)),
    )


def grown_estimates(
    fractions: Sequence[float],
    df: Sequence[float],
    *,
    shift: FloatArray,
    draws: int,
    chance: np.random.Generator,
) -> tuple[FloatArray, FloatArray]:
    """Draw estimates and their estimated standard errors at each look of growing data.

    Parameters
    ----------
    fractions, df : sequence of float, length looks
    shift : array of float, shape (comparisons, 1)
        True effect in true standard errors of the end. [1]
    draws : int
    chance : numpy Generator

    Returns
    -------
    estimate, standard_error : array of float, shape (looks, comparisons, draws)
        In true standard errors of the end. [1]
    """
    shape = (len(df), len(shift), draws)
    score, squares = np.zeros(shape[1:]), np.zeros(shape[1:])
    estimates, errors = np.empty(shape), np.empty(shape)
    before, known = 0.0, 0.0
    for look, (share, own) in enumerate(zip(fractions, df, strict=True)):
        grown = score + chance.standard_normal(shape[1:]) * np.sqrt(share - before)
        if look == 0:
            squares = chance.chisquare(own, shape[1:])
        elif own > known:
            squares = squares + (grown / share - score / before) ** 2 / (1.0 / before - 1.0 / share)
            squares += chance.chisquare(own - known - 1.0, shape[1:]) if own - known > 1.0 else 0.0
        score, before, known = grown, share, own
        estimates[look] = score / share + shift
        errors[look] = np.sqrt(squares / own / share)
    return estimates, errors
