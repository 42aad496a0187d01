"""Rounds that would close an open question, from noncentral t and by integration."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy import integrate, stats

from tests.answer.by_hand import Made, design, preparations
from tests.answer.judging import Document, judged
from tests.answer.scenarios import field_day, without
from tests.tables import Columns

CHANCE = 0.8
Chance = Callable[..., float]


def difference_chance(df: float, se: float, *, margin: float, level: float) -> float:
    """Chance that a two-sided t test claims a difference when the truth is the margin."""
    t = float(stats.t.isf(level / 2, df))
    return float(stats.nct.sf(t, df, margin / se) + stats.nct.cdf(-t, df, margin / se))


def alike_chance(df: float, se: float, *, margin: float, level: float) -> float:
    """Chance that both one-sided tests reject when there is no effect, over the chi of the scatter."""
    t = float(stats.t.isf(level, df))

    def at(ratio: float) -> float:  # of estimated to true error
        room = margin / se - t * ratio
        density = float(stats.chi.pdf(ratio * math.sqrt(df), df)) * math.sqrt(df)
        return (2 * float(stats.norm.cdf(room)) - 1) * density

    found, _ = integrate.quad(at, 0, min(margin / (t * se), 12.0), epsabs=1e-11, limit=400)
    return float(found)


def residual_sd(made: list[Made], *, items: bool) -> float:
    """Scatter of preparations that the means test leaves."""
    x, y = design(made, "bare", items=items), np.array([each.value for each in made])
    rest = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
    return math.sqrt(float(rest @ rest) / (len(y) - int(np.linalg.matrix_rank(x))))


def smallest(chance: Chance, df: Callable[[int], int], sd: float, **asked: float) -> int:
    """Count up to the first number of rounds with the chance wanted."""
    n = 1
    while df(n) < 1 or chance(df(n), sd * math.sqrt(2 / n), **asked) < CHANCE:
        n += 1
    return n


LAYOUTS: dict[str, tuple[Columns, int, Callable[[int], int]]] = {
    "pairs with items": (field_day(effect=0.0), 2, lambda n: 2 * n - n - 1 - 1),
    "pairs": (without(field_day(effect=0.0), "item"), 2, lambda n: 2 * n - n - 1),
    "three treatments": (
        field_day(treatments=("bare", "rub", "wax"), effect=0.01),
        3,
        lambda n: 3 * n - n - 2 - 2,
    ),
    "no rounds": (without(field_day(effect=0.0), "item", "block"), 2, lambda n: 2 * n - 2),
}


@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize(
    "options", [{"matters": "5 %"}, {"matters": "6 %", "level": 0.01}, {"matters": "6 %", "adjust": "none"}]
)
def test_smallest_number_of_rounds(name: str, options: Document) -> None:
    table, treatments, df = LAYOUTS[name]
    document = judged(table, **options)
    family = 1 if document["adjust"] == "none" else 2 * (treatments - 1)
    asked = {"margin": document["surfaces"][0]["margin"][1], "level": document["level"] / family}
    checked = 0
    for surface in document["surfaces"]:
        sd = residual_sd(preparations(table, surface["surface"]), items="item" in table)
        for contrast in surface["contrasts"]:
            if contrast["verdict"] == "open":
                expected = [smallest(c, df, sd, **asked) for c in (difference_chance, alike_chance)]
                found = contrast["to_close"]
                assert [found["difference_blocks"], found["alike_blocks"]] == expected
                checked += 1
    assert checked
