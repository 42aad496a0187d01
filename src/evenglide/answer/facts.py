"""Counts, means and scatter of each treatment on a surface, as the answer states them."""

from __future__ import annotations

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.scatter import split_scatter
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
    """State where the scatter comes from; None without degrees of freedom."""
    split = split_scatter(case)
    if split is None:
        return None
    residual = split.residual**0.5
    if split.launches is None or split.preparations is None or split.added is None:
        return Scatter(residual=residual, preparations=None, launches=None, share_of_launches=None)
    return Scatter(
        residual=residual,
        preparations=max(0.0, split.preparations) ** 0.5,
        launches=split.launches**0.5,
        share_of_launches=split.added / split.residual if split.residual > 0 else None,
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
