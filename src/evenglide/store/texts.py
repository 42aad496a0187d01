"""Reading texts that somebody brings: a phone's records."""

from __future__ import annotations

from pathlib import Path

from evenglide.store.tables import read_bytes

FIRST = 4096


def begins(path: str) -> str:
    """Return how a file begins; "" if it cannot be read."""
    try:
        with Path(path).open("rb") as file:
            return file.read(FIRST).decode("utf-8", errors="replace")
    except (OSError, ValueError):
        return ""


def read_text(path: str) -> str:
    """Read a whole text in UTF-8; bytes that are none spoil their line, not the rest.

    They come as lone surrogates, which no record can hold: a letter that was damaged on its way must not be
    taken in as another letter.

    Raises
    ------
    TableError
        If there is no such file, or it cannot be read or is too large.
    """
    return read_bytes(Path(path)).decode("utf-8", errors="surrogateescape")
