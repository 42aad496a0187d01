"""A log that grows while a day goes on: each new event is folded alone, with what it touches.

`replay` folds a whole log. A server that is asked after every launch keeps a `RunningDay` instead: a new
event makes it fold again the records of the one launch it speaks of, or the few records that frame the day.
It comes to the same day as a replay of everything; tests hold the two together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from evenglide.fieldlog.bodies import (
    Body,
    Corrected,
    Elsewhere,
    Launched,
    Prepared,
    RoundEnded,
    Session,
    SetUp,
    Skipped,
    UnknownBody,
    launch_of,
)
from evenglide.fieldlog.correcting import facts_of
from evenglide.fieldlog.day import Day, day_of
from evenglide.fieldlog.events import Draft, Event
from evenglide.fieldlog.fold import entry_of, framed
from evenglide.fieldlog.launching import launches_of
from evenglide.fieldlog.state import Entry, Fact, LaunchState, State

FRAME = (Elsewhere, Prepared, RoundEnded, Session, SetUp, Skipped)
"""What frames a day: few of them, however many launches there are."""
FRAME_KINDS = frozenset(str(kind.model_fields["kind"].default) for kind in FRAME)

Key = tuple[int, str, int, str]


class RunningDay:
    """A day that is kept up to date.

    Parameters
    ----------
    plan : mapping
        ``evenglide.phone-plan/1``.

    Attributes
    ----------
    folded : int
        Records folded so far, again or for the first time: what it cost.
    """

    def __init__(self, plan: Mapping[str, Any]) -> None:
        self.plan = plan
        self.folded = 0
        self._entries: dict[str, tuple[Key, Entry]] = {}
        self._last: dict[str, tuple[int, int]] = {}
        self._groups: dict[int | None, list[str]] = {}
        self._group_of: dict[str, int | None] = {}
        self._waiting: dict[str, list[str]] = {}
        self._corrections: dict[str, list[str]] = {}
        self._numbers: dict[str, set[int]] = {}
        self._launches: dict[int, LaunchState] = {}
        self._places: dict[int, Key] = {}
        self._releases: dict[int, list[Fact]] = {}
        self._out_of_turn: set[str] = set()

    def add(self, events: Iterable[Event | Draft]) -> None:
        """Take in further events of the log; one that is known already changes nothing."""
        touched: set[int | None] = set()
        for event in events:
            if event.id not in self._entries:
                touched |= self._placed(event)
        for device in self._out_of_turn:
            touched |= self._renumbered(device)
        self._out_of_turn.clear()
        for group in touched:
            if group is not None:
                self._fold(group)

    def day(self) -> Day:
        """Say where the day stands."""
        return day_of(self.plan, framed(self._frame(), launches=self._launches))

    def state(self) -> State:
        """Say what is known of launches, preparations and set-ups, and in which order launches were made."""
        made = sorted(
            (one for one in self._launches.values() if one.made),
            key=lambda one: (one.reach if one.order is None else one.order, self._places[one.number]),
        )
        state = framed(self._frame(), launches=self._launches)
        return replace(state, made=tuple(one.number for one in made))

    def timed(self) -> list[Fact]:
        """Return the records that tell how long things took, in the order of replay."""
        facts = [fact for facts in self._releases.values() for fact in facts]
        facts += [fact for fact in self._frame() if isinstance(fact.body, Prepared | SetUp)]
        return sorted(facts, key=lambda fact: self._entries[fact.entry.event][0])

    def fact(self, identity: str) -> Fact:
        """Return one record with its corrections applied, and theirs; it has to be known.

        Its place in the replay and what was reached by then are not reckoned.
        """
        family, waiting = {identity}, [identity]
        while waiting:
            fresh = [one for one in self._corrections.get(waiting.pop(), ()) if one not in family]
            family.update(fresh)
            waiting += fresh
        history = [entry for _, entry in sorted((self._entries[one] for one in family), key=_key)]
        self.folded += len(history)
        return next(fact for fact in facts_of(history)[0] if fact.entry.event == identity)

    def gaps(self) -> dict[str, int]:
        """Count, for each device, the records that are missing between those that came."""
        return {device: self._last[device][0] - len(met) for device, met in self._numbers.items()}

    def _placed(self, event: Event | Draft) -> set[int | None]:
        """Put an event in its place in the order of replay, and say which records it touches."""
        last, furthest = self._last.get(event.device, (0, 0))
        if event.sequence <= last:
            self._out_of_turn.add(event.device)
        furthest = max(furthest, launch_of(event.body) or 0)
        self._last[event.device] = (max(last, event.sequence), furthest)
        entry = entry_of(event)
        self._entries[event.id] = ((furthest, event.device, event.sequence, event.id), entry)
        self._numbers.setdefault(event.device, set()).add(event.sequence)
        if isinstance(event.body, Corrected):
            self._corrections.setdefault(event.body.target, []).append(event.id)
        return self._grouped(entry)

    def _grouped(self, entry: Entry) -> set[int | None]:
        """Put a record with those it is folded with; corrections go where their target is."""
        body = entry.body
        group = None if _frames(body) else launch_of(body)
        if isinstance(body, Corrected):
            if body.target not in self._group_of:
                self._waiting.setdefault(body.target, []).append(entry.event)
                return set()
            group = self._group_of[body.target]
        elif group is None and not _frames(body):
            return set()
        self._group_of[entry.event] = group
        self._groups.setdefault(group, []).append(entry.event)
        touched = {group}
        for waiting in self._waiting.pop(entry.event, ()):
            touched |= self._grouped(self._entries[waiting][1])
        return touched

    def _sorted(self, group: int | None) -> list[tuple[Key, Entry]]:
        return sorted((self._entries[event] for event in self._groups.get(group, ())), key=_key)

    def _frame(self) -> tuple[Fact, ...]:
        """Fold what frames the day."""
        history = [entry for _, entry in self._sorted(None)]
        self.folded += len(history)
        return facts_of(history)[0]

    def _fold(self, group: int) -> None:
        """Fold what speaks of one launch."""
        history = self._sorted(group)
        self.folded += len(history)
        facts = facts_of([entry for _, entry in history])[0]
        self._releases[group] = [fact for fact in facts if isinstance(fact.body, Launched)]
        for number, launch in launches_of(facts)[0].items():
            # Its place among its own records stands for its place in the whole replay: there the highest
            # launch number met is that of the device, by which the replay is ordered.
            self._places[number] = history[launch.position][0]
            self._launches[number] = replace(launch, reach=self._places[number][0])

    def _renumbered(self, device: str) -> set[int | None]:
        """Work out where records of a device belong after one came out of turn, and say what that touches."""
        stream = [entry for _, entry in self._entries.values() if entry.device == device]
        furthest, touched = 0, set()
        for entry in sorted(stream, key=lambda one: (one.sequence, one.event)):
            furthest = max(furthest, launch_of(entry.body) or 0)
            key = (furthest, device, entry.sequence, entry.event)
            if self._entries[entry.event][0] != key:
                self._entries[entry.event] = (key, entry)
                touched |= {self._group_of[entry.event]} if entry.event in self._group_of else set()
        self._last[device] = (self._last[device][0], furthest)
        return touched


def _frames(body: Body) -> bool:
    """Whether a record frames the day, whatever launch it names, or will once it is corrected."""
    return isinstance(body, FRAME) or (isinstance(body, UnknownBody) and body.kind in FRAME_KINDS)


def _key(placed: tuple[Key, Entry]) -> Key:
    return placed[0]
