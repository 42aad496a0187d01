"""Comparisons of surfaces against Welch's and Hotelling's tests written out."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy import stats

from tests.answer.by_hand import Made, dense, design, preparations
from tests.answer.judging import judged
from tests.answer.scenarios import field_day, flagged, keep, without
from tests.tables import Columns, rows

NINE_DIGITS = 1e-9
SURFACES = ("wet", "dry", "ice")


def block_differences(table: Columns, surface: str) -> np.ndarray:
    """Treatment less reference in each round."""
    made = preparations(table, surface)
    value = {(each.block, each.treatment): each.value for each in made}
    return np.array([value[b, "rub"] - value[b, "bare"] for b in dict.fromkeys(b for b, _ in value)])


@pytest.mark.parametrize("surfaces", [SURFACES, SURFACES[:2]])
def test_fresh_pairs_are_welchs_analysis_of_variance(surfaces: tuple[str, ...]) -> None:
    # Welch (1951) Biometrika 38:330; scipy's f_oneway with equal_var=False is the outside computation.
    table = without(field_day(surfaces=surfaces, blocks=7), "item")
    (compared,) = judged(table, matters="5 %")["between_surfaces"]
    samples = [block_differences(table, surface) for surface in surfaces]
    expected = stats.f_oneway(*samples, equal_var=False)
    assert compared["method"] == "welch" and compared["surfaces"] == list(surfaces)
    assert compared["f"] == pytest.approx(float(expected.statistic), rel=NINE_DIGITS)
    assert compared["p"] == pytest.approx(float(expected.pvalue), rel=NINE_DIGITS)
    for pair in compared["pairs"]:
        first, second = (samples[surfaces.index(name)] for name in pair["surfaces"])
        test = stats.ttest_ind(second, first, equal_var=False)
        assert pair["estimate"] == pytest.approx(float(second.mean() - first.mean()), rel=NINE_DIGITS)
        assert pair["df"] == pytest.approx(float(test.df), rel=NINE_DIGITS)
        assert pair["p"] == pytest.approx(float(test.pvalue), rel=NINE_DIGITS)


def test_fresh_with_items_by_the_formula() -> None:
    table = field_day(surfaces=SURFACES, blocks=8)
    (compared,) = judged(table, matters="5 %")["between_surfaces"]
    fits = [dense(preparations(table, surface), "bare", "rub") for surface in SURFACES]
    weights = [1 / fit.se**2 for fit in fits]
    total, k = sum(weights), len(fits)
    mean = sum(w * fit.estimate for w, fit in zip(weights, fits, strict=True)) / total
    spread = sum((1 - w / total) ** 2 / fit.df for w, fit in zip(weights, fits, strict=True))
    above = sum(w * (fit.estimate - mean) ** 2 for w, fit in zip(weights, fits, strict=True)) / (k - 1)
    assert compared["f"] == pytest.approx(above / (1 + 2 * (k - 2) / (k**2 - 1) * spread), rel=NINE_DIGITS)
    assert compared["df"] == pytest.approx([k - 1, (k**2 - 1) / (3 * spread)], rel=NINE_DIGITS)


@pytest.mark.parametrize("surfaces", [SURFACES, SURFACES[:2]])
def test_shared_pairs_are_hotellings_one_sample_test(surfaces: tuple[str, ...]) -> None:
    # Hotelling (1931) Ann. Math. Stat. 2:360: round differences between surfaces, one vector a round.
    table = without(field_day(surfaces=surfaces, blocks=7), "item")
    (compared,) = judged(table, matters="5 %", shared_preparations=True)["between_surfaces"]
    samples = np.array([block_differences(table, surface) for surface in surfaces])
    vectors = (samples[1:] - samples[0]).T
    n, q = vectors.shape
    mean, covariance = vectors.mean(axis=0), np.atleast_2d(np.cov(vectors, rowvar=False))
    t_squared = n * float(mean @ np.linalg.solve(covariance, mean))
    f = (n - q) / (q * (n - 1)) * t_squared
    assert compared["method"] == "hotelling"
    assert compared["f"] == pytest.approx(f, rel=1e-8)
    assert compared["df"] == [q, n - q]
    assert compared["p"] == pytest.approx(float(stats.f.sf(f, q, n - q)), rel=1e-8)
    for pair in compared["pairs"]:
        first, second = (samples[surfaces.index(name)] for name in pair["surfaces"])
        test = stats.ttest_rel(second, first)
        assert pair["df"] == test.df
        assert pair["p"] == pytest.approx(float(test.pvalue), rel=NINE_DIGITS)


def complete(table: Columns, surfaces: tuple[str, ...]) -> list[list[Made]]:
    """Preparations that have a value on every surface, in one order."""
    by_surface = [
        {(each.block, each.treatment): each for each in preparations(table, surface)} for surface in surfaces
    ]
    common = [key for key in by_surface[0] if all(key in other for other in by_surface)]
    return [[each[key] for key in common] for each in by_surface]


def test_shared_with_items_and_lost_preparations() -> None:
    # Three treatments, a coat set aside on one surface: only coats with a value everywhere can be joined.
    table = field_day(surfaces=SURFACES, treatments=("bare", "rub", "wax"), blocks=6)
    aside = [
        at
        for at, (coat, surface) in enumerate(zip(table["preparation"], table["surface"], strict=True))
        if (coat, surface) == ("coat 11", "dry")
    ]
    table = flagged(table, "void", dict.fromkeys(aside, "rig moved"))
    rub, _ = judged(table, matters="5 %", shared_preparations=True)["between_surfaces"]
    made = complete(table, SURFACES)
    assert len(made[0]) == 17
    values = np.array([[each.value for each in surface] for surface in made])
    differences = (values[1:] - values[0]).T
    x = design(made[0], "bare", items=True)
    inverse = np.linalg.pinv(x.T @ x)
    b = inverse @ x.T @ differences
    rest = differences - x @ b
    nu, q = len(differences) - np.linalg.matrix_rank(x), 2
    effect, covariance = b[0], rest.T @ rest / nu * inverse[0, 0]
    t_squared = float(effect @ np.linalg.solve(covariance, effect))
    assert rub["df"] == [q, nu - q + 1]
    assert rub["f"] == pytest.approx(t_squared * (nu - q + 1) / (nu * q), rel=1e-8)
    wet_ice = next(pair for pair in rub["pairs"] if pair["surfaces"] == ["wet", "ice"])
    first, second = complete(table, ("wet", "ice"))
    assert len(first) == 18  # a pair asks less than the whole
    change = [after.value - before.value for before, after in zip(first, second, strict=True)]
    expected = dense(first, "bare", "rub", values=change)
    assert wet_ice["df"] == expected.df
    assert wet_ice["se"] == pytest.approx(expected.se, rel=NINE_DIGITS)
    assert wet_ice["p"] == pytest.approx(expected.p, rel=1e-8)


def test_only_like_marks_are_compared() -> None:
    kinds = ("run-out", "timed mark", "run-out", "timed mark")
    table = field_day(surfaces=("a", "b", "c", "d"), marks=kinds, blocks=6)
    compared = judged(table, matters="5 %")["between_surfaces"]
    assert [each["surfaces"] for each in compared] == [["a", "c"], ["b", "d"]]
    table = field_day(surfaces=("a", "b"), marks=kinds[:2], blocks=6)
    assert judged(table, matters="5 %")["between_surfaces"] == []


def test_too_few_preparations_to_join_three_surfaces() -> None:
    table = without(field_day(surfaces=SURFACES, blocks=2), "item")
    (compared,) = judged(table, matters="5 %", shared_preparations=True)["between_surfaces"]
    assert compared["f"] is None
    assert [note["code"] for note in compared["notes"]] == ["surfaces-not-joined"]
    assert all(pair["df"] == 1 for pair in compared["pairs"])


def test_one_surface_or_one_common_treatment_compares_nothing() -> None:
    assert judged(field_day(surfaces=("wet",)))["between_surfaces"] == []
    table = keep(
        field_day(treatments=("bare", "rub", "wax")),
        lambda row: row["treatment"] != ("wax" if row["surface"] == "wet" else "rub"),
    )
    assert judged(table)["between_surfaces"] == []


def gear_that_keeps_its_treatment() -> Columns:
    """Eight sliders, one treatment each for good, two coats on each, two surfaces."""
    rng = np.random.default_rng(1)
    lines = [
        (float(np.exp(1 + 0.1 * k + rng.normal(0, 0.1))), "ab"[k % 2], surface, f"i{k}", f"p{k}{coat}", "")
        for k in range(8)
        for coat in range(2)
        for surface in ("wet", "dry")
        for _ in range(2)
    ]
    return rows("response treatment surface item preparation void", lines)


def test_an_item_that_counts_as_one_try_is_the_same_item_on_every_surface() -> None:
    # One coat of a slider lost on one surface: the slider still has a value on both.
    table = gear_that_keeps_its_treatment()
    places = zip(table["preparation"], table["surface"], strict=True)
    lost = [row for row, place in enumerate(places) if place == ("p00", "dry")]
    table = flagged(table, "void", dict.fromkeys(lost, "rig moved"))
    document = judged(table, shared_preparations=True)
    (compared,) = document["between_surfaces"]
    sliders = {
        surface: {
            item: np.mean([each.value for each in preparations(table, surface) if each.item == item])
            for item in dict.fromkeys(table["item"])
        }
        for surface in ("wet", "dry")
    }
    change = {item: sliders["dry"][item] - sliders["wet"][item] for item in sliders["wet"]}
    groups = [[change[f"i{k}"] for k in range(first, 8, 2)] for first in (0, 1)]
    expected = stats.ttest_ind(groups[1], groups[0])
    assert compared["df"] == [1, expected.df] == [1, 6]
    assert compared["f"] == pytest.approx(float(expected.statistic) ** 2, rel=1e-8)
    joint = document["surfaces"][0]["contrasts"][0]["p_randomisation_joint"]
    assert joint * 70 == pytest.approx(round(joint * 70))  # 8 sliders, 4 of them treated
    reached = []
    for chosen in combinations(range(8), 4):
        t = []
        for values in sliders.values():
            y = np.array([values[f"i{k}"] for k in range(8)])
            z = np.isin(np.arange(8), chosen)
            t.append(abs(float(stats.ttest_ind(y[z], y[~z]).statistic)))
        reached.append((max(t), chosen))
    observed = next(value for value, chosen in reached if chosen == (1, 3, 5, 7))
    assert joint == pytest.approx(np.mean([value >= observed * (1 - 1e-9) for value, _ in reached]))
