"""When each launch of a schedule happens, if nothing goes wrong with time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, timezone

from evenglide.rehearsal.world import World
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study

FIRST_DAY = date(2026, 1, 10)
"""Of outings that a study does not date."""
DAYS_BETWEEN = 7
MORNING = time(9, 0)
MINUTES_PER_LAUNCH = 3.0
RIG_SET_UP_S = 720.0
"""What a launch and a set-up take where the study does not say: common practice, no source."""


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


def new_preparations(launches: Sequence[ScheduledLaunch]) -> tuple[tuple[ScheduledLaunch, ...], ...]:
    """Preparations that are made ready right before each launch.

    Where a set-up begins, each item gets the coat it needs first; any other coat is made when it is needed.

    Parameters
    ----------
    launches : sequence of ScheduledLaunch
        In order.

    Returns
    -------
    tuple of tuple of ScheduledLaunch
        For each launch, the first launch of each coat that is new.
    """
    first: dict[str, ScheduledLaunch] = {}
    for launch in launches:
        first.setdefault(launch.preparation, launch)
    made: set[str] = set()
    found = []
    before = 0
    for launch in launches:
        needed = {launch.item: launch}
        if launch.set_up != before:
            for other in (other for other in launches if other.set_up == launch.set_up):
                needed.setdefault(other.item, other)
        fresh = [other for other in needed.values() if other.preparation not in made]
        made |= {other.preparation for other in fresh}
        found.append(tuple(first[other.preparation] for other in fresh))
        before = launch.set_up
    return tuple(found)


def _coating_time(study: Study, fresh: tuple[ScheduledLaunch, ...]) -> timedelta:
    """Hands work on one coat after the other; coats wait together."""
    treatments = {treatment.name: treatment for treatment in study.treatments}
    used = [treatments[launch.treatment] for launch in fresh if launch.treatment in treatments]
    hands_on = sum(treatment.hands_on_s or 0.0 for treatment in used)
    waiting = max((treatment.waiting_s or 0.0 for treatment in used), default=0.0)
    return timedelta(seconds=hands_on + waiting)


def _beginning(study: Study, outing: int, zone: timezone) -> datetime:
    """When an outing begins."""
    outings = study.costs.outings
    if outing <= len(outings):
        stated = outings[outing - 1]
        return datetime.combine(date.fromisoformat(stated.day), time.fromisoformat(stated.start), zone)
    last = date.fromisoformat(outings[-1].day) if outings else FIRST_DAY - timedelta(days=DAYS_BETWEEN)
    return datetime.combine(last + timedelta(days=DAYS_BETWEEN * (outing - len(outings))), MORNING, zone)
