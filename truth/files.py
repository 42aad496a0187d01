"""The same, the long way round: every study written as a table and judged as anybody would."""

from __future__ import annotations

import csv
import tempfile
import zlib
from pathlib import Path
from typing import Any

import numpy as np

from evenglide.analysis.claims import VERDICTS
from evenglide.analysis.rule import TOLERANCE, Rule
from evenglide.answer.results import Answer
from evenglide.readings.launches import Launches
from evenglide.steps.judge import judge_table
from evenglide.typing import BoolArray, FloatArray, IntArray
from truth.cells import LEVEL, CellJudge, all_cells
from truth.drawing import Draw, draw
from truth.layouts import skeleton
from truth.rates import sums_of

SCENARIOS = (
    "6 pairs | clean",
    "3 pairs | 15 % set aside",
    "3 x (2 + 2) | 40 % set aside",
    "6 pairs | different items",
    "3 treatments, 4 rounds | unequal spread, 1 : 1 : 3",
)
MATTERS = "20 %"
RULE = Rule(scale="ratio", margin=(-float(np.log(1.2)), float(np.log(1.2))), level=LEVEL)
ROLES = ("treatment", "surface", "block", "preparation")
NUMBERS = ("estimate", "se", "df", "p_difference", "p_alike", "p_matters")


def through_files(name: str, *, studies: int, seed: int) -> dict[str, Any]:
    """Judge studies of a cell without an effect from files.

    Parameters
    ----------
    name : str
        Of the cell.
    studies : int
    seed : int

    Returns
    -------
    dict
        ``name``; ``false difference`` and ``any false difference`` as sums; ``off``, the largest
        difference of any number from that of the kernel; ``other verdicts``, how many differ.
    """
    cell = next(cell for cell in all_cells() if cell.name == name)
    entropy = np.random.SeedSequence([seed, zlib.crc32(f"files {name}".encode())])
    rng = np.random.Generator(np.random.SFC64(entropy))
    drawn = draw(cell.layout, cell.trouble, rng=rng, studies=studies)
    readings, void = drawn.observed(cell.effect("none"))
    kernel = CellJudge(cell, RULE).judge(readings, void, drawn.item)
    of_kernel = np.stack([kernel.estimate, kernel.se, kernel.df, *kernel.p])
    shares, off, other = np.empty((2, studies)), 0.0, 0
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "study.csv")
        for study in range(studies):
            answer = _judged(path, drawn, study, readings=readings, void=void)
            numbers, claimed, verdicts = _told(answer)
            off = max(off, _largest_difference(numbers, of_kernel[..., study]))
            other += int((verdicts != kernel.verdict[:, study]).sum())
            shares[:, study] = (numbers[3] <= LEVEL + TOLERANCE).mean(), claimed
    return {
        "name": name,
        "false difference": sums_of(shares[0]),
        "any false difference": sums_of(shares[1]),
        "off": off,
        "other verdicts": other,
    }


def _judged(path: Path, drawn: Draw, study: int, *, readings: FloatArray, void: BoolArray | None) -> Answer:
    item = None if drawn.item is None else drawn.item[..., study]
    plan = skeleton(drawn.layout, item)
    roles = (*ROLES, *(("item",) if item is not None else ()))
    aside = None if void is None else void[:, study]
    _write(path, plan, readings[:, study], aside=aside, roles=roles)
    options = {role: role for role in roles} | {"response": "distance_m", "void": "void", "matters": MATTERS}
    return judge_table(str(path), {**options, "reference": "treatment 0"}).answer


def _write(
    path: Path, plan: Launches, reading: FloatArray, *, aside: BoolArray | None, roles: tuple[str, ...]
) -> None:
    factors = [getattr(plan, role) for role in roles]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["distance_m", "void", *roles])
        for row, metres in enumerate(reading.tolist()):
            cause = "a cause" if aside is not None and aside[row] else ""
            writer.writerow([repr(metres), cause, *(factor.labels[factor.codes[row]] for factor in factors)])


def _told(answer: Answer) -> tuple[FloatArray, bool, IntArray]:
    """Numbers, shape (6, contrasts); whether any difference is claimed; verdicts by their codes."""
    contrasts = [contrast for surface in answer.surfaces for contrast in surface.contrasts]
    numbers = [[getattr(contrast, name) for contrast in contrasts] for name in NUMBERS]
    verdicts = np.array([VERDICTS.index(contrast.verdict) for contrast in contrasts])
    claimed = any(contrast.verdict in ("higher", "lower") for contrast in contrasts)
    return np.array(numbers, dtype=np.float64), claimed, verdicts


def _largest_difference(one: FloatArray, other: FloatArray) -> float:
    """Largest difference; infinite where one of two numbers is missing."""
    if (np.isnan(one) != np.isnan(other)).any():
        return float("inf")
    return float(np.abs(np.nan_to_num(one) - np.nan_to_num(other)).max())
