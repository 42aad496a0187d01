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

from evenglide.readings.launches import Launches
from evenglide.typing import FloatArray, IntArray, Scale

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
    here = np.flatnonzero(launches.surface.codes == surface)
    valid = here[~launches.void[here]]
    mark = most_frequent_mark(launches, here)
    met, first = np.unique(launches.preparation.codes[here], return_index=True)
    met, first = met[np.argsort(first)], here[np.sort(first)]
    slot = np.full(len(launches.preparation.labels), -1)
    slot[met] = np.arange(len(met))

    directions, way = np.unique(launches.direction.codes[here], return_inverse=True)
    way = way[~launches.void[here]]
    unit = slot[launches.preparation.codes[valid]]
    shape = (len(directions), len(met))
    count = np.bincount(way * len(met) + unit, minlength=shape[0] * shape[1]).reshape(shape)
    value, origin = _values(launches.value[valid], scale=scale, mark=mark, way=way, unit=unit, count=count)

    has_value = (count > 0).all(axis=0) & np.isfinite(value)
    total = count.sum(axis=0)
    order = None
    if launches.order is not None:
        order = _mean(launches.order[valid], unit, total)[has_value]
    first = first[has_value]
    return Observations(
        surface=surface,
        mark=mark,
        origin=origin,
        value=value[has_value],
        rounding=float(np.finfo(float).eps * np.abs(value[has_value] + origin).max(initial=0.0)),
        preparation=met[has_value],
        treatment=launches.treatment.codes[first],
        block=launches.block.codes[first],
        item=launches.item.codes[first],
        launches=total[has_value],
        order=order,
        two_way=len(directions) == 2,
        without_value=met[~has_value],
        one_direction=met[(count == 0).any(axis=0) & (total > 0)],
        no_two_way=met[(count > 0).all(axis=0) & ~np.isfinite(value)],
    )


def most_frequent_mark(launches: Launches, rows: IntArray) -> str:
    """Name the kind of mark that most of these launches have (the first met, if several tie)."""
    if not rows.size:
        return launches.mark.labels[0]
    return launches.mark.labels[int(np.bincount(launches.mark.codes[rows]).argmax())]


def on_scale(value: FloatArray, scale: Scale) -> FloatArray:
    """Put readings on the analysis scale: natural logarithm for ``"ratio"``, as they are otherwise."""
    return np.log(value) if scale == "ratio" else value


def _values(
    reading: FloatArray, *, scale: Scale, mark: str, way: IntArray, unit: IntArray, count: IntArray
) -> tuple[FloatArray, float]:
    """Values of all preparations of a surface, and the origin taken from them; NaN where none."""
    if len(count) == 1:
        origin = float(reading[0]) if scale == "difference" and reading.size else 0.0
        return _mean(on_scale(reading, scale) - origin, unit, count[0]), origin
    timed_ratio = scale == "ratio" and mark == TIMED_MARK
    y = reading if timed_ratio else on_scale(reading, scale)
    means = np.stack([_mean(y[way == k], unit[way == k], count[k]) for k in range(len(count))])
    return _average_ways(means, scale=scale, mark=mark), 0.0


def _average_ways(means: FloatArray, *, scale: Scale, mark: str) -> FloatArray:
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
