"""From a schedule to launches without readings: what a log would hold if all went as planned."""

from __future__ import annotations

import math

from evenglide.readings.from_log import PlacedLaunch, stand_up
from evenglide.readings.launches import Launches
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import MarkKind, Study


def planned_launches(study: Study, schedule: Schedule) -> Launches:
    """Lay a schedule out as the launches that it would give.

    Parameters
    ----------
    study : Study
    schedule : Schedule
        With at least one launch that counts.

    Returns
    -------
    Launches
        Launches of the kind that enters the answer, in order of their numbers, all made and none set aside;
        `value` is NaN throughout.
    """
    marks = {surface.name: surface.mark for surface in study.surfaces}
    rows = [_placed(launch, marks[launch.surface]) for launch in schedule.launches if launch.kind == "launch"]
    return stand_up(study, rows, [launch.number for launch in schedule.launches])


def _placed(launch: ScheduledLaunch, mark: MarkKind) -> PlacedLaunch:
    return PlacedLaunch(
        number=launch.number,
        kind=launch.kind,
        outing=str(launch.outing),
        block=launch.block,
        surface=launch.surface,
        direction=launch.direction,
        mark=mark,
        preparation=launch.preparation,
        item=launch.item,
        treatment=launch.treatment,
        value=math.nan,
        decimals=0,
        cause=None,
        at_least=False,
        stopped=False,
    )
