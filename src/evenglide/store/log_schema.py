"""The tables of a log, step by step, and the triggers that let them only grow."""

from __future__ import annotations

import sqlite3

APPLICATION_ID = 0x65476C31
"""Marks the file as a log ("eGl1"), at byte 68 of its header (SQLite file format, 1.3.17)."""

_EVENTS = """
CREATE TABLE events (
    arrival INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    device TEXT NOT NULL,
    sequence INTEGER NOT NULL,
    record TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL UNIQUE
);
CREATE INDEX events_of_device ON events (device, sequence);
CREATE TABLE writers (
    device TEXT NOT NULL PRIMARY KEY,
    file_mark TEXT NOT NULL,
    since TEXT NOT NULL
);
"""
_ONLY_GROWS = "".join(
    f"""
CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table}
BEGIN SELECT RAISE(ABORT, 'a log only grows'); END;
"""
    for table in ("events", "writers")
    for verb in ("UPDATE", "DELETE")
)
_NO_REPLACEMENT = """
CREATE TRIGGER events_no_replacement BEFORE INSERT ON events
WHEN EXISTS (SELECT 1 FROM events WHERE arrival = NEW.arrival OR id = NEW.id OR hash = NEW.hash)
BEGIN SELECT RAISE(ABORT, 'a log only grows'); END;
CREATE TRIGGER writers_no_replacement BEFORE INSERT ON writers
WHEN EXISTS (SELECT 1 FROM writers WHERE device = NEW.device)
BEGIN SELECT RAISE(ABORT, 'a log only grows'); END;
"""
"""For programs that do not set `recursive_triggers`: there, REPLACE deletes without a trigger."""

MIGRATIONS: tuple[tuple[str, str], ...] = (
    ("events that only grow", _EVENTS + _ONLY_GROWS + _NO_REPLACEMENT),
)
"""Name and statements of every step; ``user_version`` counts those that were made. A step adds; it never
touches a row that is there."""


def migrate(connection: sqlite3.Connection) -> None:
    """Make the steps that are missing, inside one transaction that the caller has begun."""
    done = version_of(connection)
    for number, (_name, statements) in enumerate(MIGRATIONS[done:], start=done + 1):
        for statement in _split(statements):
            connection.execute(statement)
        connection.execute(f"PRAGMA user_version = {number}")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def version_of(connection: sqlite3.Connection) -> int:
    """Count the steps that were made."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def _split(statements: str) -> list[str]:
    """Part statements; `executescript` would commit the transaction that is open."""
    parts: list[str] = []
    current = ""
    for line in statements.splitlines():
        current += line + "\n"
        if sqlite3.complete_statement(current):
            parts.append(current)
            current = ""
    return parts
