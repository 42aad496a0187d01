"""A study with a half-way check on the command line: refused, looked at, ended early, stopped."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from evenglide.fieldlog.bodies import Look, Read
from evenglide.plan.table import read_schedule
from evenglide.store.log import Log, read_log
from evenglide.study.document import read_study
from tests.walks.command import problems_of, run

NEW = ("--ground", "snow", "--treatment", "paraffin rub", "--stops", "6.0", "6.3")
PLAN = ("--blocks", "8", "--launches", "2", "--seed", "8")


def sealed(folder: Path, *, looks: str = "number = 2", hidden: bool = False) -> Path:
    """A sealed study of eight rounds, with half-way checks if so wished."""
    more = ("--hidden-from", "reader") if hidden else ()
    assert run("new", folder, *NEW, *more).exit_code == 0
    text = (folder / "study.toml").read_text(encoding="utf-8")
    assert "number = 1" in text
    (folder / "study.toml").write_text(text.replace("number = 1", looks), encoding="utf-8")
    assert run("plan", folder, *PLAN).exit_code == 0
    assert run("seal", folder).exit_code == 0
    return folder


def launched(folder: Path, rounds: range, *, effect: float = 1.0) -> None:
    """Record the launches of some rounds, treated ones `effect` times as far, with a little scatter."""
    study = read_study((folder / "study.toml").read_bytes())
    schedule = read_schedule((folder / "schedule.csv").read_bytes(), study)
    bodies = []
    for one in schedule.launches:
        if int(one.block) in rounds and one.kind == "launch":
            value = 5.0 + 0.1 * (one.number % 7) + 0.05 * (hash_of(one.preparation) % 5)
            value = round(value * (effect if one.treatment != "bare" else 1.0), 2)
            bodies.append(Read(launch=one.number, text=f"{value:.2f}", value=value))
    with Log(folder / "log.sqlite") as log:
        log.record([(None, body) for body in bodies])


def hash_of(text: str) -> int:
    return sum(map(ord, text))


def looks_in(folder: Path) -> list[Look]:
    return [event.body for event in read_log(folder / "log.sqlite") if isinstance(event.body, Look)]


def answer(folder: Path, *more: str) -> dict[str, Any]:
    result = run("answer", folder, "--json", *more)
    assert result.exit_code == 0, result.output
    document: dict[str, Any] = json.loads(result.stdout)
    return document


def codes(document: dict[str, Any]) -> set[str]:
    return {one["code"] for one in document["conduct"]["departures"]}


@pytest.fixture
def study(tmp_path: Path) -> Path:
    return sealed(tmp_path / "sliders")


def test_before_the_check_nothing_is_shown_and_nothing_recorded(study: Path) -> None:
    launched(study, range(1, 4))
    before = read_log(study / "log.sqlite")
    for verb in ("answer", "report"):
        (problem,) = problems_of(run(verb, study, "--json"))
        assert problem["code"] == "too-early"
        told = run(verb, study)
        assert told.exit_code == 1 and "after round 4 of 8" in " ".join(told.stderr.split())
        assert "paraffin" not in told.output
    assert read_log(study / "log.sqlite") == before


def test_at_the_check_the_answer_says_so_and_the_log_too(study: Path) -> None:
    launched(study, range(1, 5))
    told = run("answer", study)
    assert told.exit_code == 0 and "This is a half-way check" in told.stdout
    assert [(one.number, one.planned) for one in looks_in(study)] == [(1, 1)]
    assert run("answer", study).stdout == told.stdout
    assert len(looks_in(study)) == 1
    launched(study, range(5, 9))
    end = answer(study)
    assert codes(end) == set() and len(looks_in(study)) == 1
    assert end["surfaces"][0]["contrasts"][0]["looks"]["reached"] == 2


def test_status_says_when_to_look(study: Path) -> None:
    def told() -> str:
        return " ".join(run("status", study).stdout.split())

    launched(study, range(1, 4))
    assert "Planned after round 4 of 8, and at no other time." in told() and "Now is the time" not in told()
    launched(study, range(4, 5))
    assert "Now is the time: evenglide answer." in told()
    assert json.loads(run("status", study, "--json").stdout)["checks"] == [4]


def test_a_report_at_the_check_shows_what_the_check_had_to_reach(study: Path) -> None:
    launched(study, range(1, 5))
    assert run("report", study).exit_code == 0
    page = (study / "out" / "report.html").read_text(encoding="utf-8")
    assert "<strong>Half-way check.</strong> This is a half-way check" in page
    assert "half-way check 1, t for difference, alike, matters" in page
    assert "fixed by the seal" in page


def test_a_large_difference_stops_the_study(study: Path) -> None:
    launched(study, range(1, 5), effect=30.0)
    told = " ".join(run("answer", study).stdout.split())
    assert "The study may stop here" in told and "farther" in told.lower()
    document = answer(study)
    assert codes(document) == set()
    assert {one["contrasts"][0]["verdict"] for one in document["surfaces"]} == {"higher"}


@pytest.mark.parametrize("looks", ["number = 1", "number = 2"])
def test_looking_early_is_recorded_once_and_told_for_ever(tmp_path: Path, looks: str) -> None:
    folder = sealed(tmp_path / "sliders", looks=looks)
    launched(folder, range(1, 4))
    assert problems_of(run("answer", folder, "--json"))[0]["code"] == "too-early"
    first = answer(folder, "--early")
    assert codes(first) >= {"ended-early", "launches-missing"}
    (look,) = looks_in(folder)
    assert look.planned is None and look.launches == sum(
        isinstance(event.body, Read) for event in read_log(folder / "log.sqlite")
    )
    assert answer(folder)["surfaces"] == first["surfaces"]
    assert len(looks_in(folder)) == 1
    launched(folder, range(4, 5))
    again = run("answer", folder, "--json")
    assert again.exit_code == (1 if looks == "number = 1" else 0)
    launched(folder, range(5, 9))
    end = answer(folder)
    assert "looked-early" in codes(end) and "ended-early" not in codes(end)
    assert [one.planned for one in looks_in(folder)] == ([None] if looks == "number = 1" else [None, 1])


def test_hidden_treatments_are_not_shown_before_the_end(tmp_path: Path) -> None:
    folder = sealed(tmp_path / "sliders", looks="number = 1", hidden=True)
    launched(folder, range(1, 8))
    told = run("report", folder)
    assert told.exit_code == 1 and "must not see it" in " ".join(told.stderr.split())
    assert not (folder / "out").exists()


def test_a_check_that_cannot_be_is_refused_by_the_seal(tmp_path: Path) -> None:
    folder = tmp_path / "sliders"
    assert run("new", folder, *NEW).exit_code == 0
    text = (folder / "study.toml").read_text(encoding="utf-8")
    (folder / "study.toml").write_text(text.replace("number = 1", 'at = ["1/4", 1]'), encoding="utf-8")
    assert run("plan", folder, *PLAN).exit_code == 0
    (problem,) = problems_of(run("seal", folder, "--json"))
    assert problem["code"] == "look-too-early" and problem["where"] == "looks.at[0]"
    assert not (folder / "log.sqlite").exists()
