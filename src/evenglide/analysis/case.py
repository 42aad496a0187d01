"""One surface made ready: its observations, its units, its primary test."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.analysis.estimates import MeansTest, means_test
from evenglide.analysis.units import Units, units_of
from evenglide.readings.launches import Launches
from evenglide.readings.observations import Observations, observe
from evenglide.typing import IntArray, Scale


@dataclass(frozen=True, slots=True, kw_only=True)
class SurfaceCase:
    """Everything that tests of one surface start from.

    Parameters
    ----------
    launches : Launches
        The whole table.
    surface : int
        Code of the surface.
    scale : {"ratio", "difference"}
    observations : Observations
    units : Units
    test : MeansTest
    """

    launches: Launches
    surface: int
    scale: Scale
    observations: Observations
    units: Units
    test: MeansTest

    @property
    def rows(self) -> IntArray:
        """Positions of this surface's launches in the table."""
        return np.flatnonzero(self.launches.surface.codes == self.surface)

    @property
    def valid_rows(self) -> IntArray:
        """Positions of this surface's launches that were not set aside."""
        rows = self.rows
        return rows[~self.launches.void[rows]]


def surface_case(launches: Launches, surface: int, *, scale: Scale) -> SurfaceCase:
    """Reduce one surface of a table to units and fit its primary test."""
    observations = observe(launches, surface, scale=scale)
    units = units_of(observations, treatments=len(launches.treatment.labels), item=launches.item)
    return SurfaceCase(
        launches=launches,
        surface=surface,
        scale=scale,
        observations=observations,
        units=units,
        test=means_test(units),
    )
