r"""Launchers: the speed at which an item leaves, from what the launcher stores and what it loses.

All forms follow from the balance of energy; SI units throughout. A balance is worth about 5 % of the
speed at best (judgement): measure the speed where it matters. What all of them share: the heavier the item,
the slower it leaves, so a treatment that adds mass changes the launch as well as the glide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from evenglide.constants import STANDARD_GRAVITY
from evenglide.glide.law import Coefficient, require
from evenglide.typing import FloatArray

STEEL_PER_KELVIN = -2.6e-4
"""Relative change of a steel spring's modulus. [1/K] The number is from memory; that 31 alloys were measured
between -50 and +50 °C is in Keulegan & Houseman, NBS RP531."""
ROOM_KELVIN = 293.15
"""At which stiffness is stated. [K]"""


class Launcher(Protocol):
    """Anything that gives an item a speed."""

    def launch_speed(self, mass: Coefficient) -> FloatArray:
        """Speed at release of an item of `mass` kilograms, in m/s."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Springs:
    r"""A carriage pulled by extension springs, stopped where the item leaves it.

    .. math:: n\left[\tfrac{k}{2}(s_0^2 - s_1^2) + F_i (s_0 - s_1)\right] - F_f (s_0 - s_1)
              = \tfrac12 \left(m + m_c + n\,\tfrac{m_s}{3}\right) v_0^2

    Parameters
    ----------
    stiffness : float
        k of each spring. [N/m]
    latch_stretch, left_stretch : float
        Stretch at the latch and at release. [m]
    springs : int
    initial_tension : float
        Force at which a coil begins to open. [N]
    carriage_mass, spring_mass : float
        Of the carriage, and of each spring, a third of which counts. [kg]
    friction : float
        Of carriage and item on the rails. [N]
    kelvin_above_room : float
        Temperature of the springs above 293.15 K. [K]

    Examples
    --------
    >>> rig = Springs(stiffness=120, latch_stretch=0.40, carriage_mass=0.30, spring_mass=0.15, friction=3.0)
    >>> float(rig.launch_speed(1.5))
    3.01348321
    """

    stiffness: float
    latch_stretch: float
    left_stretch: float = 0.0
    springs: int = 1
    initial_tension: float = 0.0
    carriage_mass: float = 0.0
    spring_mass: float = 0.0
    friction: float = 0.0
    kelvin_above_room: float = 0.0

    def stored_energy(self) -> float:
        """Energy given up between latch and release, friction taken off, in joules."""
        stiffness = self.stiffness * (1.0 + STEEL_PER_KELVIN * self.kelvin_above_room)
        travel = self.latch_stretch - self.left_stretch
        of_each = stiffness / 2.0 * (self.latch_stretch**2 - self.left_stretch**2)
        return self.springs * (of_each + self.initial_tension * travel) - self.friction * travel

    def launch_speed(self, mass: Coefficient) -> FloatArray:
        """Speed at release of an item of `mass` kilograms, in m/s.

        Raises
        ------
        OutOfRangeError
            The mass is not positive, or friction eats all of the energy.
        """
        idle = self.carriage_mass + self.springs * self.spring_mass / 3.0
        return _speed(self.stored_energy(), item_mass=mass, idle_mass=idle)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bungee:
    r"""A stretched rubber cord with the share of its energy that turns to heat.

    .. math:: (1 - \eta)\,\tfrac{k}{2}\,(s_0^2 - s_1^2)\,\frac{T}{T_0} - F_f (s_0 - s_1)
              = \tfrac12 (m + m_c + m_s/3)\, v_0^2

    Force at a fixed stretch goes as absolute temperature in an ideal rubber; real compounds less.

    Parameters
    ----------
    stiffness : float
        Around the working stretch. [N/m]
    latch_stretch, left_stretch : float
        [m]
    lost_share : float
        Hysteresis, 0 up to 1. [1]
    carriage_mass, cord_mass : float
        [kg]
    friction : float
        [N]
    kelvin_above_room : float
        Temperature of the cord above 293.15 K. [K]

    Examples
    --------
    >>> cord = Bungee(stiffness=60.0, latch_stretch=1.2, lost_share=0.15, cord_mass=0.3)
    >>> float(cord.launch_speed(1.9))
    6.05970
    """

    stiffness: float
    latch_stretch: float
    left_stretch: float = 0.0
    lost_share: float = 0.0
    carriage_mass: float = 0.0
    cord_mass: float = 0.0
    friction: float = 0.0
    kelvin_above_room: float = 0.0

    def stored_energy(self) -> float:
        """Energy given up between latch and release, losses taken off, in joules."""
        require(0.0 <= self.lost_share < 1.0, "lost_share", found=self.lost_share, expected="from 0 up to 1")
        stiffness = self.stiffness * (1.0 + self.kelvin_above_room / ROOM_KELVIN)
        stored = stiffness / 2.0 * (self.latch_stretch**2 - self.left_stretch**2)
        return (1.0 - self.lost_share) * stored - self.friction * (self.latch_stretch - self.left_stretch)

    def launch_speed(self, mass: Coefficient) -> FloatArray:
        """Speed at release of an item of `mass` kilograms, in m/s.

        Raises
        ------
        OutOfRangeError
            The mass is not positive, losses lie outside their range or eat all of the energy.
        """
        idle = self.carriage_mass + self.cord_mass / 3.0
        return _speed(self.stored_energy(), item_mass=mass, idle_mass=idle)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ramp:
    r"""A straight ramp down which the item slides: :math:`v_0 = \sqrt{2 g h (1 - \mu / \tan\theta)}`.

    The treatment acts on the ramp too, so launch speed is then a result of the treatment.

    Parameters
    ----------
    height : float
        Drop. [m]
    angle : float
        Below the horizontal, above 0 and up to a right angle. [rad]
    friction_coefficient : float
        Of the item on the ramp. [1]

    Examples
    --------
    >>> float(Ramp(height=0.6, angle=np.radians(30.0), friction_coefficient=0.1).launch_speed(1.5))
    3.1192477
    """

    height: float
    angle: float
    friction_coefficient: float = 0.0

    def launch_speed(self, mass: Coefficient) -> FloatArray:
        """Speed at the foot, the same for every `mass`, in m/s.

        Raises
        ------
        OutOfRangeError
            The item would not slide down.
        """
        share = 1.0 - self.friction_coefficient / np.tan(self.angle)
        require(
            share > 0.0, "friction_coefficient", found=self.friction_coefficient, expected="below tan(angle)"
        )
        return np.full(np.shape(mass), np.sqrt(2.0 * STANDARD_GRAVITY * self.height * share))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tow:
    """A winch, a vehicle or a runner that lets go at a speed it holds whatever the load.

    Parameters
    ----------
    speed : float
        At release. [m/s]
    """

    speed: float

    def launch_speed(self, mass: Coefficient) -> FloatArray:
        """Speed at release, the same for every `mass`, in m/s."""
        return np.full(np.shape(mass), self.speed)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hand:
    r"""A push by hand: the same work each time on the item and the arm behind it (an assumption).

    .. math:: W = \tfrac12 (m + m_a)\, v_0^2

    Parameters
    ----------
    work : float
        [J]
    arm_mass : float
        What moves along with the item. [kg]

    Examples
    --------
    >>> float(Hand(work=20.0, arm_mass=3.0).launch_speed(2.0))
    2.828427
    """

    work: float
    arm_mass: float = 0.0

    def launch_speed(self, mass: Coefficient) -> FloatArray:
        """Speed at release of an item of `mass` kilograms, in m/s.

        Raises
        ------
        OutOfRangeError
            The mass or the work is not positive.
        """
        return _speed(self.work, item_mass=mass, idle_mass=self.arm_mass)


def _speed(energy: float, *, item_mass: Coefficient, idle_mass: float) -> FloatArray:
    """Speed of item and idle mass together."""
    mass = np.asarray(item_mass, dtype=np.float64)
    require(mass > 0.0, "mass", found=item_mass, expected="a positive number of kilograms")
    require(energy > 0.0, "stored energy", found=f"{energy:g} J", expected="more energy than friction takes")
    return np.asarray(np.sqrt(2.0 * energy / (mass + idle_mass)))
