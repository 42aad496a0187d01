r"""The primary test and its companions: estimates of one treatment against another on one surface.

`means_test` is the verdict's test: equal weight per unit, blocks and treatments fixed, items as
columns where they differ inside blocks, one pooled residual, df = N - rank(X).
`own_pair_test` uses the units of the two treatments alone, in blocks that hold both, so that a
third treatment with another scatter cannot lend its residual. `naive_test` takes every launch as
independent; it is shown to warn and is never used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.analysis.units import Units, design_of
from evenglide.maths.blocks import compact
from evenglide.maths.means import (
    LeastSquares,
    SweptDesign,
    estimate_of_form,
    explained_by_factor,
    least_squares,
    level_contrast,
    swept_design,
)
from evenglide.maths.two_samples import TwoSampleTest, difference_within_blocks
from evenglide.readings.launches import Launches
from evenglide.readings.observations import on_scale
from evenglide.typing import BoolArray, FloatArray, Scale

PAIR = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """An estimate with its standard error, or why there is none.

    Parameters
    ----------
    estimate, se, df : float or None
        Analysis scale; `se` is None where it cannot be had.
    missing : str or None
        Why `se` (and perhaps `estimate`) is None: ``"no-contrast"``, ``"no-df"``, ``"no-scatter"``,
        ``"items-outside-pairs"``.
    """

    estimate: float | None
    se: float | None
    df: float | None
    missing: str | None = None


NO_CONTRAST = Estimate(estimate=None, se=None, df=None, missing="no-contrast")


@dataclass(frozen=True, slots=True, kw_only=True)
class MeansTest:
    """The primary test of a surface, fitted.

    Parameters
    ----------
    units : Units
    design : SweptDesign
    fit : LeastSquares
    """

    units: Units
    design: SweptDesign
    fit: LeastSquares

    def contrast(self, treatment: int) -> Estimate:
        """Treatment code against the reference (code 0)."""
        c = self.contrast_vector(treatment)
        if c is None:
            return NO_CONTRAST
        estimate, se = estimate_of_form(self.design, self.fit, c)
        return _one_estimate(float(estimate[0]), float(se[0]), float(self.design.df))

    def contrast_vector(self, treatment: int) -> FloatArray | None:
        """Return the linear form of a treatment against the reference, or None where not estimable."""
        return level_contrast(self.design, treatment)

    def without_items(self) -> FloatArray:
        """Return the units' values with what is special to each item taken out, shape (n,)."""
        if self.units.item is None:
            return self.units.value
        met, dense = np.unique(self.units.item, return_inverse=True)
        first = self.units.treatments - 1
        effects = np.append(0.0, self.fit.coefficients[first : first + len(met) - 1, 0])
        return np.asarray(self.units.value - effects[dense])

    def omnibus(self) -> tuple[float, tuple[float, float]] | None:
        """F of all treatments together and its degrees of freedom, or None where it cannot be had."""
        squares, rank = explained_by_factor(self.design, self.units.value[:, np.newaxis])
        variance = float(self.fit.residual_variance[0])
        if rank == 0 or self.design.df <= 0 or variance == 0.0:
            return None
        return float(squares[0]) / rank / variance, (float(rank), float(self.design.df))


def means_test(units: Units, columns: FloatArray | None = None) -> MeansTest:
    """Fit the primary test of a surface.

    Parameters
    ----------
    units : Units
    columns : array of float, shape (n, q), optional
        Values per unit that enter as covariates.

    Returns
    -------
    MeansTest
    """
    design = design_of(units, columns)
    fit = least_squares(design, units.columns, rounding=units.rounding)
    return MeansTest(units=units, design=design, fit=fit)


def own_pair_test(units: Units, treatment: int) -> Estimate:
    """Compare a treatment with the reference from their own units in blocks that hold both.

    Pairs: t on the differences of the blocks (items regressed out). Otherwise the weighted mean of
    block differences, each treatment with the variance of its own units inside blocks, and
    Satterthwaite degrees of freedom (Welch's test without blocks). Where a treatment has a single
    unit in every block: t on the per-block differences of means.
    """
    pair = units.take(in_blocks_holding_both(units, treatment))
    if not pair.value.size:
        return NO_CONTRAST
    if pairs_only(pair):
        return means_test(pair).contrast(treatment)
    if pair.item is not None:
        return Estimate(estimate=None, se=None, df=None, missing="items-outside-pairs")
    test = own_scatter_test(pair, treatment)
    return _one_estimate(float(test.estimate[0]), float(test.se[0]), float(test.df[0]))


def pairs_only(pair: Units) -> bool:
    """Whether every block of the units of two treatments holds one unit of each."""
    return bool((np.unique(pair.block, return_counts=True)[1] == PAIR).all())


def own_scatter_test(pair: Units, treatment: int) -> TwoSampleTest:
    """Compare a treatment with the reference, each with the scatter of its own units, study by study.

    Parameters
    ----------
    pair : Units
        Of the two treatments, in blocks that hold both; without items. One column for each study.
    treatment : int

    Returns
    -------
    TwoSampleTest
    """
    return difference_within_blocks(pair.columns, pair.treatment == treatment, compact(pair.block))


def in_blocks_holding_both(units: Units, treatment: int) -> BoolArray:
    """Mark the units of a treatment and of the reference in blocks that hold both."""
    blocks = int(units.block.max(initial=-1)) + 1
    reference = np.bincount(units.block[units.treatment == 0], minlength=blocks) > 0
    treated = np.bincount(units.block[units.treatment == treatment], minlength=blocks) > 0
    of_the_two = (units.treatment == 0) | (units.treatment == treatment)
    return np.asarray(of_the_two & (reference & treated)[units.block])


def naive_test(launches: Launches, treatment: int, *, surface: int, scale: Scale, items: bool) -> Estimate:
    """Take every valid launch as independent: blocks, treatments, direction (and items) fixed."""
    rows = np.flatnonzero((launches.surface.codes == surface) & ~launches.void)
    y = on_scale(launches.value[rows], scale)[:, np.newaxis]
    factors = [(launches.treatment.codes[rows], len(launches.treatment.labels))]
    columns = (launches.item,) if items else ()
    for factor in (launches.direction, *columns):
        met, dense = np.unique(factor.codes[rows], return_inverse=True)
        factors.append((dense, max(1, len(met))))
    design = swept_design(launches.block.codes[rows], factors)
    c = level_contrast(design, treatment)
    if c is None:
        return NO_CONTRAST
    fit = least_squares(design, y, rounding=float(np.finfo(float).eps * np.abs(y).max()))
    estimate, se = estimate_of_form(design, fit, c)
    return _one_estimate(float(estimate[0]), float(se[0]), float(design.df))


def _one_estimate(estimate: float, se: float, df: float) -> Estimate:
    """State an estimate that may lack its standard error, and why."""
    if df <= 0:
        return Estimate(estimate=estimate, se=None, df=0.0, missing="no-df")
    known = None if np.isnan(df) else df
    if np.isnan(se):
        return Estimate(estimate=estimate, se=None, df=known, missing="no-scatter")
    return Estimate(estimate=estimate, se=se, df=known)
