r"""Readings of many rehearsed studies at once, in arrays of shape (launches, studies).

On the analysis scale a launch i on preparation j and surface s reads

.. math:: y_i = b_s + d_s + \sigma_P (\sqrt{\rho}\, c_j + \sqrt{1 - \rho}\, c_{js}) + \sigma_L e_i

with the base b, the supposed effect d of a treated preparation, standard normal c and e, and the share
:math:`\rho` of the scatter between preparations that one preparation carries to every surface.

Luck is drawn from (seed, chunk), and what a trouble leaves to chance from (seed, chunk, trouble): truths and
troubles are played with the same luck, so that what differs between them is their own doing.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import special

from evenglide.plan.beliefs import ScatterBelief
from evenglide.readings.from_log import in_unit
from evenglide.rehearsal.scatters import draw_scatters
from evenglide.rehearsal.staging import Stage
from evenglide.rehearsal.supposed import Truth
from evenglide.rehearsal.troubles import OUTLIER_REACH, SHORT_BY, Trouble
from evenglide.study.study import Study
from evenglide.typing import BoolArray, FloatArray

TYPICAL_M = 6.0
"""How far an untreated launch is supposed to go [m]; only rounding and two directions ask for it."""
TYPICAL_OTHER = 100.0
"""The same where distances are not what is measured, in the response's unit."""
STEPS_M = {"centimetre": 0.01, "decimetre": 0.1}


@dataclass(frozen=True, slots=True, kw_only=True)
class Chunk:
    """Which luck: studies are played in chunks, each from its own source."""

    seed: int
    number: int
    studies: int

    def source(self, name: str = "") -> np.random.Generator:
        """Source of chance of this chunk, apart from that of every other name."""
        return np.random.default_rng(np.random.SeedSequence([self.seed, self.number, *name.encode()]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """Studies drawn, before a truth is supposed.

    Parameters
    ----------
    stage : Stage
    troubles : mapping of str to Trouble
        By name.
    scatter : array of float, shape (launches, studies)
        Luck of everything, analysis scale.
    shift : array of float, shape (launches,)
        What is the same in every study: base, drift, gear; analysis scale.
    strength : array of float, shape (launches,)
        Share of the effect that a launch meets. [1]
    void : array of bool, shape (launches, studies), or None
        None where nothing is set aside.
    hoped : array of bool, shape (launches, studies), or None
        Those of `void` that were set aside because they came out short.
    lane : float or None
        Where the lane ends, in the response's unit.
    """

    stage: Stage
    troubles: dict[str, Trouble]
    scatter: FloatArray
    shift: FloatArray
    strength: FloatArray
    void: BoolArray | None
    hoped: BoolArray | None
    lane: float | None

    def readings(self, truth: Truth) -> FloatArray:
        """What is read if a truth holds.

        Parameters
        ----------
        truth : Truth

        Returns
        -------
        array of float, shape (launches, studies)
            In the response's unit; the length of the lane where a launch left it.
        """
        study = self.stage.study
        effects = np.array([truth.effects[surface.name] for surface in study.surfaces])
        y = self.scatter + (self.shift + effects[self.stage.surface] * self.strength)[:, np.newaxis]
        value = np.exp(y, out=y) if study.scale == "ratio" else y
        if self.lane is not None:
            np.minimum(value, self.lane, out=value)
        for name in self.troubles.keys() & STEPS_M.keys():
            value = _rounded(value, reading_step(study, name))
        return value


def draw(stage: Stage, chunk: Chunk, *, belief: ScatterBelief, troubles: Sequence[Trouble] = ()) -> Drawn:
    """Draw the luck of a chunk of studies.

    Parameters
    ----------
    stage : Stage
    chunk : Chunk
    belief : ScatterBelief
        Its share of launches set aside holds unless a trouble states another one.
    troubles : sequence of Trouble, optional

    Returns
    -------
    Drawn
    """
    source, met = chunk.source(), {trouble.name: trouble for trouble in troubles}
    known = draw_scatters(belief, source, studies=chunk.studies)
    launch = source.standard_normal((len(stage.coat), chunk.studies))
    coat = source.standard_normal((int(stage.coat.max()) + 1, chunk.studies))
    place = source.standard_normal((int(stage.place.max()) + 1, chunk.studies))
    share = met["set-aside"].size if "set-aside" in met else belief.voids
    void = chunk.source("set-aside").random(launch.shape) < share if share > 0.0 else None
    hoped = None
    if "wishful-set-aside" in met:
        hoped = chunk.source("wishful-set-aside").random(launch.shape) < met["wishful-set-aside"].size
        hoped &= (launch < -SHORT_BY) & stage.treated[:, np.newaxis]
        void = hoped if void is None else void | hoped
    if "outliers" in met:
        far = chunk.source("outliers").random(launch.shape) < met["outliers"].size
        launch = np.where(far, OUTLIER_REACH * launch, launch)
    coat *= np.sqrt(known.together) * known.preparations
    place *= np.sqrt(1.0 - known.together) * known.preparations
    scatter = coat[stage.coat] + place[stage.place]
    if "unequal-scatter" in met:
        scatter *= np.where(stage.treated, met["unequal-scatter"].size, 1.0)[:, np.newaxis]
    scatter += belief.launches * launch
    return Drawn(
        stage=stage,
        troubles=met,
        scatter=scatter,
        shift=_shift(stage, met),
        strength=_strength(stage, met),
        void=void,
        hoped=hoped,
        lane=_lane(stage.study, belief, met),
    )


def typical(study: Study) -> float:
    """How far an untreated launch is supposed to go, in the unit of the response.

    Parameters
    ----------
    study : Study

    Returns
    -------
    float
    """
    return in_unit(TYPICAL_M, "m", study.unit) or TYPICAL_OTHER


def reading_step(study: Study, name: str) -> float | None:
    """What distances are read to under a trouble, in the response's unit; None where no length is read."""
    return in_unit(STEPS_M[name], "m", study.unit)


def _rounded(value: FloatArray, step: float | None) -> FloatArray:
    """Readings to the nearest step, none of them nought: a ratio could not be made of it."""
    if step is None:
        return value
    return np.asarray(np.maximum(np.round(value / step), 1.0) * step)


def _shift(stage: Stage, troubles: dict[str, Trouble]) -> FloatArray:
    """What every study shares, analysis scale."""
    study = stage.study
    ratio, base = study.scale == "ratio", typical(study)

    def amount(change: float) -> float:
        return float(np.log1p(change)) if ratio else change * base

    shift = np.full(len(stage.coat), np.log(base) if ratio else base)
    if "drift" in troubles:
        shift += amount(troubles["drift"].size) * stage.hour
    if "faster-item" in troubles:
        shift += amount(troubles["faster-item"].size) * (stage.item == 0)
    return shift


def _strength(stage: Stage, troubles: dict[str, Trouble]) -> FloatArray:
    """Share of a fresh coat's effect that each launch meets; none without treatment."""
    left = 1.0 - troubles["wear"].size if "wear" in troubles else 1.0
    return np.where(stage.treated & ~stage.bared, left**stage.used, 0.0)


def _lane(study: Study, belief: ScatterBelief, troubles: dict[str, Trouble]) -> float | None:
    """Where the lane ends, so that the stated share of untreated launches reaches it."""
    if "lane-end" not in troubles:
        return None
    spread = math.hypot(belief.preparations, belief.launches)
    beyond = spread * float(special.ndtri(1.0 - troubles["lane-end"].size))
    return typical(study) * math.exp(beyond) if study.scale == "ratio" else typical(study) + beyond
