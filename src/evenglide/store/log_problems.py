"""What can be wrong with a log, told so that it can be mended."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from evenglide.errors import LogError, Problem
from evenglide.fieldlog.chain import Break

_KEEP = "Keep this file as it is. "
_RESTORE = (
    _KEEP + "Go on with the last backup, and take this file in there (evenglide take-in): "
    "every event in it that can be read and is sound is added."
)
_ROOM = "an SQLite database that a study writes"


def log_error(code: str, *, where: object, found: str, expected: str, remedy: str) -> LogError:
    """Make the error of a log whose one problem keeps it from being read or written."""
    return LogError([Problem(code=code, where=str(where), found=found, expected=expected, remedy=remedy)])


@contextmanager
def told(path: Path) -> Iterator[None]:
    """Turn what the database raises into errors of the family."""
    try:
        yield
    except sqlite3.Error as error:
        made = _translated(path, error)
        if made is None:
            raise
        raise made from error


def _translated(path: Path, error: sqlite3.Error) -> LogError | None:
    """Name what went wrong; None if it is a mistake of the program."""
    name = getattr(error, "sqlite_errorname", "") or ""
    words = str(error)
    if name.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return log_error(
            "log-in-use",
            where=path,
            found="another program that is writing",
            expected="one that writes at a time",
            remedy="Wait until it is done, or close it. Nothing was written; try again.",
        )
    if name.startswith("SQLITE_FULL"):
        return log_error(
            "disk-full",
            where=path,
            found="no room left on the disk",
            expected="room for the events",
            remedy="Free some room and try again. What was recorded before is safe; this was not written.",
        )
    if name.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM", "SQLITE_AUTH")):
        return log_read_only(path, words)
    if name.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")) or isinstance(error, UnicodeError):
        return log_damaged(path, words)
    if name.startswith("SQLITE_IOERR"):
        return log_error(
            "disk-trouble",
            where=path,
            found=f"a disk that does not answer ({words})",
            expected="a disk that reads and writes",
            remedy="Copy the study's folder to another disk and go on there.",
        )
    return log_damaged(path, words) if isinstance(error, sqlite3.DatabaseError) and not name else None


def log_read_only(path: Path, words: str) -> LogError:
    """Make the error of a file or folder that may not be written to."""
    return log_error(
        "log-not-writable",
        where=path,
        found=f"a log that cannot be opened here ({words})",
        expected="a folder and a file that you may write to",
        remedy="Check the permissions, or copy the whole folder to a place of your own.",
    )


def log_damaged(path: Path, words: str) -> LogError:
    """Make the error of a file whose structure is broken."""
    return log_error(
        "log-damaged",
        where=path,
        found=f"a damaged file ({words})",
        expected="a whole log; a plain copy taken while it is written can be torn",
        remedy=_RESTORE,
    )


def nothing_sound(path: Path) -> LogError:
    """Make the error of a copy of which no event can be read."""
    return log_error(
        "nothing-sound",
        where=path,
        found="no event that can be read",
        expected="a copy of the log with at least one sound event",
        remedy=_KEEP + "Take in another copy, or the list that was filled in on paper.",
    )


def log_altered(path: Path, found: Break) -> LogError:
    """Make the error of a chain that does not hold, with the place."""
    launch = "" if found.launch is None else f", launch {found.launch}"
    return log_error(
        "log-altered",
        where=f"{path}, event {found.position}{launch} ({found.event})",
        found="an event that is not what was recorded"
        if found.altered
        else "an event that does not follow the one before it",
        expected="every event with the hash of the one before it",
        remedy=_RESTORE,
    )


def not_a_log(path: Path, found: str) -> LogError:
    """Make the error of a file of another kind."""
    return log_error(
        "not-a-log",
        where=path,
        found=found,
        expected=_ROOM,
        remedy="Name the log.sqlite of a study.",
    )


def no_such_log(path: Path) -> LogError:
    """Make the error of a log that is not there."""
    return log_error(
        "no-such-log",
        where=path,
        found="no file of this name",
        expected=_ROOM,
        remedy="Name the folder of the study; evenglide seal begins the log of one that has none yet.",
    )


def newer_log(path: Path, *, found: int, known: int) -> LogError:
    """Make the error of a log that a newer version wrote."""
    return log_error(
        "newer-log",
        where=path,
        found=f"a log of format {found}",
        expected=f"format {known} or older",
        remedy="Use the newer version of evenglide that wrote it.",
    )


def other_study(where: object, *, found: str, expected: str) -> LogError:
    """Make the error of events that belong to another study."""
    return log_error(
        "other-study",
        where=where,
        found=found or "events without a seal",
        expected=f"events of the study sealed as {expected}",
        remedy="Take them in where they belong; nothing was written here.",
    )
