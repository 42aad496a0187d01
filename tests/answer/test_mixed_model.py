"""The mixed model beside the verdict: published fits through a whole answer, and where it is not given."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import evenglide
from evenglide.analysis import components
from evenglide.report.referee import contrast_table
from tests.answer.judging import answered, judged, note_codes, only_contrast
from tests.answer.scenarios import field_day, keep
from tests.maths.mixed_model_values import indicators
from tests.reference_data import columns, published
from tests.tables import Columns, paired, rows

SIX_DIGITS = 1e-6


def machines(left_out: tuple[int, ...] = ()) -> Columns:
    """Table of Milliken & Johnson (1992); a preparation is a worker on a machine."""
    table = columns("machines")
    coat = [f"{w}:{m}" for w, m in zip(table["worker"], table["machine"], strict=True)]
    lines = zip(table["score"], table["machine"], table["worker"], coat, strict=True)
    kept = [line for number, line in enumerate(lines, start=1) if number not in left_out]
    return rows("response treatment block preparation", kept)


def reml_of(document: dict[str, Any], treatment: str) -> dict[str, Any]:
    (surface,) = document["surfaces"]
    (found,) = [one["reml"] for one in surface["contrasts"] if one["treatment"] == treatment]
    assert found is not None
    return dict(found)


def test_machines_as_another_implementation_fits_them() -> None:
    """Values: tests/reference/mixed_models.json (V2)."""
    document = judged(machines(), scale="difference")
    for name in ("B", "C"):
        found = reml_of(document, name)
        estimate, error, df = published("mixed_models")["models"]["machines"]["coefficients"][
            f"machine{name}"
        ]
        assert found["estimate"] == pytest.approx(estimate, rel=SIX_DIGITS)
        assert found["se"] == pytest.approx(error, rel=SIX_DIGITS)
        assert found["df"] == pytest.approx(df, rel=SIX_DIGITS)
        assert found["preparation_variance"] == pytest.approx(13.90946, rel=SIX_DIGITS)
        assert found["launch_variance"] == pytest.approx(0.9246296, rel=SIX_DIGITS)
        assert found["moment_variance"] == pytest.approx(13.90946, rel=SIX_DIGITS)
        assert found["boundary"] is False


def test_machines_with_scores_left_out_as_another_implementation_fits_them() -> None:
    model = published("mixed_models")["models"]["machines, ten scores left out"]
    document = judged(machines(tuple(model["left_out"])), scale="difference")
    reference = document["surfaces"][0]["treatments"][0]["treatment"]
    assert reference == "A"
    for name in ("B", "C"):
        found = reml_of(document, name)
        estimate, error, df = model["coefficients"][f"machine{name}"]
        assert found["estimate"] == pytest.approx(estimate, rel=SIX_DIGITS)
        assert found["se"] == pytest.approx(error, rel=SIX_DIGITS)
        assert found["df"] == pytest.approx(df, rel=SIX_DIGITS)
        assert [found["preparation_variance"], found["launch_variance"]] == pytest.approx(
            model["variances"], rel=1e-5
        )


@pytest.mark.parametrize("name", ["items in parallel", "surfaces and treatments", "shared preparations"])
def test_with_equal_launches_it_agrees_with_the_primary_test(name: str) -> None:
    met = 0
    for surface in answered(name)["surfaces"]:
        for contrast in surface["contrasts"]:
            found = contrast["reml"]
            if found["boundary"]:
                continue
            met += 1
            for field in ("estimate", "se", "df"):
                assert found[field] == pytest.approx(contrast[field], rel=1e-9), field
            scatter = surface["scatter"]
            assert found["preparation_variance"] == pytest.approx(scatter["preparations"] ** 2, rel=1e-8)
            assert found["launch_variance"] == pytest.approx(scatter["launches"] ** 2, rel=1e-8)
    assert met


def test_boundary_and_negative_moment_are_told() -> None:
    rng = np.random.default_rng(1)
    noise = rng.normal(0, 0.1, (6, 2, 4))
    noise -= 0.8 * noise.mean(axis=2, keepdims=True)  # launches scatter, their means hardly
    lines = [
        (float(np.exp(1 + noise[b, t, k])), ("bare", "wax")[t], b, f"{b}{t}")
        for b in range(6)
        for t in range(2)
        for k in range(4)
    ]
    contrast = only_contrast(judged(rows("response treatment block preparation", lines)))
    found, notes = contrast["reml"], {note["code"]: note for note in contrast["notes"]}
    assert (found["boundary"], found["preparation_variance"]) == (True, 0.0)
    y = np.log([line[0] for line in lines]).reshape(6, 2, 4)
    within = y.var(axis=2, ddof=1).mean()
    means = y.mean(axis=2)
    between = 4 * (means[:, 1] - means[:, 0]).var(ddof=1) / 2
    assert found["moment_variance"] == pytest.approx((between - within) / 4, rel=1e-9)
    assert found["df"] == 48 - 7
    assert notes["reml-boundary"]["facts"] == {"df": 41, "preparations": 12}
    assert notes["preparations-not-above-launches"]["facts"] == {
        "variance": found["moment_variance"],
        "launches": found["launch_variance"],
    }
    assert "not above nought" in notes["preparations-not-above-launches"]["text"]


def test_directions_that_are_averaged_plainly_are_a_column() -> None:
    """Voids unbalance the directions; a fit without the direction would take the slope for scatter."""
    table = keep(
        field_day(ways=("out", "back"), marks=("timed mark",), surfaces=("wet",), seed=4),
        lambda row: row["order"] % 7 != 3,
    )
    contrast = only_contrast(judged(table, matters="0.3 m"))
    y = np.array([float(value) for value in table["response"]])
    fixed = {"mean": np.ones(len(y))}
    for name in ("block", "treatment", "item", "direction"):
        fixed |= indicators(table[name], name)
    group = np.unique(table["preparation"], return_inverse=True)[1]
    x = np.column_stack(list(fixed.values()))
    found = contrast["reml"]
    v = found["launch_variance"] * np.eye(len(y))
    v += found["preparation_variance"] * (group[:, None] == group[None, :])
    inverse = np.linalg.inv(v)
    covariance = np.linalg.inv(x.T @ inverse @ x)
    beta = covariance @ x.T @ inverse @ y
    place = list(fixed).index("treatmentrub")
    assert found["estimate"] == pytest.approx(beta[place], rel=1e-8)
    assert found["se"] == pytest.approx(covariance[place, place] ** 0.5, rel=1e-8)
    left = y - x @ beta
    assert left @ inverse @ left == pytest.approx(len(y) - np.linalg.matrix_rank(x), rel=1e-8)


REASONS = {
    "two directions, run-outs": "not averaged launch by launch",
    "two directions, timed marks": "not averaged launch by launch",
    "one launch on each": "no preparation has a launch to spare",
    "one preparation of each": "too few preparations",
    "no preparations": "no preparation has a launch to spare",
}


@pytest.mark.parametrize("name", REASONS)
def test_where_it_is_not_given_a_note_says_why(name: str) -> None:
    for surface in answered(name)["surfaces"]:
        for contrast in surface["contrasts"]:
            assert contrast["reml"] is None
            (note,) = [one for one in contrast["notes"] if one["code"] == "reml-not-available"]
            assert note["fields"] == ["reml"]
            assert REASONS[name] in note["text"]


def test_items_that_count_as_tries_have_none() -> None:
    lines = [
        (5 + item + 0.1 * coat + 0.01 * launch, ("bare", "wax")[item % 2], f"sled {item}", f"{item}{coat}")
        for item in range(6)
        for coat in range(2)
        for launch in range(3)
    ]
    contrast = only_contrast(judged(rows("response treatment item preparation", lines)))
    (note,) = [one for one in contrast["notes"] if one["code"] == "reml-not-available"]
    assert contrast["reml"] is None and "pieces of gear" in note["text"]


def test_launches_without_scatter_have_none() -> None:
    lines = [
        (5 + 0.3 * block + 0.1 * treated * block, ("bare", "wax")[treated], block, f"{block}{treated}")
        for block in range(5)
        for treated in range(2)
        for _ in range(3)
    ]
    contrast = only_contrast(judged(rows("response treatment block preparation", lines)))
    (note,) = [one for one in contrast["notes"] if one["code"] == "reml-not-available"]
    assert contrast["reml"] is None and "agree to the last digit" in note["text"]


def test_too_large_a_surface_is_refused_and_said(monkeypatch: pytest.MonkeyPatch) -> None:
    table = paired(7, 2, effect=0.1)
    assert only_contrast(judged(table))["reml"] is not None
    monkeypatch.setattr(components, "MOST_CELLS", 28 * (14 + 7) - 1)
    contrast = only_contrast(judged(table))
    assert contrast["reml"] is None
    assert "reml-not-available" in note_codes(contrast)


def test_it_never_enters_the_verdict(monkeypatch: pytest.MonkeyPatch) -> None:
    table = paired(7, 2, effect=0.1)
    with_it = only_contrast(judged(table, matters="5 %"))
    monkeypatch.setattr(components, "MOST_CELLS", 0)
    without_it = only_contrast(judged(table, matters="5 %"))
    assert (with_it["reml"] is None, without_it["reml"] is None) == (False, True)
    same = set(with_it) - {"reml", "notes"}
    assert {name: with_it[name] for name in same} == {name: without_it[name] for name in same}


def test_it_is_on_the_referee_page() -> None:
    roles = {role: role for role in ("response", "treatment", "block", "preparation")}
    answer = evenglide.judge(machines(), **roles, scale="difference")
    told = {row[0]: row[1] for row in contrast_table(answer, answer.surfaces[0]).rows}
    assert told["mixed model, estimate"].startswith("7.97 ± 2.18")
    assert told["mixed model, degrees of freedom"] == "10"
    assert told["mixed model, SD of preparations"].startswith("3.7")
    assert "mixed model, boundary" not in told
