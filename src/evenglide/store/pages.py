"""Writing what was made: pages and tables, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from evenglide.errors import EvenglideError, OptionError, Problem


def write_page(path: str, text: str, *, never_over: str | None = None) -> None:
    """Write a text file in one step, so that a half-written page never stands there.

    Parameters
    ----------
    path : str
        File to write; an existing one is replaced.
    text : str
    never_over : str, optional
        A file that must stay: what the page was made from.

    Raises
    ------
    OptionError
        If `path` is the file that must stay, by whatever name.
    EvenglideError
        If the folder does not exist or may not be written to.
    """
    if never_over is not None and _same_file(Path(path), Path(never_over)):
        raise OptionError([_over_its_source(path)])
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: str, content: bytes, *, private: bool = False) -> None:
    """Write a file in one step, so that a half-written one never stands there.

    Parameters
    ----------
    path : str
        File to write; an existing one is replaced.
    content : bytes
    private : bool
        Nobody else on this machine may read it, at no time.

    Raises
    ------
    EvenglideError
        If the folder does not exist or may not be written to.
    """
    target = Path(path)
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                # Else the new name could outlive a power cut, and what stands under it not.
                file.flush()
                os.fsync(file.fileno())
            if not private:  # a temporary file is its maker's alone
                Path(temporary).chmod(0o666 & ~_umask())
            Path(temporary).replace(target)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise EvenglideError([_not_written(path, error)]) from error


def new_folder(name: str) -> Path:
    """Make a new folder here, with -2, -3, ... behind its name if that is taken.

    Parameters
    ----------
    name : str

    Returns
    -------
    Path
        The folder, empty.

    Raises
    ------
    EvenglideError
        If this folder may not be written to.
    """
    number = 1
    while True:
        folder = Path(name if number == 1 else f"{name}-{number}")
        try:
            folder.mkdir()
        except FileExistsError:
            number += 1
        except OSError as error:
            raise EvenglideError([_not_written(name, error)]) from error
        else:
            return folder


def _same_file(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except (OSError, ValueError):  # one of them is not there
        return False


def _over_its_source(path: str) -> Problem:
    return Problem(
        code="report-over-table",
        where="--report",
        found=f"the table itself, {path}",
        expected="another file, which is written anew",
        remedy="Name a file for the report, such as report.html.",
    )


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _not_written(path: str, error: OSError) -> Problem:
    return Problem(
        code="not-written",
        where=path,
        found=error.strerror or str(error),
        expected="a folder that exists and may be written to",
        remedy="Choose another place, or make the folder first.",
    )
