"""When each launch of a schedule happens, if nothing goes wrong with time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, timezone

from evenglide.plan.day import MINUTES_PER_LAUNCH, RIG_SET_UP_S, new_preparations, preparing_s
from evenglide.rehearsal.world import World
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study

FIRST_DAY = date(2026, 1, 10)
"""Of outings that a study does not date."""
DAYS_BETWEEN = 7
MORNING = time(9, 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When a launch happens.

    Parameters
    ----------
    prepared, anchored : datetime or None
        When the coats that it is the first to use are ready, and when the rig stands, if that is new.
    released : datetime
    hours : float
        Since the outing began. [h]
    """

    prepared: datetime | None
    anchored: datetime | None
    released: datetime
    hours: float


def moments(study: Study, schedule: Schedule, world: World) -> tuple[Moment, ...]:
    """When each launch happens.

    Parameters
    ----------
    study : Study
    schedule : Schedule
    world : World

    Returns
    -------
    tuple of Moment
        One for each launch, in order.
    """
    zone = timezone(timedelta(hours=world.utc_offset))
    minutes = {surface.name: surface.minutes_per_launch for surface in study.surfaces}
    rig = timedelta(seconds=study.costs.rig_set_up_s or RIG_SET_UP_S)
    coats = new_preparations(schedule.launches)
    found: list[Moment] = []
    begun = now = datetime.combine(FIRST_DAY, MORNING, zone)
    before: ScheduledLaunch | None = None
    for launch, fresh in zip(schedule.launches, coats, strict=True):
        if before is None or launch.outing != before.outing:
            begun = now = _beginning(study, launch.outing, zone)
        prepared = now = now + _coating_time(study, fresh)
        anchored = None
        if before is None or launch.set_up != before.set_up:
            anchored = now = now + rig
        now += timedelta(minutes=minutes.get(launch.surface) or MINUTES_PER_LAUNCH)
        hours = (now - begun).total_seconds() / 3600.0
        found.append(
            Moment(prepared=prepared if fresh else None, anchored=anchored, released=now, hours=hours)
        )
        before = launch
    return tuple(found)


def _coating_time(study: Study, fresh: tuple[ScheduledLaunch, ...]) -> timedelta:
    """Hands work on one coat after the other; coats wait together."""
    treatments = {treatment.name: treatment for treatment in study.treatments}
    used = [treatments[launch.treatment] for launch in fresh if launch.treatment in treatments]
    return timedelta(seconds=sum(preparing_s(used)))


def _beginning(study: Study, outing: int, zone: timezone) -> datetime:
    """When an outing begins."""
    outings = study.costs.outings
    if outing <= len(outings):
        stated = outings[outing - 1]
        return datetime.combine(date.fromisoformat(stated.day), time.fromisoformat(stated.start), zone)
    last = date.fromisoformat(outings[-1].day) if outings else FIRST_DAY - timedelta(days=DAYS_BETWEEN)
    return datetime.combine(last + timedelta(days=DAYS_BETWEEN * (outing - len(outings))), MORNING, zone)
