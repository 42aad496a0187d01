"""Two treatments: whole answers against published data.

Sources and their status stand in tests/reference (README.md there); each check names them again.
"""

from __future__ import annotations

import pytest

from tests.answer.judging import audit_codes, judged, note_codes, only_contrast
from tests.reference_data import data, published

VALUES = published("two_samples")
TWELVE_DIGITS = 1e-12
PRINTED = 1e-6


def t_of(parts: dict[str, float]) -> float:
    return parts["estimate"] / parts["se"]


def test_boys_shoes_in_pairs() -> None:
    # Box, Hunter & Hunter (1978) p. 100; R 4.2.2. V2.
    expected = VALUES["shoes"]
    found = only_contrast(
        judged(data("shoes"), response="wear", treatment="sole", block="boy", scale="difference")
    )
    assert found["estimate"] == pytest.approx(expected["estimate"], rel=TWELVE_DIGITS)
    assert t_of(found) == pytest.approx(expected["t"], rel=TWELVE_DIGITS)
    assert found["df"] == expected["df"]
    assert found["p_difference"] == pytest.approx(expected["p"], rel=TWELVE_DIGITS)
    assert found["interval"] == pytest.approx(expected["interval"], rel=TWELVE_DIGITS)
    # 14 of 1024 only if sums are compared so that decimal ties count as ties.
    assert found["assignments"] == expected["assignments"]
    assert found["p_randomisation"] == expected["as_extreme"] / expected["assignments"]
    assert found["smallest_p"] == 2 / 1024
    # Pairs alone, launches taken one by one and the primary test are the same test here.
    assert found["own_pair"]["p"] == pytest.approx(expected["p"], rel=TWELVE_DIGITS)
    assert found["naive"]["too_narrow_by"] == pytest.approx(1.0, rel=TWELVE_DIGITS)
    assert found["verdict"] == "higher" and found["size"] is None


def test_boys_shoes_as_if_they_were_no_pairs() -> None:
    # The same data without their blocks; t.test in R 4.2.2. V2.
    expected = VALUES["shoes"]["unpaired"]
    document = judged(data("shoes"), response="wear", treatment="sole", scale="difference")
    found = only_contrast(document)
    assert t_of(found) == pytest.approx(expected["t"], rel=TWELVE_DIGITS)
    assert found["df"] == expected["df_pooled"]
    assert found["p_difference"] == pytest.approx(expected["p_pooled"], rel=TWELVE_DIGITS)
    assert found["own_pair"]["df"] == pytest.approx(expected["df_welch"], rel=TWELVE_DIGITS)
    assert found["own_pair"]["p"] == pytest.approx(expected["p_welch"], rel=TWELVE_DIGITS)
    assert found["verdict"] == "open"
    assert "no-blocks" in audit_codes(document)


def test_a_boy_is_an_item_with_both_soles() -> None:
    # Boys as items and no blocks: item columns take the boys out as blocks did. V2 by the same values.
    expected = VALUES["shoes"]
    found = only_contrast(
        judged(data("shoes"), response="wear", treatment="sole", item="boy", scale="difference")
    )
    assert t_of(found) == pytest.approx(expected["t"], rel=TWELVE_DIGITS)
    assert found["df"] == expected["df"]


def test_tomato_plants() -> None:
    # Box, Hunter & Hunter (1978) Table 4.1. Estimate, t, p: V2; data: M, confirmed by 1.69 and 154 of 462.
    expected = VALUES["tomato"]
    document = judged(
        data("tomato"), response="pounds", treatment="fertiliser", order="position", scale="difference"
    )
    found = only_contrast(document)
    assert found["estimate"] == pytest.approx(expected["estimate"], rel=TWELVE_DIGITS)
    assert t_of(found) == pytest.approx(expected["t"], rel=TWELVE_DIGITS)
    assert found["df"] == expected["df"]
    assert found["p_difference"] == pytest.approx(expected["p"], rel=TWELVE_DIGITS)
    assert found["interval"] == pytest.approx(expected["interval"], rel=TWELVE_DIGITS)
    assert found["assignments"] == expected["assignments"]
    assert found["p_randomisation"] == pytest.approx(expected["two_sided"] / 462, rel=TWELVE_DIGITS)
    # Five and six plants: no order has a mirror image with the same numbers.
    assert found["smallest_p"] == pytest.approx(1 / 462, rel=TWELVE_DIGITS)


def test_sleep_as_two_groups_and_as_pairs() -> None:
    # Cushny & Peebles (1905); examples of t.test in R 4.2.2. V2.
    expected = VALUES["sleep"]
    named = {"response": "extra_hours", "treatment": "drug", "scale": "difference"}
    groups = only_contrast(judged(data("sleep"), **named))["own_pair"]
    assert groups["estimate"] == pytest.approx(expected["estimate"], rel=TWELVE_DIGITS)
    assert t_of(groups) == pytest.approx(expected["welch"]["t"], rel=TWELVE_DIGITS)
    assert groups["df"] == pytest.approx(expected["welch"]["df"], rel=TWELVE_DIGITS)
    assert groups["p"] == pytest.approx(expected["welch"]["p"], rel=TWELVE_DIGITS)
    assert groups["interval"] == pytest.approx(expected["welch"]["interval"], rel=TWELVE_DIGITS)
    pairs = only_contrast(judged(data("sleep"), block="patient", **named))
    assert t_of(pairs) == pytest.approx(expected["paired"]["t"], rel=TWELVE_DIGITS)
    assert pairs["df"] == expected["paired"]["df"]
    assert pairs["p_difference"] == pytest.approx(expected["paired"]["p"], rel=TWELVE_DIGITS)
    assert pairs["interval"] == pytest.approx(expected["paired"]["interval"], rel=TWELVE_DIGITS)


def test_sleep_with_the_other_drug_as_reference() -> None:
    expected = VALUES["sleep"]["paired"]
    found = only_contrast(
        judged(data("sleep"), response="extra_hours", treatment="drug", block="patient", reference="2")
    )
    assert found["reference"] == "2" and found["verdict"] == "lower"
    assert t_of(found) == pytest.approx(-expected["t"], rel=TWELVE_DIGITS)
    # Hours of sleep won can be nought or below: without a margin the scale chosen is the difference's.
    low, high = expected["interval"]
    assert found["interval"] == pytest.approx([-high, -low], rel=TWELVE_DIGITS)


def test_miles_per_gallon() -> None:
    # NIST/SEMATECH e-Handbook 1.3.5.3, AUTO83B: pooled t, df and interval printed (V); Welch computed,
    # its printed -12.946 and 136.9 are M.
    expected = VALUES["auto83b"]
    document = judged(data("auto83b"), response="mpg", treatment="country", scale="difference")
    found = only_contrast(document)
    means = [facts["mean"] for facts in document["surfaces"][0]["treatments"]]
    assert means == pytest.approx(expected["means"], rel=PRINTED)
    assert t_of(found) == pytest.approx(expected["pooled"]["t"], rel=PRINTED)
    assert found["df"] == expected["pooled"]["df"]
    assert found["interval"] == pytest.approx(expected["pooled"]["interval"], rel=PRINTED)
    assert t_of(found["own_pair"]) == pytest.approx(expected["welch"]["t"], rel=TWELVE_DIGITS)
    assert found["own_pair"]["df"] == pytest.approx(expected["welch"]["df"], rel=TWELVE_DIGITS)
    # 328 cars may be labelled in more ways than a double can hold: a million of them were drawn, and with
    # t at -12.6 none but the observed one is as extreme.
    assert found["assignments"] is None and found["log10_assignments"] > 15
    assert found["randomisation_method"] == "monte carlo"
    assert found["p_randomisation"] == 1 / (1 + found["randomisation_draws"]) < 2e-6
    assert "randomisation-by-chance" in note_codes(found)
