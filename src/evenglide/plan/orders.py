r"""Which treatment each slot of each round gets, drawn fairly.

Notation: a round (block) b has slots 1..n, one for each of its treatments; a slot is an item where items
are launched in parallel, and a position in time where preparations follow each other. An order is one
permutation of the treatments for each round. Every order that is allowed is equally likely: orders are
drawn whole, and drawn again where one is not allowed, so nothing but the rule shapes the set.

Two rules: the estimate of every comparison must exist beside round and item (an order in which a
treatment stays on one item throughout says nothing); and, only where asked for, :math:`|L| \le L_{max}`
with :math:`L = \sum_b (2 \cdot \text{position} - n_b - 1)` over the slots of the second treatment,
:math:`L_{max}` the smallest that leaves 200 orders.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.errors import Problem, StudyError
from evenglide.maths.blocks import centred, centred_basis, compact

Order = tuple[tuple[str, ...], ...]
"""Treatment of each slot, round by round."""
Source = Callable[[], float]
"""Gives the next number, uniform in [0, 1)."""

FEWEST_ORDERS = 200
"""A restriction that leaves fewer orders than this takes more from the test than it gives."""
MOST_DRAWS = 10_000
"""So many orders in a row that are not allowed: there is none."""
VANISHES = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundToDraw:
    """One round before the draw.

    Parameters
    ----------
    treatments : tuple of str
        One for each slot, the reference first.
    items : tuple of str
        Item of each slot.
    surfaces : tuple of str
        Surfaces that its preparations meet.
    """

    treatments: tuple[str, ...]
    items: tuple[str, ...]
    surfaces: tuple[str, ...]


def draw_order(
    rounds: Sequence[RoundToDraw],
    uniform: Source,
    *,
    allowed: Callable[[Order], bool],
) -> Order:
    """Draw one of the allowed orders, each equally likely.

    Parameters
    ----------
    rounds : sequence of RoundToDraw
    uniform : callable
        Source of chance, such as ``random.Random(seed).random``.
    allowed : callable
        Whether an order may be used.

    Returns
    -------
    tuple of tuple of str
        Treatment of each slot, round by round.

    Raises
    ------
    StudyError
        If no allowed order turns up.
    """
    for _ in range(MOST_DRAWS):
        order = tuple(shuffled(one.treatments, uniform) for one in rounds)
        if allowed(order):
            return order
    raise StudyError([_none_allowed(len(rounds))])


def shuffled(values: Sequence[str], uniform: Source) -> tuple[str, ...]:
    """Shuffle by exchanging each place with one at or before it (Fisher and Yates 1938, Durstenfeld 1964).

    One number is drawn for each place but the first.
    """
    places = list(values)
    for last in range(len(places) - 1, 0, -1):
        other = int(uniform() * (last + 1))
        places[last], places[other] = places[other], places[last]
    return tuple(places)


# ------------------------------------------------------------------------------------ estimability


def estimable(order: Order, rounds: Sequence[RoundToDraw]) -> bool:
    """Whether every comparison has an estimate on every surface that its rounds meet.

    Judged from the preparations of the two treatments alone, beside columns for rounds and items: what
    exists there exists beside further treatments too.

    Parameters
    ----------
    order : tuple of tuple of str
    rounds : sequence of RoundToDraw

    Returns
    -------
    bool
    """
    reference = rounds[0].treatments[0]
    others = {name for one in rounds for name in one.treatments} - {reference}
    met = {one.surfaces for one in rounds}
    surfaces = {surface for surfaces in met for surface in surfaces} if len(met) > 1 else {None}
    return all(
        _has_estimate(slots_of(order, rounds, treatment=treatment, reference=reference, surface=surface))
        for surface in surfaces
        for treatment in others
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Slots:
    """Slots of two treatments: round and item of each, and whether it carries the treatment."""

    round: tuple[int, ...]
    item: tuple[str, ...]
    treated: tuple[bool, ...]


def slots_of(
    order: Order, rounds: Sequence[RoundToDraw], *, treatment: str, reference: str, surface: str | None
) -> Slots:
    """Slots that a comparison rests on: rounds that hold both treatments and meet the surface.

    Parameters
    ----------
    order : tuple of tuple of str
    rounds : sequence of RoundToDraw
    treatment, reference : str
    surface : str or None
        None for every round.

    Returns
    -------
    Slots
    """
    found = [
        (at, item, name == treatment)
        for at, (names, one) in enumerate(zip(order, rounds, strict=True))
        if {treatment, reference} <= set(names) and (surface is None or surface in one.surfaces)
        for name, item in zip(names, one.items, strict=True)
        if name in {treatment, reference}
    ]
    return Slots(
        round=tuple(at for at, _, _ in found),
        item=tuple(item for _, item, _ in found),
        treated=tuple(treated for _, _, treated in found),
    )


def _has_estimate(slots: Slots) -> bool:
    if not slots.round:
        return False
    block, item = compact(slots.round), compact(slots.item)
    z = centred(np.array(slots.treated, dtype=np.float64), block)
    basis = centred_basis(item, block)
    left = z - basis @ (basis.T @ z)
    return float(left @ left) > VANISHES * float(z @ z)


def _none_allowed(rounds: int) -> Problem:
    return Problem(
        code="no-order",
        where="--blocks",
        found=f"{rounds} round{'' if rounds == 1 else 's'}",
        expected="enough rounds that each treatment can change items on every surface",
        remedy="Plan more rounds: at least two, and more for each treatment beyond two.",
    )


# -------------------------------------------------------------------------------- slot imbalance


def imbalance(order: Order, treatment: str) -> int:
    """Slot imbalance L of a treatment: nought where it comes early as often as late.

    Parameters
    ----------
    order : tuple of tuple of str
    treatment : str

    Returns
    -------
    int

    Examples
    --------
    >>> imbalance((("bare", "wax"), ("bare", "wax"), ("wax", "bare")), "wax")
    1
    """
    return sum(2 * (names.index(treatment) + 1) - len(names) - 1 for names in order if treatment in names)


def largest_imbalance(rounds: int) -> int | None:
    """Smallest limit on the imbalance of pairs that leaves at least 200 orders.

    Parameters
    ----------
    rounds : int
        Pairs whose two treatments follow each other.

    Returns
    -------
    int or None
        None if not even all orders together are 200.

    Examples
    --------
    >>> largest_imbalance(8), orders_within(8, 4)
    (4, 238)
    """
    limits = range(rounds % 2, rounds + 1, 2)
    return next((limit for limit in limits if orders_within(rounds, limit) >= FEWEST_ORDERS), None)


def orders_within(rounds: int, limit: int) -> int:
    """Count the orders of pairs whose imbalance is at most `limit` either way."""
    return sum(math.comb(rounds, late) for late in range(rounds + 1) if abs(2 * late - rounds) <= limit)
