"""When the checks of a plan are made, from its list of launches, and which ones it cannot have."""

from __future__ import annotations

import numpy as np
import pytest

from evenglide.analysis.look_plan import look_plan
from tests.fieldlog.made_up import STUDY_TEXT, schedule, study


def text(looks: str) -> str:
    return f"{STUDY_TEXT}\n[looks]\n{looks}\n"


@pytest.mark.parametrize(
    ("looks", "blocks", "rounds"),
    [
        ('at = ["1/2", 1]', 10, (5, 10)),
        ("number = 2", 10, (5, 10)),
        ('at = ["1/2", 1]', 11, (6, 11)),
        ('at = ["40 %", "70 %", 1]', 10, (4, 7, 10)),
        ('at = ["2/5", "7/10", 1]', 10, (4, 7, 10)),
        ("number = 1", 10, (10,)),
    ],
)
def test_checks_come_after_whole_rounds(looks: str, blocks: int, rounds: tuple[int, ...]) -> None:
    plan = look_plan(study(text(looks)), schedule(blocks=blocks))
    assert plan.number == len(rounds) and plan.dropped == ()
    for surface in plan.surfaces.values():
        assert surface.rounds == rounds
        assert surface.preparations == tuple(2 * one for one in rounds)
        np.testing.assert_allclose(surface.fractions, [one / blocks for one in rounds])
        assert [len(one) for one in surface.launches] == [6 * one for one in rounds]


def test_degrees_of_freedom_and_information_are_those_of_the_planned_design() -> None:
    """Pairs of two items: df are rounds less 2; information is half the rounds, less what items take."""
    plan = look_plan(study(text('at = ["1/2", 1]')), schedule(blocks=10))
    for key, df in plan.df.items():
        assert df == (3.0, 8.0)
        early, late = plan.information[key]
        assert early <= 2.5 + 1e-9 and late <= 5.0 + 1e-9 and early < late


@pytest.mark.parametrize(
    ("looks", "blocks", "code", "rounds"),
    [
        ('at = ["1/3", 1]', 9, "look-too-early", (9,)),
        ('at = ["10 %", "1/2", 1]', 10, "look-too-early", (5, 10)),
        ("number = 12", 6, "looks-on-one-round", (4, 5, 6)),
        ('at = ["99 %", 1]', 8, "looks-on-one-round", (8,)),
    ],
)
def test_a_check_that_cannot_be_is_told_and_left_out(
    looks: str, blocks: int, code: str, rounds: tuple[int, ...]
) -> None:
    plan = look_plan(study(text(looks)), schedule(blocks=blocks))
    assert code in {problem.code for problem in plan.dropped}
    assert plan.surfaces["melt pan"].rounds == rounds
    assert all(problem.where.startswith("looks.") and problem.remedy for problem in plan.dropped)


def test_bounds_are_ready_for_every_comparison() -> None:
    plan = look_plan(study(text("number = 2")), schedule(blocks=10))
    for key in plan.df:
        one, two = plan.tables(key)
        assert (one.sides, two.sides) == (1, 2)
        assert float(two.bound(0.05, 0)) > float(two.bound(0.05, 1)) > 2.306
        short_one, short_two = plan.tables_ended(key, 1, df=6.0, share=0.8)
        assert float(short_two.nominal(0.05, 0)) == pytest.approx(float(two.nominal(0.05, 0)), rel=2e-2)
        assert float(short_one.nominal(0.05, 1)) <= 0.05
