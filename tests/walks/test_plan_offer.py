"""A rider asks what two weekends can find out, takes what is recommended, and what goes wrong on the way."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from syrupy.assertion import SnapshotAssertion

from evenglide.plan.offer_schema import offer_schema
from evenglide.plan.table import read_schedule
from evenglide.show.numbers import NO_BREAK
from tests.answer.json_checks import check_plain
from tests.walks.command import problems_of, run, run_process

NEW = ("--ground", "shore", "--treatment", "hard wax", "--stops", "6.0", "6.3", "--main", "dry sand")
WEEKENDS = """
[costs]
rig_set_up = "12 min"
outings = [
  { day = "2026-06-06", from = "09:00", to = "17:00" },
  { day = "2026-06-07", from = "09:00", to = "17:00" },
  { day = "2026-06-13", from = "09:00", to = "17:00" },
  { day = "2026-06-14", from = "09:00", to = "17:00" },
]
"""


@pytest.fixture
def shore(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Four surfaces, two weekends."""
    monkeypatch.chdir(tmp_path)
    made = run("new", "my-study", *NEW)
    assert made.exit_code == 0, made.output
    return edited(Path("my-study"), "[rig]", f"{WEEKENDS}\n[rig]")


@pytest.fixture
def study(shore: Path) -> Path:
    """One surface, and days half as long."""
    made = run("new", "small-study", *NEW, "--surface", "dry sand")
    assert made.exit_code == 0, made.output
    return edited(Path("small-study"), "[rig]", f"{WEEKENDS.replace('17:00', '12:00')}\n[rig]")


def edited(study: Path, old: str, new: str) -> Path:
    """Change the text of a study, as a person does."""
    file = study / "study.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    return study


def with_pilot(study: Path, *rows: str) -> Path:
    """Let a study take its scatter from a table in its folder."""
    if rows:
        (study / "pilot.csv").write_text("\n".join(rows), encoding="utf-8")
    return edited(study, 'from = "unknown"', 'from = "pilot.csv"')


def test_two_weekends_at_the_shore(shore: Path, snapshot: SnapshotAssertion) -> None:
    told = run("plan", shore)
    assert told.exit_code == 0, told.output
    lines = told.output.replace(NO_BREAK, " ").splitlines()
    assert len(lines) <= 45
    assert max(len(line) for line in lines) <= 80
    assert told.output.replace(NO_BREAK, " ") == snapshot
    assert sorted(path.name for path in shore.iterdir()) == ["study.toml"]


def test_an_offer_as_json_keeps_to_its_schema(shore: Path) -> None:
    document = json.loads(run("plan", shore, "--json").stdout)
    Draft202012Validator(offer_schema()).validate(document)
    assert set(document) == set(offer_schema()["properties"])  # type: ignore[call-overload]
    check_plain(document)
    assert document["format"] == "evenglide.plan-offer/1"
    assert json.loads(run("schema", "plan-offer").stdout) == offer_schema()


def test_the_same_study_gives_the_same_bytes_in_another_process(shore: Path) -> None:
    here = run("plan", shore, "--json").stdout
    there = run_process("plan", shore, "--json", folder=Path(), environment={"PYTHONHASHSEED": "7"})
    assert there.stdout.decode() == here


def test_what_is_chosen_is_drawn(study: Path) -> None:
    offer = json.loads(run("plan", study, "--json").stdout)
    taken = offer["candidates"][offer["recommendation"]["number"] - 1]
    for choice in ("recommended", str(taken["number"])):
        made = run("plan", study, "--choose", choice, "--seed", "4", "--replace")
        assert made.exit_code == 0, made.output
        launches = read_schedule((study / "schedule.csv").read_bytes()).launches
        assert len({one.block for one in launches}) == taken["rounds"]
        assert len(launches) == taken["launches_in_all"]
        assert sorted({one.outing for one in launches}) == taken["outings"]


@pytest.mark.parametrize("choice", ["0", "999", "best", "-1"])
def test_a_layout_that_is_not_offered(study: Path, choice: str) -> None:
    problems = problems_of(run("plan", study, f"--choose={choice}", "--json"), status=2)
    assert [one["code"] for one in problems] == ["no-such-layout"]
    assert not (study / "schedule.csv").exists()


@pytest.mark.parametrize(
    "options",
    [
        ("--blocks", "6"),
        ("--launches", "6"),
        ("--choose", "1", "--blocks", "6", "--launches", "2"),
        ("--choose", "1", "--outings", "2"),
        ("--seed", "4"),
        ("--outings", "2"),
        ("--replace",),
        ("--report", "plan.html", "--choose", "1"),
    ],
)
def test_options_that_say_different_things(study: Path, options: tuple[str, ...]) -> None:
    assert run("plan", study, *options).exit_code == 2


def test_the_offer_as_one_page(study: Path) -> None:
    told = run("plan", study, "--report", "plan.html")
    assert told.exit_code == 0, told.output
    assert "Page: plan.html" in told.output
    assert "</html>" in Path("plan.html").read_text(encoding="utf-8")


def test_a_pilot_in_the_folder_is_read(study: Path) -> None:
    pilot = ["reading,treatment,preparation,round"]
    for number, far in enumerate((5.0, 5.3, 5.1, 5.2, 5.6, 5.4)):
        treatment = ("bare", "hard wax")[number % 2]
        pilot += [f"{far + off:.2f},{treatment},p{number},{number // 2}" for off in (-0.1, 0.0, 0.1)]
    with_pilot(study, *pilot)
    scatter = json.loads(run("plan", study, "--json").stdout)["scatter"]
    assert (scatter["source"], scatter["file"], scatter["worth"]) == ("pilot", "pilot.csv", 2)
    assert "Read from pilot.csv" in run("plan", study).output


def test_a_pilot_of_one_preparation_each(study: Path) -> None:
    rows = ["reading,treatment,preparation", "5.0,bare,a", "5.1,bare,a", "5.2,hard wax,b", "5.3,hard wax,b"]
    (problem,) = problems_of(run("plan", with_pilot(study, *rows), "--json"))
    assert problem["code"] == "one-preparation"


def test_a_pilot_that_is_not_there_or_lacks_a_column(study: Path) -> None:
    with_pilot(study)
    assert [one["code"] for one in problems_of(run("plan", study, "--json"))] == ["no-such-file"]
    (study / "pilot.csv").write_text("reading\n5.0\n", encoding="utf-8")
    (problem,) = problems_of(run("plan", study, "--json"))
    assert problem["code"] == "no-such-column"
    assert problem["where"] == "pilot.csv, scatter.columns.treatment"


def test_a_day_too_short_for_a_round(study: Path) -> None:
    (problem,) = problems_of(run("plan", edited(study, '"12:00"', '"09:30"'), "--json"))
    assert problem["code"] == "outing-too-short"
