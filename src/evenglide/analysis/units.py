"""The units that a verdict rests on: preparations, or items where a treatment never leaves its item.

Every test of a surface starts from the same `Units`, so that what counts as one independent try is
decided in one place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from evenglide.errors import Problem, TableError
from evenglide.maths.blocks import group_sums
from evenglide.maths.means import SweptDesign, swept_design
from evenglide.readings.launches import Factor
from evenglide.readings.observations import Observations
from evenglide.typing import BoolArray, FloatArray, IntArray

MOST_ITEMS = 1000
"""Pieces of gear that can be taken out as columns; a table with more names something else as item."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """Independent tries on one surface.

    Parameters
    ----------
    value : array of float, shape (n,) or (n, studies)
        Analysis scale, less the observations' origin; a column for each study where several of one
        layout are judged side by side.
    rounding : float or array of float, shape (studies,)
        Rounding error carried by a value.
    treatment, block : array of int, shape (n,)
        Codes of the table.
    item : array of int, shape (n,), or None
        Codes where item differences are taken out as columns, else None.
    preparation : array of int, shape (n,)
        Code of the preparation (of the first one, where the item is the unit).
    identity : array of int, shape (n,)
        What the unit is on every surface: the code of its preparation or, below nought so that the two
        never mix, of its item.
    treatments, items : int
        Number of levels.
    order : array of float, shape (n,), or None
        Mean rank of the launches behind each unit.
    item_is_unit : bool
        Preparations of one item were averaged.
    """

    value: FloatArray
    rounding: float | FloatArray
    treatment: IntArray
    block: IntArray
    item: IntArray | None
    preparation: IntArray
    identity: IntArray
    treatments: int
    items: int
    order: FloatArray | None
    item_is_unit: bool

    @property
    def columns(self) -> FloatArray:
        """Values with one column for each study, shape (n, studies)."""
        return self.value if self.value.ndim > 1 else self.value[:, np.newaxis]

    def take(self, keep: BoolArray) -> Units:
        """Return the units where `keep` is true."""
        return replace(
            self,
            value=self.value[keep],
            treatment=self.treatment[keep],
            block=self.block[keep],
            item=None if self.item is None else self.item[keep],
            preparation=self.preparation[keep],
            identity=self.identity[keep],
            order=None if self.order is None else self.order[keep],
        )


def units_of(observations: Observations, *, treatments: int, item: Factor) -> Units:
    """Decide what counts as one try on a surface.

    Items enter as columns whenever they are named and differ inside a block. Where every item
    carries one treatment only, the difference between treatments and that between items cannot be
    told apart inside an item: the item is the unit and its preparations are averaged.

    Parameters
    ----------
    observations : Observations
    treatments : int
        Number of treatments in the table.
    item : Factor
        The item column of the table.

    Returns
    -------
    Units

    Raises
    ------
    TableError
        With more than `MOST_ITEMS` items to take out as columns.
    """
    units = Units(
        value=observations.value,
        rounding=observations.rounding,
        treatment=observations.treatment,
        block=observations.block,
        item=observations.item,
        preparation=observations.preparation,
        identity=observations.preparation,
        treatments=treatments,
        items=len(item.labels),
        order=observations.order,
        item_is_unit=False,
    )
    if item.named and item_carries_one_treatment(units.treatment, observations.item):
        return _items_as_units(units, observations.item)
    if not (item.named and _differs_within(observations.item, observations.block)):
        return replace(units, item=None)
    met = len(np.unique(observations.item))
    if met > MOST_ITEMS:
        raise TableError([_too_many_items(met)])
    return units


def design_of(units: Units, columns: FloatArray | None = None) -> SweptDesign:
    """Blocks swept out, columns for treatments, for items where they count, and for covariates."""
    factors = [(units.treatment, units.treatments)]
    if units.item is not None:
        met, dense = np.unique(units.item, return_inverse=True)
        factors.append((dense, max(1, len(met))))
    return swept_design(units.block, factors, columns)


def item_carries_one_treatment(treatment: IntArray, item: IntArray) -> bool:
    """Whether no item was met with two treatments, though two treatments were met."""
    if len(np.unique(treatment)) < 2:
        return False
    return not _differs_within(treatment, item)


def _differs_within(codes: IntArray, group: IntArray) -> bool:
    """Whether `codes` takes two values inside some group."""
    pairs = np.unique(np.stack([group, codes]), axis=1)
    return bool(pairs.shape[1] > len(np.unique(group)))


def _too_many_items(met: int) -> Problem:
    return Problem(
        code="too-many-items",
        where="--item",
        found=f"{met:,} pieces of gear that change inside rounds",
        expected=f"at most {MOST_ITEMS:,}",
        remedy="Name the column that says which board, sled or ski it was, not one that counts launches.",
    )


def _items_as_units(units: Units, item: IntArray) -> Units:
    """Average the preparations of each item; blocks that share an item become one."""
    block = _merge_blocks(units.block, item)
    by_preparation = np.argsort(units.preparation)  # the first one stands for an item
    _, first, dense = np.unique(item[by_preparation], return_index=True, return_inverse=True)
    first = by_preparation[first]
    dense = dense[np.argsort(by_preparation)]
    size = np.bincount(dense)

    def average(x: FloatArray) -> FloatArray:
        sums = group_sums(x if x.ndim > 1 else x[:, np.newaxis], dense)
        return (sums / size[:, np.newaxis]).reshape(len(size), *x.shape[1:])

    return replace(
        units,
        value=average(units.value),
        treatment=units.treatment[first],
        block=block[first],
        item=None,
        preparation=units.preparation[first],
        identity=-1 - item[first],
        order=None if units.order is None else average(units.order),
        item_is_unit=True,
    )


def _merge_blocks(block: IntArray, item: IntArray) -> IntArray:
    """Label blocks by connected component, two blocks being joined when an item stands in both."""
    label = block.copy()
    while True:
        lowest_of_item = np.full(int(item.max(initial=0)) + 1, np.iinfo(np.int64).max)
        np.minimum.at(lowest_of_item, item, label)
        lowest_of_block = np.full(int(block.max(initial=0)) + 1, np.iinfo(np.int64).max)
        np.minimum.at(lowest_of_block, block, lowest_of_item[item])
        merged = lowest_of_block[block]
        if np.array_equal(merged, label):
            return merged
        label = merged
