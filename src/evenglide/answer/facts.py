"""Counts, means and scatter of each treatment on a surface, as the answer states them."""

from __future__ import annotations

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.variants import cells_of
from evenglide.answer.results import Omnibus, Scatter, TreatmentFacts
from evenglide.maths.distributions import f_survival


def treatment_facts(case: SurfaceCase) -> tuple[TreatmentFacts, ...]:
    """State each treatment of the table on one surface, the reference first; zeros where not launched."""
    return tuple(_facts(case, code) for code in range(len(case.launches.treatment.labels)))


def omnibus_of(case: SurfaceCase) -> Omnibus | None:
    """F test of all treatments together, or None where it cannot be had."""
    result = case.test.omnibus()
    if result is None:
        return None
    f, df = result
    return Omnibus(f=f, df=df, p=float(f_survival(f, *df)))


def scatter_on(case: SurfaceCase) -> Scatter | None:
    """Split the residual of the primary test into what launches add and what preparations do.

    Moment estimate: a preparation's value carries the variance between preparations and that of its
    launches over their number. None without degrees of freedom.
    """
    if case.test.design.df <= 0:
        return None
    variance = float(case.test.fit.residual_variance[0])
    cells = cells_of(case)
    df = len(cells.rows) - len(cells.size)
    if df <= 0 or case.units.item_is_unit:
        return Scatter(residual=variance**0.5, preparations=None, launches=None, share_of_launches=None)
    launch_variance = float(cells.deviation @ cells.deviation) / df
    added = launch_variance * float(np.mean(1 / case.observations.launches))
    return Scatter(
        residual=variance**0.5,
        preparations=max(0.0, variance - added) ** 0.5,
        launches=launch_variance**0.5,
        share_of_launches=added / variance if variance > 0 else None,
    )


def _facts(case: SurfaceCase, code: int) -> TreatmentFacts:
    launches, observations = case.launches, case.observations
    rows = case.rows[launches.treatment.codes[case.rows] == code]
    valid = rows[~launches.void[rows]]
    values = observations.value[observations.treatment == code]
    mean = None
    if values.size:
        centre = float(values.mean()) + observations.origin
        mean = float(np.exp(centre)) if case.scale == "ratio" else centre
    return TreatmentFacts(
        treatment=launches.treatment.labels[code],
        reference=code == 0,
        preparations=int(values.size),
        launches=int(valid.size),
        voids=int(rows.size - valid.size),
        at_least=int(launches.at_least[valid].sum()),
        mean=mean,
        sd_preparations=float(values.std(ddof=1)) if values.size > 1 else None,
        sd_launches=launch_scatter_of(case, code),
    )


def launch_scatter_of(case: SurfaceCase, code: int) -> float | None:
    """Standard deviation of launches within preparations (and directions), pooled over one treatment."""
    cells = cells_of(case)
    mine = case.launches.treatment.codes[cells.rows] == code
    df = int(mine.sum()) - len(np.unique(cells.cell[mine]))
    if df <= 0:
        return None
    deviation = cells.deviation[mine]
    return float(np.sqrt(deviation @ deviation / df))
