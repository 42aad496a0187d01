r"""Restricted maximum likelihood for one variance component, many studies at once.

Notation of :mod:`evenglide.maths.mixed_design`. Per study :math:`s_i` is the sum of :math:`w^2` over the
:math:`m_i` directions of one distinct :math:`d_i`, ``sse`` what is left, :math:`\nu = n - p`. With
:math:`Q = \text{sse} + \sum s_i/v_i` the profile is

.. math:: -2\ell(\lambda) = \nu \log Q + \sum m_i \log v_i, \qquad \sigma^2 = Q/\nu

maximised by Newton's method in :math:`\varphi = \log(1 + \lambda d_{\max})` from the moment estimate, with a
bracket for the few that need one; one distinct d has a closed form. The maximum reached is the one uphill of
the moment estimate.

Bounded, :math:`\lambda \ge 0`. Unbounded, :math:`\lambda` may be negative as long as the covariance of the
launches stays well positive definite: :math:`1 + \lambda \max n_a \ge 0.02`. Groups of unequal size give the
likelihood a spurious second maximum at the pole :math:`1 + \lambda d_{\max} = 0`, and the floor keeps off it.

Degrees of freedom of a contrast with variance f follow Satterthwaite,
:math:`2 f^2 / (\nabla f^\top H^{-1} \nabla f)`, H the observed information of
:math:`(\sigma_a^2, \sigma^2)`, the expected one where the observed is not positive definite; kept within
[1, 9999]. On the bound :math:`\lambda = 0` they are :math:`\nu`: there the fit *is* least squares on
launches. That is also the convention of the widely used implementations, whose parameter is the standard
deviation, in which f is flat at zero. With few groups it promises far more than the data know; whoever
shows it has to say so.

References, all from memory: Patterson & Thompson (1971) Biometrika 58:545-554; Satterthwaite (1946)
Biometrics Bull. 2:110-114; Giesbrecht & Burns (1985) Biometrics 41:477-486.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.mixed_design import MixedDesign
from evenglide.typing import BoolArray, FloatArray, IntArray

LEAST_DEFINITE = 0.02
"""Least 1 + lambda max(n_a) of an unbounded fit."""
SWEEPS = 4
"""Newton steps on everybody; 90 to 99.9 % have converged then."""
CONVERGED = 1e-7
"""Step in phi; convergence is quadratic, so what is left is about its square."""
LONGEST_STEP = 2.0
MOST_STEPS = 100
AT_FLOOR = 1e-9
"""Share above the floor that halving may leave of a fit that sits on it."""
LEAST_DF, MOST_DF = 1.0, 9999.0
CANCELS = 1e-6
"""Where less than this share of the sum of squares is left, it is summed anew from residuals."""
ROUNDINGS = 4
"""Residuals below so many rounding errors of a value are noise of the arithmetic, not scatter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ComponentFit:
    r"""Fits of one design to S studies.

    All are NaN for a study whose launches agree to the last digit within groups.

    Parameters
    ----------
    estimate, se, df : array of float, shape (k, S)
        Per contrast.
    group_variance, residual_variance : array of float, shape (S,)
        :math:`\sigma_a^2` and :math:`\sigma^2`.
    moment_variance : array of float, shape (S,)
        Moment estimate of :math:`\sigma_a^2`, of either sign.
    boundary : array of bool, shape (S,)
        The fit sits on its bound.
    """

    estimate: FloatArray
    se: FloatArray
    df: FloatArray
    group_variance: FloatArray
    residual_variance: FloatArray
    moment_variance: FloatArray
    boundary: BoolArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sums:
    """What a fit needs of the data: squares along T by distinct d, and left over; w; least squares."""

    squares: FloatArray
    sse: FloatArray
    w: FloatArray
    ols: FloatArray


def fit_component(design: MixedDesign, y: FloatArray, *, bounded: bool = True) -> ComponentFit:
    """Fit one variance component beside the launches' own to any number of studies.

    Parameters
    ----------
    design : MixedDesign
    y : array of float, shape (n,) or (n, S)
        Launches, component-first; one dimension is one study.
    bounded : bool
        Keep the variance of groups at nought or above.

    Returns
    -------
    ComponentFit

    Raises
    ------
    ValueError
        If the design cannot tell scatter between groups from scatter within.

    Examples
    --------
    Batches of two: mean squares 8 between, 2 within, so the component is (8 - 2)/2.

    >>> from evenglide.maths.mixed_design import mixed_design
    >>> design = mixed_design(np.ones((6, 1)), np.repeat([0, 1, 2], 2), contrasts=np.ones((1, 1)))
    >>> fit = fit_component(design, np.array([4.0, 6.0, 6.0, 8.0, 8.0, 10.0]))
    >>> fit.group_variance, fit.residual_variance, fit.df
    (array([3.]), array([2.]), array([[2.]]))
    """
    if not design.can_be_split:
        msg = "scatter between groups cannot be told from scatter within: no group has launches to spare"
        raise ValueError(msg)
    y = np.asarray(y, dtype=np.float64).reshape(len(y), -1)
    sums = _reduced(design, y)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        moment = _moment_ratio(design, sums)
        ratio, boundary = _ratio(design, sums, moment, bounded=bounded)
        return _fitted(design, sums, ratio=ratio, moment=moment, boundary=boundary, bounded=bounded)


# ------------------------------------------------------------------------------ sums of squares


def _reduced(design: MixedDesign, y: FloatArray) -> _Sums:
    """Project every study on the rows of the design."""
    p, r = design.rank, design.directions
    rows = design.rows @ y
    total = np.einsum("ij,ij->j", y, y)
    sse = total - np.einsum("ij,ij->j", rows[: p + r], rows[: p + r])
    w, ols = rows[p : p + r], rows[p + r :]
    careful = np.flatnonzero(sse < CANCELS * total)
    if careful.size:
        w, ols = w.copy(), ols.copy()
        sse[careful], w[:, careful], ols[:, careful] = _careful(design, y[:, careful])
    squares = w * w
    if len(design.starts) < r:
        squares = np.add.reduceat(squares, design.starts, axis=0)
    return _Sums(squares=squares, sse=sse, w=w, ols=ols)


def _careful(design: MixedDesign, y: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Sum squares from residuals, after a value of the data is taken off; NaN where only rounding is left."""
    p, r = design.rank, design.directions
    origin = y[0]
    near = y - origin
    basis, spectral, weights = design.rows[:p], design.rows[p : p + r], design.rows[p + r :]
    left = near - basis.T @ (basis @ near)
    left -= basis.T @ (basis @ left)
    w = spectral @ left
    within = left - spectral.T @ w
    sse = np.einsum("ij,ij->j", within, within)
    rounding = ROUNDINGS * np.finfo(np.float64).eps * np.abs(y).max(axis=0, initial=0.0)
    sse[sse <= len(y) * rounding**2] = np.nan
    return sse, w, weights @ near + design.level[:, np.newaxis] * origin


# ------------------------------------------------------------------------------ the ratio of variances


def _moment_ratio(design: MixedDesign, sums: _Sums) -> FloatArray:
    """Return the moment estimate of lambda, the start of Newton's method."""
    variance = sums.sse / design.residual_df
    between = sums.squares.sum(axis=0) / variance - design.directions
    return np.asarray(between / (design.multiplicity @ design.eigenvalues))


def _ratio(
    design: MixedDesign, sums: _Sums, moment: FloatArray, *, bounded: bool
) -> tuple[FloatArray, BoolArray]:
    """Lambda of every study, and whether it sits on its bound."""
    largest = float(design.eigenvalues[-1])
    floor = 1.0 if bounded else 1.0 - (1.0 - LEAST_DEFINITE) * largest / design.largest_group
    if len(design.eigenvalues) == 1:
        if not bounded and largest > design.largest_group * (1.0 - 1e-9):
            floor = 0.0  # groups of one size: positive definite wherever the likelihood is defined
        growth = 1.0 + moment * largest
        boundary = growth <= floor
        return (np.maximum(growth, floor) - 1.0) / largest, boundary
    profile = _Profile(design=design, squares=sums.squares, sse=sums.sse)
    start = np.maximum(1.0 + moment * largest, floor)
    if not bounded:
        growth = _newton(profile, np.maximum(start, floor + 1e-3), floor=floor)
        return (growth - 1.0) / largest, growth <= floor
    growth = np.ones_like(start)
    inside = np.flatnonzero(~(profile.score_at_one() <= 0.0))
    growth[inside] = _newton(profile.take(inside), np.maximum(start[inside], 1.0 + 1e-3), floor=floor)
    return (growth - 1.0) / largest, growth <= 1.0


class _Profile:
    """Score and slope of the profile likelihood in phi, as functions of the growth exp(phi)."""

    def __init__(self, *, design: MixedDesign, squares: FloatArray, sse: FloatArray) -> None:
        self.design, self.squares, self.sse = design, squares, sse
        self.share = (design.eigenvalues / design.eigenvalues[-1])[:, np.newaxis]

    def take(self, studies: IntArray) -> _Profile:
        """Profile of some studies."""
        return _Profile(design=self.design, squares=self.squares.take(studies, axis=1), sse=self.sse[studies])

    def score_at_one(self) -> FloatArray:
        """Score where the component is nought."""
        total = self.sse + self.squares.sum(axis=0)
        expected = float(self.design.multiplicity @ self.share[:, 0])
        return np.asarray(self.design.df * (self.share[:, 0] @ self.squares) / total - expected)

    def __call__(self, growth: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Score and slope, shape (S,)."""
        a = growth * self.share
        a += 1.0 - self.share
        np.divide(1.0, a, out=a)  # 1 / v
        part = self.squares * a
        total = part.sum(axis=0)
        total += self.sse
        a *= self.share
        part *= a
        first = part.sum(axis=0)
        first /= total
        second = np.einsum("ij,ij->j", part, a)
        second /= total
        m = self.design.multiplicity
        score = self.design.df * first
        score -= m @ a
        a *= a
        slope = self.design.df * (first * first - 2.0 * second)
        slope += m @ a
        score *= growth
        slope *= growth * growth
        slope += score
        return score, slope


def _newton(profile: _Profile, start: FloatArray, *, floor: float) -> FloatArray:
    """Growth at the maximum: bare steps for everybody, then a bracket for those who have not arrived."""
    growth = start.copy()
    lost = np.zeros(len(growth), dtype=np.bool_)
    step = np.full(len(growth), np.inf)
    for _ in range(SWEEPS):
        score, slope = profile(growth)
        step = -score / slope
        lost |= ~((slope < 0.0) & (np.abs(step) < LONGEST_STEP))
        growth = growth * np.exp(step)
    lost |= ~((np.abs(step) < CONVERGED) & (growth > floor))
    left = np.flatnonzero(lost)
    if left.size:
        growth[left] = _bracketed(profile.take(left), start[left], floor=floor)
    return growth


def _bracketed(profile: _Profile, start: FloatArray, *, floor: float) -> FloatArray:
    """Newton's method inside a bracket that every score tightens; halves it where a step leaves it."""
    phi = np.log(start)
    low, high = np.full(len(phi), np.log(floor)), np.full(len(phi), np.inf)
    done = np.isnan(profile.sse)
    for _ in range(MOST_STEPS):
        score, slope = profile(np.exp(phi))
        low = np.where(score > 0.0, np.maximum(low, phi), low)
        high = np.where(score > 0.0, high, np.minimum(high, phi))
        step = np.clip(-score / slope, -LONGEST_STEP, LONGEST_STEP)
        newton = (slope < 0.0) & (phi + step >= low) & (phi + step <= high)
        middle = np.where(np.isinf(high), phi + LONGEST_STEP, (low + high) / 2.0)
        moved = np.where(done, phi, np.where(newton, phi + step, middle))
        # A converged step of nearly nothing may touch the bracket: it has arrived all the same.
        arrived = (slope < 0.0) & (np.abs(step) < CONVERGED)
        moved = np.where(arrived & ~done, np.maximum(phi + step, low), moved)
        done |= arrived | (high - low < CONVERGED**2)
        phi = moved
        if done.all():
            break
    growth = np.exp(phi)
    return np.where(growth <= floor * (1.0 + AT_FLOOR), floor, growth)


# ------------------------------------------------------------------------------ what is told of a fit


def _fitted(
    design: MixedDesign,
    sums: _Sums,
    *,
    ratio: FloatArray,
    moment: FloatArray,
    boundary: BoolArray,
    bounded: bool,
) -> ComponentFit:
    inverse = 1.0 / (1.0 + design.eigenvalues[:, np.newaxis] * ratio)
    scaled = sums.squares * inverse
    variance = (sums.sse + scaled.sum(axis=0)) / design.df
    along = inverse if len(inverse) == design.directions else _repeated(inverse, design.multiplicity)
    estimate = sums.ols - ratio * (design.coupling.T @ (sums.w * along))
    first = design.shares @ inverse
    scaled /= variance
    information = _information(design, inverse, scaled=scaled, left=sums.sse / variance)
    second = design.shares @ np.square(inverse, out=inverse)
    between = design.between[:, np.newaxis]
    form = design.within[:, np.newaxis] + ratio * (between + first)
    slopes = between + second, design.within[:, np.newaxis] + ratio * (first - second)
    df = _satterthwaite(form, slopes, information)
    bad = ~(df > 0.0)
    if bad.any():
        expected = _information(
            design,
            np.sqrt(inverse),
            scaled=design.multiplicity[:, np.newaxis],
            left=float(design.residual_df),
        )
        df = np.where(bad, _satterthwaite(form, slopes, expected), df)
    df = np.clip(df, LEAST_DF, MOST_DF)
    if bounded:
        df = np.where(boundary, float(design.df), df)
    form *= variance
    return ComponentFit(
        estimate=estimate,
        se=np.sqrt(form),
        df=df,
        group_variance=ratio * variance,
        residual_variance=variance,
        moment_variance=moment * sums.sse / design.residual_df,
        boundary=boundary,
    )


def _repeated(inverse: FloatArray, multiplicity: FloatArray) -> FloatArray:
    return np.repeat(inverse, multiplicity.astype(np.int64), axis=0)


def _information(
    design: MixedDesign, inverse: FloatArray, *, scaled: FloatArray, left: FloatArray | float
) -> FloatArray:
    r"""Entries (aa, a0, 00) of :math:`\sigma^4 H`, shape (3, S).

    `scaled` is :math:`s_i/(\sigma^2 v_i)` and `left` is :math:`\text{sse}/\sigma^2`; with their expected
    values, m and m0, the information is the expected one.
    """
    weight = scaled + scaled
    weight = weight - design.multiplicity[:, np.newaxis]
    weight = weight * inverse
    weight *= inverse
    d = design.eigenvalues
    entries = np.stack([d * d, d, np.ones_like(d)]) @ weight
    entries[2] += 2.0 * left - design.residual_df
    entries *= 0.5
    return np.asarray(entries)


def _satterthwaite(
    form: FloatArray, slopes: tuple[FloatArray, FloatArray], information: FloatArray
) -> FloatArray:
    """Degrees of freedom of each contrast; -1 where the information is not positive definite."""
    group, residual = slopes
    both, cross, own = information
    determinant = both * own - cross * cross
    bent = own * group * group - 2.0 * cross * group * residual + both * residual * residual
    df = 2.0 * form * form * determinant / bent
    return np.where((determinant > 0.0) & (bent > 0.0), df, -1.0)
