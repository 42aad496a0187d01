"""What to choose, what would help, what a lost day costs; and the days, step by step."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

REACHED = 0.8
"""A chance that is enough to go out for: common practice, no source. [1]"""

StepKind = Literal[
    "prepare", "wait", "set up", "practice", "launch", "wear check", "return to bare", "to spare"
]
Rule = Literal["reaches", "near the best"]
WishKind = Literal["rounds", "margin", "main", "fewer surfaces", "steadier preparations", "known scatter"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """The one layout to take, and the rule that chose it.

    Parameters
    ----------
    number : int
        Of the candidate.
    rule : {"reaches", "near the best"}
        The first on the frontier that reaches 80 %; else the first whose chance is within a twentieth (five
        in a hundred) of the best.
    best : int
        Number of the candidate with the best chance.
    """

    number: int
    rule: Rule
    best: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """One change that would bring the headline chance to 80 %.

    Parameters
    ----------
    kind : {"rounds", "margin", "main", "fewer surfaces", "steadier preparations", "known scatter"}
        More rounds with the launches recommended; a wider margin; one surface as the main one; the surfaces
        at the end left out; preparations that scatter less; scatter known exactly.
    amount : float or None
        Rounds, margin (high end, analysis scale), number of surfaces left, SD between preparations; None
        where no amount within reach would do.
    name : str
        Main surface, or the first surface left out; "" otherwise.
    outings : int or None
        Outings like the study's that so many rounds would take.
    minutes : float or None
        Time outside with it. [min]
    chance : float
        Headline chance with it. [1]
    reaches : bool
        Whether that is 80 % or more.
    """

    kind: WishKind
    amount: float | None
    name: str
    outings: int | None
    minutes: float | None
    chance: float
    reaches: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DroppedOuting:
    """What is left of the layout recommended if one outing is spoilt.

    Parameters
    ----------
    outing : int
    rounds : int
        Whole rounds that are left.
    chance : float
        Headline chance that is left. [1]
    surfaces_lost : tuple of str
        Surfaces that no round is left on.
    cannot_reject : bool
        The test by the order can no longer show a difference on some surface where it could.
    """

    outing: int
    rounds: int
    chance: float
    surfaces_lost: tuple[str, ...]
    cannot_reject: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Chance against the true effect, for one comparison of one candidate.

    Parameters
    ----------
    candidate : int
        Its number.
    surface, treatment : str
    effects : tuple of float
        True effects from none on, on the analysis scale.
    differs, alike, matters : tuple of float
        Chance of each claim at each effect. [1]
    settled : tuple of float
        Chance of either verdict at each effect, a difference or none that matters; the rest stays open. [1]
    """

    candidate: int
    surface: str
    treatment: str
    effects: tuple[float, ...]
    differs: tuple[float, ...]
    alike: tuple[float, ...]
    matters: tuple[float, ...]
    settled: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One thing done on an outing.

    Parameters
    ----------
    kind : {"prepare", "wait", "set up", "practice", "launch", "wear check", "return to bare", "to spare"}
    start, minutes : float
        Since the outing began, and how long. [min]
    round : str
        "" where none.
    surface, direction : str
        "" while preparing.
    count : int
        Preparations or launches in it.
    """

    kind: StepKind
    start: float
    minutes: float
    round: str
    surface: str
    direction: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """One outing of the layout recommended, step by step.

    Parameters
    ----------
    outing : int
    day, start : str or None
        None where the outing is assumed.
    window : float
        Its length. [min]
    steps : tuple of Step
        In order, without gaps.
    """

    outing: int
    day: str | None
    start: str | None
    window: float
    steps: tuple[Step, ...]
