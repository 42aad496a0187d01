"""How far a study has come, and what comes next."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from evenglide.fieldlog.state import State
from evenglide.show.departures import Departure, departure
from evenglide.study.schedule import Schedule, ScheduledLaunch

Stage = Literal["to plan", "to seal", "to post", "to launch", "to answer"]

NOT_YET = frozenset({"launches-missing", "preparations-missing"})
"""What is missing from a study that is under way is no departure yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a study has come.

    Parameters
    ----------
    stage : {"to plan", "to seal", "to post", "to launch", "to answer"}
        What comes next.
    planned, made : int
        Launches of the list, and how many of them were made.
    set_aside : int
        Of the launches that were made.
    unread : int
        Launches made that have neither a value, nor a bound, nor a cause to be set aside.
    rounds, rounds_done : int
        Rounds of the list, and those of which every launch was made.
    next_launch : ScheduledLaunch or None
        The first of the list that was not made yet.
    """

    stage: Stage
    planned: int = 0
    made: int = 0
    set_aside: int = 0
    unread: int = 0
    rounds: int = 0
    rounds_done: int = 0
    next_launch: ScheduledLaunch | None = None


def progress_of(schedule: Schedule | None, state: State) -> Progress:
    """Find how far a study has come.

    Parameters
    ----------
    schedule : Schedule or None
        As sealed, or as it stands before; None if there is none yet.
    state : State

    Returns
    -------
    Progress
    """
    if schedule is None:
        return Progress(stage="to plan")
    numbers = {launch.number for launch in schedule.launches}
    made = numbers & set(state.made)
    left = [launch for launch in schedule.launches if launch.number not in made]
    known = [state.launches[number] for number in made]
    rounds = {launch.block for launch in schedule.launches}
    return Progress(
        stage=_stage(state, nothing_left=not left),
        planned=len(numbers),
        made=len(made),
        set_aside=sum(one.set_aside is not None for one in known),
        unread=sum(
            one.set_aside is None and one.bound is None and (one.reading is None or one.reading.value is None)
            for one in known
        ),
        rounds=len(rounds),
        rounds_done=len(rounds - {launch.block for launch in left}),
        next_launch=left[0] if left else None,
    )


def so_far(
    departures: Iterable[Departure], progress: Progress, *, hidden: bool = False
) -> tuple[Departure, ...]:
    """Leave out what is only not done yet, as long as there are launches to make.

    Parameters
    ----------
    departures : iterable of Departure
    progress : Progress
    hidden : bool
        Treatments are hidden from somebody: until the last launch no treatment is named.

    Returns
    -------
    tuple of Departure
    """
    if progress.stage == "to answer":
        return tuple(departures)
    return tuple(_masked(one) if hidden else one for one in departures if one.code not in NOT_YET)


def _masked(one: Departure) -> Departure:
    """Tell that a preparation got another treatment without saying which."""
    if one.code != "treatment-otherwise":
        return one
    named = one.facts["preparation"]
    return departure(one.code, preparation=named, done="another treatment", planned="the planned one")


def _stage(state: State, *, nothing_left: bool) -> Stage:
    """A seal that was never posted is asked for until the first launch; afterwards it is too late."""
    if state.seal is None:
        return "to seal"
    if not state.postings and not state.made:
        return "to post"
    return "to answer" if nothing_left else "to launch"
