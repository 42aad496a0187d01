"""Where the scatter comes from: against a design whose truth is known, and against a published one."""

from __future__ import annotations

import numpy as np
import pytest

import evenglide
from tests.reference_data import columns
from tests.tables import paired, without_column

SIX_DIGITS = 1e-6


def test_rails_of_machines() -> None:
    # Machines (Milliken & Johnson 1992; lme4, REML with worker fixed gives the same moments in this
    # balanced set): variance of worker by machine 13.90946, of repeats 0.9246296.
    table = columns("machines")
    table = {**table, "coat": [f"{w}:{m}" for w, m in zip(table["worker"], table["machine"], strict=True)]}
    answer = evenglide.judge(
        table, response="score", treatment="machine", block="worker", preparation="coat", scale="difference"
    )
    scatter = answer.surfaces[0].scatter
    assert scatter is not None and scatter.preparations is not None and scatter.launches is not None
    assert scatter.preparations**2 == pytest.approx(13.90946, rel=SIX_DIGITS)
    assert scatter.launches**2 == pytest.approx(0.9246296, rel=SIX_DIGITS)
    assert scatter.share_of_launches == pytest.approx(0.9246296 / 3 / scatter.residual**2, rel=SIX_DIGITS)


def test_many_simulated_rounds_give_the_truth_back() -> None:
    table = paired(600, 4, seed=3, prep=0.03, launch=0.06)
    answer = evenglide.judge(
        table, response="response", treatment="treatment", block="block", preparation="preparation"
    )
    scatter = answer.surfaces[0].scatter
    assert scatter is not None
    assert scatter.preparations == pytest.approx(0.03, rel=0.1)  # standard error about 4 %
    assert scatter.launches == pytest.approx(0.06, rel=0.05)


def test_preparations_that_scatter_less_than_their_launches_would_let_them() -> None:
    rng = np.random.default_rng(1)
    noise = rng.normal(0, 0.1, (6, 2, 4))
    noise -= noise.mean(axis=2, keepdims=True)  # launches scatter, their means do not
    lines = [
        (float(np.exp(1 + noise[b, t, k] + 0.001 * b * t)), ("bare", "wax")[t], b, f"{b}{t}")
        for b in range(6)
        for t in range(2)
        for k in range(4)
    ]
    names = ("response", "treatment", "block", "preparation")
    table = dict(zip(names, map(list, zip(*lines, strict=True)), strict=True))
    answer = evenglide.judge(
        table, response="response", treatment="treatment", block="block", preparation="preparation"
    )
    scatter = answer.surfaces[0].scatter
    assert scatter is not None and scatter.preparations == 0.0
    assert scatter.share_of_launches is not None and scatter.share_of_launches > 1


def test_one_launch_each_cannot_be_split() -> None:
    table = without_column(paired(5, 1), "preparation")
    answer = evenglide.judge(table, response="response", treatment="treatment", block="block")
    scatter = answer.surfaces[0].scatter
    assert scatter is not None and scatter.residual > 0
    assert scatter.preparations is scatter.launches is scatter.share_of_launches is None
