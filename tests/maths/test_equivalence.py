"""The three questions against tails of t, term by term."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from evenglide.maths.equivalence import beyond_p, difference_p, equivalence_p

THETA = np.array([-0.2, -0.03, 0.0, 0.04, 0.09])
SE = np.array([[0.02], [0.05]])
DF = np.array([[3.0], [11.4]])
LOW, HIGH = -0.05, 0.1


def test_each_question_is_its_definition() -> None:
    upper = stats.t(DF).sf
    np.testing.assert_allclose(difference_p(THETA, SE, DF), 2 * upper(np.abs(THETA) / SE), rtol=1e-11)
    both = np.maximum(upper((THETA - LOW) / SE), upper((HIGH - THETA) / SE))
    np.testing.assert_allclose(equivalence_p(THETA, SE, df=DF, low=LOW, high=HIGH), both, rtol=1e-11)
    either = np.minimum(1, 2 * np.minimum(upper((THETA - HIGH) / SE), upper((LOW - THETA) / SE)))
    np.testing.assert_allclose(beyond_p(THETA, SE, df=DF, low=LOW, high=HIGH), either, rtol=1e-11)


@pytest.mark.parametrize("missing", ["se", "df"])
def test_what_is_missing_stays_missing(missing: str) -> None:
    se, df = (np.nan, 4.0) if missing == "se" else (0.1, np.nan)
    found = [
        difference_p(0.1, se, df),
        equivalence_p(0.1, se, df=df, low=LOW, high=HIGH),
        beyond_p(0.1, se, df=df, low=LOW, high=HIGH),
    ]
    assert np.isnan(found).all()
    assert np.isnan(equivalence_p(0.1, 0.1, df=4.0, low=np.nan, high=np.nan))
