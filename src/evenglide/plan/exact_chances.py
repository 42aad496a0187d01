"""Chances of layouts without simulation: balanced, one comparison for each surface, all of them independent.

For many layouts at once: comparisons that are the same in several layouts are worked out once, each at every
size that the scatter may have; then the comparisons of a layout are combined, and the average over the
scatter is taken last, since it is the same on all surfaces.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from evenglide.maths.claim_bins import claim_bins
from evenglide.maths.family_chance import FamilyBins, FamilyChances, combined, levels_looked_at
from evenglide.plan.averages import Averages, sharing_case, variance_nodes
from evenglide.plan.beliefs import ScatterBelief
from evenglide.plan.comparisons import Comparison, Lot, comparisons_of
from evenglide.plan.designs import LayoutDesign
from evenglide.plan.layout_chances import SharingCase
from evenglide.typing import Adjust, FloatArray, IntArray

NODES = 16
FEWER_NODES = 8
"""For a first look at many layouts."""
COLUMNS = 4096
"""Layouts times scatters times effects that are combined at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked about every layout.

    Parameters
    ----------
    effects : tuple of float
    in_margins : bool
        Effects are multiples of the margin, else on the analysis scale.
    either : bool
        Whether the chance of either verdict is wanted.
    nodes : int
        Sizes of scatter that the average is taken over.
    """

    effects: tuple[float, ...]
    in_margins: bool
    either: bool
    nodes: int = NODES


def exact_chances(layouts: Sequence[LayoutDesign], belief: ScatterBelief, asked: Asked) -> list[SharingCase]:
    """Work out layouts as if preparations were fresh on each surface and no launch were set aside.

    Parameters
    ----------
    layouts : sequence of LayoutDesign
    belief : ScatterBelief
    asked : Asked

    Returns
    -------
    list of SharingCase
        One for each layout, without a shared part.
    """
    lists = [comparisons_of(layout) for layout in layouts]
    groups: dict[tuple[object, ...], list[int]] = {}
    for at, (layout, comparisons) in enumerate(zip(layouts, lists, strict=True)):
        alike = (layout.level, layout.adjust, tuple(one.family for one in comparisons))
        groups.setdefault(alike, []).append(at)
    found: dict[int, SharingCase] = {}
    for rows in groups.values():
        first = layouts[rows[0]]
        desk = _Desk(belief=belief, asked=asked, level=first.level, adjust=first.adjust)
        cases = desk.cases([lists[at] for at in rows])
        for at, case in zip(rows, cases, strict=True):
            found[at] = sharing_case(layouts[at], lists[at], belief, averages=case)
    return [found[at] for at in range(len(layouts))]


def marginal_bins(
    comparisons: Sequence[Comparison], belief: ScatterBelief, asked: Asked, *, rule: tuple[float, Adjust]
) -> FamilyBins:
    """Bins of the comparisons of one family, each by itself, averaged over the scatter and the lot.

    Parameters
    ----------
    comparisons : sequence of Comparison
    belief : ScatterBelief
    asked : Asked
    rule : (float, {"holm", "both", "none"})
        Level and how it is shared.

    Returns
    -------
    FamilyBins
        With effects in place of plans; without the joint chances.
    """
    level, adjust = rule
    desk = _Desk(belief, replace(asked, either=False), level=level, adjust=adjust)
    keyed = [_key(one) for one in comparisons]
    keys = list(dict.fromkeys(keyed))
    found, at = desk.bins(keys), [keys.index(key) for key in keyed]

    def mean(values: FloatArray) -> FloatArray:
        split = values[at].reshape(len(at), values.shape[1], len(desk.weights), -1)
        return np.asarray(np.einsum("clqe,q->cle", split, desk.weights))

    return FamilyBins(
        difference=mean(found.difference), alike=mean(found.alike), matters=mean(found.matters), joint=None
    )


Key = tuple[int, int, int, float | None, Lot, int]
"""Rounds, degrees of freedom, launches, margin, lot, size of the family."""


def _key(one: Comparison) -> Key:
    return (one.rounds, one.df, one.launches, one.reach, one.lot, one.sharing)


class _Desk:
    """Works out layouts whose comparisons fall into families in the same way."""

    def __init__(self, belief: ScatterBelief, asked: Asked, *, level: float, adjust: Adjust) -> None:
        self.belief, self.asked, self.level, self.adjust = belief, asked, level, adjust
        self.factors, self.weights = variance_nodes(belief, asked.nodes)

    def cases(self, lists: Sequence[tuple[Comparison, ...]]) -> list[Averages]:
        """Chances of every layout, given by its comparisons."""
        keyed = [tuple(_key(one) for one in comparisons) for comparisons in lists]
        plans = list(dict.fromkeys(keyed))
        families: dict[int, list[int]] = {}
        for at, one in enumerate(lists[0]):
            families.setdefault(one.family, []).append(at)
        bins, place = {}, {}
        for name, members in families.items():
            keys = list(dict.fromkeys(plan[at] for plan in plans for at in members))
            number = {key: at for at, key in enumerate(keys)}
            place[name] = np.array([[number[plan[at]] for plan in plans] for at in members])
            bins[name] = self.bins(keys)
        each = len(self.factors) * len(self.asked.effects)
        step = max(1, COLUMNS // each)
        parts = []
        for start in range(0, len(plans), step):
            picked = {name: _picked(bins[name], place[name][:, start : start + step]) for name in families}
            parts.append(self.averaged(combined(picked, families)))
        whole = [one for part in parts for one in part]
        of_plan = dict(zip(plans, whole, strict=True))
        return [of_plan[plan] for plan in keyed]

    def bins(self, keys: Sequence[Key]) -> FamilyBins:
        """Bins of comparisons at every size of scatter and every effect, averaged over the lot."""
        rows = [(at, f, w) for at, key in enumerate(keys) for f, w in (key[4] or ((1.0, 1.0),))]
        of = np.array([at for at, _, _ in rows])
        factor, weight = (np.array([row[part] for row in rows]) for part in (1, 2))
        df, launches = (np.array([key[part] for key in keys], dtype=np.float64)[of] for part in (1, 2))
        reach = np.array([1.0 if key[3] is None else key[3] for key in keys])[of]
        se = np.sqrt(factor[:, np.newaxis] * self.variances(launches))
        scale = reach if self.asked.in_margins else np.ones_like(reach)
        effect = scale[:, np.newaxis] * np.array(self.asked.effects)
        shape = (len(rows), len(self.factors), len(self.asked.effects))
        given = (
            df[:, np.newaxis, np.newaxis],
            se[:, :, np.newaxis],
            effect[:, np.newaxis],
            reach[:, np.newaxis, np.newaxis],
        )
        flat = [np.broadcast_to(value, shape).ravel() for value in given]
        levels = levels_looked_at(self.level, keys[0][5], self.adjust)
        found = claim_bins(
            df=flat[0], se=flat[1], effect=flat[2], margin=flat[3], levels=levels, joint=self.asked.either
        )
        starts = np.flatnonzero(np.diff(of, prepend=-1))

        def mixed(values: FloatArray) -> FloatArray:
            """Comparisons first, then levels, then scatters times effects."""
            by_row = values.reshape(*values.shape[:-1], len(rows), -1) * weight[:, np.newaxis]
            return np.moveaxis(np.add.reduceat(by_row, starts, axis=-2), -2, 0)

        return FamilyBins(
            difference=mixed(found.difference),
            alike=mixed(found.alike),
            matters=mixed(found.matters),
            joint=None if found.joint is None else mixed(found.joint),
        )

    def variances(self, launches: FloatArray) -> FloatArray:
        """Variance of the value of a preparation, shape (launches, scatters)."""
        between = self.belief.preparations**2 * self.factors
        return np.asarray(between + self.belief.launches**2 / launches[:, np.newaxis])

    def averaged(self, found: FamilyChances) -> list[Averages]:
        """Averages over the scatter, one for each layout."""
        effects = len(self.asked.effects)

        def mean(values: FloatArray) -> FloatArray:
            """Layouts first, effects last."""
            split = values.reshape(*values.shape[:-1], -1, len(self.weights), effects)
            return np.asarray(np.einsum("...pqe,q->p...e", split, self.weights))

        def known(values: FloatArray | None) -> Sequence[FloatArray | None]:
            return [None] * layouts if values is None else list(mean(values))

        layouts = found.all_difference.shape[-1] // (len(self.weights) * effects)
        columns = zip(
            *(mean(found.difference), mean(found.alike), mean(found.matters), known(found.conclusive)),
            *(mean(found.all_difference), mean(found.any_difference), mean(found.all_alike)),
            *(known(found.all_conclusive), known(found.any_conclusive)),
            known((found.family_conclusive or {}).get(1)),
            strict=True,
        )
        return [_averages(one) for one in columns]


def _averages(column: Sequence[FloatArray]) -> Averages:
    return Averages(**dict(zip(Averages.__slots__, column, strict=True)))


def _picked(bins: FamilyBins, place: IntArray) -> FamilyBins:
    """Bins of the comparisons of some layouts, shape (comparisons, levels, layouts x columns)."""

    def gather(values: FloatArray) -> FloatArray:
        taken = np.moveaxis(values[place], 1, -2)
        return taken.reshape(*taken.shape[:-2], -1)

    return FamilyBins(
        difference=gather(bins.difference),
        alike=gather(bins.alike),
        matters=gather(bins.matters),
        joint=None if bins.joint is None else gather(bins.joint),
    )
