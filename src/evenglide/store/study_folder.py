"""A study on disk: its folder and the names of what stands in it."""

from __future__ import annotations

from pathlib import Path

from evenglide.errors import EvenglideError, Problem, StudyError
from evenglide.fieldlog.departures import Files
from evenglide.store.pages import write_page

STUDY_FILE = "study.toml"
SCHEDULE_FILE = "schedule.csv"
LOG_FILE = "log.sqlite"
OUT_FOLDER = "out"
LARGEST_TEXT = 16 * 1024 * 1024
"""Neither file of a study is ever near this size; a wrong file may be. [bytes]"""


def read_study_file(folder: str) -> bytes:
    """Read study.toml of a folder.

    Parameters
    ----------
    folder : str

    Returns
    -------
    bytes

    Raises
    ------
    StudyError
        If there is none, or it cannot be read.
    """
    return _read(Path(folder) / STUDY_FILE, remedy="Make one with `evenglide new`, or name its folder.")


def read_schedule_file(folder: str) -> bytes:
    """Read schedule.csv of a folder; parameters, result and errors as for `read_study_file`."""
    return _read(Path(folder) / SCHEDULE_FILE, remedy="Make one with `evenglide plan`.")


def has_schedule(folder: str) -> bool:
    """Whether a folder has a list of launches."""
    return (Path(folder) / SCHEDULE_FILE).exists()


def log_path(folder: str) -> str:
    """Path of a folder's log, whether it is there or not."""
    return str(Path(folder) / LOG_FILE)


def file_in(folder: str, name: str) -> str:
    """Path of a file that a study names, from its folder."""
    return str(Path(folder) / name)


def make_study_folder(folder: str, study_text: str) -> str:
    """Make a folder for a new study and write study.toml into it; an existing one is never replaced.

    Parameters
    ----------
    folder : str
        May exist; folders above it must.
    study_text : str

    Returns
    -------
    str
        Path of study.toml.

    Raises
    ------
    EvenglideError
        If a study stands there already, or the folder cannot be written to.
    """
    target = Path(folder) / STUDY_FILE
    if target.exists():
        raise StudyError(
            [
                Problem(
                    code="study-exists",
                    where=str(target),
                    found="a study",
                    expected="a folder without one",
                    remedy="Name another folder.",
                )
            ]
        )
    try:
        Path(folder).mkdir(exist_ok=True)
    except OSError as error:
        raise EvenglideError([_not_made(folder, error)]) from error
    write_page(str(target), study_text)
    return str(target)


def write_schedule_file(folder: str, schedule_text: str) -> str:
    """Write schedule.csv whole or not at all.

    Parameters
    ----------
    folder : str
    schedule_text : str

    Returns
    -------
    str
        Path of the file.
    """
    target = Path(folder) / SCHEDULE_FILE
    write_page(str(target), schedule_text)
    return str(target)


def _read(path: Path, *, remedy: str) -> bytes:
    try:
        with path.open("rb") as file:
            content = file.read(LARGEST_TEXT + 1)
    except OSError as error:
        found = "no such file" if isinstance(error, FileNotFoundError) else str(error.strerror or error)
        raise StudyError(
            [Problem(code="no-study-file", where=str(path), found=found, expected="a file", remedy=remedy)]
        ) from error
    if len(content) > LARGEST_TEXT:
        found = f"more than {LARGEST_TEXT // 1024**2} MB"
        raise StudyError(
            [Problem(code="too-large", where=str(path), found=found, expected="a text", remedy=remedy)]
        )
    return content


def _not_made(folder: str, error: OSError) -> Problem:
    return Problem(
        code="not-written",
        where=folder,
        found=error.strerror or str(error),
        expected="a folder that can be made and written to",
        remedy="Choose another place, or make the folder above it first.",
    )


def files_now(folder: str) -> Files:
    """Return both files of a study as they stand now; None for one that is not there or is no text."""
    return Files(
        study_text=_text(Path(folder) / STUDY_FILE), schedule_text=_text(Path(folder) / SCHEDULE_FILE)
    )


def _text(path: Path) -> str | None:
    try:
        return path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError):
        return None


def out_path(folder: str, name: str) -> str:
    """Path of a page in a folder's place for what is made, which is made if it is not there.

    Raises
    ------
    EvenglideError
        If it cannot be made.
    """
    out = Path(folder) / OUT_FOLDER
    try:
        out.mkdir(exist_ok=True)
    except OSError as error:
        raise EvenglideError([_not_made(str(out), error)]) from error
    return str(out / name)


def report_path(folder: str) -> str:
    """Path of a folder's report; its place is made if it is not there."""
    return out_path(folder, "report.html")
