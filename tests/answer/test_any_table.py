"""Tables made by no plan at all: an answer that keeps the contract, or problems, never a crash."""

from __future__ import annotations

from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from evenglide import EvenglideError
from tests.answer.judging import judged
from tests.tables import Columns

FACTORS = {
    "surface": ("wet", "dry", "ice"),
    "block": ("r0", "r1", "r2"),
    "item": ("red", "blue"),
    "preparation": ("a", "b", "c"),
    "direction": ("out", "back"),
    "mark": ("run-out", "timed mark"),
    "session": ("sat", "sun"),
}
READINGS = st.one_of(
    st.floats(1.0, 9.0),
    st.sampled_from([1.0, 2.0, 2.5, 3.0, 3.1, 1e-90, 1e90, 1e12, 1e12 + 1]),
    st.integers(1, 4).map(float),
)
MARGINS = (None, None, "5 %", "0.001 %", "100 %", "0.3 m", 1e-12, 1e12)


@st.composite
def lines(draw: st.DrawFn) -> tuple[Columns, dict[str, Any]]:
    """A table with random labels in random columns, and options that may or may not suit it."""
    rows = draw(st.integers(2, 18))
    column = lambda cells: st.lists(cells, min_size=rows, max_size=rows)  # noqa: E731
    difference = draw(st.booleans())
    readings = st.integers(-500, 500).map(lambda hundredths: hundredths / 100) if difference else READINGS
    table: Columns = {
        "response": draw(column(readings)),
        "treatment": draw(column(st.sampled_from(("bare", "rub", "wax")))),
    }
    for name, labels in FACTORS.items():
        if draw(st.booleans()):
            table[name] = draw(column(st.sampled_from(labels)))
    if draw(st.booleans()):
        table["order"] = draw(column(st.integers(0, 9)))
    for name in ("void", "at_least"):
        if draw(st.booleans()):
            table[name] = draw(column(st.sampled_from(("", "", "", "yes"))))
    options: dict[str, Any] = {
        "matters": draw(st.sampled_from(MARGINS)),
        "adjust": draw(st.sampled_from(("holm", "both", "none"))),
        "level": draw(st.sampled_from((0.05, 0.2, 0.001))),
        "shared_preparations": "preparation" in table and draw(st.booleans()),
    }
    if "preparation" not in table:
        table.pop("direction", None)
    if draw(st.booleans()):
        options["stays"] = ["wax"]
    return table, options


@settings(max_examples=250)
@given(lines())
def test_an_answer_or_problems(made: tuple[Columns, dict[str, Any]]) -> None:
    table, options = made
    try:
        judged(table, **options)
    except EvenglideError as error:
        assert all(problem.remedy for problem in error.problems)
