"""The layouts whose promises are measured, each as launches without readings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.readings.launches import Factor, Launches
from evenglide.typing import IntArray

SURFACES = 4
LAUNCHES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Preparations in rounds, the same on every surface.

    Parameters
    ----------
    name : str
    blocks : int
        Rounds.
    of_each : int
        Preparations of each treatment in a round.
    treatments : int
    """

    name: str
    blocks: int
    of_each: int = 1
    treatments: int = 2

    @property
    def slots(self) -> int:
        """Preparations in a round."""
        return self.of_each * self.treatments

    @property
    def shape(self) -> tuple[int, int, int]:
        """Surfaces, rounds, preparations in a round."""
        return (SURFACES, self.blocks, self.slots)

    @property
    def treatment(self) -> IntArray:
        """Treatment of each preparation in a round."""
        return np.repeat(np.arange(self.treatments), self.of_each)


LAYOUTS = (
    Layout(name="2 pairs", blocks=2),
    Layout(name="3 pairs", blocks=3),
    Layout(name="6 pairs", blocks=6),
    Layout(name="10 pairs", blocks=10),
    Layout(name="3 x (2 + 2)", blocks=3, of_each=2),
    Layout(name="3 treatments, 4 rounds", blocks=4, treatments=3),
)


def skeleton(layout: Layout, item: IntArray | None = None) -> Launches:
    """Lay a layout out as launches.

    Parameters
    ----------
    layout : Layout
    item : array of int, shape (rounds, preparations in a round), optional
        Item of each preparation; without it items have no names.

    Returns
    -------
    Launches
        In the order surface, round, preparation, launch; readings are NaN.
    """
    surface, block, place, _ = np.indices((*layout.shape, LAUNCHES)).reshape(4, -1)
    rows = len(surface)
    preparation = (surface * layout.blocks + block) * layout.slots + place
    of_item = np.zeros(rows, dtype=np.int64) if item is None else item[block, place]
    return Launches(
        response="distance_m",
        unit="m",
        value=np.full(rows, np.nan),
        treatment=_factor("treatment", layout.treatment[place]),
        surface=_factor("surface", surface),
        block=_factor("round", block),
        item=_factor("slider", of_item, named=item is not None),
        preparation=_factor("preparation", preparation),
        direction=_factor("direction", np.zeros(rows, dtype=np.int64), named=False),
        mark=Factor(labels=("run-out",), codes=np.zeros(rows, dtype=np.int64), named=False),
        session=_factor("outing", np.zeros(rows, dtype=np.int64), named=False),
        order=None,
        void=np.zeros(rows, dtype=np.bool_),
        cause=("",) * rows,
        at_least=np.zeros(rows, dtype=np.bool_),
        row=np.arange(rows) + 2,
        shared=False,
        decimals=17,
    )


def _factor(word: str, codes: IntArray, *, named: bool = True) -> Factor:
    labels = tuple(f"{word} {code}" for code in range(int(codes.max()) + 1))
    return Factor(labels=labels, codes=np.asarray(codes, dtype=np.int64), named=named)
