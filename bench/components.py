"""Studies of four surfaces by restricted maximum likelihood, from invented launches to claims, in CPU time.

A study is drawn launch by launch, in standard deviations of a launch: four surfaces, on each three rounds of
two and two preparations, six launches each; "voided" leaves 62 of the 72. Each surface is fitted
(`launch ~ round + treatment + (1 | preparation)`, Satterthwaite's degrees of freedom), and the three claims
are decided with Holm's method over the four surfaces. Beside it, taking turns in the same run: the random
numbers alone, which nothing that draws launches can beat; the public library statsmodels on such launches
(which gives no degrees of freedom and makes no claims); and lmerTest in R, where it is installed. The last
two are loops in processes of their own, whose start is not counted.

Goals: 150,000 studies a second voided, 200,000 balanced; 45 % and 65 % of the pace of the random numbers;
10,000 times as fast as statsmodels, 20,000 times as fast as lmerTest.
"""

from __future__ import annotations

import importlib.metadata
import shutil
import statistics
import subprocess
import sys
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from evenglide.maths.components import fit_component
from evenglide.maths.mixed_design import MixedDesign, mixed_design
from evenglide.maths.t_points import HolmByPoints
from evenglide.typing import FloatArray, IntArray

ROOT = Path(__file__).resolve().parent.parent
ROUNDS = 7
SURFACES, BLOCKS, PREPARATIONS, LAUNCHES = 4, 3, 4, 6
CHUNK, CHUNKS = 4096, 10
LOOP, WARM = 8, 2
"""Fits of the loops per round; one fit is a quarter of a study."""
SD_PREPARATION, EFFECT, MARGIN, LEVEL = 0.5, 0.7, 0.8, 0.05
"""Lengths in standard deviations of a launch."""
HOLES = (
    (0, 1, 2, 9, 17, 25, 33, 41, 58, 70),
    (6, 7, 8, 3, 22, 29, 37, 45, 52, 65),
    (30, 31, 32, 5, 13, 20, 40, 48, 57, 71),
    (66, 67, 68, 2, 10, 19, 27, 38, 44, 51),
)
LAYOUTS = {"balanced": ((),) * SURFACES, "voided": HOLES}
"""Launches set aside on each surface: one preparation keeps three, seven others lose one."""
WITH_R = """
suppressMessages(library(lmerTest))
d <- read.csv("{file}"); d$block <- factor(d$block); d$preparation <- factor(d$preparation)
study <- function(y) {{
  d$y <- y
  suppressMessages(coef(summary(lmer(y ~ treatment + block + (1 | preparation), d), ddf = "Satterthwaite")))
}}
for (k in 1:2) study(rnorm(nrow(d)))
used <- proc.time()
for (k in 1:{loop}) study(rnorm(nrow(d)) + 0.5 * rnorm({groups})[as.integer(d$preparation)])
used <- proc.time() - used
cat(used[["user.self"]] + used[["sys.self"]])
"""


@dataclass(frozen=True, slots=True)
class Surface:
    """One surface's launches: columns, group of each, where each preparation starts, the prepared design."""

    x: FloatArray
    group: IntArray
    starts: IntArray
    design: MixedDesign


def run() -> list[dict[str, Any]]:
    """Measure every case `ROUNDS` times, the cases taking turns."""
    return [row for name in LAYOUTS for row in measured(name, surfaces_of(name))]


def measured(name: str, surfaces: list[Surface]) -> list[dict[str, Any]]:
    """Rows of one layout."""
    rng = np.random.Generator(np.random.SFC64(7))
    holm = HolmByPoints(SURFACES, level=LEVEL)
    reference = _lmertest(surfaces[0])
    loops: dict[str, Callable[[], float]] = {
        "random numbers alone": lambda: _paced(lambda: random_numbers(rng, surfaces)),
        "launches to claims": lambda: _paced(lambda: studies(rng, surfaces, holm)),
        f"statsmodels {importlib.metadata.version('statsmodels')}, fit alone": _statsmodels(name),
        "lmerTest in R, fit and df": reference,
    }
    times: dict[str, list[float]] = {case: [] for case in loops}
    for _ in range(ROUNDS):
        for case, loop in loops.items():
            times[case].append(loop())
    median = {case: statistics.median(values) for case, values in times.items()}
    ours, limit = median["launches to claims"], median["random numbers alone"]
    return [_row(f"{name}: {case}", times[case], ours=ours, limit=limit) for case in times]


def _row(case: str, times: list[float], *, ours: float, limit: float) -> dict[str, Any]:
    """One line of the table; a loop that took no time was not there to be measured."""
    median = statistics.median(times)
    there = median > 0
    return {
        "case": case,
        "us per study": 1e6 * median if there else "R is not installed",
        "least": 1e6 * min(times) if there else "-",
        "most": 1e6 * max(times) if there else "-",
        "studies/s": 1.0 / median if there else "-",
        "share of the limit": limit / ours if median == ours else "-",
        "ours faster by": median / ours if median > ours else "-",
        "rounds": len(times),
    }


def surfaces_of(name: str) -> list[Surface]:
    """Lay the four surfaces of a layout out."""
    return [surface_of(np.array(aside, dtype=np.int64)) for aside in LAYOUTS[name]]


def surface_of(aside: IntArray) -> Surface:
    """Lay a surface out without some of its launches."""
    launch = np.delete(np.arange(BLOCKS * PREPARATIONS * LAUNCHES), aside)
    group = launch // LAUNCHES
    columns = [group // PREPARATIONS == block for block in range(BLOCKS)]
    x = np.column_stack([*columns, group % PREPARATIONS >= PREPARATIONS // 2]).astype(float)
    contrast = np.zeros((BLOCKS + 1, 1))
    contrast[-1] = 1.0
    starts = np.searchsorted(group, np.arange(BLOCKS * PREPARATIONS + 1))
    return Surface(x, group, starts, mixed_design(x, group, contrasts=contrast))


def random_numbers(rng: np.random.Generator, surfaces: list[Surface]) -> None:
    """Draw the normal numbers of a chunk of studies and do nothing with them."""
    for surface in surfaces:
        rng.standard_normal((len(surface.starts) - 1, CHUNK))
        rng.standard_normal((len(surface.group), CHUNK))


def launches_of(rng: np.random.Generator, surface: Surface, count: int) -> FloatArray:
    """Draw the launches of one surface, shape (launches, studies)."""
    effects = rng.standard_normal((len(surface.starts) - 1, count))
    effects *= SD_PREPARATION
    y = rng.standard_normal((len(surface.group), count))
    for place, effect in enumerate(effects):
        treated = place % PREPARATIONS >= PREPARATIONS // 2
        y[surface.starts[place] : surface.starts[place + 1]] += effect + EFFECT if treated else effect
    return y


def studies(rng: np.random.Generator, surfaces: list[Surface], holm: HolmByPoints) -> FloatArray:
    """Draw, fit and judge a chunk of studies; the share of comparisons in which each claim is made."""
    fits = [fit_component(surface.design, launches_of(rng, surface, CHUNK)) for surface in surfaces]
    estimate, se, df = (np.concatenate([getattr(fit, k) for fit in fits]) for k in ("estimate", "se", "df"))
    claimed = holm(estimate, se, df=df, low=-MARGIN, high=MARGIN)
    return np.array([claims.mean() for claims in (claimed.difference, claimed.alike, claimed.matters)])


def _paced(chunk: Callable[[], object]) -> float:
    """CPU seconds per study, after one chunk that finds its memory."""
    chunk()
    start = time.process_time()
    for _ in range(CHUNKS):
        chunk()
    return (time.process_time() - start) / (CHUNK * CHUNKS)


def _statsmodels(name: str) -> Callable[[], float]:
    """Measure the loop in a process of its own: once that library is in, memory is handed out otherwise."""
    code = f"from bench.components import statsmodels_loop; print(statsmodels_loop({name!r}))"

    def measure() -> float:
        done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, check=True)
        return float(done.stdout)

    return measure


def statsmodels_loop(name: str) -> float:
    """CPU seconds per study of one fit after another, freshly drawn, after two that warm up."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng = np.random.default_rng()
    surfaces = surfaces_of(name)
    drawn = [(one, launches_of(rng, one, 1)[:, 0]) for one in (surfaces * LOOP)[: LOOP + WARM]]
    used = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for surface, y in drawn:
            start = time.process_time()
            MixedLM(y, surface.x, groups=surface.group).fit(reml=True)
            used.append(time.process_time() - start)
    return sum(used[WARM:]) * SURFACES / LOOP


def _lmertest(surface: Surface) -> Callable[[], float]:
    """Give the measurement of the loop in R; nought where there is no R with lmerTest."""
    program = shutil.which("Rscript")
    asked = ["-e", "suppressMessages(library(lmerTest))"]
    if program is None or subprocess.run([program, *asked], capture_output=True, check=False).returncode:
        return lambda: 0.0
    lines = ["treatment,block,preparation"]
    for row, group in zip(surface.x, surface.group, strict=True):
        lines.append(f"{int(row[-1])},{int(row[:-1].argmax())},{group}")
    text = "\\n".join(lines)
    code = WITH_R.replace('read.csv("{file}")', f'read.csv(text = "{text}")')
    code = code.format(loop=LOOP, groups=BLOCKS * PREPARATIONS)

    def measure() -> float:
        done = subprocess.run([program, "-e", code], capture_output=True, text=True, check=True)
        return float(done.stdout.split()[-1]) * SURFACES / LOOP

    return measure
