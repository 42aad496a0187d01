r"""From launches to observations: one value per preparation and surface.

The preparation is the unit that counts; its launches only steady its value. Within one direction
the value is the mean over valid launches on the analysis scale. Over two directions the
*decelerations* are averaged, because a slope adds to one direction what it takes from the other:
for a run-out the deceleration goes as 1/d, for the place reached after a fixed time the distance
itself is linear in it.

Notation: :math:`m_1, m_2` are the means of the two directions, of logarithms on the ratio scale and
of readings on the difference scale.

================  =============================================  ==============================
mark              ratio scale                                    difference scale
================  =============================================  ==============================
run-out           :math:`-\ln((e^{-m_1} + e^{-m_2})/2)`          :math:`2/(1/m_1 + 1/m_2)`
timed mark        log of the mean of the two arithmetic means    :math:`(m_1 + m_2)/2`
any other         :math:`(m_1 + m_2)/2`                          :math:`(m_1 + m_2)/2`
================  =============================================  ==============================

Source of the two-way mean of run-outs: Brede (1990), USGA Green Section Record 28(6), 10-12.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import group_sums
from evenglide.readings.launches import Launches
from evenglide.typing import BoolArray, FloatArray, IntArray, Scale

RUN_OUT = "run-out"
TIMED_MARK = "timed mark"


@dataclass(frozen=True, slots=True, kw_only=True)
class Observations:
    """The value of each preparation on one surface.

    Parameters
    ----------
    surface : int
        Code of the surface.
    mark : str
        Kind of mark of most launches on this surface.
    origin : float
        Added to `value` it gives the value on the analysis scale. Kept apart so that a small
        scatter on top of a large constant keeps its digits.
    value : array of float, shape (preparations,)
        Analysis scale, less `origin`.
    rounding : float
        Rounding error that a value carries from the size of the number it came from.
    preparation, treatment, block, item : array of int, shape (preparations,)
        Codes.
    launches : array of int, shape (preparations,)
        Valid launches behind each value.
    order : array of float, shape (preparations,), or None
        Mean rank of those launches.
    two_way : bool
        Two directions were averaged.
    without_value : array of int
        Codes of preparations met on this surface that have no value: all launches set aside, or a
        direction missing.
    one_direction : array of int
        Those of `without_value` that have valid launches in one direction only.
    no_two_way : array of int
        Those that were launched both ways, but whose readings have no two-way value (a run-out of
        nought or less has no deceleration).
    """

    surface: int
    mark: str
    origin: float
    value: FloatArray
    rounding: float
    preparation: IntArray
    treatment: IntArray
    block: IntArray
    item: IntArray
    launches: IntArray
    order: FloatArray | None
    two_way: bool
    without_value: IntArray
    one_direction: IntArray
    no_two_way: IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceLayout:
    """Which launches make up which value on one surface; it knows no reading.

    Parameters
    ----------
    surface : int
        Code of the surface.
    mark : str
        Kind of mark of most launches on this surface.
    rows : array of int, shape (launches,)
        Positions of this surface's launches in the table, set aside or not.
    cell : array of int, shape (launches,)
        Direction times the number of preparations, plus the place of the preparation.
    directions : int
        Number of directions.
    preparation, treatment, block, item : array of int, shape (preparations,)
        Codes, in order of first appearance.
    """

    surface: int
    mark: str
    rows: IntArray
    cell: IntArray
    directions: int
    preparation: IntArray
    treatment: IntArray
    block: IntArray
    item: IntArray


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparationValues:
    """Values of all preparations of a surface, any number of studies side by side.

    Parameters
    ----------
    value : array of float, shape (preparations, studies)
        Analysis scale, less `origin`; NaN where a preparation has none.
    origin : array of float, shape (studies,)
    rounding : array of float, shape (studies,)
        Rounding error that a value carries from the size of the number it came from.
    count : array of int, shape (directions, preparations, studies)
        Valid launches behind each value; one study's where all have every launch.
    """

    value: FloatArray
    origin: FloatArray
    rounding: FloatArray
    count: IntArray


def layout_of(launches: Launches, surface: int) -> SurfaceLayout:
    """Lay out the launches on one surface by preparation and direction.

    Parameters
    ----------
    launches : Launches
    surface : int
        Code of the surface.

    Returns
    -------
    SurfaceLayout
    """
    rows = np.flatnonzero(launches.surface.codes == surface)
    met, first = np.unique(launches.preparation.codes[rows], return_index=True)
    met, first = met[np.argsort(first)], rows[np.sort(first)]
    place = np.full(len(launches.preparation.labels), -1)
    place[met] = np.arange(len(met))
    directions, way = np.unique(launches.direction.codes[rows], return_inverse=True)
    return SurfaceLayout(
        surface=surface,
        mark=most_frequent_mark(launches, rows),
        rows=rows,
        cell=way * len(met) + place[launches.preparation.codes[rows]],
        directions=len(directions),
        preparation=met,
        treatment=launches.treatment.codes[first],
        block=launches.block.codes[first],
        item=launches.item.codes[first],
    )


def preparation_values(
    layout: SurfaceLayout, reading: FloatArray, *, valid: BoolArray | None = None, scale: Scale
) -> PreparationValues:
    """Reduce the launches on one surface to one value per preparation, in every study.

    Parameters
    ----------
    layout : SurfaceLayout
    reading : array of float, shape (launches, studies)
        Readings of ``layout.rows`` in the response's unit; anything where not valid.
    valid : array of bool, shape (launches, studies), optional
        Not set aside; all, if left out.
    scale : {"ratio", "difference"}
        Analysis scale; ``"ratio"`` needs positive valid readings.

    Returns
    -------
    PreparationValues
    """
    shape = (layout.directions, len(layout.preparation))
    cells, studies = shape[0] * shape[1], reading.shape[1]
    if valid is None:
        count = np.bincount(layout.cell, minlength=cells)[:, np.newaxis].astype(np.float64)
    else:
        reading = np.where(valid, reading, 1.0)  # a number that every scale can take; it has no weight
        count = group_sums(valid.astype(np.float64), layout.cell, cells)
    origin = np.zeros(studies)
    if scale == "difference" and shape[0] == 1 and len(reading):
        origin = _first_valid(reading, valid)
    timed_ratio = scale == "ratio" and layout.mark == TIMED_MARK and shape[0] > 1
    y = reading if timed_ratio else on_scale(reading, scale) - origin
    total = group_sums(y if valid is None else np.where(valid, y, 0.0), layout.cell, cells)
    means = np.full((cells, studies), np.nan)
    np.divide(total, count, out=means, where=np.broadcast_to(count > 0, total.shape))
    value = means if shape[0] == 1 else _average_ways(means.reshape(*shape, studies), scale, layout.mark)
    value[~np.isfinite(value)] = np.nan
    size = np.abs(np.where(np.isnan(value), 0.0, value + origin)).max(axis=0, initial=0.0)
    return PreparationValues(
        value=value,
        origin=origin,
        rounding=np.finfo(np.float64).eps * size,
        count=count.astype(np.int64).reshape(*shape, -1),
    )


def observe(launches: Launches, surface: int, *, scale: Scale) -> Observations:
    """Reduce the launches on one surface to one value per preparation.

    Parameters
    ----------
    launches : Launches
    surface : int
        Code of the surface.
    scale : {"ratio", "difference"}
        Analysis scale; ``"ratio"`` needs positive valid readings.

    Returns
    -------
    Observations
    """
    layout = layout_of(launches, surface)
    valid = ~launches.void[layout.rows]
    one = preparation_values(
        layout, launches.value[layout.rows, np.newaxis], valid=valid[:, np.newaxis], scale=scale
    )
    value, count = one.value[:, 0], one.count[:, :, 0]
    has_value = ~np.isnan(value)
    total = count.sum(axis=0)
    order = None
    if launches.order is not None:
        unit = layout.cell[valid] % max(1, len(total))
        order = _mean(launches.order[layout.rows[valid]], unit, total)[has_value]
    met = layout.preparation
    return Observations(
        surface=surface,
        mark=layout.mark,
        origin=float(one.origin[0]),
        value=value[has_value],
        rounding=float(one.rounding[0]),
        preparation=met[has_value],
        treatment=layout.treatment[has_value],
        block=layout.block[has_value],
        item=layout.item[has_value],
        launches=total[has_value],
        order=order,
        two_way=layout.directions == 2,
        without_value=met[~has_value],
        one_direction=met[(count == 0).any(axis=0) & (total > 0)],
        no_two_way=met[(count > 0).all(axis=0) & ~has_value],
    )


def most_frequent_mark(launches: Launches, rows: IntArray) -> str:
    """Name the kind of mark that most of these launches have (the first met, if several tie)."""
    if not rows.size:
        return launches.mark.labels[0]
    return launches.mark.labels[int(np.bincount(launches.mark.codes[rows]).argmax())]


def on_scale(value: FloatArray, scale: Scale) -> FloatArray:
    """Put readings on the analysis scale: natural logarithm for ``"ratio"``, as they are otherwise."""
    return np.log(value) if scale == "ratio" else value


def is_plain_mean(observations: Observations, *, scale: Scale) -> bool:
    """Whether a preparation's value is a plain mean of its launches' values on the analysis scale.

    Parameters
    ----------
    observations : Observations
    scale : {"ratio", "difference"}

    Returns
    -------
    bool
        False where two directions are averaged otherwise, as the table at the head of this file says.
    """
    if not observations.two_way:
        return True
    return observations.mark != RUN_OUT and not (observations.mark == TIMED_MARK and scale == "ratio")


def _first_valid(reading: FloatArray, valid: BoolArray | None) -> FloatArray:
    """First valid reading of each study, 0 where a study has none."""
    if valid is None:
        return np.array(reading[0])
    first = valid.argmax(axis=0)[np.newaxis]
    found = np.take_along_axis(reading, first, axis=0)[0]
    return np.asarray(np.where(np.take_along_axis(valid, first, axis=0)[0], found, 0.0))


def _average_ways(means: FloatArray, scale: Scale, mark: str) -> FloatArray:
    """Average the directions (axis 0) as the table at the head of this file says."""
    if mark == RUN_OUT and scale == "ratio":
        return np.asarray(-np.log(np.exp(-means).mean(axis=0)))
    if mark == RUN_OUT:
        positive = np.where(means > 0, means, np.nan)  # a run-out of nought has no deceleration
        return np.asarray(1.0 / (1.0 / positive).mean(axis=0))
    average: FloatArray = np.asarray(means.mean(axis=0))
    return np.asarray(np.log(average)) if mark == TIMED_MARK and scale == "ratio" else average


def _mean(y: FloatArray, unit: IntArray, count: IntArray) -> FloatArray:
    """Mean of y by unit; NaN where a unit has none."""
    total = np.bincount(unit, weights=y, minlength=len(count))
    mean = np.full(len(count), np.nan)
    np.divide(total, count, out=mean, where=count > 0)
    return mean
