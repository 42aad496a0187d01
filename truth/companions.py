"""What is reckoned beside the primary test: restricted maximum likelihood, and all orders of the draw."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from evenglide.maths.components import fit_component
from evenglide.maths.equivalence import difference_p
from evenglide.maths.mixed_design import mixed_design
from evenglide.maths.randomisation_chances import randomisation_chances
from evenglide.typing import BoolArray, FloatArray
from truth.layouts import LAUNCHES, Layout
from truth.troubles import Trouble


class Companions:
    """Companion tests of one cell, where every study has every launch and items have no names.

    Parameters
    ----------
    layout : Layout
    trouble : Trouble
    """

    def __init__(self, layout: Layout, trouble: Trouble) -> None:
        self._layout = layout
        self._whole = not (trouble.void or trouble.void_far or trouble.items)
        block, place, _ = np.indices((layout.blocks, layout.slots, LAUNCHES)).reshape(3, -1)
        treatment = layout.treatment[place][:, np.newaxis] == np.arange(1, layout.treatments)
        x = np.concatenate([block[:, np.newaxis] == np.arange(layout.blocks), treatment], axis=1)
        contrasts = np.eye(x.shape[1])[:, layout.blocks :]
        self._design = mixed_design(x.astype(np.float64), block * layout.slots + place, contrasts=contrasts)

    def __call__(self, readings: FloatArray, void: BoolArray | None) -> Iterator[tuple[str, FloatArray]]:
        """Yield the name of each test and its p values, shape (contrasts, studies).

        Parameters
        ----------
        readings : array of float, shape (launches, studies)
            Metres.
        void : array of bool, shape (launches, studies), or None

        Yields
        ------
        name : str
        p : array of float, shape (contrasts, studies)
        """
        if not self._whole or void is not None:
            return
        y = np.log(readings).reshape(self._layout.shape[0], -1, readings.shape[1])
        fits = [fit_component(self._design, of_surface) for of_surface in y]
        yield "reml", np.concatenate([difference_p(fit.estimate, fit.se, fit.df) for fit in fits])
        values = y.reshape(*self._layout.shape, LAUNCHES, -1).mean(axis=3)
        yield "all orders", np.stack([p for of_surface in values for p in self._over_all_orders(of_surface)])

    def _over_all_orders(self, values: FloatArray) -> Iterator[FloatArray]:
        """Randomisation p of each treatment against the reference; `values` of (rounds, slots, studies)."""
        for treatment in range(1, self._layout.treatments):
            pair = np.flatnonzero(np.isin(self._layout.treatment, (0, treatment)))
            labelled = np.tile(self._layout.treatment[pair] == treatment, self._layout.blocks)
            block = np.repeat(np.arange(self._layout.blocks), len(pair))
            yield randomisation_chances(values[:, pair].reshape(len(block), -1), labelled, block=block)
