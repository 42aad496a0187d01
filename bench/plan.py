"""What a plan can find: exact chances with Holm's method, a voided joint chance, 2,000 layouts, a cold start.

Goals, one core, CPU time: at least 5,000 exact plans of four surfaces a second at an error of at most 1e-9;
the joint chance of a voided plan to a standard error of 0.005 within 20 ms; 2,000 layouts within 1 s; from
process start to the first chances of a plan within 0.8 s.
"""

from __future__ import annotations

import math
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np

from evenglide.maths.chance import alike_chance, difference_chance
from evenglide.maths.family_chance import family_chances
from evenglide.plan.beliefs import ScatterBelief, unknown_scatter
from evenglide.plan.chances import chances_of
from evenglide.plan.designs import LayoutDesign, SurfaceDesign
from evenglide.plan.exact_chances import Asked
from evenglide.plan.simulated_chances import simulated_pairs

ROUNDS = 5
PLANS = 2000
MARGIN = math.log(1.05)
FIRST_ANSWER = """
import time
from evenglide.plan.beliefs import unknown_scatter
from evenglide.plan.chances import chances_of
from evenglide.plan.designs import LayoutDesign, SurfaceDesign
surfaces = tuple(
    SurfaceDesign(surface=name, rounds=tuple(range(6)), launches=5, margin=(-0.0488, 0.0488))
    for name in "abcd"
)
chances_of([LayoutDesign(surfaces=surfaces, rounds=6, shared=SHARED)], unknown_scatter())
print(time.process_time())
"""


def run() -> list[dict[str, Any]]:
    """Measure every case `ROUNDS` times, the cases taking turns."""
    plans = made_plans()
    many = made_layouts(PLANS)
    voided = ScatterBelief(preparations=0.03, launches=0.06, voids=0.14)
    asked = Asked(effects=(0.0,), in_margins=True, either=True)
    one = layout(6, 6, margin=math.log(1.10))
    cases: dict[str, tuple[int, Callable[[], object]]] = {
        "exact plans of 4 surfaces, Holm": (PLANS, lambda: family_chances(**plans, level=0.05)),
        "the same, without 'either'": (
            PLANS,
            lambda: family_chances(**plans, level=0.05, either=False),
        ),
        "joint chance, voided": (1, lambda: simulated_pairs(one, voided, asked, seed=0)),
        "2,000 layouts, scatter averaged, quick": (
            1,
            lambda: chances_of(many, unknown_scatter(), either=False, quick=True),
        ),
        "2,000 layouts, scatter averaged": (1, lambda: chances_of(many, unknown_scatter(), either=False)),
    }
    times: dict[str, list[float]] = {name: [] for name in cases}
    for _ in range(ROUNDS):
        for name, (count, work) in cases.items():
            start = time.process_time()
            work()
            times[name].append((time.process_time() - start) / count)
    for name, shared in (("start to first chances, exact", False), ("start to first chances, shared", True)):
        times[name] = [first_answer(shared) for _ in range(ROUNDS)]
    errors = {
        "exact plans of 4 surfaces, Holm": largest_error(plans),
        "joint chance, voided": spread_of_seeds(one, voided, asked),
    }
    return [
        {
            "case": name,
            "cpu ms": 1000 * statistics.median(values),
            "least": 1000 * min(values),
            "most": 1000 * max(values),
            "per s": 1 / statistics.median(values),
            "error": errors.get(name, math.nan),
        }
        for name, values in times.items()
    ]


def made_plans() -> dict[str, np.ndarray]:
    """Made-up plans: 3 to 12 pairs on four surfaces, with and without effect."""
    rng = np.random.default_rng(1)
    pairs = rng.integers(5, 14, (4, PLANS)).astype(float)
    se = np.sqrt(2 * (0.03**2 + 0.06**2 / rng.integers(2, 10, (4, PLANS))) / pairs)
    effect = rng.choice([0.0, 0.095], (1, PLANS))
    return {"df": pairs - 1, "se": se, "effect": effect, "margin": np.full((4, PLANS), 0.095)}


def largest_error(plans: dict[str, np.ndarray]) -> float:
    """Largest error of single chances at the level shared equally, against the integrals of one claim."""
    shared = family_chances(**plans, level=0.05, adjust="both", either=False)
    given = {name: plans[name] for name in ("df", "se", "effect")}
    return max(
        float(np.abs(shared.difference - difference_chance(**given, level=0.05 / 4)).max()),
        float(np.abs(shared.alike - alike_chance(**given, margin=plans["margin"], level=0.05 / 4)).max()),
    )


def spread_of_seeds(one: LayoutDesign, voided: ScatterBelief, asked: Asked) -> float:
    """Standard error of the joint chance, as the scatter over forty seeds."""
    found = [simulated_pairs(one, voided, asked, seed=seed)[0].all_conclusive for seed in range(40)]
    return statistics.stdev(chance[0] for chance in found if chance is not None)


def layout(rounds: int, launches: int, *, margin: float = MARGIN) -> LayoutDesign:
    """Four surfaces that meet every round."""
    names = ("dry", "damp", "wet", "water")
    return LayoutDesign(
        surfaces=tuple(
            SurfaceDesign(
                surface=name,
                rounds=tuple(range(rounds)),
                launches=launches,
                margin=(-margin, margin),
                items=1,
            )
            for name in names
        ),
        rounds=rounds,
    )


def made_layouts(count: int) -> list[LayoutDesign]:
    """Different layouts: 3 to 14 rounds, 1 to 20 launches, fewer rounds on some surfaces."""
    rng = np.random.default_rng(2)
    made: dict[LayoutDesign, None] = {}
    while len(made) < count:
        rounds, launches = int(rng.integers(3, 15)), int(rng.integers(1, 21))
        whole = layout(rounds, launches)
        surfaces = [whole.surfaces[0]]
        for one in whole.surfaces[1:]:
            met = tuple(range(int(rng.integers(2, rounds + 1))))
            surfaces.append(
                SurfaceDesign(surface=one.surface, rounds=met, launches=launches, margin=one.margin, items=1)
            )
        made[LayoutDesign(surfaces=tuple(surfaces), rounds=rounds)] = None
    return list(made)


def first_answer(shared: bool) -> float:
    """CPU seconds of a fresh process up to the chances of one layout."""
    done = subprocess.run(
        [sys.executable, "-c", FIRST_ANSWER.replace("SHARED", str(shared))],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )
    return float(done.stdout)
