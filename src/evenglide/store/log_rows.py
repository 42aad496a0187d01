"""Rows of a log and the events they hold."""

from __future__ import annotations

import json
import sqlite3

from evenglide.fieldlog.bodies import launch_of
from evenglide.fieldlog.chain import GENESIS, Break, hash_of
from evenglide.fieldlog.events import Event, canonical, event_from_record, read_json

COLUMNS = "id, device, sequence, record, previous, hash"
ROWS = f"SELECT {COLUMNS} FROM events ORDER BY arrival"
ROWS_AFTER = f"SELECT {COLUMNS} FROM events WHERE arrival > ? ORDER BY arrival"
LAST = "SELECT arrival, hash FROM events WHERE arrival = (SELECT max(arrival) FROM events)"
SHORTEST_ROW = 200
"""No row takes fewer bytes: two hashes of 64 characters and a record with an id and two times."""
INSERT = (
    "INSERT INTO events (arrival, id, device, sequence, record, previous, hash) VALUES (?, ?, ?, ?, ?, ?, ?)"
)


def row_of(event: Event, arrival: int) -> tuple[int, str, str, int, str, str, str]:
    """Write an event as a row."""
    record = canonical(event.to_record()).decode("utf-8")
    return (arrival, event.id, event.device, event.sequence, record, event.previous, event.hash)


def read_rows(connection: sqlite3.Connection) -> tuple[tuple[Event, ...], Break | None]:
    """Read all events whose text is what was hashed.

    Parameters
    ----------
    connection : sqlite3.Connection

    Returns
    -------
    events : tuple of Event
        In the order of arrival.
    broken : Break or None
        The first place at which the chain does not hold.
    """
    events: list[Event] = []
    broken: Break | None = None
    previous = GENESIS
    for position, row in enumerate(connection.execute(ROWS), start=1):
        event = _event(row)
        found = None if event is not None and event.previous == previous else _break(position, row, event)
        broken = broken or found
        if event is not None:
            events.append(event)
        previous = str(row[5])
    return tuple(events), broken


def read_rows_after(connection: sqlite3.Connection, arrival: int) -> tuple[tuple[int, Event], ...]:
    """Read the events that came after so many, each with the place at which it came.

    The chain is not checked from its beginning: who opened the log has done that.
    """
    rows = connection.execute(ROWS_AFTER, (arrival,))
    found = ((arrival + place, _event(row)) for place, row in enumerate(rows, start=1))
    return tuple((place, event) for place, event in found if event is not None)


def salvaged(connection: sqlite3.Connection) -> tuple[Event, ...]:
    """Read whatever is sound in a file that may be damaged, row by row.

    Parameters
    ----------
    connection : sqlite3.Connection

    Returns
    -------
    tuple of Event
        In the order of arrival; empty if nothing can be read.
    """
    (size,) = connection.execute(
        "SELECT page_count * page_size FROM pragma_page_count, pragma_page_size"
    ).fetchone()
    found: list[Event] = []
    for arrival in range(1, size // SHORTEST_ROW + 1):
        try:
            row = connection.execute(f"SELECT {COLUMNS} FROM events WHERE arrival = ?", (arrival,)).fetchone()
        except (sqlite3.DatabaseError, UnicodeError):
            continue
        event = None if row is None else _event(row)
        if event is not None:
            found.append(event)
    return tuple(found)


def _event(row: tuple[object, ...]) -> Event | None:
    """Stand an event up; None if the row is not what was hashed."""
    identity, device, sequence, record, previous, digest = row
    if not (isinstance(record, str) and isinstance(previous, str) and isinstance(digest, str)):
        return None
    try:
        if hash_of(previous, record.encode("utf-8")) != digest:
            return None
        event = event_from_record(read_json(record), previous=previous, hash=digest)
    except (ValueError, TypeError, KeyError):
        return None
    same = (event.id, event.device, event.sequence) == (identity, device, sequence)
    return event if same else None


def _break(position: int, row: tuple[object, ...], event: Event | None) -> Break:
    """Say where a chain breaks, with what can still be read there."""
    return Break(position=position, event=str(row[0]), launch=_launch(row, event), altered=event is None)


def _launch(row: tuple[object, ...], event: Event | None) -> int | None:
    if event is not None:
        return launch_of(event.body)
    try:
        launch = json.loads(str(row[3]))["body"].get("launch")
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
    return launch if isinstance(launch, int) else None


def numbered(connection: sqlite3.Connection) -> tuple[int, str]:
    """Return how many events there are and the hash of the last."""
    row = connection.execute(LAST).fetchone()
    return (0, GENESIS) if row is None else (int(row[0]), str(row[1]))


def last_sequence(connection: sqlite3.Connection, device: str) -> int:
    """Return the highest record number of a device; 0 if it has none."""
    row = connection.execute("SELECT max(sequence) FROM events WHERE device = ?", (device,)).fetchone()
    return int(row[0] or 0)
