"""Alike and families: documented cases rebuilt as tables with exactly the published moments."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.answer.judging import judged, note_codes, only_contrast
from tests.reference_data import published
from tests.tables import rows

EQUIVALENCE = published("equivalence")
HOLM = published("holm")
NINE_DIGITS = 1e-9


def standard_values(n: int, count: int, seed: int = 3) -> np.ndarray:
    """`count` samples of n values with mean 0, variance 1 and no correlation, exactly."""
    rng = np.random.default_rng(seed)
    basis = np.linalg.qr(np.column_stack([np.ones(n), rng.normal(size=(n, count))]))[0]
    return np.asarray(basis[:, 1:] * np.sqrt(n - 1))


def pairs(reference: np.ndarray, treated: np.ndarray, surface: str = "s") -> list[tuple[Any, ...]]:
    """Rows of one surface with a pair in each block."""
    return [
        (float(y), name, block, surface)
        for name, values in (("a", reference), ("b", treated))
        for block, y in enumerate(values)
    ]


def check_two_one_sided(found: dict[str, Any], expected: dict[str, Any], bound: float) -> None:
    t = [(found["estimate"] - sign * bound) / found["se"] for sign in (-1, 1)]
    assert t == pytest.approx(expected["t"], abs=1e-6)
    p = [float(stats.t.sf(t[0], found["df"])), float(stats.t.cdf(t[1], found["df"]))]
    assert p == pytest.approx(expected["p"], rel=1e-6)
    assert found["p_alike"] == pytest.approx(max(expected["p"]), rel=1e-6)
    assert found["verdict"] == "alike" and found["size"] == "small"


def test_one_sample_equivalence() -> None:
    # Documented example of the R library TOSTER (0.54 against 0.5, sd 1.2, n 100, bounds 0.3 sd). V.
    expected = EQUIVALENCE["one_sample"]
    treated = expected["mean"] + expected["sd"] * standard_values(expected["n"], 1)[:, 0]
    reference = np.full(expected["n"], expected["against"])
    bound = expected["bound_sd"] * expected["sd"]
    table = rows("response treatment block surface", pairs(reference, treated))
    found = only_contrast(judged(table, scale="difference", matters=bound))
    assert found["estimate"] == pytest.approx(expected["mean"] - expected["against"], rel=NINE_DIGITS)
    check_two_one_sided(found, expected, bound)


def test_paired_equivalence() -> None:
    # Documented example of the R library TOSTER (65 pairs, bounds 0.4 sd of the differences). V.
    expected = EQUIVALENCE["paired"]
    u, v = standard_values(expected["n"], 2).T
    r, (first, second), (sd1, sd2) = expected["correlation"], expected["means"], expected["sds"]
    x = first + sd1 * u
    y = second + sd2 * (r * u + np.sqrt(1 - r**2) * v)
    bound = expected["bound_sd"] * float((x - y).std(ddof=1))
    assert bound == pytest.approx(expected["bound"], abs=1e-6)
    table = rows("response treatment block surface", pairs(y, x))
    found = only_contrast(judged(table, scale="difference", matters=bound))
    check_two_one_sided(found, expected, bound)
    assert found["interval_alike"] == pytest.approx(expected["interval_90"], abs=1e-6)
    # 2^65 ways to turn the pairs: more than a double can hold, so some of them were drawn. With 65 pairs
    # without outliers they say what the t test says.
    assert found["assignments"] is None
    assert found["log10_assignments"] == pytest.approx(65 * np.log10(2), rel=NINE_DIGITS)
    assert found["p_randomisation"] == pytest.approx(found["p_difference"], abs=0.005)
    assert 0 < found["randomisation_error"] < 0.001 and "randomisation-by-chance" in note_codes(found)


def surfaces_with(p: list[float], blocks: int = 6) -> dict[str, list[Any]]:
    """One surface per p value, with pair differences whose t test gives exactly that p."""
    noise = standard_values(blocks, 1)[:, 0]
    lines = []
    for number, value in enumerate(p):
        t = float(stats.t.isf(value / 2, blocks - 1))
        difference = noise + t / np.sqrt(blocks)
        lines += pairs(np.zeros(blocks), difference, surface=f"s{number}")
    return rows("response treatment block surface", lines)


@pytest.mark.parametrize("name", ["four", "fifteen"])
def test_holm_over_surfaces(name: str) -> None:
    # Four: Holm (1979) by hand and R 4.2.2, V2. Fifteen: Benjamini & Hochberg (1995) section 4,
    # p values and three rejections M, adjusted values V2 by R 4.2.2.
    expected = HOLM[name]
    document = judged(surfaces_with(expected["p"]), scale="difference")
    found = [surface["contrasts"][0] for surface in document["surfaces"]]
    assert [each["p_difference"] for each in found] == pytest.approx(expected["p"], rel=NINE_DIGITS)
    assert [each["p_difference_adjusted"] for each in found] == pytest.approx(expected["holm"], rel=1e-9)
    claimed = sum(each["verdict"] != "open" for each in found)
    assert claimed == expected.get("rejected", sum(p <= 0.05 for p in expected["holm"]))


def test_joint_control_over_kinds_of_claim() -> None:
    expected = HOLM["four"]
    table = surfaces_with(expected["p"])
    found = judged(table, scale="difference", adjust="both")["surfaces"]
    assert [each["contrasts"][0]["p_difference_adjusted"] for each in found] == pytest.approx(
        expected["bonferroni"], rel=NINE_DIGITS
    )
    found = judged(table, scale="difference", adjust="none")["surfaces"]
    assert [each["contrasts"][0]["p_difference_adjusted"] for each in found] == pytest.approx(
        expected["p"], rel=NINE_DIGITS
    )


def test_clear_alone_but_not_in_the_family() -> None:
    alone = judged(surfaces_with([0.03]), scale="difference")
    assert only_contrast(alone)["verdict"] == "higher"
    among = judged(surfaces_with([0.03, 0.5]), scale="difference")
    assert among["surfaces"][0]["contrasts"][0]["verdict"] == "open"
