"""A whole copy of a study's folder; what can be made again at will is left out."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

from evenglide.errors import EvenglideError, Problem
from evenglide.store.log_backup import backup_log
from evenglide.store.log_problems import log_error
from evenglide.store.study_folder import LOG_FILE, SCHEDULE_FILE, STUDY_FILE

MEDIA = "media"


def back_up_folder(folder: str, target: str) -> tuple[int, int]:
    """Copy study.toml, schedule.csv, media and the log to a new folder, whole or not at all.

    Parameters
    ----------
    folder : str
    target : str
        Must not exist; the folder above it must.

    Returns
    -------
    events, files : int
        Events in the copied log; files copied, the log among them.

    Raises
    ------
    LogError
        If the log cannot be read, or the copy cannot be written.
    EvenglideError
        ``not-written``.
    """
    source, place = Path(folder), Path(target)
    if place.exists():
        raise log_error(
            "backup-exists",
            where=place,
            found="something of this name",
            expected="a new name",
            remedy="Choose another name; a backup never replaces one.",
        )
    try:
        with tempfile.TemporaryDirectory(dir=place.parent, prefix=f".{place.name}.") as unfinished:
            made = Path(unfinished) / "copy"
            made.mkdir()
            for name in (STUDY_FILE, SCHEDULE_FILE):
                if (source / name).exists():
                    shutil.copy2(source / name, made / name)
            if (source / MEDIA).is_dir():
                shutil.copytree(source / MEDIA, made / MEDIA)
            events = backup_log(source / LOG_FILE, made / LOG_FILE)
            files = sum(path.is_file() for path in made.rglob("*"))
            made.rename(place)
    except OSError as error:
        raise EvenglideError([_not_written(place, error)]) from error
    return events, files


def _not_written(place: Path, error: OSError) -> Problem:
    return Problem(
        code="not-written",
        where=str(place),
        found=error.strerror or str(error),
        expected="a place that may be written to",
        remedy="Choose another place, or make the folder above it first.",
    )
