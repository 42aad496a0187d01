"""What a rehearsal holds: how often the answer would have been right, open and wrong, under which truth.

The classes here *are* the format ``evenglide.rehearsal/1``: each field is written under its own name, and the
published schema is made from the annotations. Fields may be added, never renamed.
"""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.answer.results.plain import to_plain
from evenglide.typing import Scale

REHEARSAL_FORMAT = "evenglide.rehearsal/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A share of studies with its Monte Carlo standard error.

    Parameters
    ----------
    share : float
        [1]
    error : float
        Standard error, never nought: two studies are added, one of each kind (Agresti & Coull 1998, Am. Stat.
        52:119-126, add two of each for an interval; from memory). [1]
    """

    share: float
    error: float

    @classmethod
    def of(cls, count: int, studies: int) -> Share:
        """So many studies of all."""
        near = (count + 1.0) / (studies + 2.0)
        return cls(share=count / studies, error=float((near * (1.0 - near) / (studies + 2.0)) ** 0.5))


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsedComparison:
    """One treatment against the reference on one surface, under one truth.

    Parameters
    ----------
    surface, treatment : str
    effect : float
        Supposed to be true, analysis scale.
    right, open, wrong : Share
        Of the answers; they add up to one.
    higher, lower, alike : Share
        Of the verdicts, whether right or wrong; the rest is open.
    """

    surface: str
    treatment: str
    effect: float
    right: Share
    open: Share
    wrong: Share
    higher: Share
    lower: Share
    alike: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsedFamily:
    """Comparisons that share an error rate, under one truth.

    Parameters
    ----------
    surfaces : tuple of str
    any_wrong, all_right : Share
        Of studies in which some comparison is wrong, or every one right.
    """

    surfaces: tuple[str, ...]
    any_wrong: Share
    all_right: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsedTruth:
    """What came out under one truth.

    Parameters
    ----------
    truth : str
        Name: ``"none"``, ``"half"``, ``"margin"``, ``"twice"``, or as it was stated.
    told : str
    comparisons : tuple of RehearsedComparison
        Surface by surface, treatment by treatment.
    families : tuple of RehearsedFamily
    """

    truth: str
    told: str
    comparisons: tuple[RehearsedComparison, ...]
    families: tuple[RehearsedFamily, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedTrouble:
    """Something that goes wrong in a scenario.

    Parameters
    ----------
    name : str
    size : float
        Share or change, 1 for 100 %; a factor; 0 where it has no size.
    told : str
    remedy : str
        What keeps it away.
    """

    name: str
    size: float
    told: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """Everything that was played under the same troubles.

    Parameters
    ----------
    troubles : tuple of PlayedTrouble
        Together; none where nothing goes wrong.
    truths : tuple of RehearsedTruth
    """

    troubles: tuple[PlayedTrouble, ...]
    truths: tuple[RehearsedTruth, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupposedScatter:
    """The scatter that the studies were played with.

    Parameters
    ----------
    source : str
        Where it comes from: ``"stated"``, ``"pilot"``, ``"rig"``, or ``"unknown"``, for what is usual with a
        wide range.
    preparations, launches : float
        SD between preparations, and between launches of one preparation, analysis scale; as believed.
    low, high : float or None
        Range that holds the SD between preparations in four of five studies; None where it is exact.
    together : tuple of float
        Shares of the variance between preparations that one preparation carries to every surface, each
        played equally often; empty where preparations meet one surface only. [1]
    voids : float
        Share of launches that is set aside even where nothing goes wrong. [1]
    """

    source: str
    preparations: float
    launches: float
    low: float | None
    high: float | None
    together: tuple[float, ...]
    voids: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Unplayed:
    """A trouble that this plan cannot have, and why."""

    trouble: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rehearsal:
    """A plan rehearsed.

    Parameters
    ----------
    title : str
    sealed : bool
        The plan is the sealed one.
    studies : int
        Played for every truth in every scenario.
    error : float
        Largest Monte Carlo standard error that a share can have. [1]
    seed : int
    level : float
    scale : {"ratio", "difference"}
    unit : str or None
    margins : tuple of (str, tuple of float or None)
        What does not matter on each surface, analysis scale.
    typical : float
        How far an untreated launch is supposed to go, in the response's unit.
    scatter : SupposedScatter
    scenarios : tuple of Scenario
        First the one in which nothing goes wrong.
    unplayed : tuple of Unplayed
    example : str or None
        Path of the report of one invented study; None if none was written.
    version : str
    """

    title: str
    sealed: bool
    studies: int
    error: float
    seed: int
    level: float
    scale: Scale
    unit: str | None
    margins: tuple[tuple[str, tuple[float, float] | None], ...]
    typical: float
    scatter: SupposedScatter
    scenarios: tuple[Scenario, ...]
    unplayed: tuple[Unplayed, ...]
    example: str | None
    version: str

    def to_dict(self) -> dict[str, object]:
        """Return the plain ``evenglide.rehearsal/1`` document."""
        facts = to_plain(self)
        assert isinstance(facts, dict)
        return {"format": REHEARSAL_FORMAT, **facts}
