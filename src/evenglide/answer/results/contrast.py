"""What is said about one surface's treatments and one contrast."""

from __future__ import annotations

from dataclasses import dataclass

from evenglide.answer.results.looks import Looks
from evenglide.show.notes import Note
from evenglide.typing import Interval, Scale, Size, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentFacts:
    """One treatment on one surface.

    Parameters
    ----------
    treatment : str
    reference : bool
        The others are held against it.
    preparations : int
        Preparations that have a value.
    launches, voids, at_least : int
        Valid launches; launches set aside; valid launches whose reading is a lower bound.
    mean : float or None
        Mean over preparations, geometric on the ratio scale. [unit of the response]
    sd_preparations : float or None
        Standard deviation of the preparations' values. [analysis scale]
    sd_launches : float or None
        Standard deviation of launches within preparations, pooled. [analysis scale]
    """

    treatment: str
    reference: bool
    preparations: int
    launches: int
    voids: int
    at_least: int
    mean: float | None
    sd_preparations: float | None
    sd_launches: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scatter:
    """Where the scatter on a surface comes from, rounds, treatments and items removed.

    Parameters
    ----------
    residual : float
        Standard deviation of a preparation's value in the primary test. [analysis scale]
    preparations : float or None
        The part of it that is between preparations; 0 if what launches add explains all of it. None if
        no preparation has two launches.
    launches : float or None
        Standard deviation of launches on one preparation, pooled over treatments.
    share_of_launches : float or None
        Share of the residual variance that launches add, as estimated; above 1 means that preparations
        scatter less than their launches would let them.
    """

    residual: float
    preparations: float | None
    launches: float | None
    share_of_launches: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Omnibus:
    """F test that all treatments of a surface are alike, blocks and items removed.

    Parameters
    ----------
    f, p : float or None
    df : (float, float) or None
        Numerator and denominator.
    """

    f: float | None
    df: tuple[float, float] | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnPair:
    """The contrast from the preparations of its two treatments alone."""

    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    p: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Naive:
    """What launches taken as independent would have said: shown as a warning, never used."""

    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    too_narrow_by: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reml:
    """Mixed-model line beside the verdict; never enters it.

    Parameters
    ----------
    estimate, se, df : float or None
        Restricted maximum likelihood on launches; Satterthwaite's degrees of freedom, those of launches
        where `boundary`.
    preparation_variance, launch_variance : float or None
        The first is not below 0.
    boundary : bool
        The variance between preparations came out at 0.
    moment_variance : float or None
        Between preparations, from sums of squares; of either sign.
    """

    estimate: float | None
    se: float | None
    df: float | None
    preparation_variance: float | None
    launch_variance: float | None
    boundary: bool
    moment_variance: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToClose:
    """Blocks of a new sealed study that would close an open question.

    Parameters
    ----------
    difference_blocks : int or None
        To claim a difference if it is as large as the margin; None beyond 9,999.
    alike_blocks : int or None
        To claim no difference that matters if there is none at all; None beyond 9,999.
    chance : float
        Chance of that claim.
    """

    difference_blocks: int | None
    alike_blocks: int | None
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RobustnessLine:
    """The primary test again under one other decision fixed in advance.

    Parameters
    ----------
    code, text : str
        Which decision.
    scale : {"ratio", "difference"}
        Scale of `estimate` and `interval`.
    estimate : float or None
    interval : (float, float) or None
        For this contrast alone, confidence 1 - level.
    p_difference, p_alike : float or None
        Not adjusted.
    verdict : {"higher", "lower", "alike", "open"} or None
        If this contrast alone were judged so and all others stayed as they are.
    changes : bool or None
        Whether that is another verdict than the primary one.
    """

    code: str
    text: str
    scale: Scale
    estimate: float | None
    interval: Interval | None
    p_difference: float | None
    p_alike: float | None
    verdict: Verdict | None
    changes: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Contrast:
    """A treatment against the reference on one surface.

    Parameters
    ----------
    treatment, reference : str
    estimate, se, df : float or None
        Difference on the analysis scale, its standard error, degrees of freedom.
    interval, interval_adjusted, interval_alike : (float, float) or None
        For this contrast alone (confidence 1 - level); the one that belongs to the verdict once the
        family shares the error rate; the one that belongs to the claim alike (1 - 2 level).
    ratio, ratio_interval : float, (float, float) or None
        `estimate` and `interval` as ratios; None on the difference scale.
    p_difference, p_alike, p_matters : float or None
        The three claims, and below each with the error rate shared over the family.
    p_difference_adjusted, p_alike_adjusted, p_matters_adjusted : float or None
    p_randomisation, smallest_p : float or None
        From the orders that could have been drawn; the least value it could have taken.
    assignments : int or None
        How many orders could have been drawn; None past 2**53.
    log10_assignments : float or None
        Given where `assignments` is not.
    interval_randomisation : (float or None, float or None) or None
        Effects that the randomisation test does not reject; an end that is None is unbounded.
    randomisation_method : str or None
        ``"exact"`` or, where the orders are too many to count, ``"monte carlo"``.
    randomisation_draws : int or None
        Orders drawn by "monte carlo".
    randomisation_error : float or None
        Standard error of `p_randomisation` by "monte carlo".
    p_randomisation_joint : float or None
        Largest t over the surfaces that shared preparations; None unless they did.
    own_pair : OwnPair or None
        From the preparations of these two treatments alone.
    naive : Naive or None
        What launches taken as independent would have said.
    reml : Reml or None
        Mixed model beside the verdict; never enters it.
    to_close : ToClose or None
        None when closed.
    robustness : tuple of RobustnessLine
    looks : Looks or None
        None without half-way checks; with them, p values and the intervals that belong to the claims are
        repeated ones, and everything here rests on the look that settled it, else on the last one.
    ride : None
        Not part of this answer.
    verdict : {"higher", "lower", "alike", "open"}
    size : {"matters", "small", "unsettled"} or None
        None without a margin.
    notes : tuple of Note
    """

    treatment: str
    reference: str
    estimate: float | None
    se: float | None
    df: float | None
    interval: Interval | None
    interval_adjusted: Interval | None
    interval_alike: Interval | None
    ratio: float | None
    ratio_interval: Interval | None
    p_difference: float | None
    p_difference_adjusted: float | None
    p_alike: float | None
    p_alike_adjusted: float | None
    p_matters: float | None
    p_matters_adjusted: float | None
    p_randomisation: float | None
    assignments: int | None
    log10_assignments: float | None
    smallest_p: float | None
    interval_randomisation: Interval | None
    randomisation_method: str | None
    randomisation_draws: int | None
    randomisation_error: float | None
    p_randomisation_joint: float | None
    own_pair: OwnPair | None
    naive: Naive | None
    reml: Reml | None
    to_close: ToClose | None
    robustness: tuple[RobustnessLine, ...]
    looks: Looks | None
    ride: None
    verdict: Verdict
    size: Size | None
    notes: tuple[Note, ...]
