"""Where a gliding item is after a given time, how fast at a given place, and when it passes there.

Same laws, lane and units as `stopping`. Time and distance are integrals over speed; the speed that belongs
to a time or a place is found by Newton's rule held inside a shrinking bracket.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from evenglide.glide.law import DecelerationLaw, require, require_slowing
from evenglide.glide.quadrature import speed_integral
from evenglide.glide.stopping import checked_speed
from evenglide.typing import BoolArray, FloatArray

MOST_STEPS = 200
CLOSE = 4.0 * float(np.finfo(np.float64).eps)
"""Relative to the width of the first bracket: no step can be told from rounding below it."""


def speed_after(time: ArrayLike, *, launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    """Speed a given time after release; zero once the item has stopped.

    Parameters
    ----------
    time : float or array
        Since release, not negative. [s]
    launch_speed : float or array
        [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        [m/s]

    Raises
    ------
    NeverStops
        a(v) is not positive at some speed between rest and launch speed.
    OutOfRangeError
        A time or launch speed is negative or not a number.

    Examples
    --------
    >>> float(speed_after(1.5, launch_speed=3.0, law=DecelerationLaw(c1=0.4)))
    1.646434908
    """
    elapsed = np.asarray(time, dtype=np.float64)
    require(np.isfinite(elapsed) & (elapsed >= 0.0), "time", found=time, expected="a number of at least zero")
    v0 = checked_speed(launch_speed)
    require_slowing(law, v0)
    elapsed, v0, law = _spread(elapsed, v0, law)

    def missing(speed: FloatArray) -> FloatArray:
        """Time still to go at `speed`, as a change of speed."""
        late = speed_integral(law, slow=speed, fast=v0, over_distance=False) - elapsed
        return np.asarray(late * law.deceleration(speed))

    gliding = _gliding(elapsed, v0, law, over_distance=False)
    return _solve(missing, start=v0 - elapsed * law.deceleration(v0), top=v0, inside=gliding)


def distance_after(time: ArrayLike, *, launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    """Distance covered a given time after release: the timed mark.

    Parameters
    ----------
    time : float or array
        Since release, not negative. [s]
    launch_speed : float or array
        [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        The whole run-out where the item has stopped before. [m]

    Raises
    ------
    NeverStops, OutOfRangeError
        As `speed_after`.

    Examples
    --------
    >>> float(distance_after(1.5, launch_speed=3.0, law=DecelerationLaw(c2=0.25)))
    3.0150872
    """
    speed = speed_after(time, launch_speed=launch_speed, law=law)
    return speed_integral(law, slow=speed, fast=launch_speed, over_distance=True)


def speed_at(distance: ArrayLike, *, launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    """Speed at a given distance from release.

    Parameters
    ----------
    distance : float or array
        Not negative. [m]
    launch_speed : float or array
        [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        NaN where the item stops before it gets there. [m/s]

    Raises
    ------
    NeverStops
        a(v) is not positive at some speed between rest and launch speed.
    OutOfRangeError
        A distance or launch speed is negative or not a number.

    Examples
    --------
    >>> float(speed_at(5.0, launch_speed=3.0, law=DecelerationLaw(c0=0.5)))
    2.0
    """
    place = np.asarray(distance, dtype=np.float64)
    good = np.isfinite(place) & (place >= 0.0)
    require(good, "distance", found=distance, expected="a number of at least zero")
    v0 = checked_speed(launch_speed)
    require_slowing(law, v0)
    place, v0, law = _spread(place, v0, law)

    def missing(square: FloatArray) -> FloatArray:
        """Distance still to go, as a change of the squared speed: exact at once under dry friction."""
        speed = np.sqrt(square)
        short = speed_integral(law, slow=speed, fast=v0, over_distance=True) - place
        return np.asarray(2.0 * short * law.deceleration(speed))

    passing = _gliding(place, v0, law, over_distance=True)
    square = _solve(missing, start=v0**2 - 2.0 * place * law.deceleration(v0), top=v0**2, inside=passing)
    beyond = ~passing & (place > _furthest(v0, law) * (1.0 + CLOSE))
    return np.where(beyond, np.nan, np.sqrt(square))


def passage_time(distance: ArrayLike, *, launch_speed: ArrayLike, law: DecelerationLaw) -> FloatArray:
    """Time from release until the item passes a given place: a gate.

    Parameters
    ----------
    distance : float or array
        Not negative. [m]
    launch_speed : float or array
        [m/s]
    law : DecelerationLaw

    Returns
    -------
    array of float, broadcast shape
        NaN where the item stops before it gets there. [s]

    Raises
    ------
    NeverStops, OutOfRangeError
        As `speed_at`.

    Examples
    --------
    >>> float(passage_time(5.0, launch_speed=3.0, law=DecelerationLaw(c0=0.5)))
    2.0
    """
    speed = speed_at(distance, launch_speed=launch_speed, law=law)
    passes = np.isfinite(speed)
    slow = np.where(passes, speed, launch_speed)
    time = speed_integral(law, slow=slow, fast=launch_speed, over_distance=False)
    return np.where(passes, time, np.nan)


def _spread(
    given: FloatArray, v0: FloatArray, law: DecelerationLaw
) -> tuple[FloatArray, FloatArray, DecelerationLaw]:
    """All arrays at their common shape."""
    given, v0, c0, c1, c2 = np.broadcast_arrays(given, v0, law.c0, law.c1, law.c2)
    return given, v0, DecelerationLaw(c0=c0, c1=c1, c2=c2)


def _furthest(v0: FloatArray, law: DecelerationLaw) -> FloatArray:
    """Distance that is never passed; infinite under drag alone."""
    c0, c1 = np.asarray(law.c0), np.asarray(law.c1)
    ends = (c0 > 0.0) | (c1 > 0.0) | (v0 == 0.0)
    standing_in = DecelerationLaw(c0=np.where(ends, c0, 1.0), c1=c1, c2=law.c2)
    return np.where(ends, speed_integral(standing_in, slow=0.0, fast=v0, over_distance=True), np.inf)


def _gliding(given: FloatArray, v0: FloatArray, law: DecelerationLaw, *, over_distance: bool) -> BoolArray:
    """Whether the item is still under way at the given time or place."""
    if over_distance:
        return np.asarray(given < _furthest(v0, law))
    c0 = np.asarray(law.c0)
    standing_in = DecelerationLaw(c0=np.where(c0 > 0.0, c0, 1.0), c1=law.c1, c2=law.c2)
    stops_at = speed_integral(standing_in, slow=0.0, fast=v0, over_distance=False)
    return np.asarray((given < np.where(c0 > 0.0, stops_at, np.inf)) & (v0 > 0.0))


def _solve(
    missing: Callable[[FloatArray], FloatArray], *, start: FloatArray, top: FloatArray, inside: BoolArray
) -> FloatArray:
    """Root in (0, top) of a function that Newton's rule adds to its argument; zero where not `inside`."""
    low, high = np.zeros(top.shape), np.array(top)
    now = np.where((start > low) & (start < high), start, np.where(start >= high, high, high / 2.0))
    for _ in range(MOST_STEPS):
        step = missing(now)
        low, high = np.where(step > 0.0, now, low), np.where(step > 0.0, high, now)
        then = now + step
        then = np.where((then > low) & (then < high), then, (low + high) / 2.0)
        then = np.where(np.abs(step) <= CLOSE * top, now, then)
        if not np.any(inside & (np.abs(then - now) > CLOSE * top)):
            break
        now = np.where(inside, then, top)
    return np.where(inside, now, 0.0)
