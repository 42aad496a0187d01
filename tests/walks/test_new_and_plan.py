"""From questions to a list of launches, as people do it; and what goes wrong on the way."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner, Result

from evenglide.cli.main import main
from evenglide.plan.table import read_schedule
from evenglide.study.document import read_study
from tests.walks.command import problems_of, run, run_process

NEW = ("--ground", "snow", "--treatment", "paraffin rub", "--stops", "6.0", "6.3", "--hidden-from", "reader")
ANSWERS = {
    "Where do you launch": "shore",
    "What do you launch": "board",
    "How many": "2",
    "held against": "",
    "What do you try": "wax, oil",
    "On which surfaces": "dry sand, still water",
    "so many metres": "6",
    "nearest other": "6.6",
    "argument about": "dry sand",
    "which is which": "reader, launcher",
    "pushes it": "",
    "pays": "the shop",
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "sliders"


@pytest.fixture
def study(folder: Path) -> Path:
    made = run("new", folder, *NEW)
    assert made.exit_code == 0, made.output
    return folder


def planned(study: Path, *more: str) -> Result:
    return run("plan", study, "--blocks", "6", "--launches", "4", *more)


def test_new_then_plan(study: Path) -> None:
    result = planned(study, "--seed", "9")
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in study.iterdir()) == ["schedule.csv", "study.toml"]
    made = read_study((study / "study.toml").read_bytes())
    schedule = read_schedule((study / "schedule.csv").read_bytes(), made)
    assert len(schedule.launches) == 6 * 2 * 4 * 4
    assert all("•" in one.tag for one in schedule.launches)
    assert "seed 9" in result.output.replace("\n", " ")
    assert str(study / "schedule.csv") in result.output


def test_the_same_seed_gives_the_same_bytes_in_another_process(study: Path, tmp_path: Path) -> None:
    planned(study, "--seed", "9")
    first = (study / "schedule.csv").read_bytes()
    arguments = ("plan", study, "--blocks", "6", "--launches", "4", "--seed", "9", "--replace")
    told = run_process(*arguments, folder=tmp_path, environment={"PYTHONHASHSEED": "77"})
    assert told.returncode == 0, told.stderr
    assert (study / "schedule.csv").read_bytes() == first


def test_without_a_seed_one_is_drawn_and_told(study: Path) -> None:
    seeds = [json.loads(planned(study, "--json", "--replace").stdout)["seed"] for _ in range(2)]
    assert seeds[0] != seeds[1]
    assert read_schedule((study / "schedule.csv").read_bytes()).seed == seeds[1]


def test_a_plan_as_json(study: Path) -> None:
    document = json.loads(planned(study, "--seed", "9", "--json").stdout)
    assert document["format"] == "evenglide.plan/1"
    assert [one["orders"] for one in document["reach"]] == [62] * 4
    assert not any(one["can_reject"] for one in document["reach"])
    assert document["effort"]["launches"] == 192


def test_questions_at_a_terminal(folder: Path) -> None:
    result = CliRunner().invoke(main, ["new", str(folder), "--ask"], input="\n".join(ANSWERS.values()) + "\n")
    assert result.exit_code == 0, result.output
    assert [question for question in ANSWERS if question not in result.output] == []
    made = read_study((folder / "study.toml").read_bytes())
    assert [one.name for one in made.treatments] == ["bare", "wax", "oil"]
    assert [one.name for one in made.surfaces] == ["dry sand", "still water"]
    assert (made.main, made.hidden_from, made.paid_by) == ("dry sand", ("reader", "launcher"), "the shop")
    assert made.margin is not None
    assert made.margin[1] == pytest.approx(0.0953101798, rel=1e-9)  # ln 1.1, tables of logarithms


def test_nobody_is_nobody(folder: Path) -> None:
    said = "\n".join({**ANSWERS, "which is which": "nobody"}.values())
    assert CliRunner().invoke(main, ["new", str(folder), "--ask"], input=said + "\n").exit_code == 0
    assert read_study((folder / "study.toml").read_bytes()).hidden_from == ()


def test_what_is_said_is_not_asked(folder: Path) -> None:
    result = CliRunner().invoke(main, ["new", str(folder), *NEW, "--ask"], input="\n" * 9)
    assert result.exit_code == 0, result.output
    assert "Where do you launch" not in result.output
    assert "nearest other" not in result.output


def test_without_a_terminal_nothing_is_asked(folder: Path) -> None:
    result = run("new", folder, "--ground", "snow")
    assert (result.exit_code, folder.exists()) == (2, False)
    assert "--treatment" in result.stderr


def test_a_study_is_never_replaced(study: Path) -> None:
    before = (study / "study.toml").read_bytes()
    problems = problems_of(run("new", study, *NEW, "--json"))
    assert [one["code"] for one in problems] == ["study-exists"]
    assert (study / "study.toml").read_bytes() == before


def test_a_list_of_launches_is_replaced_on_wish_only(study: Path) -> None:
    planned(study, "--seed", "9")
    before = (study / "schedule.csv").read_bytes()
    assert [one["code"] for one in problems_of(planned(study, "--seed", "8", "--json"))] == [
        "schedule-exists"
    ]
    assert (study / "schedule.csv").read_bytes() == before
    assert planned(study, "--seed", "8", "--replace").exit_code == 0
    assert (study / "schedule.csv").read_bytes() != before


def test_contradicting_answers_are_wrong_usage(folder: Path) -> None:
    result = run("new", folder, *NEW, "--matters", "5 %", "--json")
    assert [one["code"] for one in problems_of(result, status=2)] == ["bad-answer"]
    assert not folder.exists()


def test_names_that_are_the_same_are_told_before_anything_is_written(folder: Path) -> None:
    result = run("new", folder, *NEW, "--treatment", "Bare", "--json")
    assert [one["code"] for one in problems_of(result)] == ["same-name"]
    assert not folder.exists()


def test_a_folder_without_a_study(tmp_path: Path) -> None:
    result = run("plan", tmp_path, "--blocks", "6", "--launches", "4", "--json")
    assert [one["code"] for one in problems_of(result)] == ["no-study-file"]


def test_a_damaged_study_writes_no_list(study: Path) -> None:
    path = study / "study.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("level", "levle"), encoding="utf-8")
    assert [one["code"] for one in problems_of(planned(study, "--json"))] == ["unknown-key"]
    assert not (study / "schedule.csv").exists()


def test_a_folder_in_a_place_that_is_not(tmp_path: Path) -> None:
    result = run("new", tmp_path / "no" / "such", *NEW, "--json")
    assert [one["code"] for one in problems_of(result)] == ["not-written"]


def test_the_published_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(run("schema", "study").stdout))
