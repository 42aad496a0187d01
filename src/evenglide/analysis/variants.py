"""The same table under one other decision: outliers out, wear taken out, set-aside launches filled in.

Each function returns launches, so that the primary test can be run on them again unchanged.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.estimates import Estimate
from evenglide.maths.outliers import extreme_deviates
from evenglide.readings.launches import Launches
from evenglide.readings.observations import on_scale
from evenglide.typing import FloatArray, IntArray

ESD_LEVEL = 0.05
ROUNDINGS = 4
"""Residuals below so many rounding errors of a value are noise of the arithmetic, not scatter."""
BEYOND = 0.5
"""How much farther than its bound a launch that left the lane is taken to have gone, as a guess."""
ESD_SHARE = 0.10
"""At most this share of a surface's launches may be called outliers: beyond it they are the data."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cells:
    """Valid launches on one surface by preparation and direction, the groups that share one mean.

    Parameters
    ----------
    rows : array of int, shape (launches,)
        Positions in the table.
    cell : array of int, shape (launches,)
    size : array of int, shape (cells,)
    y : array of float, shape (launches,)
        Analysis scale.
    deviation : array of float, shape (launches,)
        From the cell's mean.
    """

    rows: IntArray
    cell: IntArray
    size: IntArray
    y: FloatArray
    deviation: FloatArray


def cells_of(case: SurfaceCase) -> Cells:
    """Group the valid launches on a surface by preparation and direction."""
    launches, rows = case.launches, case.valid_rows
    ways = len(launches.direction.labels)
    _, cell = np.unique(
        launches.preparation.codes[rows] * ways + launches.direction.codes[rows], return_inverse=True
    )
    size = np.bincount(cell)
    y = on_scale(launches.value[rows], case.scale)
    y = y - y[:1]
    deviation = y - (np.bincount(cell, weights=y) / np.maximum(size, 1))[cell]
    return Cells(rows=rows, cell=cell, size=size, y=y, deviation=deviation)


def outlier_rows(case: SurfaceCase) -> IntArray:
    """Positions of launches that the generalised ESD procedure calls outliers within their preparation.

    Residuals are scaled by sqrt(1 - 1/n), n being the launches that share the mean, so that all
    have one variance.
    """
    cells = cells_of(case)
    several = np.flatnonzero(cells.size[cells.cell] > 1)
    scaled = cells.deviation[several] / np.sqrt(1 - 1 / cells.size[cells.cell[several]])
    most = int(ESD_SHARE * len(cells.rows))
    found = extreme_deviates(scaled, level=ESD_LEVEL, most=most).outliers
    return np.asarray(cells.rows[several[found]])


def without_rows(launches: Launches, rows: IntArray) -> Launches:
    """Set further launches aside."""
    void = launches.void.copy()
    void[rows] = True
    return replace(launches, void=void)


def launches_since_preparation(launches: Launches) -> FloatArray | None:
    """Rank of each launch on its preparation, from 0, over all surfaces; None without an order."""
    if launches.order is None:
        return None
    code = launches.preparation.codes
    by_preparation = np.lexsort((launches.order, code))
    starts = np.flatnonzero(np.diff(code[by_preparation], prepend=-1))
    since = np.empty(len(code))
    position = np.arange(len(code))
    first = np.repeat(starts, np.diff(np.append(starts, len(code))))
    since[by_preparation] = position - first
    return since


def wear_of(case: SurfaceCase) -> Estimate:
    """Change of y per launch since preparation: one slope, from within preparations (and directions).

    The degrees of freedom are those of launches, because launches around their own preparation's mean are
    what is compared; one and the same slope on every preparation is taken for granted.

    Parameters
    ----------
    case : SurfaceCase

    Returns
    -------
    Estimate
        `missing` is ``"no-order"``, ``"one-launch-each"``, ``"no-df"`` or ``"no-scatter"``.
    """
    since = launches_since_preparation(case.launches)
    if since is None:
        return Estimate(estimate=None, se=None, df=None, missing="no-order")
    cells = cells_of(case)
    age = since[cells.rows]
    age = age - (np.bincount(cells.cell, weights=age) / np.maximum(cells.size, 1))[cells.cell]
    spread = float(age @ age)
    if spread <= 0:
        return Estimate(estimate=None, se=None, df=None, missing="one-launch-each")
    slope = float(age @ cells.deviation) / spread
    left = cells.deviation - slope * age
    df = float(len(cells.rows) - len(cells.size) - 1)
    if df <= 0:
        return Estimate(estimate=slope, se=None, df=0.0, missing="no-df")
    squares = float(left @ left)
    rounding = ROUNDINGS * float(np.finfo(float).eps * np.abs(cells.y).max())
    if squares <= len(left) * rounding**2:
        return Estimate(estimate=slope, se=None, df=df, missing="no-scatter")
    return Estimate(estimate=slope, se=(squares / df / spread) ** 0.5, df=df)


def without_wear(case: SurfaceCase) -> Launches | None:
    """Take the wear of the surface off each launch, centred on what was launched there in all.

    Means are touched only where launches set aside unbalance them.
    """
    slope, since = wear_of(case).estimate, launches_since_preparation(case.launches)
    if slope is None or since is None:
        return None
    launches, rows = case.launches, case.rows
    ways = len(launches.direction.labels)
    _, cell = np.unique(
        launches.preparation.codes[rows] * ways + launches.direction.codes[rows], return_inverse=True
    )
    planned = (np.bincount(cell, weights=since[rows]) / np.bincount(cell))[cell]
    correction = -slope * (since[rows] - planned)
    value = launches.value.copy()
    value[rows] = value[rows] * np.exp(correction) if case.scale == "ratio" else value[rows] + correction
    return replace(launches, value=value)


def filled_in(case: SurfaceCase, treatment: int, *, favour_treatment: bool) -> Launches | None:
    """Fill set-aside and at-least launches of two treatments in, all for or all against one of them.

    A launch set aside takes the lowest or highest valid reading on the surface; an at-least launch
    its bound, or the larger of its bound and the highest reading. None if there is nothing to fill.
    """
    launches, rows, valid = case.launches, case.rows, case.valid_rows
    of_the_two = np.isin(launches.treatment.codes[rows], (0, treatment))
    doubtful = rows[of_the_two & (launches.void[rows] | launches.at_least[rows])]
    if not doubtful.size or not valid.size:
        return None
    lowest, highest = launches.value[valid].min(), launches.value[valid].max()
    up = (launches.treatment.codes[doubtful] == treatment) == favour_treatment
    aside = launches.void[doubtful]
    bound = launches.value[doubtful]
    filled = np.where(aside, np.where(up, highest, lowest), np.where(up, np.fmax(bound, highest), bound))
    value, void = launches.value.copy(), launches.void.copy()
    value[doubtful], void[doubtful] = filled, False
    return replace(launches, value=value, void=void)


def gone_beyond(case: SurfaceCase, treatment: int, *, favour_treatment: bool) -> Launches | None:
    """Take at-least launches of one of two treatments beyond their bound; None if there is none.

    What left the lane might have gone anywhere; half as far again is a stated guess that shows whether
    the answer hangs on it.
    """
    launches, rows = case.launches, case.valid_rows
    code = treatment if favour_treatment else 0
    beyond = rows[launches.at_least[rows] & (launches.treatment.codes[rows] == code)]
    if not np.isin(launches.treatment.codes[rows[launches.at_least[rows]]], (0, treatment)).any():
        return None
    value = launches.value.copy()
    value[beyond] += BEYOND * np.abs(value[beyond])
    return replace(launches, value=value)
