"""Readings of many studies of one layout under one trouble, every study with a random order of its own.

All arrays hold one column for each study. On the scale of natural logarithms a launch reads

    log(6 m) + round + preparation + time + item + launch + effect

where a preparation's own part goes with its treatment, and what belongs to time and item goes with the
slot that the draw gave it. Preparations of a round follow each other in time, which is the worst case.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from evenglide.typing import BoolArray, FloatArray, IntArray
from truth.layouts import LAUNCHES, Layout
from truth.troubles import LAUNCH_SD, Trouble

USUAL_M = 6.0
ROUND_SD = 0.1
OUTLIER_SDS = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """Studies without an effect.

    Parameters
    ----------
    layout : Layout
    trouble : Trouble
    log_distance : array of float, shape (launches, studies)
        Natural logarithm of metres, in the order of the layout's skeleton.
    item : array of int, shape (rounds, preparations in a round, studies), or None
        Where items are named.
    void : array of bool, shape (launches, studies), or None
        Set aside whatever the launch showed.
    lost : array of bool, shape (launches, studies), or None
        Would be set aside beyond the end of the lane.
    """

    layout: Layout
    trouble: Trouble
    log_distance: FloatArray
    item: IntArray | None
    void: BoolArray | None
    lost: BoolArray | None

    def observed(self, effect: FloatArray) -> tuple[FloatArray, BoolArray | None]:
        """Readings and voids under an effect.

        Parameters
        ----------
        effect : array of float, shape (surfaces, treatments)
            Natural logarithms; 0 for the reference.

        Returns
        -------
        readings : array of float, shape (launches, studies)
            Metres.
        void : array of bool, shape (launches, studies), or None
        """
        of_launch = np.broadcast_to(
            effect[:, np.newaxis, self.layout.treatment, np.newaxis], (*self.layout.shape, LAUNCHES)
        ).reshape(-1, 1)
        readings = np.exp(self.log_distance + of_launch)
        if self.trouble.step:
            readings = np.round(readings / self.trouble.step) * self.trouble.step
        if self.lost is None:
            return readings, self.void
        best = np.maximum(effect.max(axis=1), 0.0)
        end = USUAL_M * np.exp(np.repeat(best, len(readings) // len(best)) + LAUNCH_SD)
        return readings, self.lost & (readings > end[:, np.newaxis])


def preparation_sd(trouble: Trouble) -> float:
    """Standard deviation of a preparation's value, launches included, natural logarithms."""
    return float(LAUNCH_SD * np.sqrt(trouble.ratio + 1 / LAUNCHES))


def draw(layout: Layout, trouble: Trouble, *, rng: np.random.Generator, studies: int) -> Draw:
    """Draw studies without an effect.

    Parameters
    ----------
    layout : Layout
    trouble : Trouble
    rng : numpy.random.Generator
    studies : int

    Returns
    -------
    Draw
    """
    shape = (*layout.shape, studies)
    slot = _slots(layout, trouble, rng=rng, studies=studies)
    value = np.log(USUAL_M) + _preparations(layout, trouble, rng=rng, studies=studies)
    value += _over_time(layout, trouble, rng=rng, slot=slot)
    rounds = ROUND_SD * rng.standard_normal((*shape[:2], 1, studies))
    if trouble.void_far:
        rounds[...] = 0.0  # the end of the lane is a place, and rounds would move what reaches it
    value += rounds
    if trouble.items:
        value += trouble.items * (slot % 2 - 0.5)
    y = LAUNCH_SD * rng.standard_normal((*shape[:3], LAUNCHES, studies))
    y += value[:, :, :, np.newaxis]
    if trouble.outliers:
        struck = rng.random(y.shape) < trouble.outliers
        y += LAUNCH_SD * OUTLIER_SDS * struck * np.where(rng.random(y.shape) < 0.5, -1.0, 1.0)
    if trouble.wear:
        y -= trouble.wear * np.arange(LAUNCHES)[:, np.newaxis]
    y = y.reshape(-1, studies)
    return Draw(
        layout=layout,
        trouble=trouble,
        log_distance=y,
        item=slot[0] % 2 if trouble.items else None,
        void=rng.random(y.shape) < trouble.void if trouble.void else None,
        lost=rng.random(y.shape) < trouble.void_far if trouble.void_far else None,
    )


def _slots(layout: Layout, trouble: Trouble, *, rng: np.random.Generator, studies: int) -> IntArray:
    """Slot of each preparation, drawn within rounds, shape (surfaces, rounds, preparations, studies)."""
    one_draw = bool(trouble.items or trouble.together)  # for all surfaces
    shape = (1 if one_draw else layout.shape[0], *layout.shape[1:], studies)
    slot = rng.random(shape).argsort(axis=2)
    while trouble.items and (stuck := _on_one_item(slot)).any():  # such orders are never drawn by a plan
        slot[..., stuck] = rng.random((*shape[:3], int(stuck.sum()))).argsort(axis=2)
    return np.broadcast_to(slot, (*layout.shape, studies))


def _on_one_item(slot: IntArray) -> BoolArray:
    """Whether the reference stays on one item throughout, study by study."""
    item = slot[0, :, 0] % 2
    return np.asarray((item == item[:1]).all(axis=0)) & (slot.shape[2] == 2)


def _preparations(layout: Layout, trouble: Trouble, *, rng: np.random.Generator, studies: int) -> FloatArray:
    """What each preparation adds of its own, shape (surfaces, rounds, preparations, studies)."""
    if trouble.memory:
        return np.zeros((*layout.shape, studies))
    own = rng.standard_normal((*layout.shape, studies))
    if trouble.together:
        common = rng.standard_normal((1, *layout.shape[1:], studies))
        own = np.sqrt(trouble.together) * common + np.sqrt(1 - trouble.together) * own
    spread = np.array(trouble.spread)[layout.treatment]
    return np.asarray(LAUNCH_SD * np.sqrt(trouble.ratio) * spread[:, np.newaxis] * own)


def _over_time(layout: Layout, trouble: Trouble, *, rng: np.random.Generator, slot: IntArray) -> FloatArray:
    """What the time of a preparation adds, shape (surfaces, rounds, preparations, studies)."""
    surfaces, blocks, slots, studies = slot.shape
    time = np.arange(blocks)[:, np.newaxis, np.newaxis] * slots + slot
    if trouble.drift:
        return np.asarray(trouble.drift * preparation_sd(trouble) * (time - (blocks * slots - 1) / 2))
    if not trouble.memory:
        return np.zeros(1)
    series = rng.standard_normal((surfaces, blocks * slots, studies))
    for place in range(1, blocks * slots):
        series[:, place] = (
            trouble.memory * series[:, place - 1] + np.sqrt(1 - trouble.memory**2) * series[:, place]
        )
    of_slot = series.reshape(slot.shape)
    return np.asarray(LAUNCH_SD * np.sqrt(trouble.ratio) * np.take_along_axis(of_slot, slot, axis=2))
