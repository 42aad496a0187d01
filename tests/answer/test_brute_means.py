"""Whole answers against preparations and least squares by hand, over many layouts."""

from __future__ import annotations

import math
from statistics import fmean, stdev

import numpy as np
import pytest

from tests.answer.by_hand import Made, cell_of, dense, lines_of, omnibus, preparations
from tests.answer.judging import Document, judged
from tests.answer.scenarios import field_day, flagged, keep, without
from tests.tables import Columns

NINE_DIGITS = 1e-9
THREE = field_day(treatments=("bare", "rub", "wax"))
WAYS = field_day(ways=("out", "back"))
TIMED = field_day(ways=("out", "back"), marks=("timed mark",))
DIFFERENCE = {"scale": "difference"}
LAYOUTS = {
    "surfaces and treatments": (THREE, {}),
    "no items": (without(THREE, "item"), {}),
    "differences": (THREE, DIFFERENCE),
    "two directions, run-outs": (WAYS, {}),
    "two directions, differences": (WAYS, DIFFERENCE),
    "two directions, timed": (TIMED, {}),
    "timed differences": (TIMED, DIFFERENCE),
    "unequal numbers": (keep(field_day(blocks=6), lambda row: row["order"] % 5 != 2), {}),
    "launches set aside": (flagged(field_day(), "void", {0: "x", 3: "x", 8: "x"}), {}),
    "a coat set aside": (flagged(THREE, "void", {0: "x", 3: "x", 6: "x"}), {}),
    "a broken round": (keep(THREE, lambda row: (row["block"], row["treatment"]) != ("r1", "rub")), {}),
}


@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize("shared", [False, True])
def test_estimates_are_dense_least_squares(name: str, shared: bool) -> None:
    table, options = LAYOUTS[name]
    scale = options.get("scale", "ratio")
    document = judged(table, matters="5 %" if scale == "ratio" else 0.2, shared_preparations=shared)
    assert document["scale"] == scale
    for surface in document["surfaces"]:
        made = preparations(table, surface["surface"], scale=scale, timed=surface["mark"] == "timed mark")
        for contrast in surface["contrasts"]:
            expected = dense(made, "bare", contrast["treatment"], items="item" in table)
            assert contrast["df"] == expected.df
            assert contrast["estimate"] == pytest.approx(expected.estimate, rel=NINE_DIGITS)
            assert contrast["se"] == pytest.approx(expected.se, rel=NINE_DIGITS)
            assert contrast["p_difference"] == pytest.approx(expected.p, rel=NINE_DIGITS)
        f, *df = omnibus(made, "bare", items="item" in table)
        assert surface["omnibus"]["f"] == pytest.approx(f, rel=1e-8)
        assert surface["omnibus"]["df"] == df
        check_facts(surface, made, table, scale=scale)


def check_facts(surface: Document, made: list[Made], table: Columns, *, scale: str) -> None:
    """Counts, means and scatter of each treatment."""
    here = [row for row in lines_of(table) if row["surface"] == surface["surface"]]
    for facts in surface["treatments"]:
        mine = [each for each in made if each.treatment == facts["treatment"]]
        rows = [row for row in here if row["treatment"] == facts["treatment"]]
        values = [each.value for each in mine]
        assert facts["preparations"] == len(mine)
        assert facts["voids"] == sum(bool(row["void"]) for row in rows)
        assert facts["launches"] == len(rows) - facts["voids"]
        assert facts["at_least"] == 0
        mean = math.exp(fmean(values)) if scale == "ratio" else fmean(values)
        assert facts["mean"] == pytest.approx(mean, rel=NINE_DIGITS)
        assert facts["sd_preparations"] == pytest.approx(stdev(values), rel=NINE_DIGITS)
        cells: dict[tuple[str, ...], list[float]] = {}
        for row in rows:
            if not row["void"]:
                y = math.log(row["response"]) if scale == "ratio" else row["response"]
                cells.setdefault(cell_of(row), []).append(y)
        squares = sum((y - fmean(cell)) ** 2 for cell in cells.values() for y in cell)
        df = sum(len(cell) - 1 for cell in cells.values())
        assert facts["sd_launches"] == pytest.approx(math.sqrt(squares / df), rel=NINE_DIGITS)


def test_pairs_with_items_are_the_regression_of_the_difference_on_the_sign() -> None:
    table = field_day(surfaces=("wet",), blocks=7)
    (surface,) = judged(table, matters="5 %")["surfaces"]
    made = preparations(table, "wet")
    differences, signs = [], []
    for block in dict.fromkeys(each.block for each in made):
        bare, rub = sorted((each for each in made if each.block == block), key=lambda each: each.treatment)
        differences.append(rub.value - bare.value)
        signs.append(1.0 if rub.item == "slider 1" else -1.0)
    n, mean_sign, mean = len(signs), fmean(signs), fmean(differences)
    sxx = sum((s - mean_sign) ** 2 for s in signs)
    slope = sum((s - mean_sign) * d for s, d in zip(signs, differences, strict=True)) / sxx
    intercept = mean - slope * mean_sign
    rest = sum((d - intercept - slope * s) ** 2 for s, d in zip(signs, differences, strict=True)) / (n - 2)
    (contrast,) = surface["contrasts"]
    assert contrast["estimate"] == pytest.approx(intercept, rel=NINE_DIGITS)
    assert contrast["se"] == pytest.approx(math.sqrt(rest * (1 / n + mean_sign**2 / sxx)), rel=NINE_DIGITS)
    assert contrast["df"] == n - 2
    assert contrast["own_pair"]["se"] == pytest.approx(contrast["se"], rel=NINE_DIGITS)


def test_launches_taken_as_independent() -> None:
    table = field_day(surfaces=("wet",), ways=("out", "back"))
    (contrast,) = judged(table, matters="5 %")["surfaces"][0]["contrasts"]
    alone = [
        Made(
            treatment=row["treatment"],
            block=row["block"],
            item=row["item"],
            label="",
            value=math.log(row["response"]),
            order=0.0,
        )
        for row in lines_of(table)
    ]
    way = [[float(row["direction"] == "back")] for row in lines_of(table)]
    expected = dense(alone, "bare", "rub", extra=np.array(way))
    assert contrast["naive"]["df"] == expected.df
    assert contrast["naive"]["estimate"] == pytest.approx(expected.estimate, rel=NINE_DIGITS)
    assert contrast["naive"]["se"] == pytest.approx(expected.se, rel=NINE_DIGITS)
