"""How often something happened, with the error that the number of studies leaves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.typing import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Sums:
    """Number of studies, and sums of a share and of its square over them.

    A share is between 0 and 1: of the comparisons of one study, those where something happened. Studies
    are independent, comparisons of one study need not be, so the study is what the error counts.
    """

    studies: int
    total: float
    squares: float

    def __add__(self, other: Sums) -> Sums:
        return Sums(
            studies=self.studies + other.studies,
            total=self.total + other.total,
            squares=self.squares + other.squares,
        )

    @property
    def rate(self) -> float:
        """Mean share; NaN without studies."""
        return self.total / self.studies if self.studies else float("nan")

    @property
    def error(self) -> float:
        """Standard error of the rate; that of one study more if it never or always happened."""
        if not self.studies:
            return float("nan")
        variance = max(0.0, self.squares / self.studies - self.rate**2)
        return float(np.sqrt((variance or 1 / self.studies) / self.studies))


NOTHING = Sums(studies=0, total=0.0, squares=0.0)


def sums_of(share: FloatArray) -> Sums:
    """Add up shares of studies, shape (studies,); NaN leaves a study out."""
    known = share[~np.isnan(share)]
    return Sums(studies=len(known), total=float(known.sum()), squares=float(known @ known))
