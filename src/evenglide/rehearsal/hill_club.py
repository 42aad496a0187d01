"""The invented table of the demo: a hill club's two snow sliders, bare against a paraffin rub.

Everything here is made up: the club, the sliders, every number. It has the structure of real days
outside: a fresh preparation of each slider per round, sliders swapping treatments, both launched in
turn on four surfaces with the same two preparations, some launches set aside, one that left the lane.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass

TREATMENTS = ("bare", "paraffin rub")
SLIDERS = ("slider 1", "slider 2")
ROUNDS = 10
LAUNCHES = 6
CAUSES = ("rig moved more than 1 cm", "nose under the snow", "touched by somebody")
HEADER = (
    "launch",
    "day",
    "round",
    "slider",
    "preparation",
    "treatment",
    "surface",
    "mark",
    "distance_m",
    "at_least",
    "set_aside",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class InventedSurface:
    """What is true of one surface in this invented world.

    Parameters
    ----------
    name, mark : str
    bare : float
        Distance of a bare slider. [m]
    effect : float
        True log ratio of rubbed to bare.
    scatter : float
        Relative scatter of launches on one preparation.
    lane : float
        Length of the lane; beyond it a launch is read as at least so far. [m]
    """

    name: str
    mark: str
    bare: float
    effect: float
    scatter: float
    lane: float


SURFACES = (
    InventedSurface(name="cold powder", mark="run-out", bare=3.2, effect=-0.21, scatter=0.07, lane=9.0),
    InventedSurface(name="groomed snow", mark="run-out", bare=9.1, effect=0.005, scatter=0.05, lane=14.0),
    InventedSurface(name="wet spring snow", mark="run-out", bare=6.4, effect=0.13, scatter=0.06, lane=8.6),
    InventedSurface(name="melt pan", mark="timed mark", bare=4.9, effect=0.06, scatter=0.14, lane=12.0),
)
PREPARATION_SCATTER = 0.03
PREPARATION_BY_SURFACE = 0.015
SLIDER_DIFFERENCE = 0.04
VOID_CHANCE = 0.02


def invented_table(seed: int) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """Play the invented days.

    Parameters
    ----------
    seed : int
        Same seed, same table; only ``random.Random(seed).random()`` is drawn from.

    Returns
    -------
    header : tuple of str
    rows : list of tuple of str
        One row per launch, in the order launched.
    """
    rng = random.Random(seed)
    rows: list[tuple[str, ...]] = []
    for number in range(1, ROUNDS + 1):
        for row in _round(rng, number):
            rows.append((str(len(rows) + 1), *row))
    return HEADER, rows


def _round(rng: random.Random, number: int) -> Iterator[tuple[str, ...]]:
    """Play one round: both sliders prepared afresh, launched in turn on every surface."""
    rubbed_first = rng.random() < 0.5
    treatment = dict(zip(SLIDERS, TREATMENTS[::-1] if rubbed_first else TREATMENTS, strict=True))
    label = {slider: f"{number}{'ab'[i]}" for i, slider in enumerate(SLIDERS)}
    coat = {slider: _normal(rng) * PREPARATION_SCATTER for slider in SLIDERS}
    turn = (number - 1) % len(SURFACES)
    for surface in SURFACES[turn:] + SURFACES[:turn]:
        here = {slider: coat[slider] + _normal(rng) * PREPARATION_BY_SURFACE for slider in SLIDERS}
        condition = _normal(rng) * 0.05
        for launch in range(2 * LAUNCHES):
            slider = SLIDERS[(launch + 1) // 2 % 2]  # A B B A A B B A ...
            rubbed = treatment[slider] == TREATMENTS[1]
            log_ratio = condition + here[slider] + rubbed * surface.effect
            log_ratio += SLIDERS.index(slider) * SLIDER_DIFFERENCE + _normal(rng) * surface.scatter
            reading = _reading(rng, surface, surface.bare * math.exp(log_ratio))
            place = (f"2026-01-{8 + 2 * ((number + 1) // 2):02d}", str(number), slider, label[slider])
            yield (*place, treatment[slider], surface.name, surface.mark, *reading)


def _reading(rng: random.Random, surface: InventedSurface, distance: float) -> tuple[str, str, str]:
    """Read a launch to the centimetre: distance, at-least flag, cause if it was set aside."""
    if rng.random() < VOID_CHANCE:
        return "", "", CAUSES[int(rng.random() * len(CAUSES))]
    if distance > surface.lane:
        return f"{surface.lane:.2f}", "yes", ""
    return f"{distance:.2f}", "", ""


def _normal(rng: random.Random) -> float:
    """Draw a standard normal (Box and Muller 1958) from `random` alone: a seed means the same for good."""
    return math.sqrt(-2.0 * math.log(1.0 - rng.random())) * math.cos(2.0 * math.pi * rng.random())
