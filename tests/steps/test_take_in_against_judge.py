"""One filled list, two ways: taken into a sealed study and answered, and judged as a table."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import evenglide
from evenglide.answer.study import answer_study
from evenglide.fieldlog.bodies import AtLeast, Body, Launched, Read, SetAside
from evenglide.fieldlog.fold import replay
from evenglide.intake.columns import sheet_from_columns
from evenglide.intake.launches import launches_from_table
from evenglide.intake.list_template import list_template
from evenglide.intake.options import JudgeOptions
from evenglide.readings.from_log import readings_from_log
from evenglide.steps.sealed_study import sealed_study
from evenglide.steps.take_in import take_in
from evenglide.store.log import Log, read_log
from tests.fieldlog.made_up import CAUSE, STUDY_TEXT, log_of, readings, schedule, sealed, study
from tests.readings.test_from_log import same

PLAN = schedule(blocks=6, launches=3)
RUN_OUTS = STUDY_TEXT.replace('mark = "timed mark"\nafter = "5 s"\n', "")
FRESH = RUN_OUTS.replace("shared over surfaces", "fresh on each surface")
OPTIONS = {
    "response": "distance",
    "treatment": "treatment",
    "reference": "bare",
    "surface": "surface",
    "block": "round",
    "preparation": "preparation",
    "item": "item",
    "order": "launch",
    "session": "outing",
    "void": "set aside",
    "at_least": "at least",
    "matters": "10 %",
}


def fill(text: str) -> str:
    rows = list(csv.DictReader(io.StringIO(list_template(study(text), PLAN))))
    for row in rows:
        number = int(row["launch"])
        row["distance"] = readings(PLAN)[number].rstrip("0")
        row["set aside"] = CAUSE if number in (5, 30, 31) else "no" if number == 6 else ""
        row["at least"] = "yes" if number in (12, 44) else ""
    rows[4]["distance"] = ""
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


@pytest.mark.parametrize("text", [RUN_OUTS, FRESH], ids=["shared", "fresh"])
def test_the_answer_is_the_same_to_the_last_digit(tmp_path: Path, text: str) -> None:
    table = tmp_path / "saturday.csv"
    table.write_text(fill(text), encoding="utf-8")
    with Log(tmp_path / "log.sqlite", create=True) as log:
        log.record([(None, sealed(PLAN, text))])
    take_in(str(tmp_path), str(table))
    events = read_log(tmp_path / "log.sqlite")
    found = sealed_study(events, where="")
    mine = answer_study(found.study, found.schedule, events).answer.to_dict()
    theirs = evenglide.judge(table, **OPTIONS, shared_preparations=text == RUN_OUTS).to_dict()
    assert [one["contrasts"] for one in mine["surfaces"]] == [one["contrasts"] for one in theirs["surfaces"]]
    assert [one["treatments"] for one in mine["surfaces"]] == [
        one["treatments"] for one in theirs["surfaces"]
    ]
    for name in ("between_surfaces", "family_size", "level", "scale", "adjust"):
        assert mine[name] == theirs[name]


SMALL = schedule(blocks=3, launches=2)
NUMBERS = [one.number for one in SMALL.launches]
READING = st.integers(1, 2000).map(lambda hundredths: f"{hundredths / 100:.2f}")


@settings(max_examples=60)
@given(
    texts=st.lists(READING, min_size=len(NUMBERS), max_size=len(NUMBERS)),
    voids=st.sets(st.sampled_from(NUMBERS), max_size=6),
    bounds=st.sets(st.sampled_from(NUMBERS), max_size=4),
    left=st.sets(st.sampled_from(NUMBERS), max_size=8),
    order=st.permutations(NUMBERS),
)
def test_any_log_gives_the_launches_of_the_same_table(
    texts: list[str], voids: set[int], bounds: set[int], left: set[int], order: list[int]
) -> None:
    """Launches in any order, some set aside, some cut short, some never made."""
    rows = [one for one in SMALL.launches if one.number not in left]
    present = {one.number for one in rows if one.number not in voids}
    treatments = {one.treatment for one in rows if one.number in present}
    on_one = [
        {one.treatment for one in rows if one.number in present and one.surface == name}
        for name in ("cold powder", "melt pan")
    ]
    if len(treatments) < 2 or max(map(len, on_one)) < 2:
        return
    said = dict(zip(NUMBERS, texts, strict=True))
    made = [number for number in order if number not in left]
    columns = {
        "distance": [said[one.number] for one in rows],
        "order": [made.index(one.number) for one in rows],
        "set aside": [CAUSE if one.number in voids else "" for one in rows],
        "at least": ["x" if one.number in bounds else "" for one in rows],
        "surface": [one.surface for one in rows],
        "mark": [{"cold powder": "run-out", "melt pan": "timed mark"}[one.surface] for one in rows],
        "round": [one.block for one in rows],
        "item": [one.item for one in rows],
        "preparation": [one.preparation for one in rows],
        "outing": [str(one.outing) for one in rows],
        "treatment": [one.treatment for one in rows],
    }
    options = JudgeOptions(**{**OPTIONS, "order": "order", "mark": "mark"}, shared_preparations=True)  # type: ignore[arg-type]
    theirs = launches_from_table(sheet_from_columns(columns, options), options).launches
    bodies: list[Body] = [Launched(launch=number, order=float(place)) for place, number in enumerate(made)]
    bodies += [Read(launch=number, text=said[number], value=float(said[number])) for number in made]
    bodies += [SetAside(launch=number, cause=CAUSE) for number in sorted(voids - left)]
    bodies += [AtLeast(launch=number) for number in sorted(bounds - left)]
    mine = readings_from_log(study(), SMALL, replay(log_of(SMALL, bodies))).launches
    assert mine is not None
    if (
        rows[0].surface == "cold powder"
    ):  # a table's surfaces come in order of appearance, a study's in its own
        same(mine, theirs)
