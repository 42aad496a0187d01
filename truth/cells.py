"""One layout under one trouble: how often the answers would have been wrong.

Three truths share the same luck. *None*: no effect anywhere. *Some*: half of the comparisons have an
effect that nobody can miss, the others none; this is where Holm's method spends most. *Margin*: every
effect is exactly the difference that matters, which is where "no difference that matters" is false and
most easily said. The margin is wide, 20 standard errors, for the same reason.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from evenglide.analysis.batch import BatchJudge
from evenglide.analysis.claims import SIZES, VERDICTS
from evenglide.analysis.rule import TOLERANCE, Rule
from evenglide.maths.equivalence import difference_p
from evenglide.maths.patterns import columns_by_pattern
from evenglide.typing import BoolArray, FloatArray, IntArray
from truth.companions import Companions
from truth.drawing import draw, preparation_sd
from truth.layouts import LAYOUTS, SURFACES, Layout, skeleton
from truth.rates import NOTHING, Sums, sums_of
from truth.troubles import TROUBLES, Trouble

CHUNK = 4096
LEVEL = 0.05
MARGIN_SES = 20.0
TRUTHS = ("none", "some", "margin")
HIGHER, LOWER = VERDICTS.index("higher"), VERDICTS.index("lower")
SMALL, MATTERS = SIZES.index("small"), SIZES.index("matters")

Rates = dict[str, Sums]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A layout under a trouble."""

    layout: Layout
    trouble: Trouble

    @property
    def name(self) -> str:
        """Both names."""
        return f"{self.layout.name} | {self.trouble.name}"

    @property
    def margin(self) -> float:
        """The difference that matters, natural logarithms."""
        of_each = self.layout.blocks * self.layout.of_each
        return MARGIN_SES * preparation_sd(self.trouble) * float(np.sqrt(2 / of_each))

    @property
    def rule(self) -> Rule:
        """The rule of every study."""
        return Rule(scale="ratio", margin=(-self.margin, self.margin), level=LEVEL)

    def effect(self, truth: str) -> FloatArray:
        """Effect of each treatment on each surface, natural logarithms, shape (surfaces, treatments)."""
        effect = np.zeros((SURFACES, self.layout.treatments))
        if truth == "margin":
            effect[:, 1:] = self.margin
        elif truth == "some" and self.layout.treatments == 2:
            effect[: SURFACES // 2, 1] = self.margin
        elif truth == "some":
            effect[:, 1] = self.margin
        return effect

    def chunks(self, studies: int) -> Iterator[tuple[int, int]]:
        """Number and size of each chunk."""
        for number, start in enumerate(range(0, studies, CHUNK)):
            yield number, min(CHUNK, studies - start)


def all_cells() -> list[Cell]:
    """Every layout under every trouble that it can meet."""
    return [
        Cell(layout=layout, trouble=trouble)
        for trouble in TROUBLES
        for layout in LAYOUTS
        if _can_meet(layout, trouble)
    ]


def _can_meet(layout: Layout, trouble: Trouble) -> bool:
    if trouble.items:
        # Two pairs of two items leave no degree of freedom. Ten have a thousand orders, each a design of
        # its own, and three items in rounds of three as many.
        return layout.name in ("3 pairs", "6 pairs", "3 x (2 + 2)")
    if len(set(trouble.spread)) > 1:
        return len(trouble.spread) == layout.treatments
    return True


def run_cell(cell: Cell, *, studies: int, seed: int) -> Rates:
    """Play a cell.

    Parameters
    ----------
    cell : Cell
    studies : int
    seed : int

    Returns
    -------
    dict of str to Sums
    """
    rates: Rates = {}
    judge, companions = CellJudge(cell, cell.rule), Companions(cell.layout, cell.trouble)
    for chunk, size in cell.chunks(studies):
        entropy = np.random.SeedSequence([seed, zlib.crc32(cell.name.encode()), chunk])
        rng = np.random.Generator(np.random.SFC64(entropy))
        drawn = draw(cell.layout, cell.trouble, rng=rng, studies=size)
        for truth in TRUTHS:
            effect = cell.effect(truth)
            found = judge.judge(*drawn.observed(effect), drawn.item)
            for name, share in SHARES[truth](found, effect[:, 1:].reshape(-1, 1)):
                rates[name] = rates.get(name, NOTHING) + sums_of(share)
            if truth == "none":
                for name, p in companions(*drawn.observed(effect)):
                    rates[name] = rates.get(name, NOTHING) + sums_of(share_of(p <= LEVEL + TOLERANCE))
    return rates


class CellJudge:
    """Judges the studies of a cell; studies with one order of items share a design."""

    def __init__(self, cell: Cell, rule: Rule) -> None:
        self.cell, self.rule = cell, rule
        self._judges: dict[bytes, BatchJudge] = {}

    def judge(self, readings: FloatArray, void: BoolArray | None, item: IntArray | None) -> Judged:
        """Judge studies; `item` as in `Draw`."""
        if item is None:
            return self._judge(readings, void, None)
        parts = [
            (columns, self._judge(readings[:, columns], None if void is None else void[:, columns], pattern))
            for pattern, columns in columns_by_pattern((item == 1).reshape(-1, readings.shape[1]))
        ]
        back = np.argsort(np.concatenate([columns for columns, _ in parts]))
        return Judged(
            *(np.concatenate([part[place] for _, part in parts], axis=-1)[..., back] for place in range(7))
        )

    def _judge(self, readings: FloatArray, void: BoolArray | None, item: BoolArray | None) -> Judged:
        judge = self._judge_of(item)
        values = judge.values(readings, void)
        found, own = judge.verdicts(judge.estimates(values)), judge.estimates(values, own_pair=True)
        return Judged(
            estimate=found.estimates.estimate,
            se=found.estimates.se,
            df=found.estimates.df,
            p=found.p,
            own_p=difference_p(own.estimate, own.se, own.df),
            verdict=found.verdict,
            size=found.size,
        )

    def _judge_of(self, item: BoolArray | None) -> BatchJudge:
        key = b"" if item is None else item.tobytes()
        if key not in self._judges:
            layout = self.cell.layout
            codes = None if item is None else item.astype(np.int64).reshape(layout.blocks, layout.slots)
            self._judges[key] = BatchJudge(skeleton(layout, codes), self.rule)
        return self._judges[key]


class Judged(NamedTuple):
    """What was found on every contrast of every study; the last two axes are (contrasts, studies)."""

    estimate: FloatArray
    se: FloatArray
    df: FloatArray
    p: FloatArray
    own_p: FloatArray
    verdict: IntArray
    size: IntArray


def share_of(happened: BoolArray) -> FloatArray:
    """Share of the contrasts of each study."""
    return np.asarray(happened.mean(axis=0))


def anywhere(happened: BoolArray) -> FloatArray:
    """1 for studies where it happened to any contrast."""
    return happened.any(axis=0).astype(np.float64)


def _without_effects(found: Judged, effect: FloatArray) -> Iterator[tuple[str, FloatArray]]:
    treatments = len(effect) // SURFACES
    for name, p in (("false difference", found.p[0]), ("own pair", found.own_p)):
        yield name, share_of(p <= LEVEL + TOLERANCE)
        for treatment in range(treatments if treatments > 1 else 0):
            yield (
                f"{name}, treatment {treatment + 1}",
                share_of(p[treatment::treatments] <= LEVEL + TOLERANCE),
            )
    yield "any false difference", anywhere(np.isin(found.verdict, (HIGHER, LOWER)))
    yield "no test", share_of(np.isnan(found.p[0]))


def _with_some_effects(found: Judged, effect: FloatArray) -> Iterator[tuple[str, FloatArray]]:
    """Count a lower where there is nothing as the wrong direction: that of an effect just above nought."""
    claimed = np.isin(found.verdict, (HIGHER, LOWER))
    yield "any false difference beside real ones", anywhere(claimed & (effect == 0))
    yield "any wrong direction", anywhere(found.verdict == LOWER)


def _at_the_margin(found: Judged, effect: FloatArray) -> Iterator[tuple[str, FloatArray]]:
    missed = difference_p(found.estimate - effect, found.se, found.df) <= LEVEL
    known = (~np.isnan(found.se)).sum(axis=0)
    covered = np.full(len(known), np.nan)
    np.divide(known - missed.sum(axis=0), known, out=covered, where=known > 0)
    yield "coverage", covered
    yield "false alike", share_of(found.p[1] <= LEVEL + TOLERANCE)
    yield "false matters", share_of(found.p[2] <= LEVEL + TOLERANCE)
    yield "any false alike", anywhere(found.size == SMALL)
    yield "any false matters", anywhere(found.size == MATTERS)


SHARES = {"none": _without_effects, "some": _with_some_effects, "margin": _at_the_margin}
