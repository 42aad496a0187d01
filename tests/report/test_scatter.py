"""Where the scatter comes from, in words and lengths."""

from __future__ import annotations

import pytest

from evenglide.report.scatter import Scatter, launches_share, scatter_finding


def on(preparations: float | None, launches: float | None, share: float | None = None) -> Scatter:
    return Scatter(surface="snow", preparations=preparations, launches=launches, share=share)


@pytest.mark.parametrize(
    ("scatters", "told"),
    [
        ([on(None, None)], "Preparations and launches cannot be told apart here"),
        ([on(3.0, 3.1)], "Preparations scatter about as much as launches on one of them"),
        (
            [on(2.0, 6.0), on(3.0, 6.0)],
            "Launches on one preparation scatter about 2.4 times as much as preparations",
        ),
        ([on(6.0, 2.0)], "Preparations scatter about 3.0 times as much as launches on one of them"),
        ([on(0.0, 2.0)], "Preparations scatter no more than their launches would let them"),
    ],
)
def test_the_finding(scatters: list[Scatter], told: str) -> None:
    assert scatter_finding(scatters) == told


def test_what_launches_add() -> None:
    assert launches_share([on(1.0, 1.0)]) == ""
    told = launches_share([on(1.0, 1.0, 0.2), on(0.0, 1.0, 1.4)]).replace("\u00a0", " ")
    assert "launches add 20 % to 100 % of the doubt" in told
