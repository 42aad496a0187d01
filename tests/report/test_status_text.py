"""Golden prints of where a study stands, from nothing planned to everything launched."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.fieldlog.progress import Progress, Stage
from evenglide.plan.schedule import plan_schedule
from evenglide.report.status_text import status_text
from evenglide.show.departures import departure
from evenglide.show.numbers import NO_BREAK
from tests.study.made_up import made_up_study

COUNTS = {"planned": 48, "made": 21, "set_aside": 2, "unread": 1, "rounds": 6, "rounds_done": 2}


@pytest.mark.parametrize("hidden", [False, True], ids=["seen", "hidden"])
@pytest.mark.parametrize("stage", ["to plan", "to seal", "to post", "to launch", "to answer"])
def test_status(stage: Stage, hidden: bool, snapshot: SnapshotAssertion) -> None:
    study = made_up_study(hidden=hidden, directions=("out", "back"), wear_check=1)
    schedule = plan_schedule(study, blocks=6, launches=2, seed=3)
    counts = {} if stage == "to plan" else COUNTS
    following = schedule.launches[8] if stage == "to launch" else None
    sealed = stage not in ("to plan", "to seal")
    told = status_text(
        study,
        Progress(stage=stage, next_launch=following, **counts),
        departures=[departure("study-edited")] if stage == "to launch" else [],
        fingerprint="0f" * 32 if sealed else None,
        folder="my-study",
    )
    assert told.replace(NO_BREAK, " ") == snapshot
    if hidden:
        assert "rub" not in told.replace(study.title, "")
