"""Invented tables of every layout that a study may have, and the options to judge them with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from tests.tables import Columns, paired, rows

NAMES = "response treatment surface block item preparation direction mark order session void at_least"
Scenario = tuple[Columns, dict[str, Any]]


def field_day(
    *,
    surfaces: tuple[str, ...] = ("wet", "dry"),
    treatments: tuple[str, ...] = ("bare", "rub"),
    blocks: int = 4,
    launches: int = 3,
    effect: float = 0.05,
    seed: int = 1,
    ways: tuple[str, ...] = ("out",),
    marks: tuple[str, ...] = ("run-out", "run-out"),
) -> Columns:
    """Coats shared over surfaces, one of each treatment in a round, on pieces of gear that take turns.

    Every coat is launched on every surface, in every direction; which one goes first is drawn anew for
    every turn but the very first, where the treatments are met in their order.
    """
    rng = np.random.default_rng(seed)
    gear = rng.normal(0, 0.04, len(treatments))
    lines: list[tuple[Any, ...]] = []
    for block in range(blocks):
        on = rng.permutation(len(treatments))
        coat = rng.normal(0, 0.03, len(treatments))
        for place, surface in enumerate(surfaces):
            base = 1.5 + 0.3 * place + rng.normal(0, 0.05)
            for _ in range(launches):
                for way in ways:
                    slope = 0.1 if way == ways[0] else -0.1
                    turn = rng.permutation(len(treatments)) if lines else range(len(treatments))
                    for k in turn:
                        y = base + gear[on[k]] + coat[k] + effect * k + slope * (len(ways) > 1)
                        reading = float(np.exp(y + rng.normal(0, 0.05)))
                        lines.append(
                            (
                                reading,
                                treatments[k],
                                surface,
                                f"r{block}",
                                f"slider {on[k]}",
                                f"coat {block}{k}",
                                way,
                                marks[place % len(marks)],
                                len(lines),
                                f"day {block // 2}",
                                "",
                                "",
                            )
                        )
    return rows(NAMES, lines)


def keep(table: Columns, wanted: Callable[[dict[str, Any]], bool]) -> Columns:
    """Rows of a table that are wanted."""
    kept = [line for line in zip(*table.values(), strict=True) if wanted(dict(zip(table, line, strict=True)))]
    return rows(" ".join(table), kept)


def without(table: Columns, *names: str) -> Columns:
    """The table without some columns."""
    return {name: cells for name, cells in table.items() if name not in names}


def flagged(table: Columns, name: str, at: dict[int, str]) -> Columns:
    """The table with flags set in some rows."""
    return {**table, name: [at.get(row, cell) for row, cell in enumerate(table[name])]}


BARE_TABLE = ("surface", "block", "item", "preparation", "direction", "mark", "order", "session")
FLAGS = ("void", "at_least")


def scenarios() -> Iterator[tuple[str, Scenario]]:
    """Every layout by name."""
    yield from plain_layouts()
    yield from awkward_layouts()
    yield from chosen_options()


def plain_layouts() -> Iterator[tuple[str, Scenario]]:
    full = field_day()
    ratio: dict[str, Any] = {"matters": "5 %"}
    yield "surfaces and treatments", (field_day(treatments=("bare", "rub", "wax")), ratio)
    yield "no blocks", (without(full, "block", "item"), ratio)
    yield "no preparations", (without(full, "preparation", "direction"), ratio)
    yield "two columns only", (without(full, *BARE_TABLE, *FLAGS), {})
    yield "one preparation of each", (without(field_day(blocks=1, surfaces=("wet",)), "item"), ratio)
    yield "one round of three", (field_day(blocks=1, treatments=("bare", "rub", "wax")), ratio)
    yield "one launch on each", (field_day(launches=1), ratio)
    yield "one launch each way", (field_day(launches=1, ways=("out", "back")), ratio)
    yield "items in parallel", (paired(7, 2, effect=0.1), ratio)
    yield "two directions, run-outs", (field_day(ways=("out", "back")), ratio)
    timed = field_day(ways=("out", "back"), marks=("timed mark",))
    yield "two directions, timed marks", (timed, ratio)
    yield "two directions, differences", (timed, {"matters": "0.3 m"})
    yield "shared preparations", (full, {"shared_preparations": True, **ratio})
    three = field_day(surfaces=("wet", "dry", "ice"), blocks=7)
    yield "three shared surfaces", (three, {"shared_preparations": True, **ratio})
    yield "kinds of mark", (field_day(marks=("run-out", "timed mark")), ratio)


def awkward_layouts() -> Iterator[tuple[str, Scenario]]:
    full = field_day()
    three = field_day(treatments=("bare", "rub", "wax"))
    ratio: dict[str, Any] = {"matters": "5 %"}
    uneven = keep(full, lambda row: row["order"] % 5 != 2)
    yield "unequal numbers", (uneven, ratio)
    yield "broken rounds", (keep(full, lambda r: (r["block"], r["treatment"]) != ("r1", "rub")), ratio)
    yield "two launches set aside", (flagged(full, "void", {3: "rig moved", 8: "nose under"}), ratio)
    yield "a coat wholly set aside", (flagged(full, "void", {0: "x", 2: "x", 4: "x"}), ratio)
    yield "at least", (flagged(full, "at_least", {5: "yes", 7: "1"}), ratio)
    both = flagged(flagged(full, "void", {3: "rig moved"}), "at_least", {3: "yes", 7: "1"})
    yield "set aside and at least", (both, ratio)
    yield (
        "treatment missing on a surface",
        (
            keep(three, lambda row: (row["surface"], row["treatment"]) != ("dry", "wax")),
            ratio,
        ),
    )
    yield (
        "reference missing on a surface",
        (
            keep(three, lambda row: (row["surface"], row["treatment"]) != ("dry", "bare")),
            ratio,
        ),
    )
    shared = keep(three, lambda row: (row["surface"], row["treatment"]) != ("dry", "bare"))
    yield "reference missing, shared", (shared, {"shared_preparations": True, **ratio})
    yield (
        "surfaces with one coat in common",
        (
            keep(full, lambda row: row["surface"] == "wet" or row["block"] == "r0"),
            {"shared_preparations": True, **ratio},
        ),
    )
    yield (
        "a direction missing",
        (
            keep(field_day(ways=("out", "back")), lambda row: row["order"] > 20 or row["direction"] == "out"),
            ratio,
        ),
    )
    mixed = {
        **full,
        "mark": ["timed mark" if row % 7 == 3 else "run-out" for row in range(len(full["mark"]))],
    }
    yield "mixed marks", (mixed, ratio)
    own = {**full, "item": [f"{i} {t}" for i, t in zip(full["item"], full["treatment"], strict=True)]}
    yield "items that keep their treatment", (own, ratio)
    yield "one item for each treatment", ({**full, "item": full["treatment"]}, ratio)
    yield "no scatter at all", (agreeing(), {"matters": 0.5})
    yield "unconnected rounds", (unconnected(), ratio)
    yield "items outside pairs", (items_outside_pairs(), ratio)
    yield "one item always treated", (item_tied_in_pairs(), ratio)


def chosen_options() -> Iterator[tuple[str, Scenario]]:
    full = field_day()
    three = field_day(treatments=("bare", "rub", "wax"), effect=0.08)
    yield "no margin", (full, {})
    yield "differences with a unit", (full, {"matters": "0.3 m"})
    yield "differences, margin beyond the mean", (full, {"matters": "50 m"})
    yield (
        "differences below nought",
        ({**full, "response": [y - 5 for y in full["response"]]}, {"matters": 1}),
    )
    yield "both kinds together", (three, {"matters": "5 %", "adjust": "both"})
    yield "no sharing", (three, {"matters": "5 %", "adjust": "none"})
    yield "a wide margin", (three, {"matters": "60 %"})
    yield "another reference", (three, {"matters": "5 %", "reference": "wax"})
    yield "a strict level", (three, {"matters": "5 %", "level": 0.001})
    yield "a treatment that stays", (three, {"matters": "5 %", "stays": ["wax"]})
    yield "many orders", (field_day(blocks=25, launches=1, surfaces=("wet",)), {"matters": "5 %"})
    yield (
        "more orders than a double holds",
        (
            field_day(blocks=60, launches=1, surfaces=("wet",)),
            {"matters": "5 %"},
        ),
    )
    wide = field_day(surfaces=tuple(f"s{k}" for k in range(200)), blocks=3, launches=1)
    yield "two hundred surfaces", (wide, {"matters": "5 %"})
    yield (
        "tiny and huge",
        (
            rows(
                "response treatment block",
                [(y, t, b) for b in "uvw" for y, t in ((1e-100, "a"), (1e100, "b"))],
            ),
            {},
        ),
    )


def agreeing() -> Columns:
    """Pairs whose differences agree to the last digit."""
    return rows(
        "response treatment block", [(3.0 + b + 0.25 * (t == "b"), t, b) for b in range(4) for t in "ab"]
    )


def unconnected() -> Columns:
    """Rounds that never hold both treatments."""
    return rows(
        "response treatment block", [(3.0 + 0.1 * k + 0.01 * k * k, "ab"[k % 2], k % 2) for k in range(8)]
    )


def items_outside_pairs() -> Columns:
    """Rounds of four with gear that differs."""
    rng = np.random.default_rng(3)
    lines = [
        (float(np.exp(rng.normal(1, 0.1))), "ab"[k % 2], b, f"i{(k // 2 + b) % 2}")
        for b in range(3)
        for k in range(4)
    ]
    return rows("response treatment block item", lines)


def item_tied_in_pairs() -> Columns:
    """Pairs of two pieces of gear of which one always had the treatment, a third piece lending a contrast."""
    rng = np.random.default_rng(4)
    lines = [(float(np.exp(rng.normal(1, 0.1))), t, b, f"item {t}") for b in range(4) for t in "ab"]
    lines += [(float(np.exp(rng.normal(1, 0.1))), t, "far " + t, "item c") for t in "ab"]
    return rows("response treatment block item", lines)
