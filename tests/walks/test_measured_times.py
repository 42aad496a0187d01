"""A day outside, then the plan of the next study: the times are those of that day."""

from __future__ import annotations

import datetime
import json
from pathlib import Path
from typing import Any

import pytest

from evenglide.fieldlog.bodies import Body, Launched, Prepared, SetUp
from evenglide.fieldlog.events import Draft, derived_id
from evenglide.show.numbers import NO_BREAK
from evenglide.store.log import Log
from tests.field.studies import STUDY, planned, sealed_study
from tests.walks.command import problems_of, run

LAUNCH_S = {"cold powder": 210.0, "melt pan": 300.0}
WORK_S = {"bare": 500.0, "paraffin rub": 1300.0}
RIG_S = 1000.0


@pytest.fixture
def outside(tmp_path: Path) -> Path:
    """A study whose launches were made at an even pace."""
    folder = sealed_study(tmp_path / "last-study", blocks=3)
    _, schedule = planned(folder)
    clock = datetime.datetime(2026, 1, 17, 8, 30, tzinfo=datetime.UTC)
    said: list[tuple[datetime.datetime, Body]] = []
    made: set[str] = set()
    set_up = 0
    for one in schedule.launches:
        if one.preparation not in made:
            here = {each.preparation: each.treatment for each in schedule.launches if each.block == one.block}
            for preparation, treatment in here.items():
                clock += datetime.timedelta(seconds=WORK_S[treatment])
                said.append((clock, Prepared(preparation=preparation, hands_on_s=WORK_S[treatment])))
            made |= set(here)
        if one.set_up != set_up:
            clock += datetime.timedelta(seconds=RIG_S)
            said.append((clock, SetUp(set_up=one.set_up)))
        set_up = one.set_up
        said.append((clock, Launched(launch=one.number)))
        clock += datetime.timedelta(seconds=LAUNCH_S[one.surface])
    drafts = [
        Draft(
            id=derived_id("measured", place),
            device="phone",
            sequence=place + 1,
            device_time=time.isoformat(),
            body=body,
        )
        for place, (time, body) in enumerate(said)
    ]
    with Log(folder / "log.sqlite") as log:
        log.append(drafts, study=log.sealed)
    return folder


def follow_up(outside: Path, measured: str = '"../last-study"') -> Path:
    folder = outside.parent / "next-study"
    folder.mkdir(exist_ok=True)
    text = STUDY.replace("[costs]\n", f"[costs]\nmeasured = {measured}\n")
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return folder


def offer_of(folder: Path) -> dict[str, Any]:
    result = run("plan", folder, "--json")
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def test_the_next_plan_uses_and_tells_them(outside: Path) -> None:
    folder = follow_up(outside)
    told = run("plan", folder).output.replace(NO_BREAK, " ")
    words = " ".join(told.split())
    assert (
        "Measured in ../last-study: preparing bare 8 min (3 preparations); preparing paraffin rub 22 min "
        "(3 preparations); setting up the rig 19 min (6 set-ups); a launch on cold powder 3.5 min "
        "(9 launches); a launch on melt pan 5.0 min (9 launches)."
    ) in words
    assert "launch on" not in words.partition("Assumed")[2], "what was measured is not assumed"
    offer = offer_of(folder)
    assert [(one["code"], one["whose"], one["count"]) for one in offer["measured"]] == [
        ("hands_on", "bare", 3),
        ("hands_on", "paraffin rub", 3),
        ("rig_set_up", "", 6),
        ("launch", "cold powder", 9),
        ("launch", "melt pan", 9),
    ]
    schema = json.loads(run("schema", "plan-offer").output)
    assert "MeasuredTime" in schema["$defs"]


def test_the_list_that_is_drawn_takes_that_long(outside: Path) -> None:
    folder = follow_up(outside)
    size = ("--blocks", "2", "--launches", "2", "--seed", "3")
    effort = json.loads(run("plan", folder, *size, "--json").output)["effort"]
    launches = 2 * 2 * 2 * (LAUNCH_S["cold powder"] + LAUNCH_S["melt pan"])
    work = 2 * (WORK_S["bare"] + WORK_S["paraffin rub"]) + 2 * 15 * 60
    set_ups = offer_of(folder)["measured"][2]["seconds"] * effort["set_ups"]
    assert effort["seconds"] == pytest.approx(launches + work + set_ups, rel=1e-9)


def test_the_report_of_the_plan_tells_them(outside: Path) -> None:
    folder = follow_up(outside)
    page = folder / "plan.html"
    assert run("plan", folder, "--report", page).exit_code == 0
    text = page.read_text(encoding="utf-8")
    assert "What was measured" in text and "../last-study" in text


def test_its_own_log_may_be_named(outside: Path) -> None:
    text = STUDY.replace("[costs]\n", '[costs]\nmeasured = "."\n')
    (outside / "study.toml").write_text(text, encoding="utf-8")
    assert len(offer_of(outside)["measured"]) == 5


def test_a_log_without_times_is_told_and_changes_nothing(outside: Path) -> None:
    empty = sealed_study(outside.parent / "empty", blocks=2)
    folder = follow_up(outside, '"../empty"')
    told = " ".join(run("plan", folder).output.replace(NO_BREAK, " ").split())
    assert "Measured nothing yet in ../empty: too few launches" in told.replace("Nothing", "nothing")
    plain = offer_of(empty)
    measured = offer_of(folder)
    assert measured["candidates"] == plain["candidates"] and measured["measured"] == []


@pytest.mark.parametrize(("measured", "code"), [('"../nowhere"', "no-such-log"), ("5", "bad-type")])
def test_a_log_that_is_not_there_is_told(outside: Path, measured: str, code: str) -> None:
    folder = follow_up(outside, measured)
    assert problems_of(run("plan", folder, "--json"))[0]["code"] == code
