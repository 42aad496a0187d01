"""The scatter of a plan read from a table: by hand, against what made it, and where it tells nothing."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from typing import Any

import pytest

from evenglide.errors import EvenglideError
from evenglide.intake.columns import sheet_from_columns
from evenglide.intake.options import JudgeOptions
from evenglide.intake.pilot import pilot_launches
from evenglide.plan.scatter import FoundScatter, find_scatter, pilot_file
from evenglide.study.study import Scatter, Study
from tests.study.made_up import made_up_study

Table = dict[str, list[Any]]
NAMES = ("surface", "round", "preparation", "item", "set aside")


def study_with(**scatter: Any) -> Study:
    return replace(made_up_study(), scatter=Scatter(source="pilot.csv", **scatter))


def read(table: Table, study: Study | None = None, *, response: str = "reading") -> FoundScatter:
    """Settle the scatter from columns in memory, as from a file of the same columns."""
    named = {name: name for name in NAMES if name in table}
    roles = {"round": "block", "set aside": "void"}
    options = JudgeOptions(
        response=response,
        treatment="treatment",
        **{roles.get(name, name): name for name in named},  # type: ignore[arg-type]
    )
    told = study or study_with()
    launches = pilot_launches(
        sheet_from_columns(table, options),
        told.scatter.columns,
        response=told.response,
        scale=told.scale,
    )
    return find_scatter(told, launches)


def pilot(*, rounds: int, each: int = 3, seed: int = 1, between: float = 0.05, within: float = 0.03) -> Table:
    """Rounds of two preparations whose logarithms scatter as told."""
    source = random.Random(seed)
    table: Table = {"reading": [], "treatment": [], "round": [], "preparation": []}
    for number in range(rounds):
        for treatment in ("bare", "rub"):
            coat = source.gauss(0, between)
            for _ in range(each):
                table["reading"].append(5 * math.exp(coat + source.gauss(0, within)))
                table["treatment"].append(treatment)
                table["round"].append(str(number))
                table["preparation"].append(f"{number}{treatment}")
    return table


def codes(error: pytest.ExceptionInfo[EvenglideError]) -> list[str]:
    return [one.code for one in error.value.problems]


def test_two_rounds_by_hand() -> None:
    """Differences of logarithms .1 and .3 vary by .02, single values by .01; launches add .005/2 to that."""
    logs = {("0", "bare"): 0.0, ("0", "rub"): 0.1, ("1", "bare"): 0.0, ("1", "rub"): 0.3}
    table: Table = {"reading": [], "treatment": [], "round": [], "preparation": []}
    for (number, treatment), log in logs.items():
        for off in (-0.05, 0.05):  # variance .005 within
            table["reading"].append(math.exp(log + off))
            table["treatment"].append(treatment)
            table["round"].append(number)
            table["preparation"].append(number + treatment)
    found = read(table)
    assert found.used.source == "pilot"
    assert found.belief.launches == pytest.approx(math.sqrt(0.005), rel=1e-9)
    assert found.belief.preparations == pytest.approx(math.sqrt(0.01 - 0.0025), rel=1e-9)
    assert found.belief.df == 1
    assert (found.used.file, found.used.assumed) == ("pilot.csv", ())


def test_a_large_pilot_tells_what_made_it() -> None:
    found = read(pilot(rounds=400))
    assert found.belief.preparations == pytest.approx(0.05, rel=0.1)
    assert found.belief.launches == pytest.approx(0.03, rel=0.05)
    assert found.belief.df == 399


def test_preparations_that_scatter_less_than_their_launches_explain() -> None:
    found = read(pilot(rounds=6, each=2, between=0.0, within=0.2, seed=5))
    assert (found.belief.preparations, found.used.below_nought) == (0.0, True)


def test_a_check_of_the_launcher_tells_of_launches_only() -> None:
    readings = [5.0, 5.2, 4.9, 5.1, 5.3, 5.0]
    logs = [math.log(one) for one in readings]
    mean = sum(logs) / 6
    found = read({"reading": readings, "treatment": ["bare"] * 6})
    assert found.used.source == "rig"
    assert found.belief.launches == pytest.approx(math.sqrt(sum((x - mean) ** 2 for x in logs) / 5), rel=1e-9)
    assert found.used.assumed == ("preparations", "worth")
    assert found.belief.preparations == 0.03


def test_a_launch_that_was_set_aside_tells_nothing() -> None:
    readings = [5.0, 5.2, 4.9, 5.1, 5.3, 50.0]
    found = read({"reading": readings, "treatment": ["bare"] * 6, "set aside": [""] * 5 + ["rig moved"]})
    assert found.belief.launches < 0.05


def test_several_preparations_of_one_treatment_tell_of_preparations_too() -> None:
    readings = [5.0, 5.1, 5.2, 5.6, 5.5, 5.4, 5.2, 5.3, 5.1]
    found = read({"reading": readings, "treatment": ["bare"] * 9, "preparation": list("aaabbbccc")})
    assert (found.used.source, found.belief.df) == ("pilot", 2)


def test_what_is_stated_wins_over_the_table() -> None:
    found = read(pilot(rounds=6), study_with(preparations=0.02, as_if_from=9))
    assert (found.belief.preparations, found.belief.df) == (0.02, 9)
    assert found.belief.launches == pytest.approx(0.03, rel=0.5)
    assert found.belief.launches != 0.06


def test_one_preparation_of_each_treatment_is_no_pilot() -> None:
    with pytest.raises(EvenglideError) as error:
        read(pilot(rounds=1))
    assert codes(error) == ["one-preparation"]
    assert "Prepare once more" in error.value.problems[0].remedy


def test_three_launches_are_no_check() -> None:
    with pytest.raises(EvenglideError) as error:
        read({"reading": [5.0, 5.2, 4.9], "treatment": ["bare"] * 3})
    assert codes(error) == ["one-launch"]
    assert "3 launches" in error.value.problems[0].found


def test_columns_may_have_names_of_their_own() -> None:
    study = study_with(columns={"response": "metres", "treatment": "coat"})
    table = {"metres": [5.0, 5.2, 4.9, 5.1, 5.3], "coat": ["bare"] * 5}
    sheet = sheet_from_columns(table, JudgeOptions(response="metres", treatment="coat"))
    launches = pilot_launches(sheet, study.scatter.columns, response="distance", scale="ratio")
    assert find_scatter(study, launches).used.source == "rig"


@pytest.mark.parametrize(
    ("source", "file"),
    [("pilot.csv", "pilot.csv"), ("Rig.XLSX", "Rig.XLSX"), ("stated", None), ("last winter", None)],
)
def test_what_ends_like_a_table_is_one(source: str, file: str | None) -> None:
    assert pilot_file(replace(made_up_study(), scatter=Scatter(source=source))) == file


def test_what_nobody_knows_is_told_as_such() -> None:
    used = find_scatter(replace(made_up_study(), scatter=Scatter())).used
    assert (used.source, used.assumed) == ("unknown", ("preparations", "launches", "worth"))
    assert used.low is not None
    assert used.high is not None
    # 3 s^2 over the quantiles .9 and .1 of chi-square with 3 df: 6.2514, 0.5844 (tables, to four digits)
    assert used.low == pytest.approx(0.03 * math.sqrt(3 / 6.2514), rel=1e-4)
    assert used.high == pytest.approx(0.03 * math.sqrt(3 / 0.5844), rel=1e-4)
