"""One family of errors: what was found, what was expected, where, and what to do.

A document or a table is read to its end and all of its problems come back together, as one error
that carries them. Faces translate the family once: into an exit status on the command line, into a
page on the web. Nobody parses a message.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass

PROBLEMS_FORMAT = "evenglide.problems/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing that is wrong, told so that it can be mended.

    Parameters
    ----------
    code : str
        Stable name of the kind of problem, such as ``"no-such-column"``.
    where : str
        Cell address, path in a document or option, such as ``"C7 (line 7)"``.
    found : str
        What stands there.
    expected : str
        What should stand there.
    remedy : str
        What to do about it.
    """

    code: str
    where: str
    found: str
    expected: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where}: found {self.found}; expected {self.expected}. {self.remedy}"


class EvenglideError(Exception):
    """Something about a study or a table is wrong; carries every problem met.

    Parameters
    ----------
    problems : iterable of Problem
        At least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def to_dict(self) -> Mapping[str, object]:
        """Return the problems as the plain ``evenglide.problems/1`` document."""
        return {"format": PROBLEMS_FORMAT, "problems": [asdict(problem) for problem in self.problems]}


class TableError(EvenglideError):
    """A table of launches cannot be read as it stands."""


class OptionError(EvenglideError):
    """Options contradict each other or lie outside what they may be."""


class OutOfRangeError(EvenglideError, ValueError):
    """A number given to a formula lies outside what the formula holds for."""


class NeverStops(EvenglideError, ValueError):  # noqa: N818 - the name says what happens
    """Under this deceleration law the item would not come to rest."""


class StudyError(EvenglideError):
    """A study, its list of launches or its plan cannot stand as it is."""


class LogError(EvenglideError):
    """A log cannot be read or written as it stands; nothing in it was changed."""
