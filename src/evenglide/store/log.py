"""The log of a study on disk: an SQLite database to which events can only be added.

Write-ahead journal with a full flush at every commit, one transaction for one append, triggers that
refuse to change or remove a row. SQLite does not see a changed byte in a text, so opening checks the
hash chain too.
"""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Self

from evenglide.fieldlog.bodies import Body, Conflicting, Merged, Sealed
from evenglide.fieldlog.chain import chained
from evenglide.fieldlog.events import Draft, Event, canonical, canonical_body, derived_id, new_id, read_json
from evenglide.fieldlog.merging import merge
from evenglide.store.log_connection import device_of, open_reading, open_writing
from evenglide.store.log_problems import log_altered, nothing_sound, other_study, told
from evenglide.store.log_rows import (
    INSERT,
    last_sequence,
    numbered,
    read_rows,
    read_rows_after,
    row_of,
    salvaged,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Appended:
    """What an append did.

    Parameters
    ----------
    new : tuple of Event
    already : tuple of str
        Ids of events that were there, saying the same.
    conflicts : tuple of str
        Ids taken by events that say something else; what came is kept in an event of its own and
        not applied.
    """

    new: tuple[Event, ...] = ()
    already: tuple[str, ...] = ()
    conflicts: tuple[str, ...] = ()


OWN = 0
"""Number of a draft of this machine until it is added."""


def now() -> str:
    """Return what the clock says, in UTC (RFC 3339)."""
    return datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def read_log(path: str | os.PathLike[str]) -> tuple[Event, ...]:
    """Read all events of a log, in the order of their arrival.

    Raises
    ------
    LogError
        Whatever keeps it from being read; ``log-altered`` with the place where the chain breaks.
    """
    place = Path(path)
    with told(place), closing(open_reading(place)) as connection:
        events, broken = read_rows(connection)
    if broken is not None:
        raise log_altered(place, broken)
    return events


class Log:
    """A log open for adding to it; close it, or use it in a ``with`` statement.

    Parameters
    ----------
    path : path
    create : bool
        Begin one if there is none.
    clock : callable, optional
        Gives the time as text.
    device : str, optional
        Name under which own events are recorded; default: one that belongs to this file.
    wait_s : float
        How long to wait for another writer. [s]

    Raises
    ------
    LogError
        If it cannot be opened, is damaged, or its chain does not hold.
    """

    def __init__(
        self,
        path: str | os.PathLike[str],
        *,
        create: bool = False,
        clock: Callable[[], str] = now,
        device: str | None = None,
        wait_s: float = 5.0,
    ) -> None:
        self._path = Path(path)
        self._clock = clock
        self._connection = open_writing(self._path, create=create, wait_s=wait_s)
        try:
            with told(self._path):
                events, broken = read_rows(self._connection)
            if broken is not None:
                raise log_altered(self._path, broken)
            self._sealed = _fingerprint(events)
            self._found: tuple[tuple[int, Event], ...] = tuple(enumerate(events, start=1))
            self._device = device
        except BaseException:
            self._connection.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def path(self) -> Path:
        """Where the log lies."""
        return self._path

    @property
    def sealed(self) -> str | None:
        """Fingerprint of the seal; None before it."""
        return self._sealed

    def close(self) -> None:
        """Close the file; its journal is written into it."""
        self._connection.close()

    def events(self) -> tuple[Event, ...]:
        """Return all events in the order of their arrival.

        Raises
        ------
        LogError
        """
        with told(self._path):
            events, broken = read_rows(self._connection)
        if broken is not None:
            raise log_altered(self._path, broken)
        return events

    def at_opening(self) -> tuple[tuple[int, Event], ...]:
        """Return what it held when it was opened, each with its place of arrival from 1.

        It was read then to check the chain; it is handed over once and not kept.
        """
        found, self._found = self._found, ()
        return found

    def after(self, arrival: int) -> tuple[tuple[int, Event], ...]:
        """Return what came after so many events, each with its place of arrival from 1.

        Raises
        ------
        LogError
        """
        with told(self._path):
            return read_rows_after(self._connection, arrival)

    def append(
        self,
        drafts: Sequence[Draft],
        *,
        study: str | None = None,
        server_time: str | None = None,
        where: str = "the events",
    ) -> Appended:
        """Add what devices recorded, in one transaction; a record that is there adds nothing.

        Parameters
        ----------
        drafts : sequence of Draft
        study : str or None
            Fingerprint of the study they say they belong to.
        server_time : str, optional
            Default: what the clock says.
        where : str
            What they came in, for problems.

        Returns
        -------
        Appended
            When this returns, the events are on the disk.

        Raises
        ------
        LogError
            Nothing was written then.
        """
        if study is not None and study != self._sealed:
            raise other_study(where, found=study, expected=self._sealed or "nothing yet")
        moment = server_time or self._clock()
        with self._transaction():
            return self._add([(draft, moment) for draft in drafts])

    def record(self, bodies: Sequence[tuple[str | None, Body]], *, time: str | None = None) -> Appended:
        """Record something on this machine, in one transaction.

        Parameters
        ----------
        bodies : sequence of (str or None, Body)
            Id and body; without an id a new one is made.
        time : str, optional
            Default: what the clock says.

        Returns
        -------
        Appended

        Raises
        ------
        LogError
            Nothing was written then.
        """
        moment = time or self._clock()
        with self._transaction():
            return self._add([(self._own(body, identity, moment), moment) for identity, body in bodies])

    def merge(self, path: str | os.PathLike[str]) -> Appended:
        """Take in another copy of this log, by the ids of its events.

        Parameters
        ----------
        path : path
            Another log of the same study. If it is damaged or altered, the events in it that are
            sound are taken in.

        Returns
        -------
        Appended

        Raises
        ------
        LogError
            ``other-study`` among others; nothing was written then.
        """
        place = Path(path)
        with told(place), closing(open_reading(place, damaged=True)) as connection:
            other = salvaged(connection)
        if not other:
            raise nothing_sound(place)
        last_hash = other[-1].hash
        found = merge(self.events(), other)
        self._check_same_study(place, other, shared=found.already)
        with self._transaction():
            incoming = [*found.new, *found.conflicts]
            added = self._add([(event.to_draft(), event.server_time) for event in incoming])
            if any(not isinstance(event.body, Merged) for event in added.new):
                body = Merged(device=other[-1].device, old_last_hash=last_hash)
                moment = self._clock()
                mark = self._own(body, derived_id("merged", last_hash), moment)
                marked = self._add([(mark, moment)])
                added = replace(added, new=(*added.new, *marked.new))
        known = {event.id for event in self.events()} & {event.id for event in other}
        fresh = {event.id for event in added.new} | set(added.conflicts)
        return replace(added, already=tuple(sorted(known - fresh)))

    @contextmanager
    def _transaction(self) -> Iterator[None]:
        """All of it or nothing; the errors of the database in words."""
        with told(self._path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def _own(self, body: Body, identity: str | None, moment: str) -> Draft:
        """Make a draft of this machine; its number is given when it is added."""
        if self._device is None:
            self._device = device_of(self._connection, self._path, now=moment)
        return Draft(
            id=identity or new_id(), device=self._device, sequence=OWN, device_time=moment, body=body
        )

    def _add(self, drafts: Sequence[tuple[Draft, str]]) -> Appended:
        """Add drafts with their times of arrival, inside a transaction."""
        new: list[Event] = []
        already: list[str] = []
        conflicts: list[str] = []
        for draft, moment in drafts:
            mine = self._body_there(draft.id)
            if mine is None:
                new.append(self._insert(draft, moment))
            elif mine == canonical_body(draft.body):
                already.append(draft.id)
            else:
                conflicts.append(draft.id)
                kept = self._conflicting(draft, moment)
                if self._body_there(kept.id) is None:
                    new.append(self._insert(kept, moment))
        self._sealed = self._sealed or _fingerprint(new)
        return Appended(new=tuple(new), already=tuple(already), conflicts=tuple(conflicts))

    def _insert(self, draft: Draft, moment: str) -> Event:
        """Add one event behind the last; an own record gets the next number of its device."""
        count, last = numbered(self._connection)
        if draft.sequence == OWN:
            draft = replace(draft, sequence=last_sequence(self._connection, draft.device) + 1)
        event = chained(draft, previous=last, server_time=moment)
        self._connection.execute(INSERT, row_of(event, count + 1))
        return event

    def _body_there(self, identity: str) -> bytes | None:
        """Return the canonical body of the event of an id; None if there is none."""
        row = self._connection.execute("SELECT record FROM events WHERE id = ?", (identity,)).fetchone()
        return None if row is None else canonical(read_json(row[0])["body"])

    def _conflicting(self, draft: Draft, moment: str) -> Draft:
        """Keep what came under an id that is taken."""
        body = Conflicting(event=draft.id, body=draft.body.to_dict())
        return self._own(body, derived_id("conflicting", draft.id, draft.body.to_dict()), moment)

    def _check_same_study(self, place: Path, other: Sequence[Event], *, shared: int) -> None:
        """A copy has the same seal, or has lost its seal and shares events; a new log takes any."""
        theirs = _fingerprint(other)
        fresh = self._sealed is None and numbered(self._connection)[0] == 0
        same = shared > 0 if theirs is None else fresh or theirs == self._sealed
        if not same:
            raise other_study(place, found=theirs or "", expected=self._sealed or "nothing yet")


def _fingerprint(events: Sequence[Event]) -> str | None:
    """Fingerprint of the first seal among events."""
    seals = (event.body.fingerprint for event in events if isinstance(event.body, Sealed))
    return next(seals, None)
