"""Preparations, least squares and outliers once more, in loops and dense matrices.

Slow, plain, and written without a look at the package: what whole answers are held against.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean
from typing import Any

import numpy as np
from scipy import stats

from tests.tables import Columns

LABELS = ("block", "item", "treatment", "preparation")


@dataclass(frozen=True, kw_only=True)
class Made:
    """One preparation on one surface."""

    treatment: str
    block: str
    item: str
    label: str
    value: float
    order: float


@dataclass(frozen=True, kw_only=True)
class Fit:
    """One contrast by least squares."""

    estimate: float
    se: float
    df: int

    @property
    def p(self) -> float:
        return 2 * float(stats.t.sf(abs(self.estimate) / self.se, self.df))


def lines_of(table: Columns) -> list[dict[str, Any]]:
    """Rows as dictionaries, with the rank of the order over the whole table."""
    rows = [dict(zip(table, line, strict=True)) for line in zip(*table.values(), strict=True)]
    ranks = stats.rankdata(table["order"]) - 1 if "order" in table else [math.nan] * len(rows)
    for row, rank in zip(rows, ranks, strict=True):
        row["rank"] = float(rank)
    return rows


def preparations(
    table: Columns, surface: str | None = None, *, scale: str = "ratio", timed: bool = False
) -> list[Made]:
    """Reduce the valid launches on one surface to one value per preparation."""
    groups: dict[tuple[str, ...], list[dict[str, Any]]] = {}
    ways: set[str] = set()
    for row in lines_of(table):
        if surface is None or row["surface"] == surface:
            ways.add(row.get("direction", ""))
            key = tuple(str(row.get(name, "")) for name in LABELS)
            groups.setdefault(key, []).append(row)
    made = []
    for (block, item, treatment, label), rows in groups.items():
        valid = [row for row in rows if not row.get("void")]
        by_way = [
            [float(row["response"]) for row in valid if row.get("direction", "") == way]
            for way in sorted(ways)
        ]
        if all(by_way):
            made.append(
                Made(
                    treatment=treatment,
                    block=block,
                    item=item,
                    label=label,
                    value=value_of(by_way, scale=scale, timed=timed),
                    order=fmean(row["rank"] for row in valid),
                )
            )
    return made


def value_of(by_way: list[list[float]], *, scale: str, timed: bool) -> float:
    """One preparation's value: mean of logs or readings, decelerations averaged over two directions."""
    if len(by_way) == 1:
        (readings,) = by_way
        return fmean(map(math.log, readings)) if scale == "ratio" else fmean(readings)
    if timed:
        mean = fmean(map(fmean, by_way))
        return math.log(mean) if scale == "ratio" else mean
    if scale == "ratio":
        there, back = (math.exp(fmean(map(math.log, readings))) for readings in by_way)
        return math.log(2 / (1 / there + 1 / back))
    there, back = map(fmean, by_way)
    return 2 / (1 / there + 1 / back)


def indicators(labels: list[str], *, drop: str | None = None) -> np.ndarray:
    """Indicator columns of the labels in order of appearance, without one of them."""
    levels = [label for label in dict.fromkeys(labels) if label != drop]
    return np.array([[float(label == level) for level in levels] for label in labels])


def design(made: list[Made], reference: str, *, items: bool, extra: np.ndarray | None = None) -> np.ndarray:
    """Blocks, treatments but the reference, items but the first, further columns."""
    parts = [indicators([each.treatment for each in made], drop=reference)]
    parts.append(indicators([each.block for each in made]))
    if items:
        parts.append(indicators([each.item for each in made], drop=made[0].item))
    if extra is not None:
        parts.append(extra.reshape(len(made), -1))
    return np.column_stack([part for part in parts if part.size])


def dense(
    made: list[Made],
    reference: str,
    treatment: str,
    *,
    items: bool = True,
    extra: np.ndarray | None = None,
    values: list[float] | None = None,
) -> Fit:
    """Least squares of a treatment against the reference on all preparations."""
    x = design(made, reference, items=items, extra=extra)
    y = np.array([each.value for each in made] if values is None else values)
    levels = [label for label in dict.fromkeys(each.treatment for each in made) if label != reference]
    c = np.zeros(x.shape[1])
    c[levels.index(treatment)] = 1.0
    assert np.linalg.matrix_rank(np.vstack([x, c])) == np.linalg.matrix_rank(x), "no such contrast"
    b = np.linalg.lstsq(x, y, rcond=None)[0]
    df = len(y) - int(np.linalg.matrix_rank(x))
    variance = float(((y - x @ b) ** 2).sum() / df)
    spread = float(c @ np.linalg.pinv(x.T @ x) @ c)
    return Fit(estimate=float(c @ b), se=math.sqrt(variance * spread), df=df)


def omnibus(made: list[Made], reference: str, *, items: bool = True) -> tuple[float, int, int]:
    """F of all treatments from the residuals with and without them, and its degrees of freedom."""
    full = design(made, reference, items=items)
    treatments = len({each.treatment for each in made}) - 1
    y = np.array([each.value for each in made])
    squares = []
    for x in (full[:, treatments:], full):
        rest = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
        squares.append((float(rest @ rest), int(np.linalg.matrix_rank(x))))
    (less, small), (more, large) = squares
    df = (large - small, len(y) - large)
    return (less - more) / df[0] / (more / df[1]), *df


def esd_outliers(table: Columns, surface: str, *, level: float = 0.05, share: float = 0.1) -> list[int]:
    """Rows that the generalised ESD procedure (Rosner 1983) calls outliers, on logs within preparations."""
    rows = [
        (index, row)
        for index, row in enumerate(lines_of(table))
        if row["surface"] == surface and not row.get("void")
    ]
    groups: dict[tuple[str, ...], list[float]] = {}
    for _, row in rows:
        groups.setdefault(cell_of(row), []).append(math.log(row["response"]))
    left = {
        index: (math.log(row["response"]) - fmean(mine)) / math.sqrt(1 - 1 / len(mine))
        for index, row in rows
        if len(mine := groups[cell_of(row)]) > 1
    }
    removed: list[int] = []
    found = 0
    for number in range(1, int(share * len(rows)) + 1):
        n = len(left)
        mean, sd = fmean(left.values()), float(np.std(list(left.values()), ddof=1))
        worst = max(left, key=lambda index: abs(left[index] - mean))
        deviate = abs(left.pop(worst) - mean) / sd
        removed.append(worst)
        t = float(stats.t.ppf(1 - level / (2 * n), n - 2))
        if deviate > (n - 1) * t / math.sqrt(n * (n - 2 + t * t)):
            found = number
    return removed[:found]


def cell_of(row: dict[str, Any]) -> tuple[str, ...]:
    """Preparation and direction of a launch."""
    return tuple(str(row.get(name, "")) for name in (*LABELS, "direction"))
