r"""Slope: what a grade does to the law, and what the mean of both directions is worth.

A grade adds :math:`g\sin\theta` to c0 one way and takes it off the other way, so the rule is to average
decelerations, not distances. For run-outs that is the harmonic mean of the distances (Brede 1990, USGA
Green Section Record 28(6):10-12, for rolled balls). For a mark a fixed time after release, still gliding,
distance is linear in c0 and the arithmetic mean is right. SI units, angles in radians, uphill positive.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import ArrayLike

from evenglide.constants import STANDARD_GRAVITY
from evenglide.glide.law import Coefficient, DecelerationLaw, require
from evenglide.typing import FloatArray


def on_slope(law: DecelerationLaw, grade: Coefficient) -> DecelerationLaw:
    r"""Law on a slope: :math:`c_0' = c_0 \cos\theta + g \sin\theta`.

    Parameters
    ----------
    law : DecelerationLaw
        On level ground; all of its `c0` is dry friction.
    grade : float or array
        Angle, uphill positive. [rad]

    Returns
    -------
    DecelerationLaw
        `c0` may turn negative downhill: then nothing stops there.

    Examples
    --------
    >>> float(on_slope(DecelerationLaw(c0=0.4903325), np.radians(1.0)).c0)
    0.66140746
    """
    theta = np.asarray(grade, dtype=np.float64)
    return replace(law, c0=law.c0 * np.cos(theta) + STANDARD_GRAVITY * np.sin(theta))


def two_way_run_out(one_way: ArrayLike, other_way: ArrayLike) -> FloatArray:
    r"""Level run-out from run-outs in both directions, :math:`2 d_1 d_2 / (d_1 + d_2)`.

    Parameters
    ----------
    one_way, other_way : float or array
        Run-outs over the same ground from the same launch speed, positive. [m]

    Returns
    -------
    array of float, broadcast shape
        [m]

    Raises
    ------
    OutOfRangeError
        A distance is not positive.

    Notes
    -----
    Under dry friction on a constant slope exact but for a factor :math:`1/\cos\theta` (1.5e-4 at one degree);
    with drag too long by about `harmonic_excess`. Not a level run-out where launch speed or friction itself
    differs between the directions.

    Examples
    --------
    >>> float(two_way_run_out(6.80367, 14.10180))
    9.17884
    """
    d1, d2 = np.asarray(one_way, dtype=np.float64), np.asarray(other_way, dtype=np.float64)
    require((d1 > 0.0) & (d2 > 0.0), "distance", found=(one_way, other_way), expected="positive numbers")
    return np.asarray(2.0 * d1 * d2 / (d1 + d2))


def two_way_timed(one_way: ArrayLike, other_way: ArrayLike) -> FloatArray:
    """Level distance from marks a fixed time after release in both directions: their mean.

    Parameters
    ----------
    one_way, other_way : float or array
        Distances, still gliding. [m]

    Returns
    -------
    array of float, broadcast shape
        Exact for dry friction; a launch that had stopped before its mark does not belong here. [m]

    Examples
    --------
    >>> float(two_way_timed(0.5, 0.75))
    0.625
    """
    return np.asarray((np.asarray(one_way, dtype=np.float64) + np.asarray(other_way)) / 2.0)


def harmonic_excess(law: DecelerationLaw, *, launch_speed: float, grade: float) -> FloatArray:
    r"""Relative error of `two_way_run_out`, to leading order in drag.

    .. math:: \frac{1}{\cos\theta} - 1 + \left(\frac{q^2}{12} + \frac{p^2}{18}\right) s^2,
              \quad p = \frac{c_1 v_0}{c_0},\ q = \frac{c_2 v_0^2}{c_0},\ s = \frac{g \tan\theta}{c_0}

    Parameters
    ----------
    law : DecelerationLaw
        On level ground, ``c0 > 0``.
    launch_speed : float
        [m/s]
    grade : float
        [rad]

    Returns
    -------
    array of float
        Positive: the harmonic mean is too long. An over-estimate beyond p or q of about 0.3. [1]

    Raises
    ------
    OutOfRangeError
        `c0` is not positive.
    """
    c0 = np.asarray(law.c0, dtype=np.float64)
    require(c0 > 0.0, "c0", found=law.c0, expected="a positive number")
    p, q = law.c1 * launch_speed / c0, law.c2 * launch_speed**2 / c0
    s = STANDARD_GRAVITY * np.tan(grade) / c0
    return np.asarray(1.0 / np.cos(grade) - 1.0 + (q**2 / 12.0 + p**2 / 18.0) * s**2)


def grade_from_run_outs(uphill: ArrayLike, downhill: ArrayLike, *, launch_speed: ArrayLike) -> FloatArray:
    r"""Angle of the slope from a pair of run-outs under dry friction.

    .. math:: \sin\theta = \frac{v_0^2}{4 g}\left(\frac{1}{d_\mathrm{up}} - \frac{1}{d_\mathrm{down}}\right)

    Parameters
    ----------
    uphill, downhill : float or array
        Run-outs from the same launch speed, positive. [m]
    launch_speed : float or array
        [m/s]

    Returns
    -------
    array of float, broadcast shape
        Negative if the first direction was downhill after all. [rad]

    Raises
    ------
    OutOfRangeError
        A distance is not positive, or the two differ by more than any slope can do.

    Examples
    --------
    >>> float(np.degrees(grade_from_run_outs(6.8036729, 14.1018009, launch_speed=3.0)))
    1.00000
    """
    up, down = np.asarray(uphill, dtype=np.float64), np.asarray(downhill, dtype=np.float64)
    require((up > 0.0) & (down > 0.0), "distance", found=(uphill, downhill), expected="positive numbers")
    sine = np.asarray(launch_speed) ** 2 / (4.0 * STANDARD_GRAVITY) * (1.0 / up - 1.0 / down)
    require(
        np.abs(sine) <= 1.0, "distance", found=(uphill, downhill), expected="run-outs of one launch speed"
    )
    return np.asarray(np.arcsin(sine))
