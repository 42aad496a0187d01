"""Golden prints: what a terminal shows, good news and bad."""

from __future__ import annotations

import pytest
from syrupy.assertion import SnapshotAssertion

from evenglide.report.text import answer_text
from evenglide.report.wording import DISTANCE, NUMBER
from evenglide.show.numbers import NO_BREAK
from tests.report import made_up
from tests.report.made_up import Invented

ONE_SMALL = [Invented(surface=None, estimate=0.02, se=0.006)]
BAD_NEWS = [
    Invented(surface="wet snow", estimate=None),
    Invented(surface="powder", estimate=0.05),
    Invented(surface="ice", estimate=0.06, se=0.012),
]
THREE_TREATMENTS = [
    Invented(
        surface=surface,
        treatment=treatment,
        estimate=estimate,
        se=0.02,
        spread_unequal=treatment == made_up.WAX,
    )
    for surface in ("groomed snow", "cold powder")
    for treatment, estimate in ((made_up.RUB, 0.08), (made_up.WAX, -0.055))
]


@pytest.mark.parametrize(
    ("cases", "options"),
    [
        pytest.param(made_up.FOUR_SURFACES, {}, id="four surfaces"),
        pytest.param(made_up.FOUR_SURFACES, {"margin": None}, id="no difference that matters stated"),
        pytest.param(ONE_SMALL, {}, id="a difference too small to matter"),
        pytest.param(BAD_NEWS, {}, id="hardly any answer"),
        pytest.param(THREE_TREATMENTS, {}, id="three treatments"),
        pytest.param(
            [Invented(surface=None, estimate=0.4, se=0.1)],
            {"scale": "difference", "margin": (-0.25, 0.25)},
            id="differences in metres",
        ),
    ],
)
def test_answer_text(cases: list[Invented], options: dict[str, object], snapshot: SnapshotAssertion) -> None:
    text = answer_text(made_up.answer(cases, **options), DISTANCE)  # type: ignore[arg-type]
    assert all(len(line) <= 88 for line in text.split("\n"))
    assert text.replace(NO_BREAK, "~") == snapshot


def test_answer_text_without_a_unit(snapshot: SnapshotAssertion) -> None:
    case = Invented(surface=None, estimate=-0.4, se=0.05)
    answer = made_up.answer([case], scale="difference", margin=(-0.25, 0.25), unit=None)
    assert answer_text(answer, NUMBER).replace(NO_BREAK, "~") == snapshot
