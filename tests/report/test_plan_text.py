"""Golden prints of plans: one that can find something, one that cannot, one with everything to mind."""

from __future__ import annotations

from typing import Any

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.plan.limits import plan_study
from evenglide.report.plan_text import plan_text
from evenglide.show.numbers import NO_BREAK
from evenglide.study.study import Outing
from tests.study.made_up import made_up_study

GOOD = {"surfaces": 2, "main": 0, "wear_check": 2, "return_to_bare": 2, "practice_launches": 1}
SEQUENCE = {"items": 1, "surfaces": 1, "order": "balanced", "directions": ("out", "back")}
THREE = {"treatments": 3, "items": 3, "surfaces": 2, "blocks": "complete blocks"}

SHORT = (Outing(day="2026-01-17", start="08:30", end="10:00", surfaces=()),)


@pytest.mark.parametrize(
    ("study", "wishes"),
    [
        pytest.param(GOOD, {"blocks": 8, "launches": 6}, id="something to find"),
        pytest.param({"surfaces": 4}, {"blocks": 3, "launches": 6}, id="the order cannot show anything"),
        pytest.param({"surfaces": 1, "timed": False}, {"blocks": 2, "launches": 2}, id="two rounds"),
        pytest.param(SEQUENCE, {"blocks": 8, "launches": 4}, id="one item, balanced"),
        pytest.param(SEQUENCE, {"blocks": 5, "launches": 4}, id="too few rounds to balance"),
        pytest.param(THREE, {"blocks": 9, "launches": 2}, id="three treatments"),
        pytest.param({"hidden": True}, {"blocks": 7, "launches": 2}, id="hidden treatments"),
        pytest.param({"outings": SHORT}, {"blocks": 6, "launches": 2}, id="outings too short"),
        pytest.param(
            {"surfaces": 2, "wear_check": 1, "not_after": {0: (1,)}},
            {"blocks": 7, "launches": 2, "outings": 3},
            id="no wear check on a tide",
        ),
    ],
)
def test_plan(study: dict[str, Any], wishes: dict[str, int], snapshot: SnapshotAssertion) -> None:
    made = made_up_study(**study)
    told, _, cautions = plan_text(made, plan_study(made, **wishes, seed=12)).partition("Cautions")
    assert told.replace(NO_BREAK, " ") == snapshot
    assert cautions.split()[-3:] == ["the", "last", "word."]


def test_cautions_stand_below_the_plan(snapshot: SnapshotAssertion) -> None:
    made = made_up_study()
    told = plan_text(made, plan_study(made, blocks=8, launches=2, seed=12))
    assert told[told.index("Cautions") :] == snapshot
