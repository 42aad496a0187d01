"""What each hour outside buys, as facts: everything that `plan` offers for a study.

Chances are of the whole analysis as it is sealed: several comparisons share the level, voids are expected,
and the scatter is as uncertain as it is. The headline chance is that of a clear answer whichever way the
truth lies: the smaller of the chance of "no difference that matters" if there is none, and of a difference
if it is exactly the one that matters; averaged over the comparisons that the question is about.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from evenglide.typing import Scale

OFFER_FORMAT = "evenglide.plan-offer/1"
REACHED = 0.8
"""A chance that is enough to go out for: common practice, no source. [1]"""

StepKind = Literal[
    "prepare", "wait", "set up", "practice", "launch", "wear check", "return to bare", "to spare"
]
Rule = Literal["reaches", "near the best"]
WishKind = Literal["rounds", "margin", "main", "fewer surfaces", "steadier preparations", "known scatter"]
Obstacle = Literal["outing too short", "too few items", "surface not met", "no order"]
SharedIn = Literal["fresh", "shared"]


# ---------------------------------------------------------------------------- what the search was given


@dataclass(frozen=True, slots=True, kw_only=True)
class ScatterUsed:
    """The scatter that the chances rest on.

    Parameters
    ----------
    source : {"stated", "unknown", "pilot", "rig"}
        Where it comes from; "unknown" is a wide range of what is usual.
    file : str or None
        The table it was read from.
    preparations, launches : float
        SD between preparations of one treatment, and between launches of one preparation, on the analysis
        scale; the middle of the range where it is unknown.
    worth : float or None
        Degrees of freedom that the scatter between preparations is worth; None where it is taken as exact.
    low, high : float or None
        Range that holds the SD between preparations in four of five cases; None where it is taken as exact.
    below_nought : bool
        A pilot gave less scatter than its launches alone would; nought is reckoned with.
    assumed : tuple of str
        Codes of parts that nobody stated: ``"preparations"``, ``"launches"``, ``"worth"``.
    """

    source: Literal["stated", "unknown", "pilot", "rig"]
    file: str | None
    preparations: float
    launches: float
    worth: float | None
    low: float | None
    high: float | None
    below_nought: bool
    assumed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumed:
    """Something the study does not say, and what is taken instead: common practice, no source.

    Parameters
    ----------
    code : str
        ``"hands_on"``, ``"minutes_per_launch"``, ``"rig_set_up"``, ``"outings"``, ``"voids"``, ...
    whose : str
        Treatment or surface, or "".
    value : float
        [s] for work, [min] for launches and outings, [1] for shares.
    """

    code: str
    whose: str
    value: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedOuting:
    """A day or half-day outside.

    Parameters
    ----------
    number : int
        From 1, as in the study.
    day, start, end : str or None
        As stated; None where the study names no outings and one of usual length is assumed.
    minutes : float
        Length of its window. [min]
    surfaces : tuple of str
        Surfaces that can be met.
    """

    number: int
    day: str | None
    start: str | None
    end: str | None
    minutes: float
    surfaces: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedSurface:
    """A surface with what the question there is.

    Parameters
    ----------
    name : str
    margin : tuple of float
        What does not matter, on the analysis scale.
    family : int
        Comparisons that share the level with each one there.
    main : bool
    """

    name: str
    margin: tuple[float, float]
    family: int
    main: bool


# ----------------------------------------------------------------------------------------- candidates


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


# --------------------------------------------------------------------------------------- what to choose


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


# ------------------------------------------------------------------------------------------- the whole


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What each hour outside buys.

    Parameters
    ----------
    title : str
    scale : {"ratio", "difference"}
    unit : str or None
        Unit of the response.
    level : float
    treatments : tuple of str
        The reference first.
    main : str or None
    surfaces : tuple of OfferedSurface
    sharing : {"fresh", "shared"}
        Whether preparations serve all surfaces.
    scatter : ScatterUsed
    voids : float
        Share of launches expected to be set aside. [1]
    outings : tuple of OfferedOuting
    assumed : tuple of Assumed
    searched : int
        Layouts looked at.
    bounded : mapping of str to int
        Bounds that cut the search short, by name: ``"rounds"``, ``"launches"``, ``"layouts"``; empty if none.
    looks : int
        Planned analyses.
    looks_counted : bool
        Whether the chances are those of a study with its half-way checks.
    too_short : tuple of int
        Numbers of the outings that do not hold one round.
    candidates : tuple of Candidate
        Those on the frontier first, by minutes; then the others, by minutes.
    misfit : Misfit or None
    recommendation : Recommendation
    wishes : tuple of Wish
        Empty if the layout recommended reaches 80 %.
    dropped : tuple of DroppedOuting
    curves : tuple of Curve
        Of the candidate recommended.
    timelines : tuple of Timeline
        Of the candidate recommended.
    """

    title: str
    scale: Scale
    unit: str | None
    level: float
    treatments: tuple[str, ...]
    main: str | None
    surfaces: tuple[OfferedSurface, ...]
    sharing: SharedIn
    scatter: ScatterUsed
    voids: float
    outings: tuple[OfferedOuting, ...]
    assumed: tuple[Assumed, ...]
    searched: int
    bounded: Mapping[str, int] = field(default_factory=dict)
    looks: int = 1
    looks_counted: bool = False
    too_short: tuple[int, ...] = ()
    candidates: tuple[Candidate, ...]
    misfit: Misfit | None
    recommendation: Recommendation
    wishes: tuple[Wish, ...]
    dropped: tuple[DroppedOuting, ...]
    curves: tuple[Curve, ...]
    timelines: tuple[Timeline, ...]

    def candidate(self, number: int) -> Candidate:
        """Candidate of a number.

        Raises
        ------
        KeyError
            If there is none.
        """
        for one in self.candidates:
            if one.number == number:
                return one
        raise KeyError(number)

    @property
    def recommended(self) -> Candidate:
        """The candidate recommended."""
        return self.candidate(self.recommendation.number)

    @property
    def frontier(self) -> tuple[Candidate, ...]:
        """Candidates that no other one beats, by minutes."""
        return tuple(one for one in self.candidates if one.frontier)
