"""Writing what was made: pages and tables, whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from evenglide.errors import EvenglideError, Problem


def write_page(path: str, text: str) -> None:
    """Write a text file in one step, so that a half-written page never stands there.

    Parameters
    ----------
    path : str
        File to write; an existing one is replaced.
    text : str

    Raises
    ------
    EvenglideError
        If the folder does not exist or may not be written to.
    """
    target = Path(path)
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
                file.write(text)
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
