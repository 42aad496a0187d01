"""What a log says altogether: the records that folding its events gives.

Nothing recorded is dropped: `State.facts` holds every event with its corrections applied, and what
is odd about it is an open question, beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from evenglide.fieldlog.bodies import (
    Block,
    Body,
    CoatDamaged,
    Condition,
    Elsewhere,
    Guess,
    Incident,
    Look,
    Merged,
    Noted,
    Posted,
    Prepared,
    Reveal,
    RoundEnded,
    Sealed,
    Session,
    SetUp,
    Skipped,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """An event as it is replayed: what was recorded, without the chain of the log it came from."""

    event: str
    device: str
    sequence: int
    device_time: str
    body: Body


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """An event with its corrections.

    Parameters
    ----------
    entry : Entry
        As recorded.
    body : Body
        As it stands after all corrections.
    withdrawn : bool
        It should not have been recorded at all.
    latest : str
        Id of the event that a further correction has to name: the last correction, or the event.
    corrections : int
    reach : int
        Highest launch number met in the replay up to here.
    position : int
        In the replay, from 0.
    """

    entry: Entry
    body: Body
    withdrawn: bool
    latest: str
    corrections: int
    reach: int
    position: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something odd that a person should look at.

    Parameters
    ----------
    code : str
        Kind of oddity.
    event : str
        Id of the event at which it shows.
    launch : int or None
    facts : mapping
        Plain values.
    """

    code: str
    event: str
    launch: int | None
    facts: Mapping[str, object]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What was read of a launch. Without a value it is unread: the text could not be understood."""

    event: str
    text: str
    value: float | None
    unit: str | None
    reader: str
    method: str
    uncertainty: float | None
    corrections: int
    device_time: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """Why a launch was set aside, and whether its distance was known by then (None: not said).

    `after_reading`: the log holds a reading of it that was recorded before, perhaps one taken back since.
    """

    event: str
    cause: str
    value_seen: bool | None
    after_reading: bool

    @property
    def distance_known(self) -> bool | None:
        """Whether its distance was known, by what was said and by the log; None where that is not clear."""
        if self.value_seen is False:
            return None if self.after_reading else False
        return True if self.value_seen or self.after_reading else None


@dataclass(frozen=True, slots=True, kw_only=True)
class LaunchState:
    """All that was recorded of one launch.

    Parameters
    ----------
    number : int
    launched : bool
        Its release was recorded.
    launched_at : str
        Device time of that; "" if not recorded.
    order : float or None
        Its place in the order in which launches were made, where that was said.
    reach : int
        Highest launch number met in the replay when it was first spoken of.
    position : int
        Place in the replay of its release, or of when it was first spoken of.
    preparation, set_up : str or None, int or None
        Said at the launch, where other than planned.
    peg : str
    landed : bool
        It was recorded that it came to its mark.
    clip : str
    reading : Reading or None
        The first one.
    further : tuple of Reading
        Others of the same launch.
    was_read : bool
        A reading of it was recorded, be it one that was taken back.
    at_least : bool
        Left the lane while gliding.
    bound : float or None
        Said with that, in `bound_unit`.
    bound_unit : str or None
    stopped, peg_lost : bool
    set_aside : Cause or None
    wear_check, return_to_bare : bool
        Recorded as such.
    remarks : tuple of str
    """

    number: int
    launched: bool = False
    launched_at: str = ""
    order: float | None = None
    reach: int = 0
    position: int = 0
    preparation: str | None = None
    set_up: int | None = None
    peg: str = ""
    landed: bool = False
    clip: str = ""
    reading: Reading | None = None
    further: tuple[Reading, ...] = ()
    was_read: bool = False
    at_least: bool = False
    bound: float | None = None
    bound_unit: str | None = None
    stopped: bool = False
    peg_lost: bool = False
    set_aside: Cause | None = None
    wear_check: bool = False
    return_to_bare: bool = False
    remarks: tuple[str, ...] = ()

    @property
    def made(self) -> bool:
        """Whether the launch was made, as far as the log tells."""
        return (
            self.launched
            or self.landed
            or self.reading is not None
            or self.at_least
            or self.stopped
            or self.peg_lost
            or self.set_aside is not None
        )


Said = TypeVar("Said")


@dataclass(frozen=True, slots=True, kw_only=True)
class When(Generic[Said]):
    """Something said of the day, and where in the order of launches."""

    event: str
    said: Said
    device_time: str
    after_launch: int


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What a log says.

    Parameters
    ----------
    facts : tuple of Fact
        Every event, in the order of replay.
    launches : mapping of int to LaunchState
    made : tuple of int
        Launch numbers in the order in which the launches were made.
    seal : Sealed or None
        The first one.
    sealed_at : str
        Device time of it; "" without one.
    preparations : mapping of str to Prepared
    set_ups : mapping of int to SetUp
    postings, sessions, blocks, ended, skipped, elsewhere, damages, conditions, guesses, incidents
    looks, reveals, remarks, merges
        What was said of each kind, in the order of replay.
    questions : tuple of Question
    """

    facts: tuple[Fact, ...] = ()
    launches: Mapping[int, LaunchState] = field(default_factory=dict)
    made: tuple[int, ...] = ()
    seal: Sealed | None = None
    sealed_at: str = ""
    preparations: Mapping[str, Prepared] = field(default_factory=dict)
    set_ups: Mapping[int, SetUp] = field(default_factory=dict)
    postings: tuple[When[Posted], ...] = ()
    sessions: tuple[When[Session], ...] = ()
    blocks: tuple[When[Block], ...] = ()
    ended: tuple[When[RoundEnded], ...] = ()
    skipped: tuple[When[Skipped], ...] = ()
    elsewhere: tuple[When[Elsewhere], ...] = ()
    damages: tuple[When[CoatDamaged], ...] = ()
    conditions: tuple[When[Condition], ...] = ()
    guesses: tuple[When[Guess], ...] = ()
    incidents: tuple[When[Incident], ...] = ()
    looks: tuple[When[Look], ...] = ()
    reveals: tuple[When[Reveal], ...] = ()
    remarks: tuple[When[Noted], ...] = ()
    merges: tuple[When[Merged], ...] = ()
    questions: tuple[Question, ...] = ()

    def fact(self, event: str) -> Fact | None:
        """Return the fact of an event id; None if the log does not hold it."""
        return next((fact for fact in self.facts if fact.entry.event == event), None)


EMPTY = State()
