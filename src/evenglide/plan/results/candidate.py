"""A layout that can be done, with what it takes and what it buys."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Obstacle = Literal["outing too short", "too few items", "surface not met", "no order"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparisonChances:
    """Chances of one comparison in one layout.

    Parameters
    ----------
    surface, treatment : str
    rounds : int
        Rounds that hold both treatments there.
    df : int
        Degrees of freedom of the test, without voids.
    alike_if_none : float
        Chance to find "no difference that matters" if there is none. [1]
    differs_if_margin : float
        Chance to find a difference if it is exactly the one that matters. [1]
    matters_if_twice : float
        Chance to find that it is a difference that matters, if it is twice that. [1]
    width : float or None
        Expected full width of the interval, as on the first screen (all comparisons share the level), on the
        analysis scale; None where it has no finite mean.
    smallest_p : float
        Least p that the test by the order could give. [1]
    needed : float
        Largest p that is sure to count. [1]
    can_reject : bool
        Whether the test by the order can show a difference at all.
    error : float
        Monte Carlo standard error of the chances; 0 where they are exact. [1]
    """

    surface: str
    treatment: str
    rounds: int
    df: int
    alike_if_none: float
    differs_if_margin: float
    matters_if_twice: float
    width: float | None
    smallest_p: float
    needed: float
    can_reject: bool
    error: float

    @property
    def clear(self) -> float:
        """Chance of a clear answer whichever way the truth lies, in [0, 1]."""
        return min(self.alike_if_none, self.differs_if_margin)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A layout that can be done, with what it takes and what it buys.

    Parameters
    ----------
    number : int
        From 1; the frontier comes first, by hours. To be named with ``--choose``.
    outings : tuple of int
        Numbers of the outings that are used.
    rounds_of_outings : tuple of int
        Rounds on each of them.
    rounds, launches, preparations, set_ups, launches_in_all : int
        Launches: of each preparation on each surface; in all: of every kind.
    minutes : float
        Time outside. [min]
    minutes_of_outings, slack_of_outings : tuple of float
        Of each outing that is used. [min]
    chance : float
        The headline: chance of a clear answer whichever way the truth lies, mean over the comparisons that
        the question is about. [1]
    all_clear : float
        Chance of a clear answer in every comparison at once, the smaller of both truths. [1]
    joint_p : float or None
        Least p of the test over all surfaces at once; None where there is no such test. [1]
    comparisons : tuple of ComparisonChances
        Surface by surface, treatment by treatment.
    frontier : bool
        No other layout gives more for as many minutes or fewer.
    """

    number: int
    outings: tuple[int, ...]
    rounds_of_outings: tuple[int, ...]
    rounds: int
    launches: int
    preparations: int
    set_ups: int
    launches_in_all: int
    minutes: float
    minutes_of_outings: tuple[float, ...]
    slack_of_outings: tuple[float, ...]
    chance: float
    all_clear: float
    joint_p: float | None
    comparisons: tuple[ComparisonChances, ...]
    frontier: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Misfit:
    """A layout that just does not fit, and why: the next step beyond what can be done.

    Parameters
    ----------
    rounds, launches : int
    why : {"outing too short", "too few items", "surface not met", "no order"}
    minutes : float
        What a round takes. [min]
    most : float
        What there is: minutes of the longest outing, or items.
    """

    rounds: int
    launches: int
    why: Obstacle
    minutes: float
    most: float
