"""Random plans, and random studies of them as tables, for laws that must hold whatever the plan."""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from evenglide.analysis.rule import Rule
from evenglide.readings.launches import Factor, Launches
from tests.tables import Columns, rows, take_in

NAMES = "surface block treatment item preparation direction"
MARKS = ("run-out", "timed mark")


@dataclass(frozen=True, slots=True, kw_only=True)
class RandomPlan:
    """A plan, and readings and voids of some studies of it, shape (launches, studies)."""

    columns: Columns
    options: dict[str, Any]
    rule: Rule
    readings: np.ndarray
    void: np.ndarray

    def skeleton(self) -> Launches:
        """The plan as launches; its readings are nonsense, for nobody may look at them."""
        named = {name: list(column) for name, column in self.columns.items()}
        named["response"] = [1.0] * len(self.readings)
        roles = {
            name: self.options[name] for name in ("reference", "shared_preparations") if name in self.options
        }
        launches = take_in(named, scale=self.rule.scale, **roles).launches
        return replace(launches, value=np.full(len(self.readings), np.nan))

    def write(self, path: Path, study: int) -> None:
        """Write one study as a table; a launch set aside keeps its reading or loses it."""
        with path.open("w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["response", "void", *self.columns])
            for row, cells in enumerate(zip(*self.columns.values(), strict=True)):
                void = self.void[row, study]
                reading = "" if void and row % 2 else repr(float(self.readings[row, study]))
                writer.writerow([reading, "gust" if void else "", *cells])


def random_plan(seed: int, studies: int) -> RandomPlan:
    """Draw a plan, its studies and the rule that they are judged by."""
    rng = np.random.default_rng(seed)
    treatments, surfaces = int(rng.integers(2, 4)), int(rng.integers(1, 4))
    blocks, of_each = int(rng.integers(1, 5)), int(rng.integers(1, 3))
    ways, shared = int(rng.integers(1, 3)), bool(rng.random() < 0.2)
    lines: list[tuple[str, ...]] = []
    marks = []
    dropped = rng.random((surfaces, blocks, treatments)) < 0.06
    dropped[:, 0] = False
    order = rng.permutation(np.tile(np.arange(treatments), of_each))
    swap = rng.integers(0, 2, blocks)
    for surface in range(surfaces):
        for block in range(blocks):
            for place, treatment in enumerate(order):
                for way in range(ways):
                    for _ in range(0 if dropped[surface, block, treatment] else int(rng.integers(1, 4))):
                        label = f"p{block}{place}" if shared else f"p{surface}{block}{place}"
                        item = f"slider {(place + swap[block] * block) % len(order)}"
                        lines.append((f"s{surface}", f"b{block}", f"t{treatment}", item, label, f"way {way}"))
                        marks.append(MARKS[surface % 2])
    columns = rows(NAMES, lines)
    if ways == 1:
        del columns["direction"]
    if rng.random() < 0.5:
        del columns["item"]
    if rng.random() < 0.5:
        columns["mark"] = marks
    return _with_studies(columns, rng, studies=studies, shared=shared)


def _with_studies(columns: Columns, rng: np.random.Generator, *, studies: int, shared: bool) -> RandomPlan:
    ratio = bool(rng.random() < 0.5)
    shape = (len(columns["surface"]), studies)
    step = rng.choice([-0.08, 0.0, 0.08])
    effect = np.array([step * int(name[1]) for name in columns["treatment"]])
    readings = 6.0 * np.exp(effect[:, np.newaxis] + rng.normal(0, 0.05, shape))
    if rng.random() < 0.3:
        readings = np.round(readings, 2)
    void = rng.random(shape) < rng.choice([0.0, 0.1, 0.35])
    void[_first_of_each(columns)] = False
    matters: str | float | None = [None, "5 %" if ratio else 0.3][int(rng.random() < 0.85)]
    margin = None if matters is None else (-np.log(1.05), np.log(1.05)) if ratio else (-0.3, 0.3)
    scale = "ratio" if ratio else "difference"
    level, adjust = (
        float(rng.choice([0.05, 0.1])),
        str(rng.choice(["holm", "both", "none"], p=[0.6, 0.2, 0.2])),
    )
    options = {name: name for name in columns if name != "treatment"}
    options |= {"response": "response", "treatment": "treatment", "void": "void", "reference": "t0"}
    options |= {"scale": scale, "matters": matters, "level": level, "adjust": adjust}
    if shared:
        options["shared_preparations"] = True
    rule = Rule(scale=scale, margin=margin, level=level, adjust=adjust)
    return RandomPlan(columns=columns, options=options, rule=rule, readings=readings, void=void)


def _first_of_each(columns: Columns) -> list[int]:
    """First launch of each treatment on each surface: a treatment must be met there at all."""
    met: dict[tuple[str, str], int] = {}
    for row, key in enumerate(zip(columns["surface"], columns["treatment"], strict=True)):
        met.setdefault(key, row)
    return list(met.values())


def with_order(launches: Launches, order: np.ndarray) -> Launches:
    """The same launches in another order of rows."""
    factors = {
        name: Factor(labels=value.labels, codes=value.codes[order], named=value.named)
        for name in Launches.__dataclass_fields__
        if isinstance(value := getattr(launches, name), Factor)
    }
    arrays = {name: getattr(launches, name)[order] for name in ("value", "void", "at_least", "row")}
    return replace(launches, **factors, **arrays, order=None)
