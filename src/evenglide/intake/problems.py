"""Collecting what is wrong with a table, a limited number of each kind."""

from __future__ import annotations

from collections.abc import Iterable

from evenglide.errors import Problem, TableError

SHOWN_PER_CODE = 20
"""Problems of one kind that are told in full; a column of the wrong kind has one in every row."""


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
