"""How far and how long an item glides until it stops, under a(v) = c0 + c1 v + c2 v².

On a level lane or one of constant slope. SI units. Forward only: launch speed in, distance out.
Derivation and limits: docs/physics.md.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from evenglide.glide.law import DecelerationLaw, require, require_slowing
from evenglide.glide.quadrature import speed_integral
from evenglide.typing import FloatArray


def stopping_distance(launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    r"""Distance from release until the item stops: the run-out.

    .. math:: d = \int_0^{v_0} \frac{v}{a(v)}\,\mathrm{d}v

    Parameters
    ----------
    launch_speed : float or array
        Speed at release, not negative. [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        Without dry friction (``c0 = 0``) but with a film (``c1 > 0``), the distance that the item comes
        ever closer to. [m]

    Raises
    ------
    NeverStops
        a(v) is not positive at some speed on the way, or ``c0 = c1 = 0``: drag alone never stops it.
    OutOfRangeError
        A launch speed is negative or not a number.

    Notes
    -----
    Relative error below 1e-11 on tests/reference/glide/closed_forms.json.

    Examples
    --------
    Dry friction alone stops it after v0² / (2 c0):

    >>> float(stopping_distance(3.0, DecelerationLaw(c0=0.4903325)))
    9.1774459168
    """
    v0 = checked_speed(launch_speed)
    comes_to_rest = (np.asarray(law.c0) > 0.0) | (np.asarray(law.c1) > 0.0)
    require_slowing(law, v0, stops=comes_to_rest)
    return speed_integral(law, slow=0.0, fast=v0, over_distance=True)


def stopping_time(launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    r"""Time from release until the item stops.

    .. math:: t = \int_0^{v_0} \frac{\mathrm{d}v}{a(v)}

    Parameters
    ----------
    launch_speed : float or array
        Speed at release, not negative. [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        [s]

    Raises
    ------
    NeverStops
        a(v) is not positive at some speed on the way, or ``c0 = 0``: without dry friction it creeps for good.
    OutOfRangeError
        A launch speed is negative or not a number.

    Examples
    --------
    >>> float(stopping_time(3.0, DecelerationLaw(c0=0.785, c1=0.2, c2=0.05)))
    2.58276224
    """
    v0 = checked_speed(launch_speed)
    require_slowing(law, v0, stops=np.asarray(law.c0) > 0.0)
    return speed_integral(law, slow=0.0, fast=v0, over_distance=False)


def launch_exponent(launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    r"""Per cent of run-out gained per per cent of launch speed.

    .. math:: n = \frac{\mathrm{d}\ln d}{\mathrm{d}\ln v_0} = \frac{v_0^2}{a(v_0)\,d}

    Parameters
    ----------
    launch_speed : float or array
        Positive. [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        2 for dry friction alone, less where drag grows with speed. [1]

    Raises
    ------
    NeverStops, OutOfRangeError
        As `stopping_distance`; also a launch speed of zero.

    Examples
    --------
    >>> float(launch_exponent(3.0, DecelerationLaw(c0=0.05, c1=0.1, c2=0.4)))
    0.51566
    """
    v0 = checked_speed(launch_speed)
    require(v0 > 0.0, "launch_speed", found=launch_speed, expected="a positive number")
    return np.asarray(v0**2 / (law.deceleration(v0) * stopping_distance(v0, law)))


def run_out_deceleration(launch_speed: ArrayLike, distance: ArrayLike) -> FloatArray:
    r"""Deceleration that a run-out reports, :math:`v_0^2 / (2 d)`: that at about 0.7 of the launch speed.

    Parameters
    ----------
    launch_speed : float or array
        [m/s]
    distance : float or array
        Run-out, positive. [m]

    Returns
    -------
    array of float, broadcast shape
        To first order :math:`c_0 + \tfrac23 c_1 v_0 + \tfrac12 c_2 v_0^2`. [m/s²]

    Raises
    ------
    OutOfRangeError
        A distance is not positive, or a launch speed is negative.

    Examples
    --------
    >>> float(run_out_deceleration(3.0, 9.1774459168))
    0.4903325
    """
    d = np.asarray(distance, dtype=np.float64)
    require(d > 0.0, "distance", found=distance, expected="a positive number")
    return np.asarray(checked_speed(launch_speed) ** 2 / (2.0 * d))


def checked_speed(launch_speed: ArrayLike) -> FloatArray:
    """Launch speeds as an array.

    Parameters
    ----------
    launch_speed : float or array
        [m/s]

    Returns
    -------
    array of float
        [m/s]

    Raises
    ------
    OutOfRangeError
        One is negative, infinite or not a number.
    """
    v0 = np.asarray(launch_speed, dtype=np.float64)
    good = np.isfinite(v0) & (v0 >= 0.0)
    require(good, "launch_speed", found=launch_speed, expected="a number of at least zero")
    return v0
