"""Randomisation test and interval by plain enumeration and dense least squares, for the tests."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import numpy as np


def orders(z: np.ndarray, block: np.ndarray) -> Iterator[np.ndarray]:
    """Every order with the block counts of `z`, from itertools alone."""
    choices = []
    for b in np.unique(block):
        units = np.flatnonzero(block == b)
        choices.append(list(itertools.combinations(units, int(z[units].sum()))))
    for chosen in itertools.product(*choices):
        order = np.zeros(len(z), dtype=bool)
        order[list(itertools.chain.from_iterable(chosen))] = True
        yield order


def nuisance(block: np.ndarray, item: np.ndarray | None) -> np.ndarray:
    """Dense indicator columns of blocks and items."""
    columns = [block == b for b in np.unique(block)]
    columns += [] if item is None else [item == i for i in np.unique(item)]
    return np.array(columns, dtype=float).T


def weights(z: np.ndarray, block: np.ndarray, item: np.ndarray | None) -> np.ndarray | None:
    """Weights of the values in the coefficient of z; None where z lies in the span of the other columns."""
    others = nuisance(block, item)
    if np.linalg.matrix_rank(np.column_stack([others, z])) == np.linalg.matrix_rank(others):
        return None
    return np.linalg.pinv(np.column_stack([z, others]))[0]


class Brute:
    """All orders of one design with their weights; the observed one is `z`."""

    def __init__(self, z: np.ndarray, block: np.ndarray, item: np.ndarray | None = None) -> None:
        counted = [(order, weights(order, block, item)) for order in orders(z, block)]
        self.orders = np.array([order for order, row in counted if row is not None])
        self.rows = np.array([row for _, row in counted if row is not None])
        self.z = z.astype(float)
        self.own = weights(z, block, item)

    def p(self, y: np.ndarray) -> float:
        """Share of orders at least as extreme as the observed one."""
        statistic, observed = np.abs(self.rows @ y), abs(float(self.own @ y))
        return float(np.mean(statistic >= observed - 1e-9 * np.abs(y - y.mean()).max()))

    def limit(self, y: np.ndarray, *, level: float, side: int, reach: float = 1e6) -> float | None:
        """Outermost shift on one side of the estimate that is not rejected, by bisection of p."""
        inside = float(self.own @ y)
        outside = inside + side * reach
        if self.p(y - outside * self.z) > level:
            return None
        for _ in range(80):
            middle = (inside + outside) / 2
            if self.p(y - middle * self.z) > level:
                inside = middle
            else:
                outside = middle
        return (inside + outside) / 2

    def overlaps(self) -> np.ndarray:
        """Coefficient of every order when the values are the observed order."""
        return self.rows @ self.z
