"""What is invented: a hill club's two snow sliders on four surfaces, and every one of their launches."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from evenglide.readings.launches import Factor, Launches
from evenglide.typing import Scale

BARE, RUB, WAX = "bare", "paraffin rub", "hot wax"
FIVE_PERCENT = (-math.log(1.05), math.log(1.05))
LEVEL = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """What is invented about one contrast; an estimate of None is a treatment that was not launched."""

    surface: str | None
    treatment: str = RUB
    estimate: float | None
    se: float | None = None
    df: float | None = 9.0
    mark: str = "run-out"
    bare: float = 6.4
    spread_unequal: bool = False


FOUR_SURFACES = (
    Invented(surface="wet spring snow", estimate=0.131, se=0.016, bare=6.4),
    Invented(surface="groomed snow", estimate=0.006, se=0.011, bare=9.1),
    Invented(surface="cold powder", estimate=-0.118, se=0.027, bare=3.2),
    Invented(surface="melt pan", estimate=0.031, se=0.036, mark="timed mark", bare=4.9),
)


def moved(bare: float, estimate: float, scale: Scale) -> float:
    return bare * math.exp(estimate) if scale == "ratio" else bare + estimate


def _factor(names: Sequence[str], *, named: bool = True, labels: Sequence[str] | None = None) -> Factor:
    order = tuple(labels) if labels is not None else tuple(dict.fromkeys(names))
    place = {name: code for code, name in enumerate(order)}
    return Factor(labels=order, codes=np.array([place[name] for name in names], dtype=np.int64), named=named)


def launches(
    invented: Sequence[Invented] = FOUR_SURFACES, *, rounds: int = 10, each: int = 6, unit: str | None = "m",
    scale: Scale = "ratio",
) -> Launches:  # fmt: skip
    """Invent the launches of an answer: two sliders in turn, a fresh preparation of each per round."""
    rng = random.Random(20260117)
    rows = [row for case in invented for row in _rows(case, rounds, each, rng, scale)]
    names = tuple(dict.fromkeys(row[0] for row in rows))
    treatments = (BARE, *(name for name in names if name != BARE))
    value = np.array([round(row[5], 2) for row in rows])
    void = np.array([rng.random() < 0.02 for _ in rows])
    value[np.flatnonzero(void)[:1]] = math.nan
    causes = ("nose under the snow", "touched by somebody", "rig moved more than 1 cm")
    return Launches(
        response="distance_m" if unit == "m" else "glide",
        unit=unit,
        value=value,
        treatment=_factor([row[0] for row in rows], labels=treatments),
        surface=_factor([row[1] or "" for row in rows], named=invented[0].surface is not None),
        block=_factor([str(row[2]) for row in rows]),
        item=_factor([row[3] for row in rows]),
        preparation=_factor([f"{row[1]}, round {row[2]}, {row[0]}" for row in rows]),
        direction=_factor(["out"] * len(rows), named=False),
        mark=_factor([row[4] for row in rows]),
        session=_factor(["2026-01-17"] * len(rows)),
        order=np.arange(len(rows), dtype=float),
        void=void,
        cause=tuple(rng.choice(causes) if aside else "" for aside in void),
        at_least=np.array([not aside and rng.random() < 0.01 for aside in void]),
        row=np.arange(2, len(rows) + 2),
        shared=False,
        decimals=2,
    )


def _rows(
    case: Invented, rounds: int, each: int, rng: random.Random, scale: Scale
) -> list[tuple[str, str | None, int, str, str, float]]:
    rows = []
    for number in range(1, rounds + 1):
        pair = [(BARE, 0.0), (case.treatment, case.estimate or 0.0)]
        if rng.random() < 0.5:
            pair.reverse()
        if case.estimate is None:
            pair = [(BARE, 0.0)] * 2
        coats = {name: rng.gauss(0, 0.03) for name, _ in pair}
        for launch in range(each):
            for place in (0, 1) if launch % 2 == 0 else (1, 0):
                name, effect = pair[place]
                factor = math.exp(coats[name] + rng.gauss(0, 0.058))
                distance = moved(case.bare, effect, scale) * factor
                slider = f"slider {1 + (place + number) % 2}"
                rows.append((name, case.surface, number, slider, case.mark, distance))
    return rows
