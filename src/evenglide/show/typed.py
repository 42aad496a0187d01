"""Showing what people typed without breaking a line, and the names that they may have meant."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

SHOWN_CHARACTERS = 60
SHOWN_NAMES = 20
COMPARED_NAMES = 1000
COMPARED_CHARACTERS = 200
"""Comparing names costs the square of their lengths: a damaged header must not take minutes."""


def quoted(text: str) -> str:
    """Quote what somebody typed: at most 60 characters, control characters spelled out."""
    cut = text[:SHOWN_CHARACTERS]
    shown = "".join(
        character if character.isprintable() else character.encode("unicode_escape").decode("ascii")
        for character in cut
    )
    return f'"{shown}{"..." if len(text) > SHOWN_CHARACTERS else ""}"'


def listing(names: Sequence[str]) -> str:
    """Write names one after the other, the first twenty."""
    shown = ", ".join(quoted(name) for name in names[:SHOWN_NAMES])
    more = len(names) - SHOWN_NAMES
    return f"{shown} and {more} more" if more > 0 else shown


def nearest(name: str, names: Sequence[str]) -> list[str]:
    """Find up to three names that look like `name`, letter case aside, the nearest first."""
    by_folded: dict[str, str] = {}
    for candidate in names[:COMPARED_NAMES]:
        if len(candidate) <= COMPARED_CHARACTERS:
            by_folded.setdefault(candidate.casefold(), candidate)
    close = difflib.get_close_matches(name[:COMPARED_CHARACTERS].casefold(), by_folded, n=3)
    return [by_folded[folded] for folded in close]


def did_you_mean(name: str, names: Sequence[str], *, otherwise: str) -> str:
    """Suggest the nearest names, or say something else where none is near."""
    close = nearest(name, names)
    return f"Did you mean {' or '.join(quoted(near) for near in close)}?" if close else otherwise
