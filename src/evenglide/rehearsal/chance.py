"""Everything in a rehearsal that is left to chance, drawn before anything is worked out.

Only ``random()`` of the source is used, so a seed means the same for good; and every launch draws the same
number of times, so that what happens to one launch does not move the luck of the others.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from evenglide.study.schedule import Schedule
from evenglide.typing import FloatArray

Source = Callable[[], float]


def rehearsal_source(seed: int) -> random.Random:
    """Source of chance of a rehearsal, apart from the one that drew the order from the same seed.

    Parameters
    ----------
    seed : int

    Returns
    -------
    random.Random
    """
    return random.Random(f"evenglide rehearsal {seed}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Chance:
    """Standard normal and uniform numbers of a whole schedule.

    Parameters
    ----------
    coat : mapping of str to float
        Normal, by preparation.
    coat_here : mapping of (str, str) to float
        Normal, by preparation and surface.
    ground : mapping of int to float
        Normal, by set-up.
    speed, friction, reading : array of float, shape (launches,)
        Normal.
    void, cause, short, peg : array of float, shape (launches,)
        Uniform in [0, 1).
    guess : mapping of str to (float, float)
        Uniform, by preparation: whether it is right, and which one if it is wrong.
    """

    coat: Mapping[str, float]
    coat_here: Mapping[tuple[str, str], float]
    ground: Mapping[int, float]
    speed: FloatArray
    friction: FloatArray
    reading: FloatArray
    void: FloatArray
    cause: FloatArray
    short: FloatArray
    peg: FloatArray
    guess: Mapping[str, tuple[float, float]]


def draw_chance(schedule: Schedule, uniform: Source) -> Chance:
    """Draw all numbers of a schedule.

    Parameters
    ----------
    schedule : Schedule
    uniform : callable
        Gives the next number in [0, 1), such as ``rehearsal_source(seed).random``.

    Returns
    -------
    Chance
    """
    launches = schedule.launches
    coats = dict.fromkeys(launch.preparation for launch in launches)
    places = dict.fromkeys((launch.preparation, launch.surface) for launch in launches)
    set_ups = dict.fromkeys(launch.set_up for launch in launches)
    coat = {label: _normal(uniform) for label in coats}
    coat_here = {place: _normal(uniform) for place in places}
    ground = {set_up: _normal(uniform) for set_up in set_ups}
    guess = {label: (uniform(), uniform()) for label in coats}
    normal = np.array([[_normal(uniform) for _ in range(3)] for _ in launches]).reshape(-1, 3).T
    even = np.array([[uniform() for _ in range(4)] for _ in launches]).reshape(-1, 4).T
    return Chance(
        coat=coat,
        coat_here=coat_here,
        ground=ground,
        speed=normal[0],
        friction=normal[1],
        reading=normal[2],
        void=even[0],
        cause=even[1],
        short=even[2],
        peg=even[3],
        guess=guess,
    )


def no_chance(schedule: Schedule) -> Chance:
    """Numbers of a world without luck: nothing scatters and nothing is set aside.

    Parameters
    ----------
    schedule : Schedule

    Returns
    -------
    Chance
    """
    nothing, never = np.zeros(len(schedule.launches)), np.ones(len(schedule.launches))
    launches = schedule.launches
    return Chance(
        coat={launch.preparation: 0.0 for launch in launches},
        coat_here={(launch.preparation, launch.surface): 0.0 for launch in launches},
        ground={launch.set_up: 0.0 for launch in launches},
        speed=nothing,
        friction=nothing,
        reading=nothing,
        void=never,
        cause=nothing,
        short=never,
        peg=never,
        guess={launch.preparation: (0.0, 0.0) for launch in launches},
    )


def _normal(uniform: Source) -> float:
    """Draw a standard normal number (Box & Muller 1958, Ann. Math. Stat. 29:610-611)."""
    return math.sqrt(-2.0 * math.log(1.0 - uniform())) * math.cos(2.0 * math.pi * uniform())
