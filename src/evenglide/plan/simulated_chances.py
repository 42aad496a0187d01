r"""Chances of layouts with two treatments whose surfaces go together, or whose launches may be set aside.

The value of a preparation on a surface is :math:`y = \delta + P + P_S + \bar e`: P the same wherever it is
launched, :math:`P_S` its own there, :math:`\bar e` the mean of the launches that are left of it. With
:math:`\tau^2` the variance between preparations and :math:`\rho` the shared part of it,
:math:`\operatorname{Var} P = \rho\tau^2`, :math:`\operatorname{Var} P_S = (1 - \rho)\tau^2`,
:math:`\operatorname{Var} \bar e = \sigma^2/n`. A preparation that lost all launches takes its pair with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenglide.maths.conditional_bins import DrawnStudies, conditional_bins
from evenglide.maths.control_variates import controlled
from evenglide.maths.family_chance import FamilyBins, FamilyChances, combined, levels_looked_at
from evenglide.maths.paired_draws import paired_draws
from evenglide.plan.averages import sharing_case
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.comparisons import Comparison, alike_rows, comparisons_of, family_rows
from evenglide.plan.counted import averaged, counted_families, with_either
from evenglide.plan.designs import LayoutDesign
from evenglide.plan.draws import launches_left, normals, signs, uniforms, variance_factors_drawn
from evenglide.plan.exact_chances import Asked, marginal_bins
from evenglide.plan.layout_chances import SharingCase
from evenglide.typing import BoolArray, FloatArray

STUDIES = 600
"""Enough for a standard error of a hundredth, less for single comparisons."""
CONTROL_NODES = 8
WORTH_STEADYING = 3
"""Degrees of freedom below which chances are near nought and known bins cost more than they give."""
TINY = 1e-300


def simulated_pairs(
    layout: LayoutDesign, belief: ScatterBelief, asked: Asked, *, seed: int, studies: int = STUDIES
) -> list[SharingCase]:
    """Simulate a layout with two treatments.

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
    rule, known = (layout.level, layout.adjust), None
    if _marginals_known(layout) and max(one.df for one in comparisons) >= WORTH_STEADYING:
        fewer = replace(asked, nodes=CONTROL_NODES)
        known = {
            name: marginal_bins([comparisons[at] for at in mine], belief, fewer, rule=rule)
            for name, mine in family_rows(comparisons).items()
        }
    whole = replace(belief, voids=0.0)
    groups = alike_rows(layout, comparisons)
    cases = []
    for part in belief.shared_parts(shared=layout.shared, surfaces=len(layout.surfaces)):
        drawn = draw_pairs(layout, belief, part=part or 0.0, seed=seed, studies=studies)
        full = drawn
        if belief.voids > 0 and known is not None:
            full = draw_pairs(layout, whole, part=part or 0.0, seed=seed, studies=studies)
        desk = _Desk(
            layout=layout,
            comparisons=comparisons,
            drawn=drawn,
            full=full,
            asked=asked,
            seed=seed,
            known=known,
        )
        averages, error = averaged([desk.claims(at) for at in range(len(asked.effects))], groups)
        cases.append(
            sharing_case(layout, comparisons, belief, averages=averages, shared_part=part, error=error)
        )
    return cases


def draw_pairs(
    layout: LayoutDesign, belief: ScatterBelief, *, part: float, seed: int, studies: int
) -> DrawnStudies:
    """Draw studies of a layout with two treatments.

    Parameters
    ----------
    layout : LayoutDesign
    belief : ScatterBelief
    part : float
        Shared part of the variance between preparations.
    seed, studies : int

    Returns
    -------
    DrawnStudies
        A comparison for each surface.
    """
    rounds, surfaces = layout.rounds, len(layout.surfaces)
    met = np.array([np.isin(np.arange(rounds), one.rounds) for one in layout.surfaces])
    factor = np.ones(studies)
    if belief.df is not None and belief.preparations > 0:
        factor = variance_factors_drawn(seed, belief.df, studies)
    between = belief.preparations**2 * factor
    means, kept = _launch_variances(layout, belief, seed=seed, studies=studies)
    variance = np.maximum(2.0 * (1.0 - part) * between + belief.launches**2 * means, TINY)
    shape = {"rounds": rounds, "studies": studies}
    own = np.moveaxis(normals(seed, "own", of_round=(surfaces,), **shape), 1, 0) * np.sqrt(variance)
    common = normals(seed, "common", of_round=(), **shape) * np.sqrt(2.0 * part * between)
    return paired_draws(
        common,
        own,
        np.broadcast_to(variance, own.shape),
        kept=np.broadcast_to(kept & met[:, :, np.newaxis], own.shape),
        sign=_signs(layout, met, seed=seed, studies=studies),
    )


def _launch_variances(
    layout: LayoutDesign, belief: ScatterBelief, *, seed: int, studies: int
) -> tuple[FloatArray, BoolArray]:
    """Sum of 1/n over the two preparations of each pair, and whether both have launches left."""
    planned = np.array([one.launches for one in layout.surfaces], dtype=np.float64)
    if belief.voids == 0:
        return (2.0 / planned)[:, np.newaxis, np.newaxis], np.full((1, 1, 1), fill_value=True)
    drawn = uniforms(seed, "left", rounds=layout.rounds, of_round=(len(planned), 2), studies=studies)
    left = np.array(
        [
            launches_left(drawn[:, at], one.launches, voids=belief.voids)
            for at, one in enumerate(layout.surfaces)
        ]
    )
    return (1.0 / np.maximum(left, 1)).sum(axis=2), np.asarray((left > 0).all(axis=2))


def _marginals_known(layout: LayoutDesign) -> bool:
    """Whether each comparison by itself meets the lot that `comparisons` takes it to meet.

    Where surfaces share the lot but not the rounds, the rules of one bear on the others.
    """
    items = any(one.items for one in layout.surfaces)
    return not (items and layout.shared) or len({one.rounds for one in layout.surfaces}) == 1


def _signs(layout: LayoutDesign, met: BoolArray, *, seed: int, studies: int) -> FloatArray | None:
    """Which piece of gear is treated; one lot for all surfaces where preparations are shared."""
    if not any(one.items for one in layout.surfaces):
        return None
    if layout.shared:
        drawn = signs(seed, "lot", met=met, studies=studies)
        return np.broadcast_to(drawn, (len(met), *drawn.shape))
    return np.array(
        [signs(seed, f"lot {at}", met=met[at : at + 1], studies=studies) for at in range(len(met))]
    )


# ------------------------------------------------------------------------------------- claims


@dataclass(frozen=True, slots=True, kw_only=True)
class _Desk:
    """Claims of drawn studies of one layout.

    `full` are the same studies with no launch set aside: the chances of their single comparisons are known
    exactly, and tell how lucky the draws were.
    """

    layout: LayoutDesign
    comparisons: Sequence[Comparison]
    drawn: DrawnStudies
    full: DrawnStudies
    asked: Asked
    seed: int
    known: Mapping[int, FamilyBins] | None

    def claims(self, at: int) -> FamilyChances:
        """Chances of claims in every study if one of the effects is true."""
        reach = np.array([1.0 if one.reach is None else one.reach for one in self.comparisons])
        effect = self.asked.effects[at] * (reach if self.asked.in_margins else np.ones_like(reach))
        rows = family_rows(self.comparisons)
        found = combined(self.bins(self.drawn, effect, reach), rows)
        if self.known is not None:
            found = steadied(found, self.bins(self.full, effect, reach), self.known, at=at)
        if not self.asked.either:
            return found
        luck = normals(self.seed, "estimate", rounds=1, of_round=(len(reach),), studies=found.alike.shape[1])
        estimate = self.drawn.shift + effect[:, np.newaxis] + self.drawn.spread * luck[0]
        counted = counted_families(
            self.layout, rows, estimate, error=self.drawn.error, df=self.drawn.df, margin=reach
        )
        return with_either(found, counted, rows)

    def bins(self, drawn: DrawnStudies, effect: FloatArray, reach: FloatArray) -> dict[int, FamilyBins]:
        """Bins of every family, studies in place of plans."""
        return {
            name: conditional_bins(
                drawn.of(mine),
                effect=effect[mine],
                margin=reach[mine],
                levels=levels_looked_at(self.layout.level, len(mine), self.layout.adjust),
                joint=False,
            )
            for name, mine in family_rows(self.comparisons).items()
        }


def steadied(
    found: FamilyChances, bins: Mapping[int, FamilyBins], known: Mapping[int, FamilyBins], *, at: int
) -> FamilyChances:
    """Chances less what the bins of single comparisons explain, whose means are known.

    Parameters
    ----------
    found : FamilyChances
    bins : mapping of int to FamilyBins
        Studies in place of plans.
    known : mapping of int to FamilyBins
        Effects in place of plans.
    at : int
        The effect.

    Returns
    -------
    FamilyChances
    """

    def controls(kind: str) -> tuple[FloatArray, FloatArray]:
        drawn = [getattr(one, kind) for one in bins.values()]
        mean = [getattr(one, kind)[..., at] for one in known.values()]
        flat = [values.reshape(-1, values.shape[-1]) for values in drawn]
        return np.concatenate(flat), np.concatenate([values.ravel() for values in mean])

    count = len(found.difference)
    difference = np.vstack([found.difference, found.all_difference, found.any_difference])
    alike = np.vstack([found.alike, found.all_alike, found.any_alike])
    difference = controlled(difference, *controls("difference"))
    alike = controlled(alike, *controls("alike"))
    return replace(
        found,
        difference=difference[:count],
        all_difference=difference[count],
        any_difference=difference[count + 1],
        alike=alike[:count],
        all_alike=alike[count],
        any_alike=alike[count + 1],
        matters=controlled(found.matters, *controls("matters")),
    )
