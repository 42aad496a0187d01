"""Launches of a log: the same as those of a table that holds the same readings."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import fields
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest

import evenglide
from evenglide.answer.study import answer_study
from evenglide.answer.tape import audit_of_tape
from evenglide.fieldlog.bodies import (
    AtLeast,
    Body,
    Launched,
    PegLost,
    Prepared,
    Read,
    SetAside,
    SetUp,
    Stopped,
    WearCheck,
)
from evenglide.fieldlog.fold import replay
from evenglide.intake.launches import launches_from_table
from evenglide.intake.options import JudgeOptions
from evenglide.readings.from_log import LogReadings, in_unit, readings_from_log
from evenglide.readings.launches import Factor, Launches
from evenglide.store.tables import read_table
from evenglide.study.schedule import Schedule
from tests.fieldlog.made_up import CAUSE, STUDY_TEXT, log_of, played, readings, schedule, study

OPTIONS = {
    "response": "distance",
    "treatment": "treatment",
    "reference": "bare",
    "surface": "surface",
    "block": "round",
    "preparation": "preparation",
    "shared_preparations": True,
    "item": "item",
    "order": "launch",
    "mark": "mark",
    "session": "outing",
    "void": "void",
    "at_least": "at_least",
    "matters": "10 %",
}
MARKS = {"cold powder": "run-out", "melt pan": "timed mark"}


def table_of(
    plan: Schedule, *, voids: tuple[int, ...], bounds: tuple[int, ...], left: tuple[int, ...]
) -> str:
    """The same launches as a table that somebody wrote by hand."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["launch", "outing", "round", "surface", "mark", "preparation", "item", "treatment"])
    texts = readings(plan)
    rows = [out.getvalue().strip() + ",void,at_least,distance"]
    for one in plan.launches:
        if one.number in left or one.kind != "launch":
            continue
        cells = [
            one.number,
            one.outing,
            one.block,
            one.surface,
            MARKS[one.surface],
            one.preparation,
            one.item,
        ]
        flags = [CAUSE if one.number in voids else "", "yes" if one.number in bounds else ""]
        rows.append(",".join(map(str, [*cells, one.treatment, *flags, texts[one.number]])))
    return "\n".join(rows) + "\n"


def read(bodies: list[Body], plan: Schedule, text: str = STUDY_TEXT) -> LogReadings:
    return readings_from_log(study(text), plan, replay(log_of(plan, bodies, text=text)))


def same(one: Launches, other: Launches) -> None:
    """All columns alike but the rows of the table, which a log does not have."""
    for column in fields(Launches):
        mine, theirs = getattr(one, column.name), getattr(other, column.name)
        if isinstance(mine, Factor):
            assert (mine.labels, mine.codes.tolist(), mine.named) == (
                theirs.labels,
                theirs.codes.tolist(),
                theirs.named,
            ), column.name
        elif isinstance(mine, np.ndarray):
            assert column.name == "row" or np.array_equal(mine, theirs, equal_nan=True), column.name
        else:
            assert mine == theirs, column.name


VOIDS, BOUNDS, LEFT = (4, 17), (9,), (23, 24)


def both(tmp_path: Path) -> tuple[Schedule, list[Body], Path]:
    plan = schedule(wear=True)
    bodies = [*played(plan, voids=VOIDS, unmade=LEFT), *(AtLeast(launch=number) for number in BOUNDS)]
    table = tmp_path / "table.csv"
    table.write_text(table_of(plan, voids=VOIDS, bounds=BOUNDS, left=LEFT), encoding="utf-8")
    return plan, bodies, table


def test_launches_are_those_of_the_same_table(tmp_path: Path) -> None:
    plan, bodies, table = both(tmp_path)
    options = JudgeOptions(**OPTIONS)  # type: ignore[arg-type]
    theirs = launches_from_table(read_table(table, options)[0], options).launches
    mine = read(bodies, plan)
    assert mine.launches is not None
    same(mine.launches, theirs)
    assert mine.left_out == {"not made": LEFT}


def test_the_answer_is_that_of_the_same_table_to_the_last_digit(tmp_path: Path) -> None:
    plan, bodies, table = both(tmp_path)
    theirs = evenglide.judge(table, **OPTIONS).to_dict()
    mine = answer_study(study(), plan, log_of(plan, bodies)).answer.to_dict()
    told = json.loads(json.dumps(mine)), json.loads(json.dumps(theirs))
    for surface, other in zip(told[0]["surfaces"], told[1]["surfaces"], strict=True):
        assert surface["contrasts"] == other["contrasts"]
        assert surface["treatments"] == other["treatments"]
        assert surface["omnibus"] == other["omnibus"]
    assert told[0]["between_surfaces"] == told[1]["between_surfaces"]


def test_a_launch_not_yet_read_is_left_out_and_counted() -> None:
    plan = schedule()
    bodies = [body for body in played(plan) if not (isinstance(body, Read) and body.launch in (2, 5, 6))]
    made = read([*bodies, PegLost(launch=5), Read(launch=6, text="31,4?", unread=True)], plan)
    assert made.left_out == {"not read": (2,), "peg lost": (5,), "doubtful": (6,)}
    assert made.launches is not None
    assert len(made.launches.value) == len(plan.launches) - 3
    assert not {2, 5, 6} & set(made.numbers)


def test_a_launch_that_stopped_is_kept_and_counted() -> None:
    plan = schedule()
    made = read([*played(plan), Stopped(launch=8)], plan)
    assert made.stopped == (8,)
    assert 8 in made.numbers


def on_tape(body: Body) -> Body:
    return body.model_copy(update={"method": "tape"}) if isinstance(body, Read) else body


def test_what_the_tape_showed_at_release_is_taken_off_what_it_showed_then() -> None:
    plan = schedule()
    bodies = [on_tape(body) for body in played(plan)]
    first = plan.launches[0].set_up
    there = [one.number for one in plan.launches if one.set_up == first]
    plain, moved = read(bodies, plan), read([*bodies, SetUp(set_up=first, zero_point_m=0.3)], plan)
    assert moved.zeros == dict.fromkeys(there, 0.3) and plain.zeros == {}
    assert plain.launches is not None and moved.launches is not None
    was = {
        row: Decimal(repr(value))
        for row, value in zip(plain.numbers, plain.launches.value.tolist(), strict=True)
    }
    for row, value in zip(moved.numbers, moved.launches.value.tolist(), strict=True):
        assert value == float(was[row] - (Decimal("0.3") if row in there else 0))
    entry = next(one for one in audit_of_tape(moved) if one.code == "tape-not-at-zero")
    assert entry.facts == {"count": len(there), "launches": 60, "least": "0.3", "most": "0.3", "unit": "m"}
    listed = read([*played(plan), SetUp(set_up=first, zero_point_m=0.3)], plan)
    assert listed.launches is not None and listed.launches.value.tolist() == plain.launches.value.tolist()


def test_a_bound_is_told_as_the_tape_shows_it_and_nothing_stays_of_a_tape_past_it() -> None:
    plan = schedule()
    number, first = plan.launches[0].number, plan.launches[0].set_up
    bodies = [body for body in played(plan) if not (isinstance(body, Read) and body.launch == number)]
    bound = [*bodies, AtLeast(launch=number, value=7.8, unit="m")]
    found = read([*bound, SetUp(set_up=first, zero_point_m=0.3)], plan)
    assert found.launches is not None and found.launches.value[0] == 7.5
    far = [on_tape(body) for body in played(plan)]
    gone = read([*far, SetUp(set_up=first, zero_point_m=40.0)], plan)
    assert set(gone.left_out["unusable"]) == {one.number for one in plan.launches if one.set_up == first}


@pytest.mark.parametrize(("stops", "severity"), [((), None), ((4,), "warns"), ((4, 5), "limits")])
def test_launches_that_had_stopped_before_their_mark_are_told(
    stops: tuple[int, ...], severity: str | None
) -> None:
    """Of 16 valid launches on the pan one is a sixteenth, two are an eighth; on a run-out it says nothing."""
    plan = schedule(blocks=4, launches=2)
    pan = [one.number for one in plan.launches if one.surface == "melt pan"]
    powder = [one.number for one in plan.launches if one.surface == "cold powder"]
    said = [*(Stopped(launch=pan[place]) for place in stops), Stopped(launch=powder[0])]
    aside = [SetAside(launch=pan[0], cause=CAUSE, value_seen=True), Stopped(launch=pan[0])]
    for more, valid in (((), 16), (aside, 15)):
        told = answer_study(study(), plan, log_of(plan, [*played(plan), *said, *more])).answer.audit
        found = [one for one in told if one.code == "stopped-before-mark"]
        assert [one.severity for one in found] == ([severity] if severity else [])
        assert [(one.surface, one.facts) for one in found] == (
            [("melt pan", {"count": len(stops), "launches": valid})] if stops else []
        )


def test_one_coat_is_one_try_in_whichever_round_it_was_launched() -> None:
    """A launch of the second round made with a coat of the first makes no further preparation of it."""
    plan = schedule(blocks=2, launches=2)
    moved = next(
        one for one in plan.launches if one.block == "2" and one.treatment == plan.launches[0].treatment
    )
    bodies = [body for body in played(plan) if getattr(body, "launch", None) != moved.number]
    launched = Launched(launch=moved.number, preparation=plan.launches[0].preparation)
    found = read([*bodies, launched, Read(launch=moved.number, text="6.0", value=6.0)], plan).launches
    assert found is not None
    assert len(found.preparation.labels) == 4
    row = found.row.tolist().index(moved.number)
    assert found.block.labels[found.block.codes[row]] == "1"


def test_what_was_read_counts_before_a_bound_and_a_bound_before_nothing() -> None:
    plan = schedule()
    bodies = [body for body in played(plan) if not (isinstance(body, Read) and body.launch in (1, 2))]
    bounds = [AtLeast(launch=1, value=7.125), AtLeast(launch=2, value=7.125)]
    made = read([*bodies, *bounds, Read(launch=1, text="6.5", value=6.5)], plan).launches
    assert made is not None
    assert made.value[:2].tolist() == [6.5, 7.125]
    assert made.at_least[:3].tolist() == [True, True, False]
    assert made.decimals == 3


def test_a_launch_that_was_set_aside_is_no_bound() -> None:
    plan = schedule()
    made = read([*played(plan), AtLeast(launch=1), SetAside(launch=1, cause=CAUSE, value_seen=True)], plan)
    assert made.launches is not None
    assert (made.launches.void[0], made.launches.at_least[0]) == (True, False)


def test_wear_checks_stand_apart_as_planned_or_as_recorded() -> None:
    plan = schedule(wear=True)
    planned = {one.number for one in plan.launches if one.kind == "wear check"}
    made = read([*played(plan), WearCheck(preparation="P1", launch=1)], plan)
    assert {one.number for one in made.apart} == planned | {1}
    assert not set(made.numbers) & (planned | {1})


def test_what_was_done_wins_over_what_was_planned() -> None:
    plan = schedule()
    first = plan.launches[0]
    other = {"bare": "paraffin rub", "paraffin rub": "bare"}[first.treatment]
    made = read([Prepared(preparation=first.preparation, treatment=other), *played(plan)], plan)
    assert made.launches is not None
    assert made.launches.treatment.labels[made.launches.treatment.codes[0]] == other


def test_a_surface_the_study_does_not_have_places_no_launch() -> None:
    plan = schedule()
    made = read([SetUp(set_up=1, surface="ice"), *played(plan)], plan)
    assert made.left_out == {"not placed": (1, 2, 3, 4, 5, 6)}


def test_a_launch_beyond_the_plan_does_not_count() -> None:
    plan = schedule()
    made = read([*played(plan), Launched(launch=999), Read(launch=999, text="6", value=6.0)], plan)
    assert made.left_out == {"not planned": (999,)}


@pytest.mark.parametrize(
    ("value", "left"), [(0.0, {"unusable": (1,)}), (-2.0, {"unusable": (1,)}), (0.01, {})]
)
def test_a_reading_without_a_logarithm_does_not_count(value: float, left: dict[str, tuple[int, ...]]) -> None:
    plan = schedule()
    bodies = [body for body in played(plan) if not (isinstance(body, Read) and body.launch == 1)]
    assert read([*bodies, Read(launch=1, text=str(value), value=value)], plan).left_out == left


def test_a_void_without_a_reading_is_kept() -> None:
    plan = schedule()
    bodies = [body for body in played(plan) if not (isinstance(body, Read) and body.launch == 3)]
    made = read([*bodies, SetAside(launch=3, cause=CAUSE)], plan)
    assert made.launches is not None
    assert made.launches.void.tolist().index(True) == 2
    assert np.isnan(made.launches.value[2])


def test_readings_count_in_the_unit_of_the_study() -> None:
    plan = schedule()
    text = STUDY_TEXT.replace('matters = "10 %"', 'matters = "0.5 m"')
    bodies = [body for body in played(plan) if not (isinstance(body, Read) and body.launch in (1, 2))]
    bodies += [
        Read(launch=1, text="590", value=590.0, unit="cm"),
        Read(launch=2, text="3", value=3.0, unit="furlong"),
    ]
    made = read(bodies, plan, text)
    assert made.launches is not None
    assert (made.launches.unit, made.launches.value[0]) == ("m", 5.9)
    assert made.left_out == {"unusable": (2,)}
    assert in_unit(10.0, "ft", "m") == 3.048


def test_order_is_that_of_the_releases() -> None:
    plan = schedule(blocks=1, launches=1)
    texts = readings(plan)
    made_order = [2, 1, 3, 4]
    bodies: list[Body] = [Launched(launch=number) for number in made_order]
    bodies += [Read(launch=n, text=texts[n], value=float(texts[n])) for n in (4, 3, 2, 1)]
    made = read(bodies, plan)
    assert made.launches is not None and made.launches.order is not None
    assert made.launches.order.tolist() == [1.0, 0.0, 2.0, 3.0]


def test_an_empty_log_has_no_launches() -> None:
    plan = schedule()
    made = read([], plan)
    assert made.launches is None
    assert made.left_out == {"not made": tuple(one.number for one in plan.launches)}
