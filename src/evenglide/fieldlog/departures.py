"""Departures: what was done otherwise than sealed, found by comparing log, files and seal."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from evenglide.fieldlog.bodies import (
    AtLeast,
    Corrected,
    Landed,
    Launched,
    PegLost,
    Read,
    ReturnToBare,
    Sealed,
    SetAside,
    Stopped,
    WearCheck,
    launch_of,
)
from evenglide.fieldlog.events import Event
from evenglide.fieldlog.oddities import CLOCK_SLACK_S, moment_of
from evenglide.fieldlog.open_questions import departures_of_questions
from evenglide.fieldlog.sealing import seal_holds
from evenglide.fieldlog.state import State
from evenglide.show.departures import Departure, departure, gravest_first
from evenglide.show.numbers import listed
from evenglide.study.schedule import Schedule, ScheduledLaunch
from evenglide.study.study import Study

CHANGES = AtLeast | Corrected | ReturnToBare | SetAside | Stopped | WearCheck
"""What changes how a launch counts that was read already."""
OF_A_LAUNCH = (Launched, Landed, Read, AtLeast, Stopped, PegLost, SetAside)


@dataclass(frozen=True, slots=True, kw_only=True)
class Files:
    """The files of a study as they stand now; None where one is not there."""

    study_text: str | None
    schedule_text: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Case:
    """All that is compared."""

    study: Study
    schedule: Schedule
    state: State
    arrived: Sequence[Event]
    spared: frozenset[int]


def departures_of(
    study: Study,
    schedule: Schedule,
    state: State,
    *,
    arrived: Sequence[Event] = (),
    files: Files | None = None,
    spared: Collection[int] = (),
) -> tuple[Departure, ...]:
    """Find what was done otherwise than sealed.

    Parameters
    ----------
    study, schedule
        As sealed; as they stand in the files where nothing was sealed.
    state : State
    arrived : sequence of Event
        The events of the log in the order of arrival, which alone tells what came before the seal and
        after a reveal; without them neither is looked for.
    files : Files or None
        The files as they stand now; None: not compared.
    spared : collection of int
        Planned launches that half-way checks make needless, or that come after the check that is told.

    Returns
    -------
    tuple of Departure
        The gravest first.
    """
    case = _Case(study=study, schedule=schedule, state=state, arrived=arrived, spared=frozenset(spared))
    found = [
        *_seal(case),
        *_files(state, files),
        *_launches(case),
        *_preparations(case),
        *_set_ups(case),
        *_voids(case),
        *_conduct(case),
        *departures_of_questions(state),
    ]
    return gravest_first(found)


def _seal(case: _Case) -> Iterator[Departure]:
    """The seal itself, and launches before it."""
    state = case.state
    if state.seal is None:
        if state.made:
            yield departure("not-sealed")
        return
    if not seal_holds(state.seal):
        yield departure("seal-broken")
    before: list[int] = []
    for event in case.arrived:
        if isinstance(event.body, Sealed):
            break
        if isinstance(event.body, OF_A_LAUNCH):
            before.append(launch_of(event.body) or 0)
    if before:
        numbers = tuple(sorted(set(before)))
        yield departure("launched-before-seal", count=len(numbers), numbers=numbers)
    sealed = moment_of(state.sealed_at)
    early = []
    for launch in state.launches.values():
        times = [launch.launched_at, launch.reading.device_time if launch.reading else ""]
        moments = [moment for moment in map(moment_of, times) if moment is not None]
        if sealed and moments and (sealed - min(moments)).total_seconds() > CLOCK_SLACK_S:
            early.append(launch.number)
    if early:
        yield departure("clock-before-seal", count=len(early), numbers=tuple(early))


def _files(state: State, files: Files | None) -> Iterator[Departure]:
    """The files against the sealed texts, byte for byte; a missing file is no edit."""
    if state.seal is None or files is None:
        return
    if files.study_text is not None and files.study_text != state.seal.study_text:
        yield departure("study-edited")
    if files.schedule_text is not None and files.schedule_text != state.seal.schedule_text:
        yield departure("schedule-edited")


def _launches(case: _Case) -> Iterator[Departure]:
    """Launches that are missing, beyond the plan, or out of order."""
    planned = {launch.number: launch for launch in case.schedule.launches}
    made = set(case.state.made)
    done = made | case.spared
    missing = [number for number, one in planned.items() if one.kind == "launch" and number not in done]
    if missing:
        counted = sum(one.kind == "launch" for one in planned.values())
        yield departure("launches-missing", count=len(missing), planned=counted, numbers=tuple(missing))
    if extra := sorted(made - planned.keys()):
        yield departure("launches-beyond-plan", count=len(extra), numbers=tuple(extra))
    moved = out_of_order([number for number in case.state.made if number in planned])
    if moved:
        yield departure("order-changed", count=len(moved), numbers=tuple(moved))
    yield from _made_as_other(case)


def _made_as_other(case: _Case) -> Iterator[Departure]:
    """Launches that count for another preparation, on another set-up, or as no launch at all."""
    launches = case.state.launches
    counted = [one for one in case.schedule.launches if one.kind == "launch" and one.number in launches]
    checks = [
        one.number
        for one in counted
        if launches[one.number].made
        and (launches[one.number].wear_check or launches[one.number].return_to_bare)
    ]
    if checks:
        yield departure("launches-as-checks", count=len(checks), numbers=tuple(checks))
    elsewhere = [
        one.number
        for one in counted
        if launches[one.number].preparation not in (None, one.preparation)
        or launches[one.number].set_up not in (None, one.set_up)
    ]
    if elsewhere:
        yield departure("launched-otherwise", count=len(elsewhere), numbers=tuple(elsewhere))


def out_of_order(numbers: Sequence[int]) -> list[int]:
    """Return the fewest numbers without which the others ascend.

    Examples
    --------
    >>> out_of_order([1, 2, 5, 3, 4])
    [5]
    """
    ends: list[int] = []
    places: list[int] = []
    for number in numbers:
        place = bisect_left(ends, number)
        ends[place : place + 1] = [number]
        places.append(place)
    wanted = len(ends) - 1
    kept: set[int] = set()
    for number, place in zip(reversed(numbers), reversed(places), strict=True):
        if place == wanted:
            kept.add(number)
            wanted -= 1
    return sorted(set(numbers) - kept)


def _preparations(case: _Case) -> Iterator[Departure]:
    """Preparations that are missing, beyond the plan, or other than planned; rounds beyond it."""
    state = case.state
    planned: dict[str, ScheduledLaunch] = {}
    numbers: dict[str, list[int]] = {}
    for one in case.schedule.launches:
        planned.setdefault(one.preparation, one)
        if one.kind == "launch":
            numbers.setdefault(one.preparation, []).append(one.number)
    made = set(state.made) | case.spared
    moved = {launch.preparation for launch in state.launches.values() if launch.preparation}
    missing = [label for label, counted in numbers.items() if made.isdisjoint(counted) and label not in moved]
    if missing:
        yield departure(
            "preparations-missing", count=len(missing), planned=len(numbers), names=listed(missing)
        )
    if extra := sorted((set(state.preparations) | moved) - planned.keys()):
        yield departure("preparations-beyond-plan", names=listed(extra))
    for label, done in state.preparations.items():
        meant = planned.get(label)
        if meant is None:
            continue
        if done.treatment not in (None, meant.treatment):
            yield departure(
                "treatment-otherwise", preparation=label, done=done.treatment, planned=meant.treatment
            )
        if done.item not in (None, meant.item):
            yield departure("items-otherwise", preparation=label, done=done.item, planned=meant.item)
    rounds = [one.said.block for one in state.blocks]
    rounds += [done.block for done in state.preparations.values() if done.block is not None]
    known = {one.block for one in case.schedule.launches}
    if beyond := list(dict.fromkeys(name for name in rounds if name not in known)):
        yield departure("blocks-beyond-plan", names=listed(beyond))


def _set_ups(case: _Case) -> Iterator[Departure]:
    """Rig set-ups other than planned."""
    planned = {one.set_up: one for one in reversed(case.schedule.launches)}
    for number, done in case.state.set_ups.items():
        meant = planned.get(number)
        if meant is None:
            continue
        place = (done.surface or meant.surface, done.direction or meant.direction)
        if place != (meant.surface, meant.direction):
            yield departure(
                "set-up-otherwise",
                number=number,
                done=", ".join(place),
                planned=f"{meant.surface}, {meant.direction}",
            )


def _voids(case: _Case) -> Iterator[Departure]:
    """Launches set aside for other reasons than stated, or by somebody who knew the distance."""
    counted = {one.number for one in case.schedule.launches if one.kind == "launch"}
    voids = [
        (number, launch.set_aside)
        for number, launch in case.state.launches.items()
        if launch.set_aside is not None and number in counted
    ]
    stated = {reason.strip().casefold() for reason in case.study.void_reasons}
    others = [(number, void) for number, void in voids if void.cause.strip().casefold() not in stated]
    if others:
        reasons = tuple(dict.fromkeys(void.cause for _, void in others))
        yield departure(
            "voids-for-other-reasons",
            count=len(others),
            reasons=listed([f"“{reason}”" for reason in reasons]),
            numbers=tuple(number for number, _ in others),
        )
    seen = [number for number, void in voids if void.distance_known]
    if seen:
        yield departure("voids-with-value-seen", count=len(seen), numbers=tuple(seen))
    unsaid = [number for number, void in voids if void.distance_known is None]
    if unsaid:
        yield departure("voids-value-perhaps-seen", count=len(unsaid), numbers=tuple(unsaid))
    taken_back = {
        launch_of(fact.body) or 0
        for fact in case.state.facts
        if isinstance(fact.body, SetAside) and fact.withdrawn
    }
    after_all = sorted(taken_back & counted - {number for number, _ in voids})
    if after_all:
        yield departure("set-aside-taken-back", count=len(after_all), numbers=tuple(after_all))


def _conduct(case: _Case) -> Iterator[Departure]:
    """Damage, incidents, looks, early reveals, corrections."""
    state = case.state
    for damage in state.damages:
        words = f" ({damage.said.words})" if damage.said.words else ""
        yield departure("coat-damaged", preparation=damage.said.preparation, words=words)
    for incident in state.incidents:
        yield departure("incident", time=incident.device_time, words=incident.said.words)
    yield from _looks(case)
    if later := _made_after_reveal(case):
        yield departure("revealed-early", later=len(later), numbers=tuple(later))
    corrected = sorted(
        launch_of(fact.body) or 0 for fact in state.facts if isinstance(fact.body, Read) and fact.corrections
    )
    if corrected:
        numbers = tuple(dict.fromkeys(corrected))
        yield departure("readings-corrected", count=len(numbers), numbers=numbers)


def _looks(case: _Case) -> Iterator[Departure]:
    """Analyses beyond the planned ones; a record that does not say how many launches it saw is counted."""
    looks = case.state.looks
    if changed := _changed_after(case, {one.event for one in looks}):
        yield departure("changed-after-look", count=len(changed), numbers=tuple(changed))
    counted = len({one.said.number for one in looks if one.said.launches is None})
    if counted > case.study.looks - 1:
        yield departure("looks-beyond-plan", made=counted, planned=case.study.looks - 1)
    early = {one.event for one in looks if one.said.launches is not None and one.said.planned is None}
    if not early:
        return
    if later := _first_heard_after(case, early):
        yield departure("looked-early", count=len(early), later=len(later))
        return
    planned = {one.number for one in case.schedule.launches if one.kind == "launch"}
    if waiting := planned - set(case.state.made) - case.spared:
        yield departure("ended-early", waiting=len(waiting))


def _changed_after(case: _Case, marks: Collection[str]) -> list[int]:
    """Launches that were read or set aside before some events, and recorded otherwise after the first."""
    of_event: dict[str, int] = {}
    told: set[int] = set()
    changed: set[int] = set()
    passed = False
    for event in case.arrived:
        passed = passed or event.id in marks
        number = launch_of(event.body)
        if isinstance(event.body, Corrected):
            number = of_event.get(event.body.target)
        if number is None or not isinstance(event.body, Read | CHANGES):
            continue
        of_event[event.id] = number
        if not passed and isinstance(event.body, Read | SetAside):
            told.add(number)
        elif passed and number in told and isinstance(event.body, CHANGES):
            changed.add(number)
    return sorted(changed)


def _made_after_reveal(case: _Case) -> list[int]:
    """Launches first heard of after treatments were told, where they were hidden from somebody."""
    standing = {one.event for one in case.state.reveals}
    return _first_heard_after(case, standing) if case.study.hidden_from else []


def _first_heard_after(case: _Case, marks: Collection[str]) -> list[int]:
    """Launches first heard of after the first event of some, by its id, in the order of arrival."""
    met: set[int] = set()
    later: list[int] = []
    passed = False
    for event in case.arrived:
        passed = passed or event.id in marks
        number = launch_of(event.body)
        if isinstance(event.body, OF_A_LAUNCH) and number is not None and number not in met:
            met.add(number)
            if passed:
                later.append(number)
    return sorted(later)
