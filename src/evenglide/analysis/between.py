r"""Whether an effect depends on the surface.

Fresh preparations: the effects on k surfaces are independent, each with its own standard error and
degrees of freedom. Welch's F with weights :math:`w = 1/s^2`, pairs by Satterthwaite.
Shared preparations: the effects of one preparation on two surfaces go together, so the means test
is run on differences between surfaces, and Hotelling's :math:`T^2` joins them:

.. math:: F = \frac{\nu - S + 2}{\nu (S-1)} T^2 \quad\text{on } S-1 \text{ and } \nu - S + 2.

A chi-square in their place would reject far too often with few preparations.

References: Welch (1951), Biometrika 38, 330-336. Hotelling (1931), Ann. Math. Stat. 2, 360-378.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.estimates import Estimate, means_test
from evenglide.analysis.units import Units
from evenglide.maths.distributions import f_survival, t_survival
from evenglide.maths.means import least_squares, linear_form
from evenglide.typing import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class FTest:
    """An F ratio with its degrees of freedom and p value."""

    f: float
    df: tuple[float, float]
    p: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairDifference:
    """Effect on the second surface less effect on the first."""

    surfaces: tuple[int, int]
    estimate: Estimate
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceDependence:
    """How an effect changes over surfaces.

    Parameters
    ----------
    surfaces : tuple of int
        Codes of the surfaces compared.
    method : {"welch", "hotelling"}
    test : FTest or None
    pairs : tuple of PairDifference
    missing : str or None
        Why there is no `test`: ``"no-df"``, ``"few-complete"``, ``"no-scatter"``.
    """

    surfaces: tuple[int, ...]
    method: str
    test: FTest | None
    pairs: tuple[PairDifference, ...]
    missing: str | None


def dependence_on_surface(
    cases: Sequence[SurfaceCase], treatment: int, *, shared: bool
) -> SurfaceDependence | None:
    """Compare one treatment's effect over surfaces with the same kind of mark.

    Parameters
    ----------
    cases : sequence of SurfaceCase
        Surfaces measured in the same way.
    treatment : int
        Code, against the reference.
    shared : bool
        One preparation served several surfaces.

    Returns
    -------
    SurfaceDependence or None
        None with fewer than two surfaces on which the contrast exists.
    """
    estimable = [case for case in cases if case.test.contrast_vector(treatment) is not None]
    if len(estimable) < 2:
        return None
    return _hotelling(estimable, treatment) if shared else _welch(estimable, treatment)


def _welch(cases: Sequence[SurfaceCase], treatment: int) -> SurfaceDependence:
    """Independent effects, each with its own variance."""
    estimates = [case.test.contrast(treatment) for case in cases]
    pairs = tuple(
        _pair((cases[i].surface, cases[j].surface), _difference_of(estimates[i], estimates[j]))
        for i, j in combinations(range(len(cases)), 2)
    )
    test, missing = _welch_f(estimates)
    return SurfaceDependence(
        surfaces=tuple(case.surface for case in cases),
        method="welch",
        test=test,
        pairs=pairs,
        missing=missing,
    )


def _welch_f(estimates: Sequence[Estimate]) -> tuple[FTest | None, str | None]:
    if any(e.estimate is None or e.se is None or e.df is None for e in estimates):
        reasons = [e.missing for e in estimates if e.missing]
        return None, reasons[0] if reasons else "no-df"
    theta, se, df = (np.array([getattr(e, name) for e in estimates]) for name in ("estimate", "se", "df"))
    k = len(theta)
    weight = se**-2.0
    share = weight / weight.sum()
    mean = (share * theta).sum()
    between = (weight * (theta - mean) ** 2).sum() / (k - 1)
    spread = ((1 - share) ** 2 / df).sum()
    f = float(between / (1 + 2 * (k - 2) / (k**2 - 1) * spread))
    df2 = float((k**2 - 1) / (3 * spread))
    return FTest(f=f, df=(float(k - 1), df2), p=float(f_survival(f, k - 1, df2))), None


def _difference_of(first: Estimate, second: Estimate) -> Estimate:
    """Second less first of two independent estimates, Satterthwaite degrees of freedom."""
    if first.estimate is None or second.estimate is None:
        return Estimate(estimate=None, se=None, df=None, missing=first.missing or second.missing)
    theta = second.estimate - first.estimate
    if first.se is None or second.se is None or first.df is None or second.df is None:
        return Estimate(estimate=theta, se=None, df=None, missing=first.missing or second.missing)
    u, v = first.se**2, second.se**2
    share = u / (u + v)
    df = 1 / (share**2 / first.df + (1 - share) ** 2 / second.df)
    return Estimate(estimate=theta, se=float(np.sqrt(u + v)), df=df)


def _pair(surfaces: tuple[int, int], estimate: Estimate) -> PairDifference:
    p = None
    if estimate.estimate is not None and estimate.se is not None and estimate.df is not None:
        p = 2.0 * float(t_survival(abs(estimate.estimate) / estimate.se, estimate.df))
    return PairDifference(surfaces=surfaces, estimate=estimate, p=p)


def _hotelling(cases: Sequence[SurfaceCase], treatment: int) -> SurfaceDependence:
    """Effects on shared preparations: the means test on differences between surfaces."""
    pairs = []
    for i, j in combinations(range(len(cases)), 2):
        units, values = _complete([cases[i], cases[j]])
        difference = replace(units, value=values[:, 1] - values[:, 0])
        pairs.append(_pair((cases[i].surface, cases[j].surface), means_test(difference).contrast(treatment)))
    test, missing = _hotelling_f(cases, treatment)
    return SurfaceDependence(
        surfaces=tuple(case.surface for case in cases),
        method="hotelling",
        test=test,
        pairs=tuple(pairs),
        missing=missing,
    )


def _hotelling_f(cases: Sequence[SurfaceCase], treatment: int) -> tuple[FTest | None, str | None]:
    units, values = _complete(cases)
    surfaces = len(cases)
    if len(units.value) == 0:
        return None, "few-complete"
    test = means_test(replace(units, value=values[:, 0]))
    c, nu = test.contrast_vector(treatment), test.design.df
    if c is None or nu < surfaces - 1:
        return None, "few-complete"
    differences = values[:, 1:] - values[:, :1]
    fit = least_squares(test.design, differences, rounding=units.rounding)
    effect = c @ fit.coefficients
    covariance = fit.residuals.T @ fit.residuals / nu * linear_form(test.design, c)[1]
    if (fit.residual_variance == 0).any() or np.linalg.matrix_rank(covariance) < surfaces - 1:
        return None, "no-scatter"
    t_squared = float(effect @ np.linalg.solve(covariance, effect))
    df = (float(surfaces - 1), float(nu - surfaces + 2))
    f = t_squared * df[1] / (nu * df[0])
    return FTest(f=f, df=df, p=float(f_survival(f, *df))), None


def _complete(cases: Sequence[SurfaceCase]) -> tuple[Units, FloatArray]:
    """Units that have a value on all these surfaces, and their values, shape (units, surfaces)."""
    common = cases[0].units.identity
    for case in cases[1:]:
        common = np.intersect1d(common, case.units.identity)
    columns = []
    for case in cases:
        order = np.argsort(case.units.identity)
        at = order[np.searchsorted(case.units.identity, common, sorter=order)]
        columns.append(case.units.value[at])
    first = cases[0].units
    kept = first.take(np.isin(first.identity, common))
    order = np.searchsorted(common, kept.identity)
    return kept, np.stack(columns, axis=1)[order]
