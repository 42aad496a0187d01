"""What is decided before the launches are looked at: scale, margin, error rates, families."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from evenglide.maths.order_sets import Restriction
from evenglide.typing import Adjust, BoolArray, Scale


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnOrder:
    """How a restricted order of two treatments was drawn on a surface.

    Parameters
    ----------
    largest : int
        Largest slot imbalance allowed.
    places : mapping of str to int
        What a preparation, by its label, adds to the imbalance if it is treated: twice its place in the
        round, less the middle.
    treated : frozenset of str
        Labels of the preparations that the plan treats.
    """

    largest: int
    places: Mapping[str, int]
    treated: frozenset[str]

    def rule_of(self, labels: Sequence[str], treated: BoolArray) -> Restriction | None:
        """Rule that the orders of some preparations keep, all others held as they were drawn.

        Parameters
        ----------
        labels : sequence of str
            Labels of the preparations.
        treated : array of bool, shape (n,)
            Which of them carry the treatment.

        Returns
        -------
        Restriction or None
            None if one of them was never drawn.
        """
        if not self.places.keys() >= set(labels):
            return None
        weights = np.array([self.places[label] for label in labels], dtype=np.int64)
        planned = sum(self.places[label] for label in self.treated)
        held = planned - int(weights[treated].sum())
        return Restriction(weights=weights, largest=self.largest, offset=held)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """The rule by which an answer is given.

    Parameters
    ----------
    scale : {"ratio", "difference"}
        Analysis scale.
    margin : tuple of float, or None
        Low and high end of the differences that do not matter, analysis scale.
    surface_margins : mapping of int to tuple of float
        The same for surfaces (by code) that state their own.
    level : float
        Error rate accepted for each kind of claim over a family.
    adjust : {"holm", "both", "none"}
        How the error rate is shared over a family.
    main : int or None
        Code of the surface that the argument is about; it is then a family of its own.
    stays : tuple of int
        Codes of treatments that do not come off.
    order_drawn : bool
        A record shows that the order was drawn at random before the first launch.
    drawn : mapping of int to DrawnOrder
        For surfaces (by code) whose order was drawn under a restriction.
    unmet : int
        Contrasts planned on surfaces off the main one that no launch reached; they count with p = 1.
    after_s : mapping of int to float
        For surfaces (by code) with a timed mark, when it is taken. [s]
    better : {"higher", "lower"}
        Which way is better.
    scale_stated : bool
        Whether a person chose the scale or it was filled in.
    """

    scale: Scale
    margin: tuple[float, float] | None
    surface_margins: Mapping[int, tuple[float, float]] = field(default_factory=dict)
    level: float = 0.05
    adjust: Adjust = "holm"
    main: int | None = None
    stays: tuple[int, ...] = ()
    order_drawn: bool = False
    drawn: Mapping[int, DrawnOrder] = field(default_factory=dict)
    unmet: int = 0
    after_s: Mapping[int, float] = field(default_factory=dict)
    better: Literal["higher", "lower"] = "higher"
    scale_stated: bool = True

    def margin_on(self, surface: int) -> tuple[float, float] | None:
        """Return the margin that holds on a surface, given its code."""
        return self.surface_margins.get(surface, self.margin)


TOLERANCE = 1e-12
"""A value within this of a level or a margin counts as having met it."""
