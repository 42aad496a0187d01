"""A day outside: what comes next, and how each launch stands, from the plan and the records so far.

The phone reckons the same in its own language; `tests/vectors/day` holds both to the same answers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Any, Literal

from evenglide.fieldlog.state import LaunchState, State

Mark = Literal[
    "unmade", "made", "landed", "read", "at least", "stopped", "set aside", "lost", "skipped", "elsewhere"
]
DayState = Literal["morning", "prepare", "set up", "ready", "landed", "read", "end of coat", "done"]

MOST_UNREAD = 6
"""Pegs that are read in one walk along the tape at most (common practice, no source)."""
NEEDS_NO_READING = frozenset({"practice"})
BARE = "return to bare"
TO_READ = frozenset({"landed", "stopped", "at least"})
"""A launch that stopped early or left the lane is read too: where, and as what, are two things."""
OPEN = frozenset({"unmade", "elsewhere"})
"""Of these launches nothing is in the log yet; the second kind are not asked for."""
NOT_MADE = OPEN | {"skipped"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """Where a day stands.

    Parameters
    ----------
    state : str
        What is to be done now.
    next : mapping or None
        Launch of the plan that is made next; None when nothing is left.
    waiting_for : tuple of str
        Preparations still to be made ready, in state ``"prepare"``.
    marks : mapping of int to str
        How each launch of the plan stands.
    unread : tuple of int
        Launches of which is still to be read where they came to, in the order of the plan.
    made, planned : int
        Launches of the plan that were made or will not be, and all of them. What is recorded elsewhere counts
        once it is in this log.
    """

    state: DayState
    next: Mapping[str, Any] | None
    waiting_for: tuple[str, ...]
    marks: Mapping[int, Mark]
    unread: tuple[int, ...]
    made: int
    planned: int

    def to_dict(self) -> dict[str, Any]:
        """Return plain values, as the vectors hold them."""
        return {
            "state": self.state,
            "next": None if self.next is None else self.next["number"],
            "waiting_for": list(self.waiting_for),
            "marks": {str(number): mark for number, mark in self.marks.items() if mark != "unmade"},
            "unread": list(self.unread),
            "made": self.made,
            "planned": self.planned,
        }


def day_of(plan: Mapping[str, Any], state: State) -> Day:
    """Say where a day stands.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.
    state : State
        What the records say so far.

    Returns
    -------
    Day
    """
    launches = plan["launches"]
    skipped = {number for one in state.skipped for number in one.said.launches}
    elsewhere = {number for one in state.elsewhere for number in one.said.launches}
    marks = {
        one["number"]: _mark(
            state.launches.get(one["number"]),
            skipped=one["number"] in skipped,
            elsewhere=one["number"] in elsewhere,
        )
        for one in launches
    }
    left = [one for one in launches if marks[one["number"]] == "unmade"]
    following = left[0] if left else None
    unread = [
        one["number"]
        for one in launches
        if one["kind"] not in NEEDS_NO_READING
        and _to_read(state.launches.get(one["number"]), marks[one["number"]])
    ]
    landing = [one for one in launches if marks[one["number"]] == "made"]
    on_the_tape = [number for number in unread if not _clip_alone(state.launches.get(number))]
    name, waiting = _state(
        plan, state, following=following, landing=landing, unread=on_the_tape, elsewhere=elsewhere
    )
    return Day(
        state=name,
        next=following,
        waiting_for=waiting,
        marks=marks,
        unread=tuple(unread),
        made=sum(mark not in OPEN for mark in marks.values()),
        planned=len(launches),
    )


def _mark(launch: LaunchState | None, *, skipped: bool, elsewhere: bool) -> Mark:
    """How one launch stands; what was recorded of it outweighs that it was to be skipped, or is elsewhere."""
    if launch is None or not launch.made:
        return "skipped" if skipped else "elsewhere" if elsewhere else "unmade"
    if launch.set_aside is not None:
        return "set aside"
    if launch.stopped:
        return "stopped"
    if launch.at_least:
        return "at least"
    if launch.reading is not None and launch.reading.value is not None:
        return "read"
    if launch.peg_lost:
        return "lost"
    return "landed" if launch.landed or launch.reading is not None else "made"


def _to_read(launch: LaunchState | None, mark: Mark) -> bool:
    """Whether a launch came to its mark and nobody has said yet where that is."""
    if launch is None or mark not in TO_READ or launch.peg_lost or launch.bound is not None:
        return False
    return launch.reading is None or launch.reading.value is None


def _clip_alone(launch: LaunchState | None) -> bool:
    """Whether only a clip shows where a launch came to: that is read some other time, not on the walk."""
    return launch is not None and bool(launch.clip) and not launch.peg


def _state(
    plan: Mapping[str, Any],
    state: State,
    *,
    following: Mapping[str, Any] | None,
    landing: Sequence[Mapping[str, Any]],
    unread: Sequence[int],
    elsewhere: Set[int],
) -> tuple[DayState, tuple[str, ...]]:
    """What is to be done now: the first thing that is missing."""
    if landing:
        return "landed", ()
    here = [one for one in plan["launches"] if one["number"] in unread]
    moves = following is None or any(one["set_up"] != following["set_up"] for one in here)
    if unread and (moves or len(unread) >= MOST_UNREAD):
        return "read", ()
    # What belongs to launches that are recorded elsewhere is recorded there too: the morning, the coats of
    # their set-ups, that the rig stood, the end of their round.
    there = [one for one in plan["launches"] if one["number"] in elsewhere]
    stood = {one["set_up"] for one in there}
    coats_there = {one["preparation"] for one in plan["launches"] if one["set_up"] in stood}
    coated = coats_there.union(state.preparations)
    begun = [one for one in plan["launches"] if one["preparation"] in coated]
    # A round before the last one that was begun is over, whether somebody said so or not; what shows that the
    # coats are off is launched after they were taken off.
    last = begun[-1] if begun else None
    ended = {one.said.block for one in state.ended}
    over = (
        following is None or last is None or following["block"] != last["block"] or following["kind"] == BARE
    )
    if over and last is not None and last["block"] not in ended and last["number"] not in elsewhere:
        return "end of coat", ()
    if following is None:
        return "done", ()
    begins = any(one["outing"] == following["outing"] for one in there)
    if not begins and not any(one.said.outing in (None, following["outing"]) for one in state.sessions):
        return "morning", ()
    coats = [one["preparation"] for one in plan["launches"] if one["set_up"] == following["set_up"]]
    waiting = tuple(one for one in dict.fromkeys(coats) if one not in coated)
    if waiting:
        return "prepare", waiting
    return "ready" if following["set_up"] in stood.union(state.set_ups) else "set up", ()
