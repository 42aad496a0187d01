"""Where the scatter on a surface comes from: preparations, or their launches."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.analysis.case import SurfaceCase
from evenglide.analysis.variants import cells_of


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitScatter:
    """The residual of the primary test, split in two.

    Parameters
    ----------
    residual : float
        Variance of a preparation's value; its degrees of freedom are those of the test.
    df : int
        Of the test, at least 1.
    launches : float or None
        Variance of launches on one preparation; None if no preparation has two launches in a direction, or
        pieces of gear are what counts.
    launches_df : int
    added : float or None
        What launches add to `residual`: their variance over their number.
    """

    residual: float
    df: int
    launches: float | None
    launches_df: int
    added: float | None

    @property
    def preparations(self) -> float | None:
        """Variance between preparations as estimated; below nought if launches explain more."""
        return None if self.added is None else self.residual - self.added


def split_scatter(case: SurfaceCase) -> SplitScatter | None:
    """Split the residual of the primary test into what launches add and what preparations do.

    Moment estimate: a preparation's value carries the variance between preparations and that of its
    launches over their number.

    Parameters
    ----------
    case : SurfaceCase

    Returns
    -------
    SplitScatter or None
        None without degrees of freedom.
    """
    if case.test.design.df <= 0:
        return None
    residual = float(case.test.fit.residual_variance[0])
    launches, df = launch_variance(case)
    if launches is None or case.units.item_is_unit:
        return SplitScatter(
            residual=residual, df=case.test.design.df, launches=None, launches_df=0, added=None
        )
    return SplitScatter(
        residual=residual,
        df=case.test.design.df,
        launches=launches,
        launches_df=df,
        added=launches * float(np.mean(1 / case.observations.launches)),
    )


def launch_variance(case: SurfaceCase) -> tuple[float | None, int]:
    """Variance of launches within preparations and directions, pooled, with its degrees of freedom.

    Parameters
    ----------
    case : SurfaceCase

    Returns
    -------
    variance : float or None
        None without degrees of freedom.
    df : int
    """
    cells = cells_of(case)
    df = len(cells.rows) - len(cells.size)
    return (None, 0) if df <= 0 else (float(cells.deviation @ cells.deviation) / df, df)
