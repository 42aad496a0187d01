"""Readings that do not count though the launch was made, told as departures."""

from __future__ import annotations

from collections.abc import Iterator

from evenglide.readings.from_log import LogReadings
from evenglide.show.departures import Departure, departure

TOLD = {"unusable": "unusable", "not placed": "not-placed", "peg lost": "pegs-lost"}
"""Reasons and codes; the other reasons show when log and plan are compared."""


def departures_of_readings(readings: LogReadings) -> Iterator[Departure]:
    """Tell which readings do not count, and why.

    Parameters
    ----------
    readings : LogReadings

    Yields
    ------
    Departure
    """
    for reason, numbers in readings.left_out.items():
        if reason in TOLD:
            yield departure(TOLD[reason], count=len(numbers), numbers=numbers)
