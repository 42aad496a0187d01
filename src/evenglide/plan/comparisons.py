r"""What the test of each comparison of a layout rests on: rounds, degrees of freedom, precision.

The estimate of a treatment has variance :math:`f v`, v the variance of the value of a preparation. Without
columns for pieces of gear :math:`f = 2/n` for n rounds. With two pieces in turn, the lot decides which of
them is treated how often: if the treated one is the first piece in a of n rounds,

.. math:: f = \frac{2}{n} \cdot \frac{1}{1 - (2a/n - 1)^2},

and a = 0 or n is never drawn. The mean over the lot is taken of the chances, not of f.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import comb

from evenglide.plan.designs import LayoutDesign

Lot = tuple[tuple[float, float], ...]
"""Variance factors f with their chances."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One treatment against the reference on one surface.

    Parameters
    ----------
    place : int
        Of its surface in the layout.
    treatment : int
        From 1.
    rounds : int
        Rounds that hold both treatments there.
    df : int
        Degrees of freedom of the test; 0 without a test.
    launches : int
        Of each preparation.
    reach : float or None
        High end of the margin.
    lot : tuple of (float, float)
        Variance factors with their chances; empty without a test.
    family, sharing : int
        Family it belongs to, and how many comparisons that has.
    """

    place: int
    treatment: int
    rounds: int
    df: int
    launches: int
    reach: float | None
    lot: Lot
    family: int
    sharing: int


def comparisons_of(layout: LayoutDesign) -> tuple[Comparison, ...]:
    """Lay out the comparisons of a layout, surface by surface, treatment by treatment.

    Parameters
    ----------
    layout : LayoutDesign

    Returns
    -------
    tuple of Comparison
    """
    found = []
    families = layout.families
    sizes = {name: layout.contrasts * families.count(name) for name in set(families)}
    for place, surface in enumerate(layout.surfaces):
        rounds = _rounds(layout, place)
        df = _df(layout, place, rounds)
        for treatment, count in enumerate(rounds, start=1):
            possible = df > 0 and count > 0
            found.append(
                Comparison(
                    place=place,
                    treatment=treatment,
                    rounds=count,
                    df=df if possible else 0,
                    launches=surface.launches,
                    reach=None if surface.margin is None else surface.margin[1],
                    lot=lot_of(count, items=surface.items > 0) if possible else (),
                    family=families[place],
                    sharing=sizes[families[place]],
                )
            )
    return tuple(found)


def family_rows(comparisons: Sequence[Comparison]) -> dict[int, list[int]]:
    """Places of the comparisons of each family.

    Parameters
    ----------
    comparisons : sequence of Comparison

    Returns
    -------
    dict of int to list of int
    """
    rows: dict[int, list[int]] = {}
    for at, one in enumerate(comparisons):
        rows.setdefault(one.family, []).append(at)
    return rows


def alike_rows(layout: LayoutDesign, comparisons: Sequence[Comparison]) -> list[list[int]]:
    """Places of comparisons that have the same chances, since nothing but their names tells them apart.

    Parameters
    ----------
    layout : LayoutDesign
    comparisons : sequence of Comparison
        Of the layout.

    Returns
    -------
    list of list of int
        Every place once.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for at, one in enumerate(comparisons):
        in_turn = one.treatment if layout.pairs else 0
        same = (layout.surfaces[one.place].rounds, in_turn, one.launches, one.reach, one.df, one.family)
        groups.setdefault(same, []).append(at)
    return list(groups.values())


@lru_cache(maxsize=1024)
def lot_of(rounds: int, *, items: bool) -> Lot:
    """Variance factors that the lot can bring, with their chances.

    Parameters
    ----------
    rounds : int
        At least 1.
    items : bool
        Whether two pieces of gear take a column.

    Returns
    -------
    tuple of (float, float)
        Empty if no order that could be drawn has an estimate.

    Examples
    --------
    >>> lot_of(4, items=True)
    ((0.666..., 0.571...), (0.5, 0.428...))
    """
    if not items:
        return ((2.0 / rounds, 1.0),)
    lean: Counter[int] = Counter()
    for first in range(1, rounds):
        lean[abs(2 * first - rounds)] += comb(rounds, first)
    return tuple(
        (2.0 / rounds / (1.0 - (more / rounds) ** 2), orders / (2**rounds - 2))
        for more, orders in sorted(lean.items(), reverse=True)
    )


def _rounds(layout: LayoutDesign, place: int) -> list[int]:
    """Rounds of each treatment on a surface."""
    rounds = layout.surfaces[place].rounds
    if not layout.pairs:
        return [len(rounds)] * layout.contrasts
    return [sum(at % layout.contrasts == turn for at in rounds) for turn in range(layout.contrasts)]


def _df(layout: LayoutDesign, place: int, rounds: list[int]) -> int:
    """Preparations less rounds, less contrasts that are met, less columns for pieces of gear."""
    surface = layout.surfaces[place]
    blocks = len(surface.rounds)
    size = 2 if layout.pairs else layout.treatments
    return max(0, (size - 1) * blocks - sum(count > 0 for count in rounds) - surface.items)
