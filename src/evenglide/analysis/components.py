r"""The mixed model beside the verdict: launches of a surface, preparations drawn from a population.

.. math:: y = \text{round} + \text{treatment} + \text{item} + \text{direction} + u_\text{preparation} + e

Rounds, treatments, items (where the primary test has them) and the direction are fixed, preparations and
launches scatter with a variance of their own each. It estimates what the primary test estimates, weighting
preparations by what their launches know instead of equally; where every preparation has as many launches the
two agree. It never enters a verdict.

It is a model of launches, so it exists only where a preparation's value is a plain mean of launches. Two
directions of run-outs, or of timed marks as ratios, are averaged as decelerations or distances, and a model
of launches would estimate something else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.maths.components import ComponentFit, fit_component
from evenglide.maths.means import level_contrast
from evenglide.maths.mixed_design import MixedDesign, mixed_design
from evenglide.readings.observations import is_plain_mean, on_scale
from evenglide.typing import FloatArray, IntArray

MOST_CELLS = 2_000_000
"""Launches times (preparations + columns) of one surface; beyond it taking the design apart takes seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedEstimate:
    """One treatment against the reference under the mixed model; all on the analysis scale.

    Parameters
    ----------
    estimate, se, df : float
        `df` counts launches where `boundary`.
    preparation_variance, launch_variance : float
        The first is exactly 0 where `boundary`.
    boundary : bool
        No scatter between preparations could be seen.
    moment_variance : float
        Between preparations, from sums of squares; of either sign.
    """

    estimate: float
    se: float
    df: float
    preparation_variance: float
    launch_variance: float
    boundary: bool
    moment_variance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MixedModel:
    """The mixed model of one surface, or why there is none.

    Parameters
    ----------
    treatments : tuple of int
        Codes that can be compared with the reference, in the order of the fit's contrasts.
    fit : ComponentFit or None
    missing : str or None
        ``"no-contrast"``, ``"two-way"``, ``"item-is-unit"``, ``"one-launch-each"``, ``"no-df"``,
        ``"too-large"`` or ``"no-scatter"``.
    """

    treatments: tuple[int, ...]
    fit: ComponentFit | None
    missing: str | None

    def contrast(self, treatment: int) -> MixedEstimate | None:
        """Treatment code against the reference (code 0)."""
        if self.fit is None or treatment not in self.treatments:
            return None
        place = self.treatments.index(treatment)
        return MixedEstimate(
            estimate=float(self.fit.estimate[place, 0]),
            se=float(self.fit.se[place, 0]),
            df=float(self.fit.df[place, 0]),
            preparation_variance=float(self.fit.group_variance[0]),
            launch_variance=float(self.fit.residual_variance[0]),
            boundary=bool(self.fit.boundary[0]),
            moment_variance=float(self.fit.moment_variance[0]),
        )


def mixed_model(case: SurfaceCase) -> MixedModel:
    """Fit the mixed model to the valid launches of a surface.

    Parameters
    ----------
    case : SurfaceCase

    Returns
    -------
    MixedModel
    """
    treatments = tuple(
        code for code in range(1, case.units.treatments) if level_contrast(case.test.design, code) is not None
    )
    rows = rows_of(case)
    missing = _why_not(case, rows, treatments)
    if missing is not None:
        return MixedModel(treatments=(), fit=None, missing=missing)
    design = design_of_launches(case, rows, treatments)
    if not design.can_be_split:
        return MixedModel(
            treatments=(), fit=None, missing="one-launch-each" if design.residual_df <= 0 else "no-df"
        )
    fit = fit_component(design, on_scale(case.launches.value[rows], case.scale))
    if not (fit.se > 0.0).all():
        return MixedModel(treatments=(), fit=None, missing="no-scatter")
    return MixedModel(treatments=treatments, fit=fit, missing=None)


def rows_of(case: SurfaceCase) -> IntArray:
    """Positions of the valid launches whose preparations have a value.

    Parameters
    ----------
    case : SurfaceCase

    Returns
    -------
    array of int, shape (launches,)
    """
    rows = case.valid_rows
    return rows[np.isin(case.launches.preparation.codes[rows], case.observations.preparation)]


def design_of_launches(case: SurfaceCase, rows: IntArray, treatments: tuple[int, ...]) -> MixedDesign:
    """Columns of the model for some launches, and one contrast for each treatment.

    Parameters
    ----------
    case : SurfaceCase
    rows : array of int, shape (launches,)
    treatments : tuple of int
        Codes to hold against the reference.

    Returns
    -------
    MixedDesign
    """
    launches = case.launches
    given = launches.treatment.codes[rows]
    columns = [_indicators(launches.block.codes[rows])]
    columns.append(np.equal(given[:, np.newaxis], np.arange(1, case.units.treatments)).astype(np.float64))
    first = columns[0].shape[1]
    if case.units.item is not None:
        columns.append(_indicators(launches.item.codes[rows])[:, 1:])
    columns.append(_indicators(launches.direction.codes[rows])[:, 1:])
    x = np.concatenate(columns, axis=1)
    contrasts = np.zeros((x.shape[1], len(treatments)))
    contrasts[[first + code - 1 for code in treatments], np.arange(len(treatments))] = 1.0
    return mixed_design(x, launches.preparation.codes[rows], contrasts=contrasts)


def _why_not(case: SurfaceCase, rows: IntArray, treatments: tuple[int, ...]) -> str | None:
    """Say what stands in the way before anything is fitted."""
    if not treatments:
        return "no-contrast"
    if case.units.item_is_unit:
        return "item-is-unit"
    if not is_plain_mean(case.observations, scale=case.scale):
        return "two-way"
    if case.test.design.df <= 0:
        return "no-df"
    cells = len(rows) * (len(case.observations.value) + len(np.unique(case.observations.block)))
    return "too-large" if cells > MOST_CELLS else None


def _indicators(codes: IntArray) -> FloatArray:
    """A column for each level met."""
    return np.equal(codes[:, np.newaxis], np.unique(codes)).astype(np.float64)
