"""Chances of layouts with three treatments or more, by counting simulated studies.

Estimates go together through the reference, standard errors through the pooled residual, and surfaces through
shared preparations; so whole studies are drawn and judged. The scatter is made of the same parts as in
`plan.simulated_chances`. A preparation that lost all launches is missing; its round stays. A study in which a
treatment is missing altogether on a surface claims nothing there, which is a little strict.
"""

from __future__ import annotations

import numpy as np

from evenglide.maths.block_draws import block_draws
from evenglide.plan.averages import sharing_case
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.comparisons import alike_rows, comparisons_of, family_rows
from evenglide.plan.counted import as_chances, averaged, counted_families
from evenglide.plan.designs import LayoutDesign
from evenglide.plan.draws import launches_left, normals, uniforms, variance_factors_drawn
from evenglide.plan.exact_chances import Asked
from evenglide.plan.layout_chances import SharingCase
from evenglide.typing import BoolArray, FloatArray, IntArray

COUNTED_STUDIES = 2000


def simulated_blocks(
    layout: LayoutDesign, belief: ScatterBelief, asked: Asked, *, seed: int, studies: int = COUNTED_STUDIES
) -> list[SharingCase]:
    """Simulate a layout with any number of treatments.

    Parameters
    ----------
    layout : LayoutDesign
    belief : ScatterBelief
    asked : Asked
    seed : int
    studies : int

    Returns
    -------
    list of SharingCase
        One for each shared part that is looked at; one without where preparations are fresh.
    """
    comparisons = comparisons_of(layout)
    rows = family_rows(comparisons)
    reach = np.array([1.0 if one.reach is None else one.reach for one in comparisons])
    scale = reach if asked.in_margins else np.ones_like(reach)
    groups = alike_rows(layout, comparisons)
    cases = []
    for part in belief.shared_parts(shared=layout.shared, surfaces=len(layout.surfaces)):
        estimate, error, df = draw_blocks(layout, belief, part=part or 0.0, seed=seed, studies=studies)
        found = []
        for effect in asked.effects:
            moved = estimate + (effect * scale)[:, np.newaxis]
            counted = counted_families(layout, rows, moved, error=error, df=df, margin=reach)
            found.append(as_chances(counted, rows, either=asked.either))
        averages, largest = averaged(found, groups)
        cases.append(
            sharing_case(layout, comparisons, belief, averages=averages, shared_part=part, error=largest)
        )
    return cases


def draw_blocks(
    layout: LayoutDesign, belief: ScatterBelief, *, part: float, seed: int, studies: int
) -> tuple[FloatArray, FloatArray, IntArray]:
    """Draw studies without effect of a layout.

    Parameters
    ----------
    layout : LayoutDesign
    belief : ScatterBelief
    part : float
        Shared part of the variance between preparations.
    seed, studies : int

    Returns
    -------
    estimate, error : array of float, shape (comparisons, studies)
    df : array of int, shape (comparisons, studies)
    """
    of_round = {"rounds": layout.rounds, "studies": studies}
    factor = np.ones(studies)
    if belief.df is not None and belief.preparations > 0:
        factor = variance_factors_drawn(seed, belief.df, studies)
    between = belief.preparations**2 * factor
    size = (layout.treatments,)
    common = normals(seed, "common", of_round=size, **of_round) * np.sqrt(part * between)
    found = []
    for place, surface in enumerate(layout.surfaces):
        left = np.full((1, 1, 1), surface.launches)
        if belief.voids > 0:
            drawn = uniforms(seed, f"left {place}", of_round=size, **of_round)
            left = launches_left(drawn, surface.launches, voids=belief.voids)
        spread = np.sqrt((1.0 - part) * between + belief.launches**2 / np.maximum(left, 1))
        own = normals(seed, f"own {place}", of_round=size, **of_round) * spread
        there = _planned(layout, place)[:, :, np.newaxis] & (left > 0)
        columns = _columns(layout, place, seed=seed, studies=studies)
        found.append(block_draws(common + own, columns, there, contrasts=layout.contrasts))
    estimate, error, df = (np.concatenate(each) for each in zip(*found, strict=True))
    return estimate, error, df


def _planned(layout: LayoutDesign, place: int) -> BoolArray:
    """Which treatments each round holds on a surface, shape (rounds, treatments)."""
    rounds = np.arange(layout.rounds)
    met = np.isin(rounds, layout.surfaces[place].rounds)[:, np.newaxis]
    if not layout.pairs:
        return np.broadcast_to(met, (layout.rounds, layout.treatments))
    turn = rounds[:, np.newaxis] % layout.contrasts == np.arange(layout.contrasts)
    return np.asarray(met & np.hstack([np.ones((layout.rounds, 1), dtype=bool), turn]))


def _columns(layout: LayoutDesign, place: int, *, seed: int, studies: int) -> FloatArray:
    """Treatments, and pieces of gear as the lot gives them: (columns, rounds, treatments, studies or 1)."""
    shape = (layout.contrasts, layout.rounds, layout.treatments, 1)
    treated = np.broadcast_to(np.eye(layout.treatments)[1:, np.newaxis, :, np.newaxis], shape)
    pieces = layout.surfaces[place].items
    if not pieces:
        return treated
    name = "lot" if layout.shared else f"lot {place}"
    drawn = uniforms(seed, name, rounds=layout.rounds, of_round=(layout.treatments,), studies=studies)
    if layout.pairs:
        first = drawn[:, :1] < 0.5
        piece = np.concatenate([first, np.broadcast_to(~first, drawn[:, 1:].shape)], axis=1).astype(np.int64)
    else:
        piece = drawn.argsort(axis=1).argsort(axis=1)
    gear = [(piece == at).astype(np.float64) for at in range(1, pieces + 1)]
    return np.concatenate([np.broadcast_to(treated, (*shape[:3], studies)), np.stack(gear)])
