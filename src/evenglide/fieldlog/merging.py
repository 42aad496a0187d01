"""The order in which events are replayed, and what another copy of a log adds.

Every device numbers what it records. Its records stay in that order; the streams of several devices
are merged by the numbers of the launches they speak of. Arrival and clocks play no part, so the same
events give the same order on every machine.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from evenglide.fieldlog.bodies import launch_of
from evenglide.fieldlog.events import Event, canonical_body


@dataclass(frozen=True, slots=True, kw_only=True)
class Merge:
    """What another copy of a log adds to this one.

    Parameters
    ----------
    new : tuple of Event
        Not in this log, in their order of arrival there.
    already : int
        In both.
    conflicts : tuple of Event
        Their ids are taken by events that say something else.
    """

    new: tuple[Event, ...]
    already: int
    conflicts: tuple[Event, ...]


def replay_order(events: Iterable[Event]) -> tuple[Event, ...]:
    """Put events in the order in which they are replayed.

    Parameters
    ----------
    events : iterable of Event
        In any order.

    Returns
    -------
    tuple of Event
        Each device's in its own sequence. Of two devices', the one first whose device has met the
        lower launch numbers up to there; ties by the name of the device. An event without a launch
        number stays after the last numbered event of its device.
    """
    streams: dict[str, list[Event]] = {}
    for event in events:
        streams.setdefault(event.device, []).append(event)
    keyed: list[tuple[int, str, int, Event]] = []
    for device, stream in streams.items():
        furthest = 0
        stream.sort(key=lambda event: (event.sequence, event.id))
        for place, event in enumerate(stream):
            furthest = max(furthest, launch_of(event.body) or 0)
            keyed.append((furthest, device, place, event))
    return tuple(event for *_, event in sorted(keyed, key=lambda key: key[:3]))


def merge(own: Sequence[Event], other: Sequence[Event]) -> Merge:
    """Tell what another copy adds.

    Parameters
    ----------
    own, other : sequence of Event
        In their orders of arrival.

    Returns
    -------
    Merge
    """
    known = {event.id: event for event in own}
    new: list[Event] = []
    conflicts: list[Event] = []
    already = 0
    for event in other:
        mine = known.get(event.id)
        if mine is None:
            new.append(event)
            known[event.id] = event
        elif canonical_body(mine.body) == canonical_body(event.body):
            already += 1
        else:
            conflicts.append(event)
    return Merge(new=tuple(new), already=already, conflicts=tuple(conflicts))
