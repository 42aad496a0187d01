"""Four phones at fifty records a second while the server is killed: nothing is lost, nothing twice."""

from __future__ import annotations

from pathlib import Path

from tests.field.soak import EVENTS_A_SECOND, PHONES, soak
from tests.field.studies import sealed_study

SECONDS = 15.0


def test_nothing_is_lost(tmp_path: Path) -> None:
    outcome = soak(sealed_study(tmp_path / "study", blocks=2), seconds=SECONDS)
    assert (outcome.missing, outcome.extra, outcome.gaps, outcome.refused) == (0, 0, 0, 0)
    assert outcome.stored == outcome.recorded > 0.9 * SECONDS * PHONES * EVENTS_A_SECOND
    assert outcome.kills >= 2 and outcome.failures > 0
