"""When a study may be answered, and what it says at its half-way checks."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from evenglide.analysis.look_plan import LookPlan, look_plan
from evenglide.analysis.looks import JudgedLooks, judge_looks
from evenglide.analysis.rule import Rule
from evenglide.errors import Problem, StudyError
from evenglide.fieldlog.bodies import Look
from evenglide.fieldlog.departures import OF_A_LAUNCH
from evenglide.fieldlog.events import Event
from evenglide.fieldlog.state import LaunchState, State
from evenglide.readings.from_log import Left, LogReadings
from evenglide.show.notes import AuditEntry, audit_entry
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """A log at its last half-way check.

    Parameters
    ----------
    judged : JudgedLooks
    readings : LogReadings
        What holds now.
    spared : frozenset of int
        Planned launches that are not missing: they are still to come, or their question is settled.
    """

    judged: JudgedLooks
    readings: LogReadings
    spared: frozenset[int]


def waiting_launches(schedule: Schedule, state: State) -> frozenset[int]:
    """List the numbers of planned launches that count and are still to be made, or to be read.

    A launch that was left out is not waited for: that was recorded, or its round was begun on its surface and
    the plan was followed beyond it, and nobody said that it is recorded elsewhere. What was launched from the
    place where the rig stands now is still to be read, even if it is the last of the plan.
    """
    made = set(state.made)
    skipped = {number for one in state.skipped for number in one.said.launches}
    elsewhere = {number for one in state.elsewhere for number in one.said.launches} - made
    last = max((one.number for one in schedule.launches if one.number in made), default=0)
    planned = [launch for launch in schedule.launches if launch.kind == "launch"]
    begun = {(one.block, one.surface) for one in planned if one.number in made}
    stands = {one.set_up for one in schedule.launches if one.number == last}
    return frozenset(
        one.number
        for one in planned
        if not _done(state.launches.get(one.number))
        and one.number not in skipped
        and (
            (one.block, one.surface) not in begun
            or one.number > last
            or one.number in elsewhere
            or (one.number in made and one.set_up in stands)
        )
    )


def _done(launch: LaunchState | None) -> bool:
    return launch is not None and (
        launch.reading is not None
        or launch.set_aside is not None
        or launch.bound is not None
        or launch.peg_lost
    )


def already_seen(events: Sequence[Event]) -> bool:
    """Whether somebody looked when it was not planned, and nothing was recorded of a launch since."""
    seen = False
    for event in events:
        if isinstance(event.body, Look):
            seen = event.body.planned is None and event.body.launches is not None
        elif isinstance(event.body, OF_A_LAUNCH):
            seen = False
    return seen


def check_time(study: Study, schedule: Schedule, state: State) -> None:
    """Refuse an answer before the first check or, without one, before the end.

    Parameters
    ----------
    study, schedule
        As sealed.
    state : State

    Raises
    ------
    StudyError
        ``too-early``.
    """
    waiting = waiting_launches(schedule, state)
    if waiting and (study.looks == 1 or look_plan(study, schedule).number == 1):
        raise StudyError([_too_early(schedule, waiting, hidden=bool(study.hidden_from), plan=None)])


def looked_at(
    study: Study,
    schedule: Schedule,
    state: State,
    *,
    readings: LogReadings,
    rule: Rule,
    early: bool,
) -> Looked | None:
    """Judge a log at its half-way checks.

    Parameters
    ----------
    study, schedule
        As sealed.
    state : State
    readings : LogReadings
        Of the whole log.
    rule : Rule
    early : bool
        Take what there is as the end.

    Returns
    -------
    Looked or None
        None where the plan has no check before the end.

    Raises
    ------
    StudyError
        ``too-early``: no check is in.
    """
    assert readings.launches is not None
    plan = look_plan(study, schedule) if study.looks > 1 else None
    if plan is None or plan.number == 1:
        return None
    waiting = waiting_launches(schedule, state)
    judged = judge_looks(plan, readings.launches, rule, waiting=waiting, early=early)
    if judged is None:
        raise StudyError([_too_early(schedule, waiting, hidden=bool(study.hidden_from), plan=plan)])
    spared = _spared(judged)
    return Looked(judged=judged, readings=_at_look(readings, judged, spared), spared=spared)


def checks_left_out(study: Study, schedule: Schedule) -> tuple[AuditEntry, ...]:
    """Tell the checks that a study states and its plan cannot have."""
    if study.looks == 1:
        return ()
    dropped = look_plan(study, schedule).dropped
    return tuple(audit_entry("check-not-possible", found=problem.found) for problem in dropped)


def check_looks(study: Study, schedule: Schedule) -> None:
    """Refuse half-way checks that a plan cannot have.

    Parameters
    ----------
    study : Study
    schedule : Schedule

    Raises
    ------
    StudyError
        ``looks-on-one-round``, ``look-too-early``.
    """
    if study.looks > 1 and (problems := look_plan(study, schedule).dropped):
        raise StudyError(list(problems))


def look_made(
    schedule: Schedule, state: State, events: Sequence[Event], *, judged: JudgedLooks | None
) -> Look | None:
    """Make the record of an answer that is given before the end.

    Parameters
    ----------
    schedule : Schedule
    state : State
    events : sequence of Event
    judged : JudgedLooks or None
        None for a study without half-way checks.

    Returns
    -------
    evenglide.fieldlog.bodies.Look or None
        None at the end, and where the log holds it already.
    """
    told = [event.body for event in events if isinstance(event.body, Look)]
    number, made = 1 + max((one.number for one in told), default=0), len(state.made)
    if judged is None or judged.early:
        early = bool(waiting_launches(schedule, state)) and not already_seen(events)
        return Look(number=number, launches=made) if early else None
    reached = len(judged.looks)
    if judged.at_end or any(one.planned == reached for one in told):
        return None
    return Look(number=number, planned=reached, launches=made)


def _spared(judged: JudgedLooks) -> frozenset[int]:
    """Find the planned launches that are still to come, or whose question is settled."""
    spared: set[int] = set()
    for code, name in enumerate(judged.launches.surface.labels):
        planned = judged.plan.surfaces[name].launches[-1]
        latest = max(look for key, look in judged.settled.items() if key[0] == code)
        if judged.stopped(code) and latest < len(judged.looks) - judged.early:
            spared |= planned - judged.looks[latest].launches
        elif not judged.at_end:
            spared |= planned - judged.looks[-1].launches
    return frozenset(spared)


def _at_look(readings: LogReadings, judged: JudgedLooks, spared: frozenset[int]) -> LogReadings:
    """Cut readings to what holds now; what was made beyond it is told apart."""
    held = set(judged.launches.row.tolist())
    left: Mapping[Left, tuple[int, ...]] = {
        reason: tuple(number for number in numbers if number not in spared)
        for reason, numbers in readings.left_out.items()
    }
    beyond = tuple(number for number in readings.numbers if number not in held)
    kept = {reason: numbers for reason, numbers in left.items() if numbers}
    return replace(
        readings,
        launches=judged.launches,
        numbers=tuple(number for number in readings.numbers if number in held),
        stopped=tuple(number for number in readings.stopped if number in held),
        left_out=kept | ({"after the check": beyond} if beyond else {}),
    )


def _too_early(
    schedule: Schedule, waiting: frozenset[int], *, hidden: bool, plan: LookPlan | None
) -> Problem:
    planned = sum(launch.kind == "launch" for launch in schedule.launches)
    noun = "planned launch" if planned == 1 else "planned launches"
    when = "the last launch is made and read"
    if plan is not None:
        surfaces = plan.surfaces.values()
        rounds = f"{max(one.rounds[0] for one in surfaces)} of {max(one.of_rounds for one in surfaces)}"
        when = f"the half-way check after round {rounds}"
    warned = " Treatments are hidden: who must not know them must not see it." if hidden else ""
    return Problem(
        code="too-early",
        where="log.sqlite",
        found=f"{planned - len(waiting)} of {planned} {noun} made and read",
        expected=f"no answer before {when}: who looks early and stops when it pleases finds differences that "
        "are not there",
        remedy="Go on. If the study ends here, or you must look: --early. The log then records it, and every "
        f"report tells it.{warned}",
    )
