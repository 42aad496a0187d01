"""The hash chain: every event carries the hash of the one before it.

``hash = SHA-256(previous + record)``, both as text: `previous` as 64 lower-case hexadecimal digits,
`record` in canonical JSON (RFC 8785). ``printf '%s' "$previous$record" | sha256sum`` gives it again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, replace

from evenglide.fieldlog.bodies import launch_of
from evenglide.fieldlog.events import Draft, Event, canonical, settled

GENESIS = "0" * 64
"""Stands where the first event of a log has no event before it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Break:
    """The first place at which a chain does not hold.

    Parameters
    ----------
    position : int
        Of the event, from 1, in the order of arrival.
    event : str
        Its id.
    launch : int or None
        The launch it speaks of.
    altered : bool
        The event is not what was hashed; if not, events before it are missing or moved.
    """

    position: int
    event: str
    launch: int | None
    altered: bool


def hash_of(previous: str, record: bytes) -> str:
    """Hash a record in canonical JSON together with the hash before it."""
    return hashlib.sha256(previous.encode("ascii") + record).hexdigest()


def sound(event: Event) -> bool:
    """Whether an event is what its hash says."""
    return event.hash == hash_of(event.previous, canonical(event.to_record()))


def chained(draft: Draft, *, previous: str = GENESIS, server_time: str) -> Event:
    """Make an event of a draft, holding on to the one before.

    Parameters
    ----------
    draft : Draft
    previous : str
        Hash of the last event of the log.
    server_time : str

    Returns
    -------
    Event
        Its body as it will be read again.

    Raises
    ------
    LogError
        ``not-canonical``.
    """
    event = Event(
        id=draft.id,
        device=draft.device,
        sequence=draft.sequence,
        device_time=draft.device_time,
        server_time=server_time,
        body=settled(draft.body),
        previous=previous,
        hash="",
    )
    return replace(event, hash=hash_of(previous, canonical(event.to_record())))


def chain(drafts: Iterable[Draft], *, server_time: str = "") -> tuple[Event, ...]:
    """Make a whole log of drafts; parameters as for `chained`."""
    events: list[Event] = []
    for draft in drafts:
        previous = events[-1].hash if events else GENESIS
        events.append(chained(draft, previous=previous, server_time=server_time))
    return tuple(events)


def find_break(events: Iterable[Event]) -> Break | None:
    """Find the first place at which the chain does not hold.

    Parameters
    ----------
    events : iterable of Event
        In the order of arrival, from the first on.

    Returns
    -------
    Break or None
    """
    previous = GENESIS
    for position, event in enumerate(events, start=1):
        altered = not sound(event)
        if altered or event.previous != previous:
            return Break(position=position, event=event.id, launch=launch_of(event.body), altered=altered)
        previous = event.hash
    return None
