"""Published data sets as columns, groupings and contrasts of mixed models, and their values from outside."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.typing import FloatArray, IntArray
from tests.reference_data import columns, published


@dataclass(frozen=True)
class Laid:
    x: FloatArray
    names: tuple[str, ...]
    groups: tuple[IntArray, ...]
    y: FloatArray


def codes(values: list[str]) -> IntArray:
    return np.unique(values, return_inverse=True)[1]


def indicators(values: list[str], name: str) -> dict[str, FloatArray]:
    """Columns of every level but the first."""
    return {f"{name}{level}": np.equal(values, level).astype(float) for level in sorted(set(values))[1:]}


def crossed(*factors: dict[str, FloatArray]) -> dict[str, FloatArray]:
    """Columns of factors and of all their interactions, named as R names them."""
    found: dict[str, FloatArray] = {}
    for factor in factors:
        products = {f"{a}:{b}": found[a] * factor[b] for a in found for b in factor}
        found = {**found, **factor, **products}
    return found


def laid(name: str) -> Laid:
    """Columns, groupings and readings of one of the models in ``mixed_models.json``."""
    model = published("mixed_models")["models"][name]
    table = columns(model["data"])
    keep = np.delete(np.arange(len(next(iter(table.values())))), [row - 1 for row in model["left_out"]])
    table = {key: [values[row] for row in keep] for key, values in table.items()}
    fixed = crossed(*(indicators(table[one], one) for one in model["crossed"]))
    for one in model["fixed"]:
        fixed |= indicators(table[one], one)
    x = {"(Intercept)": np.ones(len(keep)), **fixed}
    groups = [
        codes([" ".join(parts) for parts in zip(*(table[one] for one in group), strict=True)])
        for group in model["groups"]
    ]
    y = np.array([float(value) for value in table[model["response"]]])
    return Laid(x=np.column_stack(list(x.values())), names=tuple(x), groups=tuple(groups), y=y)


def contrasts(table: Laid, terms: list[str]) -> FloatArray:
    """One column per term; ``"recipeB on average"`` averages over the levels that it interacts with."""
    found = np.zeros((len(table.names), len(terms)))
    for place, term in enumerate(terms):
        name = term.removesuffix(" on average")
        found[table.names.index(name), place] = 1.0
        if name != term:
            inside = [row for row, other in enumerate(table.names) if other.startswith(f"{name}:")]
            found[inside, place] = 1.0 / (len(inside) + 1)
    return found
