"""A whole copy of a log as one file, also while others write to it.

A plain copy of the file may lack the last events, which stand in its journal; the database's own
backup does not.
"""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from evenglide.store.log import read_log
from evenglide.store.log_connection import open_reading
from evenglide.store.log_problems import log_error, log_read_only, told


def backup_log(source: str | os.PathLike[str], target: str | os.PathLike[str]) -> int:
    """Write a copy and check it.

    Parameters
    ----------
    source : path
    target : path
        Must not exist.

    Returns
    -------
    int
        Events in the copy.

    Raises
    ------
    LogError
        ``backup-exists``, or what keeps the log from being read or the copy from being written.
    """
    place = Path(target)
    if place.exists():
        raise log_error(
            "backup-exists",
            where=place,
            found="a file of this name",
            expected="a new name",
            remedy="Choose another name; a backup never replaces a file.",
        )
    unfinished = place.with_name(f".{place.name}.unfinished")
    try:
        with told(Path(source)), closing(open_reading(Path(source))) as original:
            _copy(original, unfinished, place)
        events = len(read_log(unfinished))
        unfinished.replace(place)
    except OSError as error:
        raise log_read_only(place, error.strerror or str(error)) from error
    finally:
        unfinished.unlink(missing_ok=True)
    return events


def _copy(original: sqlite3.Connection, unfinished: Path, place: Path) -> None:
    with told(place), closing(sqlite3.connect(unfinished, isolation_level=None)) as copy:
        original.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")  # one file that holds everything
