"""Times that were measured outside, put in place of what a study states or what is usual."""

from __future__ import annotations

from dataclasses import dataclass, replace

from evenglide.fieldlog.pace import Measured, Pace
from evenglide.plan.results import MeasuredTime
from evenglide.study.study import Study

FEWEST_LAUNCHES, FEWEST_SET_UPS, FEWEST_PREPARATIONS = 5, 2, 2
"""Of fewer than that a mean is chance (chosen)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimedStudy:
    """A study with the times that were measured, and which those are."""

    study: Study
    measured: tuple[MeasuredTime, ...]


def with_measured_times(study: Study, pace: Pace) -> TimedStudy:
    """Put measured times in place of stated ones, by the names of surfaces and treatments.

    Waiting stays as stated: how long a coat has to cure is not a matter of how fast people are.

    Parameters
    ----------
    study : Study
    pace : Pace
        Of this study or of an earlier one.

    Returns
    -------
    TimedStudy
        What was measured too seldom, or under another name, stays as it was.
    """
    told: list[MeasuredTime] = []

    def taken(code: str, found: Measured | None, fewest: int, *, whose: str = "") -> float | None:
        if found is None or found.count < fewest:
            return None
        told.append(MeasuredTime(code=code, whose=whose, seconds=found.seconds, count=found.count))
        return found.seconds

    treatments = []
    for one in study.treatments:
        work = taken("hands_on", pace.hands_on.get(one.name), FEWEST_PREPARATIONS, whose=one.name)
        treatments.append(one if work is None else replace(one, hands_on_s=work))
    rig = taken("rig_set_up", pace.set_up, FEWEST_SET_UPS)
    surfaces = []
    for place in study.surfaces:
        launch = taken("launch", pace.launch.get(place.name), FEWEST_LAUNCHES, whose=place.name)
        surfaces.append(place if launch is None else replace(place, minutes_per_launch=launch / 60.0))
    costs = study.costs if rig is None else replace(study.costs, rig_set_up_s=rig)
    return TimedStudy(
        study=replace(study, treatments=tuple(treatments), surfaces=tuple(surfaces), costs=costs),
        measured=tuple(told),
    )
