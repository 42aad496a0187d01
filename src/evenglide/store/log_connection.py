"""Opening the database of a log: what is set on every connection, and what is checked first."""

from __future__ import annotations

import hashlib
import os
import sqlite3
import stat
from pathlib import Path
from urllib.parse import quote

from evenglide.fieldlog.events import new_id
from evenglide.store.log_problems import log_damaged, log_read_only, newer_log, no_such_log, not_a_log, told
from evenglide.store.log_schema import APPLICATION_ID, MIGRATIONS, migrate, version_of

WAIT_S = 5.0
"""How long a writer waits for another one."""
SQLITE_HEADER = b"SQLite format 3\0"
"""First bytes of every SQLite database (SQLite file format, 1.3.1)."""
PRAGMAS = (
    "synchronous = FULL",
    "fullfsync = 1",
    "checkpoint_fullfsync = 1",
    "recursive_triggers = 1",  # or INSERT OR REPLACE walks round the trigger that forbids DELETE
    "foreign_keys = 1",
)


def open_writing(path: Path, *, create: bool, wait_s: float = WAIT_S) -> sqlite3.Connection:
    """Open a log for adding to it.

    Parameters
    ----------
    path : Path
    create : bool
        Begin one if there is none.
    wait_s : float
        How long to wait for another writer. [s]

    Raises
    ------
    LogError
    """
    _check_file(path, create=create)
    _check_rights(path)
    with told(path):
        connection = sqlite3.connect(path, timeout=wait_s, isolation_level=None)
        try:
            _check_kind(connection, path)
            connection.execute("PRAGMA journal_mode = WAL")
            for pragma in PRAGMAS:
                connection.execute(f"PRAGMA {pragma}")
            if version_of(connection) < len(MIGRATIONS):
                connection.execute("BEGIN IMMEDIATE")
                migrate(connection)
                connection.execute("COMMIT")
            check_pages(connection, path)
        except BaseException:
            connection.close()
            raise
    return connection


def open_reading(path: Path, *, wait_s: float = WAIT_S, damaged: bool = False) -> sqlite3.Connection:
    """Open a log for reading, from a folder that may not be written to as well.

    Parameters
    ----------
    path : Path
    wait_s : float
        How long to wait for another program. [s]
    damaged : bool
        Open it even if its structure is broken, as far as it can be opened at all.

    Raises
    ------
    LogError
    """
    _check_file(path, create=False)
    address = f"file:{quote(str(path.resolve()))}"
    # Where SQLite may make no helper files beside it, a log without an open journal can be read as it
    # stands; one with a journal cannot, for its last events are in the journal.
    alone = not _holds_something(path.with_name(path.name + "-wal"))
    ways = ["?mode=rw", "?mode=ro", *(["?mode=ro&immutable=1"] if alone else [])]
    with told(path):
        for way in ways[:-1]:
            try:
                return _opened(address + way, path, wait_s=wait_s, damaged=damaged)
            except sqlite3.OperationalError as error:
                if not error.sqlite_errorname.startswith(("SQLITE_CANTOPEN", "SQLITE_READONLY")):
                    raise
        return _opened(address + ways[-1], path, wait_s=wait_s, damaged=damaged)


def _opened(address: str, path: Path, *, wait_s: float, damaged: bool) -> sqlite3.Connection:
    """Open for reading only; the way decides whether helper files can be tidied up afterwards."""
    connection = sqlite3.connect(address, uri=True, timeout=wait_s, isolation_level=None)
    try:
        connection.execute("PRAGMA query_only = 1")
        _check_kind(connection, path)
        if not damaged:
            check_pages(connection, path)
        if version_of(connection) == 0:
            raise not_a_log(path, "a database without events")
    except BaseException:
        connection.close()
        raise
    return connection


def check_pages(connection: sqlite3.Connection, path: Path) -> None:
    """Check the structure of the file.

    Raises
    ------
    LogError
        ``log-damaged``.
    """
    found = [str(row[0]) for row in connection.execute("PRAGMA quick_check(3)")]
    if found != ["ok"]:
        raise log_damaged(path, "; ".join(found))


def device_of(connection: sqlite3.Connection, path: Path, *, now: str) -> str:
    """Return the name under which this file records; a copy elsewhere is a new device.

    Called inside a transaction that has begun.
    """
    status = path.stat()
    mark = hashlib.sha256(f"{status.st_dev}:{status.st_ino}".encode("ascii")).hexdigest()[:16]
    row = connection.execute(
        "SELECT device FROM writers WHERE file_mark = ? ORDER BY rowid DESC", (mark,)
    ).fetchone()
    if row is not None:
        return str(row[0])
    device = new_id()
    connection.execute("INSERT INTO writers (device, file_mark, since) VALUES (?, ?, ?)", (device, mark, now))
    return device


def _check_file(path: Path, *, create: bool) -> None:
    """Tell a file that is missing or empty before SQLite takes it for a new database.

    The file is not opened for that: to close it again would drop the locks by which this process holds it
    elsewhere (POSIX, advisory record locks), and another program could then throw the journal away.
    """
    try:
        status = path.stat()
    except FileNotFoundError:
        if create:
            return
        raise no_such_log(path) from None
    except OSError as error:
        raise log_read_only(path, error.strerror or str(error)) from None
    if stat.S_ISDIR(status.st_mode):
        raise not_a_log(path, "a folder")
    if not os.access(path, os.R_OK):
        raise log_read_only(path, "it may not be read")
    if not status.st_size:
        if create and _holds_something(path.with_name(path.name + "-wal")):
            return  # another writer is about to begin it
        raise not_a_log(path, "an empty file")


def _check_rights(path: Path) -> None:
    """SQLite opens what may not be written to without a word, and fails at the first event."""
    for place in (path.parent, *([path] if path.exists() else [])):
        if not os.access(place, os.W_OK):
            raise log_read_only(path, "it may not be written to")


def _holds_something(path: Path) -> bool:
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


def _check_kind(connection: sqlite3.Connection, path: Path) -> None:
    """Refuse files of another kind, databases of other programs and of newer versions."""
    try:
        mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
    except sqlite3.DatabaseError as error:
        if error.sqlite_errorname != "SQLITE_NOTADB" or is_database(path):
            raise
        raise not_a_log(path, "a file of another kind") from None
    version = version_of(connection)
    tables = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    if mark != APPLICATION_ID and (tables or mark or version):
        raise not_a_log(path, "a database of another kind")
    if version > len(MIGRATIONS):
        raise newer_log(path, found=version, known=len(MIGRATIONS))


def is_database(path: str | os.PathLike[str]) -> bool:
    """Whether a file begins as an SQLite database does; False where it cannot be read.

    Not for a log that this process has open: see `_check_file`.
    """
    try:
        with Path(path).open("rb") as file:
            return file.read(len(SQLITE_HEADER)) == SQLITE_HEADER
    except (OSError, ValueError):
        return False
