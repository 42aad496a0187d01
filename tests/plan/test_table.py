"""schedule.csv: written, read back, edited by hand, damaged."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from syrupy.assertion import SnapshotAssertion

from evenglide.errors import StudyError
from evenglide.plan.schedule import plan_schedule
from evenglide.plan.table import COLUMNS, DRAWN, read_schedule, write_schedule
from evenglide.study.schedule import Schedule
from evenglide.study.study import Study
from tests.plan.test_schedule import plans
from tests.study.made_up import made_up_study

STUDY = made_up_study(hidden=True, wear_check=1)
SCHEDULE = plan_schedule(STUDY, blocks=2, launches=1, seed=7)
Rows = list[list[str]]


def rewritten(change: Callable[[Rows], object]) -> str:
    """The list with its rows changed by hand."""
    rows = list(csv.reader(io.StringIO(write_schedule(SCHEDULE))))
    change(rows)
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def put(row: int, column: str, value: str) -> Callable[[Rows], object]:
    return lambda rows: rows[row].__setitem__([*COLUMNS, *DRAWN].index(column), value)


def told(content: str | bytes, study: Study | None = STUDY) -> list[tuple[str, str]]:
    with pytest.raises(StudyError) as caught:
        read_schedule(content, study)
    return [(problem.code, problem.where.removeprefix("schedule.csv, ")) for problem in caught.value.problems]


@given(plans())
def test_written_and_read_is_the_same_schedule(plan: tuple[Study, dict[str, Any]]) -> None:
    study, wishes = plan
    schedule = plan_schedule(study, **wishes)
    text = write_schedule(schedule)
    assert read_schedule(text, study) == schedule
    assert write_schedule(read_schedule(text)) == text
    assert "\r" not in text


def test_written_list(snapshot: SnapshotAssertion) -> None:
    assert write_schedule(SCHEDULE) == snapshot


@pytest.mark.parametrize("encode", [str.encode, lambda text: b"\xef\xbb\xbf" + text.encode()])
def test_bytes_are_read(encode: Callable[[str], bytes]) -> None:
    assert read_schedule(encode(write_schedule(SCHEDULE).replace("\n", "\r\n")), STUDY) == SCHEDULE


def test_rows_in_another_order_are_the_same_list() -> None:
    def shuffle(rows: Rows) -> None:
        body = rows[1:]
        random.Random(3).shuffle(body)
        rows[1:] = body

    assert rewritten(shuffle) != write_schedule(SCHEDULE)
    assert read_schedule(rewritten(shuffle), STUDY) == SCHEDULE


def test_columns_in_another_order_and_blank_rows_are_the_same_list() -> None:
    def turn(rows: Rows) -> None:
        for row in rows:
            row.reverse()
        rows.insert(3, [""] * len(rows[0]))

    assert read_schedule(rewritten(turn), STUDY) == SCHEDULE


def drop_column(rows: Rows) -> None:
    for row in rows:
        del row[5]


def add_column(rows: Rows) -> None:
    for row in rows:
        row.append("tags")


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (put(1, "launch", "0"), [("schedule-number", "launch, line 2")]),
        (put(1, "launch", "1.0"), [("schedule-number", "launch, line 2")]),
        (put(2, "launch", "1"), [("schedule-number", "launch, line 3")]),
        (put(2, "launch", "99"), [("schedule-number", "launch")]),
        (put(2, "outing", ""), [("schedule-number", "outing, line 3")]),
        (put(2, "kind", "try"), [("schedule-kind", "kind, line 3")]),
        (put(2, "item", ""), [("blank-cell", "item, line 3")]),
        (put(2, "item", "slider 3"), [("not-in-study", "item, line 3")]),
        (put(2, "surface", "ice"), [("not-in-study", "surface, line 3")]),
        (put(2, "treatment", "rub"), [("not-in-study", "treatment, line 3")]),
        (put(2, "direction", "in"), [("not-in-study", "direction, line 3")]),
        (put(3, "tag", "• auk"), [("preparation-differs", "launch 3")]),
        (put(2, "surface", "surface 1"), [("set-up-differs", "launch 2")]),
        (put(1, "seed", ""), [("schedule-draw", "seed")]),
        (put(1, "seed", str(2**53)), [("schedule-draw", "seed")]),
        (put(1, "seed", "9" * 5000), [("schedule-draw", "seed")]),
        (put(1, "launch", "9" * 5000), [("schedule-number", "launch, line 2")]),
        (put(1, "seed", "x"), [("schedule-draw", "seed")]),
        (put(2, "seed", "8"), [("schedule-draw", "seed")]),
        (put(1, "order_rule", ""), [("schedule-draw", "order_rule")]),
        (drop_column, [("schedule-column", 'column "surface"')]),
        (add_column, [("schedule-column", "line 1")]),
        (lambda rows: rows[1].append("more"), [("row-too-long", "line 2")]),
        (lambda rows: rows.__delitem__(slice(1, None)), [("empty-schedule", "schedule.csv")]),
    ],
)
def test_a_mistake_is_told_with_its_place(
    change: Callable[[Rows], object], expected: list[tuple[str, str]]
) -> None:
    assert told(rewritten(change)) == expected


def test_all_mistakes_come_at_once() -> None:
    def three(rows: Rows) -> None:
        for change in (put(1, "launch", "x"), put(2, "item", ""), put(3, "kind", "try")):
            change(rows)

    assert [code for code, _ in told(rewritten(three))] == ["schedule-number", "blank-cell", "schedule-kind"]


def test_names_are_not_held_against_a_study_that_is_not_given() -> None:
    everywhere = write_schedule(SCHEDULE).replace("slider 1", "slider 9")
    assert {one.item for one in read_schedule(everywhere).launches} == {"slider 9", "slider 2"}


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b'launch\n"1', b"\x00"])
def test_no_table_is_told(content: bytes) -> None:
    assert told(content)[0][0] in {"empty-schedule", "damaged-schedule"}


@given(st.binary(max_size=99))
def test_no_bytes_break_the_reader(content: bytes) -> None:
    assert told(content)


def test_an_empty_schedule_has_a_heading() -> None:
    assert write_schedule(Schedule(launches=(), seed=1, rule="drawn")).startswith("launch,kind,")
