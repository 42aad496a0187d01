"""Sequences against published designs: who follows whom, and which drifts leave a comparison alone."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest

from evenglide.plan.neighbours import williams_row
from evenglide.plan.schedule import plan_schedule
from tests.reference_data import published
from tests.study.made_up import made_up_study

DESIGNS = published("designs")


@pytest.mark.parametrize("count", range(2, 9))
def test_rows_are_the_published_square(count: int) -> None:
    """Williams (1949): one square for even n, two for odd. Verified by counting."""
    square = DESIGNS["williams"][str(count)]
    rows = [williams_row(count, turn) for turn in range(square["n_rows"])]
    assert sorted(rows) == sorted(tuple(row) for row in square["rows"])
    assert rows[0] == tuple(square["first_row"])
    follows = Counter(pair for row in rows for pair in pairwise(row))
    assert len(follows) == count * (count - 1)
    assert set(follows.values()) == {square["each_ordered_pair"]}
    in_each_place = sorted(list(range(count)) * (len(rows) // count))
    assert all(sorted(place) == in_each_place for place in zip(*rows, strict=True))


def first_set_up(launched: int) -> list[str]:
    """Preparations in the order of launching where the rig stands first."""
    launches = plan_schedule(made_up_study(surfaces=1), blocks=3, launches=launched, seed=7).launches
    return [one.preparation for one in launches if one.set_up == launches[0].set_up]


def test_launches_in_turn_leave_a_steady_drift_alone() -> None:
    """A B B A takes out what grows steadily (Prouhet-Thue-Morse: degrees below 2), A B A B does not."""
    reached = DESIGNS["thue_morse"]["4"]
    assert reached["annihilates_degree_below"] == 2
    turns = first_set_up(2)
    assert "".join("A" if one == turns[0] else "B" for one in turns) == reached["sequence"]
    for launched in (2, 4, 6):
        turns = first_set_up(launched)
        sign = np.array([1 if one == turns[0] else -1 for one in turns])
        when = np.arange(2 * launched)
        assert sign.sum() == 0
        assert sign @ when == 0
        assert np.tile([1, -1], launched) @ when != 0
