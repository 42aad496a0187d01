"""What was taken in, as the terminal tells it."""

from __future__ import annotations

from evenglide.errors import Problem
from evenglide.report.taken_in_text import taken_in_text
from evenglide.show.numbers import NO_BREAK

DOUBT = Problem(
    code="not-a-number",
    where="M7 (distance, line 7)",
    found='"six"',
    expected="a plain number",
    remedy="Correct the cell.",
)


def test_everything_is_told() -> None:
    told = taken_in_text(
        source="saturday.csv",
        new=7,
        readings=4,
        corrections=2,
        conflicts=1,
        doubts=[DOUBT],
        kept_blank=[3, 4, 5, 9],
        ignored=["moon"],
    )
    assert told.replace(NO_BREAK, " ").splitlines() == [
        "saturday.csv: 7 new events (4 readings, 2 corrections).",
        "1 event came under an id that is taken by something else. Both are kept; the first one stands.",
        "Blank in the list, recorded in the log, left as it is: launches 3 to 5, 9.",
        'Columns that were not read: "moon".',
        "Kept as text, not counted until corrected:",
        '  M7 (distance, line 7): found "six"; expected a plain number.',
    ]


def test_one_of_each_is_told_in_the_singular() -> None:
    told = taken_in_text(
        source="a", new=1, readings=1, corrections=1, conflicts=2, doubts=[], kept_blank=[], ignored=[]
    )
    assert told.replace(NO_BREAK, " ").splitlines() == [
        "a: 1 new event (1 reading, 1 correction).",
        "2 events came under an id that is taken by something else. Both are kept; the first one stands.",
    ]


def test_nothing_new_is_told() -> None:
    told = taken_in_text(
        source="a", new=0, readings=0, corrections=0, conflicts=0, doubts=[], kept_blank=[], ignored=[]
    )
    assert told == "a: nothing new; the log says all of it already."
