"""Deceleration laws a(v) = c0 + c1 v + c2 v²: how fast an item loses speed at each speed.

For everything that asks how far a launch goes. SI units; a is positive where the item slows down.
Derivation, published values and limits: docs/physics.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from evenglide.constants import STANDARD_GRAVITY
from evenglide.errors import NeverStops, OutOfRangeError, Problem
from evenglide.typing import BoolArray, FloatArray

Coefficient = float | FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class DecelerationLaw:
    r"""One law, or an array of laws: :math:`a(v) = c_0 + c_1 v + c_2 v^2`.

    Parameters
    ----------
    c0 : float or array
        Dry friction and grade, uphill positive. [m/s²]
    c1 : float or array
        Shear of a thin film. [1/s]
    c2 : float or array
        Drag of air, water or a ploughed layer. [1/m]

    Raises
    ------
    OutOfRangeError
        A coefficient is not a finite number.

    Notes
    -----
    Arrays are broadcast against each other and against launch speeds. Negative `c1` and `c2` are
    allowed (friction may fall with speed) as long as a stays positive on the speeds passed.

    Examples
    --------
    >>> float(DecelerationLaw(c0=0.785, c1=0.2, c2=0.05).deceleration(3.0))
    1.835
    """

    c0: Coefficient = 0.0
    c1: Coefficient = 0.0
    c2: Coefficient = 0.0

    def __post_init__(self) -> None:
        for name, value in (("c0", self.c0), ("c1", self.c1), ("c2", self.c2)):
            require(np.isfinite(value), name, found=value, expected="a finite number")

    def deceleration(self, speed: ArrayLike) -> FloatArray:
        """Deceleration at a speed.

        Parameters
        ----------
        speed : float or array
            [m/s]

        Returns
        -------
        array of float, broadcast shape
            [m/s²]
        """
        v = np.asarray(speed, dtype=np.float64)
        return np.asarray(self.c0 + v * (self.c1 + v * self.c2), dtype=np.float64)

    def scaled(self, factor: Coefficient) -> DecelerationLaw:
        """Law with every term times `factor`; a run-out becomes shorter by exactly that factor.

        Parameters
        ----------
        factor : float or array
            [1]

        Returns
        -------
        DecelerationLaw
        """
        return DecelerationLaw(c0=self.c0 * factor, c1=self.c1 * factor, c2=self.c2 * factor)

    def with_mass(self, *, old: float, new: Coefficient) -> DecelerationLaw:
        """Law of the same item under another load.

        Dry friction takes the same share of any weight, so `c0` stays; a film and drag push with a
        force that knows no mass, so `c1` and `c2` go as 1 / mass. That the film keeps its thickness
        under the load is an assumption.

        Parameters
        ----------
        old, new : float; float or array
            Mass the law was stated for, and the new one. [kg]

        Returns
        -------
        DecelerationLaw
        """
        require(np.asarray(new) > 0.0, "mass", found=new, expected="a positive number of kilograms")
        share = old / np.asarray(new, dtype=np.float64)
        return replace(self, c1=self.c1 * share, c2=self.c2 * share)

    def in_wind(self, *, air: float, headwind: Coefficient) -> DecelerationLaw:
        r"""Law with wind along the lane, for speeds at which the air still meets the front.

        :math:`c_a (v + w)^2 = c_a v^2 + 2 c_a w v + c_a w^2`, so wind adds to `c0` and `c1`. The mean
        of both directions keeps :math:`c_a w^2` too much in `c0`.

        Parameters
        ----------
        air : float
            The part of `c2` that is drag of air. [1/m]
        headwind : float or array
            Against the item; negative from behind, and then it holds only for v above -headwind. [m/s]

        Returns
        -------
        DecelerationLaw
        """
        w = np.asarray(headwind, dtype=np.float64)
        return replace(self, c0=self.c0 + air * w**2, c1=self.c1 + 2.0 * air * w)


def dry_friction(coefficient: Coefficient, *, grade: Coefficient = 0.0) -> DecelerationLaw:
    r"""Law of dry friction on a slope: :math:`c_0 = g(\mu\cos\theta + \sin\theta)`.

    Parameters
    ----------
    coefficient : float or array
        Coefficient of friction. [1]
    grade : float or array
        Angle of the slope, uphill positive. [rad]

    Returns
    -------
    DecelerationLaw

    Examples
    --------
    >>> float(dry_friction(0.05).c0)
    0.4903325
    """
    c0 = STANDARD_GRAVITY * (coefficient * np.cos(grade) + np.sin(grade))
    return DecelerationLaw(c0=np.asarray(c0, dtype=np.float64))


def require_slowing(
    law: DecelerationLaw, launch_speed: FloatArray, *, stops: BoolArray | None = None
) -> None:
    """Refuse laws under which an item keeps or gains speed anywhere between rest and its launch speed.

    Parameters
    ----------
    law : DecelerationLaw
    launch_speed : array of float
        [m/s]
    stops : array of bool, optional
        Laws that also have to bring the item to rest; whether they do is the caller's formula.

    Raises
    ------
    NeverStops
        With the coefficients met first.
    """
    c0, c1, c2, v0 = np.broadcast_arrays(law.c0, law.c1, law.c2, launch_speed)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        lowest_at = np.where(c2 > 0.0, -c1 / (2.0 * c2), 0.0)
        lowest_at = np.clip(np.nan_to_num(lowest_at), 0.0, v0)
        lowest = DecelerationLaw(c0=c0, c1=c1, c2=c2).deceleration(lowest_at)
    inside = (lowest_at > 0.0) & (lowest <= 0.0)
    fails = (v0 > 0.0) & ((c0 < 0.0) | inside | (law.deceleration(v0) <= 0.0))
    if stops is not None:
        fails |= (v0 > 0.0) & ~stops
    if not np.any(fails):
        return
    first = np.unravel_index(int(np.argmax(fails)), fails.shape)
    worst = tuple(float(part[first]) for part in (c0, c1, c2, v0))
    raise NeverStops(
        [
            Problem(
                code="never-stops",
                where="deceleration law",
                found="c0 = {:g} m/s², c1 = {:g} 1/s, c2 = {:g} 1/m from {:g} m/s".format(*worst),
                expected="a deceleration above zero at every speed from launch to rest",
                remedy="Take a mark a fixed time after release, gate times or a path where nothing comes to "
                "rest; on a slope, launch uphill or move to flatter ground.",
            )
        ]
    )


def require(holds: ArrayLike, where: str, *, found: object, expected: str) -> None:
    """Refuse a number outside what a formula holds for.

    Parameters
    ----------
    holds : bool or array of bool
    where : str
        Name of the argument.
    found : object
        What was given.
    expected : str
        What should have been.

    Raises
    ------
    OutOfRangeError
    """
    if np.all(holds):
        return
    remedy = f"Give {where} in SI units as {expected}."
    problem = Problem(code="out-of-range", where=where, found=str(found), expected=expected, remedy=remedy)
    raise OutOfRangeError([problem])
