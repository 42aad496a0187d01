"""The whole offer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from evenglide.plan.results.candidate import Candidate, Misfit
from evenglide.plan.results.choice import Curve, DroppedOuting, Recommendation, Timeline, Wish
from evenglide.plan.results.given import Assumed, MeasuredTime, OfferedOuting, OfferedSurface, ScatterUsed
from evenglide.typing import Scale

OFFER_FORMAT = "evenglide.plan-offer/1"

SharedIn = Literal["fresh", "shared"]


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
    measured : tuple of MeasuredTime
        Times that were measured in the log of the study in `measured_in`; "" where the study names none.
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
    measured: tuple[MeasuredTime, ...] = ()
    measured_in: str = ""
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
