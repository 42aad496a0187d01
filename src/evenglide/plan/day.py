"""A day outside, step by step: how long everything takes, and what is usual where the study does not say.

The rig is set up once for each surface and direction; pieces of gear are launched in turn. One person
prepares: work on one coat after the other, waiting for all of them together.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from evenglide.plan.results import Assumed, Step, StepKind
from evenglide.study.schedule import ScheduledLaunch
from evenglide.study.study import Outing, Study, Treatment

HANDS_ON_S = 20 * 60.0
HANDS_ON_REFERENCE_S = 10 * 60.0
RIG_SET_UP_S = 12 * 60.0
MINUTES_PER_LAUNCH = 3.0
EXPECTED_VOIDS = 0.05
RESERVE = 0.10
OUTING_MINUTES = 4 * 60.0
"""What things take where the study does not say: common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledStudy:
    """A study whose gaps are filled with what is usual, and the list of what was filled in."""

    study: Study
    assumed: tuple[Assumed, ...]


def with_usual_times(study: Study) -> FilledStudy:
    """Fill in what a study does not say about time and launches set aside.

    Parameters
    ----------
    study : Study

    Returns
    -------
    FilledStudy
        Outings are not filled in; without any, so many of usual length are reckoned with as are needed.
    """
    gaps = _Gaps()
    treatments = [
        replace(one, hands_on_s=gaps.fill("hands_on", one.hands_on_s, _hands_on(one), whose=one.name))
        for one in study.treatments
    ]
    rig = gaps.fill("rig_set_up", study.costs.rig_set_up_s, RIG_SET_UP_S)
    surfaces = [
        replace(
            one,
            minutes_per_launch=gaps.fill(
                "minutes_per_launch", one.minutes_per_launch, MINUTES_PER_LAUNCH, whose=one.name
            ),
        )
        for one in study.surfaces
    ]
    voids = gaps.fill("voids", study.expected_voids, EXPECTED_VOIDS)
    reserve = gaps.fill("reserve", study.costs.reserve, RESERVE)
    if not study.costs.outings:
        gaps.fill("outings", None, OUTING_MINUTES)
    filled = replace(
        study,
        treatments=tuple(treatments),
        surfaces=tuple(surfaces),
        costs=replace(study.costs, rig_set_up_s=rig, reserve=reserve),
        expected_voids=voids,
    )
    return FilledStudy(study=filled, assumed=tuple(gaps.assumed))


@dataclass(slots=True)
class _Gaps:
    """What was filled in so far."""

    assumed: list[Assumed] = field(default_factory=list)

    def fill(self, code: str, stated: float | None, usual: float, *, whose: str = "") -> float:
        """Take what is stated, or else what is usual, and note that."""
        if stated is not None:
            return stated
        self.assumed.append(Assumed(code=code, whose=whose, value=usual))
        return usual


def steps_of(study: Study, launches: Sequence[ScheduledLaunch]) -> tuple[Step, ...]:
    """Tell one outing, step by step.

    Parameters
    ----------
    study : Study
        What it gives no time for takes none.
    launches : sequence of ScheduledLaunch
        Of the outing, in order.

    Returns
    -------
    tuple of Step
        Without gaps, from the beginning of the outing.
    """
    steps: list[Step] = []
    now = 0.0
    for kind, minutes, launch, number in _pieces(study, launches):
        last = steps[-1] if steps else None
        same = last is not None and (last.kind, last.round, last.surface, last.direction) == _place(
            kind, launch
        )
        if last is not None and same and kind not in ("prepare", "wait", "set up"):
            steps[-1] = replace(last, minutes=last.minutes + minutes, count=last.count + number)
        elif minutes > 0:
            where = _place(kind, launch)
            steps.append(
                Step(
                    kind=kind,
                    start=now,
                    minutes=minutes,
                    round=where[1],
                    surface=where[2],
                    direction=where[3],
                    count=number,
                )
            )
        now += minutes
    return tuple(steps)


def minutes_taken(study: Study, launches: Sequence[ScheduledLaunch]) -> float:
    """Time that the launches of an outing take, with everything around them. [min]."""
    return sum(minutes for _, minutes, _, _ in _pieces(study, launches))


def window_minutes(outing: Outing) -> float:
    """Length of an outing, from its first to its last hour. [min]."""
    return float(_minute(outing.end) - _minute(outing.start))


def preparing_s(treatments: Sequence[Treatment]) -> tuple[float, float]:
    """Work and waiting of preparations that are made together.

    Parameters
    ----------
    treatments : sequence of Treatment
        Of the preparations.

    Returns
    -------
    hands_on, waiting : float
        Work adds up, for one person; all wait together. [s]
    """
    hands_on = sum(one.hands_on_s or 0.0 for one in treatments)
    return hands_on, max((one.waiting_s or 0.0 for one in treatments), default=0.0)


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
    at_set_up: dict[int, dict[str, ScheduledLaunch]] = {}
    for launch in launches:
        first.setdefault(launch.preparation, launch)
        at_set_up.setdefault(launch.set_up, {}).setdefault(launch.item, launch)
    made: set[str] = set()
    found = []
    before = 0
    for launch in launches:
        needed = {launch.item: launch}
        if launch.set_up != before:
            needed = {**needed, **at_set_up[launch.set_up], launch.item: launch}
        fresh = [other for other in needed.values() if other.preparation not in made]
        made |= {other.preparation for other in fresh}
        found.append(tuple(first[other.preparation] for other in fresh))
        before = launch.set_up
    return tuple(found)


# ---------------------------------------------------------------------------------------- private

Piece = tuple[StepKind, float, ScheduledLaunch, int]


def _pieces(study: Study, launches: Sequence[ScheduledLaunch]) -> Iterator[Piece]:
    """Everything that takes time, with its kind, minutes, launch, and number of preparations or launches."""
    treatments = {one.name: one for one in study.treatments}
    minutes = {one.name: one.minutes_per_launch or 0.0 for one in study.surfaces}
    rig = (study.costs.rig_set_up_s or 0.0) / 60.0
    set_up = 0
    for launch, fresh in zip(launches, new_preparations(launches), strict=True):
        hands_on, waiting = preparing_s([treatments[one.treatment] for one in fresh])
        if fresh:
            yield "prepare", hands_on / 60.0, launch, len(fresh)
            yield "wait", waiting / 60.0, launch, len(fresh)
        if launch.set_up != set_up:
            yield "set up", rig, launch, 1
        set_up = launch.set_up
        yield launch.kind, minutes[launch.surface], launch, 1


def _place(kind: StepKind, launch: ScheduledLaunch) -> tuple[StepKind, str, str, str]:
    if kind in ("prepare", "wait"):
        return kind, launch.block, "", ""
    return kind, launch.block, launch.surface, launch.direction


def _hands_on(treatment: Treatment) -> float:
    return HANDS_ON_REFERENCE_S if treatment.reference else HANDS_ON_S


def _minute(hour: str) -> int:
    """Minute of the day of an hour such as 08:30."""
    hours, _, minutes = hour.partition(":")
    return 60 * int(hours) + int(minutes)
