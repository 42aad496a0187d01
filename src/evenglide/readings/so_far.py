"""How a day goes, without a word on treatments: scatter of launches on one coat, and drift of the rig."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.maths.blocks import centred, compact
from evenglide.readings.launches import Launches
from evenglide.readings.observations import on_scale
from evenglide.typing import Scale

FEWEST = 3
"""Degrees of freedom below which no scatter is told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceSoFar:
    """One surface so far.

    Parameters
    ----------
    surface : str
    read : int
        Launches that count and were read.
    scatter : float or None
        Standard deviation of launches on one coat; analysis scale.
    drift_per_ten : float or None
        How much launches on one coat change over ten launches of that surface; analysis scale.
    """

    surface: str
    read: int
    scatter: float | None
    drift_per_ten: float | None


def so_far(launches: Launches, *, scale: Scale) -> tuple[SurfaceSoFar, ...]:
    """Tell how each surface goes, from what differs between launches on one coat alone.

    Parameters
    ----------
    launches : Launches
    scale : {"ratio", "difference"}

    Returns
    -------
    tuple of SurfaceSoFar
    """
    return tuple(_surface(launches, code, scale) for code in range(len(launches.surface.labels)))


def _surface(launches: Launches, code: int, scale: Scale) -> SurfaceSoFar:
    rows = np.flatnonzero((launches.surface.codes == code) & ~launches.void)
    name = launches.surface.labels[code]
    coats = launches.preparation.codes[rows] * len(launches.direction.labels) + launches.direction.codes[rows]
    df = len(rows) - len(np.unique(coats))
    if df < FEWEST:
        return SurfaceSoFar(surface=name, read=len(rows), scatter=None, drift_per_ten=None)
    y = on_scale(launches.value[rows], scale)
    group = compact(coats)
    within = centred(y - y[0], group)
    made = rows if launches.order is None else launches.order[rows]
    turn = centred(np.argsort(np.argsort(made)).astype(float), group)
    spread = float(turn @ turn)
    return SurfaceSoFar(
        surface=name,
        read=len(rows),
        scatter=float(np.sqrt(within @ within / df)),
        drift_per_ten=10.0 * float(turn @ within) / spread if spread > 0 else None,
    )
