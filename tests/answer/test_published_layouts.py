"""Blocks, preparations with several launches, several treatments: against published data."""

from __future__ import annotations

from typing import Any

import pytest

from tests.answer.judging import audit_codes, judged
from tests.reference_data import columns, data, published, simon_lesage

VALUES = published("layouts")
NIST = published("nist_anova")
NINE_DIGITS = 1e-9
EIGHT_DIGITS = 1e-8
SIX_DIGITS = 1e-6


def check_against_first(surface: dict[str, Any], expected: dict[str, list[float]], se: float) -> None:
    contrasts = {contrast["treatment"]: contrast for contrast in surface["contrasts"]}
    for name, (estimate, p) in expected.items():
        assert contrasts[name]["estimate"] == pytest.approx(estimate, rel=NINE_DIGITS)
        assert contrasts[name]["se"] == pytest.approx(se, rel=SIX_DIGITS)
        assert contrasts[name]["p_difference"] == pytest.approx(p, rel=SIX_DIGITS)
    assert len(contrasts) == len(expected)


def test_oats_varieties_on_whole_plots() -> None:
    # Yates (1935), split plot: a variety's plot in a block is one preparation, its four nitrogen
    # levels are sub-samples. Strata by aov and differences by lme4 in R 4.2.2. V2.
    expected = VALUES["oats"]
    table = columns("oats")
    table["plot"] = [f"{b} {v}" for b, v in zip(table["block"], table["variety"], strict=True)]
    document = judged(
        table,
        response="yield",
        treatment="variety",
        reference="Golden.rain",
        block="block",
        preparation="plot",
        scale="difference",
    )
    (surface,) = document["surfaces"]
    assert surface["omnibus"]["f"] == pytest.approx(expected["f"], rel=NINE_DIGITS)
    assert surface["omnibus"]["df"] == expected["df"]
    assert surface["omnibus"]["p"] == pytest.approx(expected["p"], rel=NINE_DIGITS)
    check_against_first(surface, expected["against_golden_rain"], expected["se"])
    assert {contrast["df"] for contrast in surface["contrasts"]} == {expected["df_difference"]}


def test_machines_with_the_worker_as_round() -> None:
    # Milliken & Johnson (1992) chapter 23, as in nlme; lme4 and pbkrtest in R 4.2.2. V2. Three scores of
    # a worker on a machine are launches of one preparation: 10 degrees of freedom, never 46.
    expected = VALUES["machines"]
    table = columns("machines")
    table["turn"] = [f"{w}{m}" for w, m in zip(table["worker"], table["machine"], strict=True)]
    named = {"response": "score", "treatment": "machine", "block": "worker", "scale": "difference"}
    document = judged(table, preparation="turn", **named)
    (surface,) = document["surfaces"]
    assert surface["omnibus"]["f"] == pytest.approx(expected["f"], rel=SIX_DIGITS)
    assert surface["omnibus"]["df"] == expected["df"]
    check_against_first(surface, expected["against_a"], expected["se"])
    for contrast in surface["contrasts"]:
        assert contrast["df"] == expected["df_difference"]
        assert contrast["naive"]["df"] == expected["df_of_single_scores"]
        assert contrast["naive"]["too_narrow_by"] > 1


def test_machines_without_preparations_say_what_they_assume() -> None:
    expected = VALUES["machines"]
    document = judged(
        data("machines"), response="score", treatment="machine", block="worker", scale="difference"
    )
    assert {contrast["df"] for contrast in document["surfaces"][0]["contrasts"]} == {
        expected["df_of_single_scores"]
    }
    assert audit_codes(document)[0] == "rows-as-preparations"
    assert document["audit"][0]["severity"] == "limits"


def test_stools_in_randomised_blocks() -> None:
    # Pinheiro & Bates (2000) section 1.2, as in nlme; lme4 (an iteration) and pbkrtest in R 4.2.2. V2.
    expected = VALUES["ergo_stool"]
    document = judged(
        data("ergo_stool"), response="effort", treatment="stool", block="subject", scale="difference"
    )
    (surface,) = document["surfaces"]
    assert surface["omnibus"]["f"] == pytest.approx(expected["f"], rel=EIGHT_DIGITS)
    assert surface["omnibus"]["df"] == expected["df"]
    assert surface["omnibus"]["p"] == pytest.approx(expected["p"], rel=SIX_DIGITS)
    check_against_first(surface, expected["against_t1"], expected["se"])
    assert {contrast["df"] for contrast in surface["contrasts"]} == {expected["df_difference"]}


def test_blood_counts_of_unequal_groups() -> None:
    # Dunnett (1955) Table 1; multcomp in R 4.2.2. V2.
    expected = published("two_samples")["blood_counts"]
    document = judged(data("blood_counts"), response="count", treatment="group", scale="difference")
    (surface,) = document["surfaces"]
    assert [facts["mean"] for facts in surface["treatments"]] == pytest.approx(expected["means"], rel=1e-12)
    assert [facts["preparations"] for facts in surface["treatments"]] == expected["counts"]
    n = expected["counts"]
    for contrast, count, t in zip(surface["contrasts"], n[1:], expected["t"], strict=True):
        assert contrast["estimate"] / contrast["se"] == pytest.approx(t, rel=1e-12)
        assert contrast["df"] == expected["df"]
        residual = contrast["se"] ** 2 / (1 / n[0] + 1 / count)
        assert residual == pytest.approx(expected["residual_mean_square"], rel=1e-12)


@pytest.mark.parametrize("name", sorted(NIST["sets"]))
def test_certified_analyses_of_variance(name: str) -> None:
    # NIST Statistical Reference Datasets, analysis of variance, certified values. V. Digits held for
    # each set stand beside its values: readings with 13 leading digits keep about four of F.
    expected = NIST["sets"][name]
    if "file" in expected:
        table = columns(expected["file"].removesuffix(".csv"))
        table = dict(zip(("treatment", "response"), table.values(), strict=True))
    else:
        table = simon_lesage(expected["base"], expected["replicates"])
    document = judged(table, scale="difference")
    (surface,) = document["surfaces"]
    digits = 10.0 ** -expected["digits"]
    assert surface["omnibus"]["f"] == pytest.approx(float(expected["f"]), rel=digits)
    assert surface["omnibus"]["df"] == expected["df"]
    per_level = len(table["response"]) / (expected["df"][0] + 1)
    for contrast in surface["contrasts"]:
        residual_sd = contrast["se"] / (2 / per_level) ** 0.5
        assert residual_sd == pytest.approx(float(expected["residual_sd"]), rel=digits)


def test_the_nist_sets_are_the_published_ones() -> None:
    # Sizes from the heads of the NIST files: 9 treatments, 21, 201 or 2,001 values each.
    assert len(NIST["sets"]) == 11
    for expected in NIST["sets"].values():
        if "base" in expected:
            table = simon_lesage(expected["base"], expected["replicates"])
            assert len(table["response"]) == 9 * expected["replicates"] == sum(expected["df"]) + 1
