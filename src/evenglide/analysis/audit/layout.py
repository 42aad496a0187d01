"""Audit of the layout: which preparations, in which rounds, on which gear."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.maths.distributions import f_survival
from evenglide.readings.launches import Launches
from evenglide.show.notes import AuditEntry, audit_entry
from evenglide.typing import IntArray, Severity

SPREAD_P = 0.05
"""An F ratio of scatters that chance alone gives once in twenty tables."""
FEW_DF = 5
"""At five degrees of freedom a 95 % interval is a third wider than with many."""
VERY_FEW_DF = 2
"""At two, the scatter itself is known to a factor of six only."""
FEW_ITEMS = 4
"""Pieces of gear from which nobody would speak of all gear of its kind."""
SPREAD_LEAST = 3
"""Preparations of a treatment from which its scatter is read: from two it is known to a factor of 30."""


def audit_layout(launches: Launches, cases: Sequence[SurfaceCase]) -> Iterator[AuditEntry]:
    """Yield what the layout of a table cannot support."""
    if not launches.preparation.named:
        yield audit_entry("rows-as-preparations", severity="limits" if _rows_repeat(launches) else "warns")
    if not launches.block.named:
        yield audit_entry("no-blocks")
    for case in cases:
        yield from _audit_surface(case)


def _audit_surface(case: SurfaceCase) -> Iterator[AuditEntry]:
    launches = case.launches
    surface = launches.surface.labels[case.surface] if launches.surface.named else None
    met = np.unique(case.observations.treatment).tolist()
    missing = [name for code, name in enumerate(launches.treatment.labels) if code not in met]
    if missing:
        place = surface or "the surface"
        yield audit_entry("treatment-missing", surface=surface, treatments=_were(missing), place=place)
    if case.units.item_is_unit:
        yield audit_entry("item-is-treatment", surface=surface, item="item", count=len(case.units.value))
    counts = np.bincount(case.units.treatment, minlength=len(launches.treatment.labels))
    alone = tuple(name for name, count in zip(launches.treatment.labels, counts, strict=True) if count == 1)
    if alone:
        yield audit_entry("one-preparation-each", surface=surface, treatments=" and one of ".join(alone))
    yield from _broken_blocks(case, surface)
    yield from _unequal_spread(case, surface, counts)
    if len(case.observations.one_direction):
        yield audit_entry("one-direction", surface=surface, count=len(case.observations.one_direction))
    if len(case.observations.no_two_way):
        yield audit_entry("no-two-way-value", surface=surface, count=len(case.observations.no_two_way))
    yield from _few_preparations(case, surface)
    yield from _few_items(case, surface)
    valid = case.observations.launches
    if valid.size and valid.min() < valid.max():
        least, most = int(valid.min()), int(valid.max())
        yield audit_entry("unequal-launches", surface=surface, least=least, most=most)


def _rows_repeat(launches: Launches) -> bool:
    """Whether several rows share treatment, item, round and surface: launches of one coat, perhaps."""
    factors = (launches.surface, launches.block, launches.item, launches.treatment)
    cells = np.stack([factor.codes[~launches.void] for factor in factors])
    return bool(np.unique(cells, axis=1).shape[1] < cells.shape[1])


def _broken_blocks(case: SurfaceCase, surface: str | None) -> Iterator[AuditEntry]:
    """Rounds that hold a single treatment."""
    if not case.launches.block.named:
        return
    block, treatment = case.observations.block, case.observations.treatment
    blocks, treatments_in = np.unique(np.unique(np.stack([block, treatment]), axis=1)[0], return_counts=True)
    broken = blocks[treatments_in == 1]
    if broken.size:
        names = tuple(case.launches.block.labels[code] for code in broken[:10])
        names += ("...",) if broken.size > len(names) else ()
        count, of = int(broken.size), int(blocks.size)
        yield audit_entry("blocks-broken", surface=surface, count=count, blocks=of, names=names)


def _unequal_spread(case: SurfaceCase, surface: str | None, counts: IntArray) -> Iterator[AuditEntry]:
    """Scatter that differs between treatments. Pairs are immune: each difference holds one of both."""
    units = case.units
    met = np.flatnonzero(counts)
    pairs = met.size == 2 and (np.unique(units.block, return_counts=True)[1] == 2).all()
    readable = np.flatnonzero(counts >= SPREAD_LEAST)
    if pairs or readable.size < 2:
        return
    spread = {int(code): float(units.value[units.treatment == code].std(ddof=1)) for code in readable}
    wide, narrow = max(spread, key=spread.__getitem__), min(spread, key=spread.__getitem__)
    if spread[narrow] <= 0:
        return
    ratio = spread[wide] / spread[narrow]
    p = 2 * float(f_survival(ratio**2, float(counts[wide] - 1), float(counts[narrow] - 1)))
    if p <= SPREAD_P:
        labels = case.launches.treatment.labels
        yield audit_entry(
            "spread-unequal", surface=surface, wide=labels[wide], narrow=labels[narrow], times=ratio, p=p
        )


def _few_preparations(case: SurfaceCase, surface: str | None) -> Iterator[AuditEntry]:
    """Few degrees of freedom, or a scatter of nought, for the scatter that everything is held against."""
    df = case.test.design.df
    if df > 0 and float(case.test.fit.residual_variance[0]) == 0.0:
        yield audit_entry("no-scatter", surface=surface)
    elif 0 < df <= FEW_DF:
        severity: Severity = "limits" if df <= VERY_FEW_DF else "warns"
        yield audit_entry("few-preparations", surface=surface, severity=severity, df=df)


def _few_items(case: SurfaceCase, surface: str | None) -> Iterator[AuditEntry]:
    """Gear that differs is taken out piece by piece, so the answer is about these pieces."""
    if case.units.item is None:
        return
    items = np.unique(case.units.item)
    if items.size <= FEW_ITEMS:
        names = tuple(case.launches.item.labels[code] for code in items)
        yield audit_entry("these-items-only", surface=surface, count=int(items.size), names=names)


def _were(names: Sequence[str]) -> str:
    return f"{names[0]} is" if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]} are"
