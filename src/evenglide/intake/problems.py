"""Collecting what is wrong with a table, and showing what people typed without breaking a line."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence

from evenglide.errors import Problem, TableError

SHOWN_PER_CODE = 20
"""Problems of one kind that are told in full; a column of the wrong kind has one in every row."""
SHOWN_CHARACTERS = 60
SHOWN_NAMES = 20
COMPARED_NAMES = 1000
COMPARED_CHARACTERS = 200
"""Comparing names costs the square of their lengths: a damaged header must not take minutes."""


class Problems:
    """The problems of one table, a limited number of each kind."""

    def __init__(self, first: Iterable[Problem] = ()) -> None:
        self._shown: dict[str, list[Problem]] = {}
        self._more: dict[str, int] = {}
        for problem in first:
            self._shown.setdefault(problem.code, []).append(problem)

    def __bool__(self) -> bool:
        return bool(self._shown)

    def add(self, code: str, *, where: str, found: str, expected: str, remedy: str) -> None:
        """Note one problem; beyond the limit of its kind it is only counted."""
        shown = self._shown.setdefault(code, [])
        if len(shown) < SHOWN_PER_CODE:
            shown.append(Problem(code=code, where=where, found=found, expected=expected, remedy=remedy))
        else:
            self._more[code] = self._more.get(code, 0) + 1

    def listed(self) -> tuple[Problem, ...]:
        """List the problems kind by kind; the uncounted rest of a kind is one more line."""
        problems: list[Problem] = []
        for code, shown in self._shown.items():
            problems += shown
            if more := self._more.get(code):
                problems.append(
                    Problem(
                        code=code,
                        where="further cells",
                        found=f"and {more} more of this kind",
                        expected=shown[-1].expected,
                        remedy=shown[-1].remedy,
                    )
                )
        return tuple(problems)

    def raise_if_any(self) -> None:
        """Raise all of them together.

        Raises
        ------
        TableError
            If there is any.
        """
        if self:
            raise TableError(self.listed())


def table_error(code: str, *, where: str, found: str, expected: str, remedy: str) -> TableError:
    """Make the error of a table whose one problem keeps it from being read at all."""
    return TableError([Problem(code=code, where=where, found=found, expected=expected, remedy=remedy)])


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
