"""Restricted maximum likelihood written out densely in 40 digits: slow, and by another road.

The whole covariance of the launches, determinants and inverses by mpmath, the maximum by a secant search,
the information and every gradient by finite differences. Nothing is shared with the code under test.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import mpmath as mp
import numpy as np

from evenglide.typing import FloatArray, IntArray

DIGITS = 40
STEP = mp.mpf(10) ** -12


@dataclass(frozen=True)
class DenseFit:
    estimate: float
    se: float
    df: float
    group_variance: float
    residual_variance: float


def dense_reml(x: FloatArray, group: IntArray, y: FloatArray, c: FloatArray, *, near: float) -> DenseFit:
    """Fit one study; the slope of the likelihood must change its sign within a tenth of the ratio `near`."""
    with mp.workdps(DIGITS):
        likelihood, fixed = _model(x, group, y, c)

        def slope(ratio: mp.mpf) -> mp.mpf:
            h = STEP * (1 + abs(ratio))
            return (_profile(likelihood, ratio + h) - _profile(likelihood, ratio - h)) / (2 * h)

        ratio = mp.findroot(slope, (mp.mpf(near) * 0.9, mp.mpf(near) * 1.1), solver="anderson", tol=1e-40)
        residual = _residual(likelihood, ratio)
        theta = (ratio * residual, residual)
        information = -_hessian(lambda a, e: likelihood(a, e)[0], theta)
        gradient = _gradient(lambda a, e: fixed(a, e)[1], theta)
        estimate, f = fixed(*theta)
        bent = (gradient.T * information**-1 * gradient)[0]
        return DenseFit(
            estimate=float(estimate),
            se=float(mp.sqrt(f)),
            df=float(2 * f**2 / bent),
            group_variance=float(theta[0]),
            residual_variance=float(theta[1]),
        )


def _model(x: FloatArray, group: IntArray, y: FloatArray, c: FloatArray) -> tuple[Callable, Callable]:
    xs, ys, cs = mp.matrix(x.tolist()), mp.matrix(y.tolist()), mp.matrix(c.tolist())
    same = mp.matrix((group[:, None] == group[None, :]).astype(float).tolist())

    def solved(a: mp.mpf, e: mp.mpf) -> tuple[mp.matrix, mp.matrix, mp.matrix]:
        v = a * same + e * mp.eye(len(y))
        inverse = v**-1
        return v, inverse, xs.T * inverse * xs

    def likelihood(a: mp.mpf, e: mp.mpf) -> tuple[mp.mpf, mp.mpf]:
        v, inverse, normal = solved(a, e)
        beta = mp.lu_solve(normal, xs.T * inverse * ys)
        left = ys - xs * beta
        quadratic = (left.T * inverse * left)[0]
        return -(mp.log(mp.det(v)) + mp.log(mp.det(normal)) + quadratic) / 2, quadratic

    def fixed(a: mp.mpf, e: mp.mpf) -> tuple[mp.mpf, mp.mpf]:
        _, inverse, normal = solved(a, e)
        covariance = normal**-1
        return (cs.T * covariance * xs.T * inverse * ys)[0], (cs.T * covariance * cs)[0]

    likelihood.freedom = len(y) - x.shape[1]  # type: ignore[attr-defined]
    return likelihood, fixed


def _residual(likelihood: Callable, ratio: mp.mpf) -> mp.mpf:
    return likelihood(ratio, mp.mpf(1))[1] / likelihood.freedom  # type: ignore[attr-defined]


def _profile(likelihood: Callable, ratio: mp.mpf) -> mp.mpf:
    residual = _residual(likelihood, ratio)
    return likelihood(ratio * residual, residual)[0]


def _gradient(f: Callable, at: tuple[mp.mpf, mp.mpf]) -> mp.matrix:
    a, e = at
    h = STEP * (abs(a) + e)
    return mp.matrix([(f(a + h, e) - f(a - h, e)) / (2 * h), (f(a, e + h) - f(a, e - h)) / (2 * h)])


def _hessian(f: Callable, at: tuple[mp.mpf, mp.mpf]) -> mp.matrix:
    a, e = at
    h = mp.mpf(10) ** -9 * (abs(a) + e)
    middle = f(a, e)
    both = (f(a + h, e) - 2 * middle + f(a - h, e)) / h**2
    own = (f(a, e + h) - 2 * middle + f(a, e - h)) / h**2
    cross = (f(a + h, e + h) - f(a + h, e - h) - f(a - h, e + h) + f(a - h, e - h)) / (4 * h**2)
    return mp.matrix([[both, cross], [cross, own]])


def restricted_likelihood(
    x: FloatArray, groups: list[IntArray], y: FloatArray, *, theta: FloatArray
) -> float:
    """Log likelihood but for a constant, in double precision, for any number of components; residual last."""
    v = theta[-1] * np.eye(len(y))
    for variance, group in zip(theta, groups, strict=False):
        v += variance * (group[:, None] == group[None, :])
    inverse = np.linalg.inv(v)
    normal = x.T @ inverse @ x
    left = y - x @ np.linalg.solve(normal, x.T @ inverse @ y)
    return float(-(np.linalg.slogdet(v)[1] + np.linalg.slogdet(normal)[1] + left @ inverse @ left) / 2)
