"""A real launcher's log, read in several ways.

NIST/SEMATECH e-Handbook of Statistical Methods 5.6.3 (CATAPULT). Data V; effects in inches V2.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from scipy import stats

from tests.answer.judging import audit_codes, judged, note_codes, only_contrast
from tests.reference_data import columns, data, published

VALUES = published("catapult")
TWELVE_DIGITS = 1e-12
NINE_DIGITS = 1e-9
SETTINGS = sorted(VALUES["effects_in"])


def factorial_runs() -> dict[str, list[Any]]:
    """The 16 runs that are no centre points."""
    table = columns("catapult")
    keep = [not mark for mark in table["centre"]]
    return {
        name: [cell for cell, kept in zip(cells, keep, strict=True) if kept] for name, cells in table.items()
    }


@pytest.mark.parametrize("setting", SETTINGS)
def test_effect_of_each_setting(setting: str) -> None:
    document = judged(
        factorial_runs(),
        response="distance_in",
        treatment=setting,
        reference=VALUES["low_level"][setting],
        order="run",
        scale="difference",
        matters="10 in",
    )
    found = only_contrast(document)
    assert document["response"]["unit"] == "in"
    assert found["estimate"] == pytest.approx(VALUES["effects_in"][setting], rel=TWELVE_DIGITS)
    assert found["df"] == 14
    assert found["assignments"] == 12_870


def test_centre_points_set_aside_in_the_file() -> None:
    # The column that marks centre points serves as the cause for setting them aside.
    document = judged(
        data("catapult"),
        response="distance_in",
        treatment="bands",
        order="run",
        void="centre",
        scale="difference",
    )
    found = only_contrast(document)
    assert found["estimate"] == pytest.approx(VALUES["effects_in"]["bands"], rel=TWELVE_DIGITS)
    counts = [
        (facts["launches"], facts["voids"], facts["preparations"])
        for facts in document["surfaces"][0]["treatments"]
    ]
    assert counts == [(8, 2, 8), (8, 2, 8)]
    filled = [line for line in found["robustness"] if line["code"].startswith("filled")]
    assert filled[0]["estimate"] > found["estimate"] > filled[1]["estimate"]


def test_a_level_met_at_centre_points_only_is_a_treatment_never_launched() -> None:
    document = judged(
        data("catapult"),
        response="distance_in",
        treatment="arm_length",
        reference="0",
        void="centre",
        scale="difference",
    )
    by_name = {contrast["treatment"]: contrast for contrast in document["surfaces"][0]["contrasts"]}
    assert document["family_size"] == 2
    assert by_name["4"]["estimate"] == pytest.approx(VALUES["effects_in"]["arm_length"], rel=TWELVE_DIGITS)
    assert by_name["4"]["p_difference_adjusted"] == pytest.approx(
        2 * by_name["4"]["p_difference"], rel=TWELVE_DIGITS
    )
    assert by_name["2"]["estimate"] is None and by_name["2"]["p_difference_adjusted"] is None
    assert "treatment-missing" in note_codes(by_name["2"])
    assert "treatment-missing" in audit_codes(document)


def test_centre_points_are_a_surface_of_their_own() -> None:
    table = columns("catapult")
    table["kind"] = [mark or "corner" for mark in table["centre"]]
    document = judged(
        table, response="distance_in", treatment="bands", surface="kind", order="run", scale="difference"
    )
    corner, centre = document["surfaces"]
    assert (corner["surface"], centre["surface"]) == ("corner", "centre point")
    expected = {name: np.array(values) for name, values in VALUES["centre_points_in"].items()}
    assert centre["contrasts"][0]["estimate"] == pytest.approx(
        expected["2"].mean() - expected["1"].mean(), rel=TWELVE_DIGITS
    )
    for facts in centre["treatments"]:
        assert facts["mean"] == pytest.approx(expected[facts["treatment"]].mean(), rel=TWELVE_DIGITS)
        assert facts["sd_preparations"] == pytest.approx(
            VALUES["centre_sd_in"][facts["treatment"]], rel=TWELVE_DIGITS
        )
    test = stats.ttest_ind(expected["2"], expected["1"])
    assert centre["contrasts"][0]["df"] == test.df == 2
    assert centre["contrasts"][0]["p_difference"] == pytest.approx(float(test.pvalue), rel=NINE_DIGITS)


def test_bands_within_like_arms() -> None:
    # Arm and bands form a full 2 x 2 of four runs each: arms as rounds take the arm's effect out.
    runs = factorial_runs()
    named = {"response": "distance_in", "treatment": "bands", "scale": "difference"}
    plain = only_contrast(judged(runs, **named))
    blocked = only_contrast(judged(runs, block="arm_length", **named))
    assert blocked["estimate"] == pytest.approx(plain["estimate"], rel=TWELVE_DIGITS)
    assert blocked["df"] == plain["df"] - 1
    assert blocked["se"] < plain["se"]
    y, bands, arm = (np.array(runs[name], dtype=float) for name in ("distance_in", "bands", "arm_length"))
    x = np.column_stack([np.ones(16), bands == 2, arm == 4]).astype(float)
    rest = y - x @ np.linalg.lstsq(x, y, rcond=None)[0]
    assert blocked["se"] == pytest.approx(np.sqrt(rest @ rest / 13 * (1 / 8 + 1 / 8)), rel=NINE_DIGITS)
    assert blocked["assignments"] == 70**2


def test_band_effect_by_arm_as_if_arms_were_surfaces() -> None:
    runs = factorial_runs()
    document = judged(
        runs, response="distance_in", treatment="bands", surface="arm_length", scale="difference"
    )
    y = {
        (bands, arm): [
            float(d)
            for d, b, a in zip(runs["distance_in"], runs["bands"], runs["arm_length"], strict=True)
            if (b, a) == (bands, arm)
        ]
        for bands in "12"
        for arm in "04"
    }
    for surface in document["surfaces"]:
        test = stats.ttest_ind(y["2", surface["surface"]], y["1", surface["surface"]])
        (found,) = surface["contrasts"]
        assert found["p_difference"] == pytest.approx(float(test.pvalue), rel=NINE_DIGITS)
    (compared,) = document["between_surfaces"]
    assert compared["method"] == "welch"
    effects = [surface["contrasts"][0]["estimate"] for surface in document["surfaces"]]
    assert compared["pairs"][0]["estimate"] == pytest.approx(effects[1] - effects[0], rel=TWELVE_DIGITS)
