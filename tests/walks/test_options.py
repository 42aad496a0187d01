"""Options that contradict each other or the table: status 2 or 1, and what to say instead."""

from __future__ import annotations

from pathlib import Path

import pytest

import evenglide
from tests.walks.command import PLAIN, names_in, problems_of, run

TABLE = "rub,glide_m,round,coat\nbare,2.91,1,a\nwax,3.12,1,b\nbare,2.5,2,c\nwax,2.75,2,d\n"


@pytest.fixture
def table(tmp_path: Path) -> Path:
    path = tmp_path / "runs.csv"
    path.write_text(TABLE, encoding="utf-8")
    return path


CONTRADICTIONS: dict[str, tuple[tuple[str, ...], str, tuple[str, ...]]] = {
    "percent on differences": (
        ("--matters", "5 %", "--scale", "difference"),
        "margin-against-scale",
        ('--matters "5 %" with --scale ratio', '--matters "0.3 m" with --scale difference'),
    ),
    "metres on ratios": (
        ("--matters", "0.3 m", "--scale", "ratio"),
        "margin-against-scale",
        ('--matters "5 %" with --scale ratio', '--matters "0.3 m" with --scale difference'),
    ),
    "a direction without preparations": (("--direction", "round"), "needs-preparation", ("--preparation",)),
    "shared without preparations": (("--shared-preparations",), "needs-preparation", ("--preparation",)),
    "a column in two roles": (("--surface", "rub"), "column-in-two-roles", ()),
    "a level of one": (("--level", "1"), "bad-level", ("0.05",)),
    "no level": (("--level", "0"), "bad-level", ("0.05",)),
    "a level that is no number": (("--level", "nan"), "bad-level", ("0.05",)),
    "a margin of nought": (("--matters", "0 %"), "bad-margin", ("5 %",)),
    "a margin of many percent": (("--matters", "101 %"), "bad-margin", ("5 %",)),
    "a margin in words": (("--matters", "a bit"), "bad-margin", ("0.3 m",)),
    "a margin with a thousands comma": (("--matters", "1,234"), "bad-margin", ()),
    "an unknown encoding": (("--encoding", "klingon"), "bad-encoding", ()),
    "a sheet of a text file": (("--sheet", "Runs"), "option-against-file", ()),
    "an empty name": (("--block", ""), "no-name", ()),
}


@pytest.mark.parametrize("name", CONTRADICTIONS)
def test_wrong_usage(name: str, table: Path) -> None:
    options, code, remedies = CONTRADICTIONS[name]
    report = table.parent / "report.html"
    (problem,) = problems_of(run("judge", table, *PLAIN, *options, "--report", report, "--json"), status=2)
    assert problem["code"] == code
    assert all(words in problem["remedy"] for words in remedies)
    told = run("judge", table, *PLAIN, *options, "--report", report)
    assert told.exit_code == 2 and told.stdout == ""
    assert problem["remedy"] in told.stderr
    assert names_in(table.parent) == ["runs.csv"]


def test_several_contradictions_come_at_once(table: Path) -> None:
    options = ("--matters", "5 %", "--scale", "difference", "--level", "2", "--direction", "round")
    problems = problems_of(run("judge", table, *PLAIN, *options, "--json"), status=2)
    assert {problem["code"] for problem in problems} == {
        "margin-against-scale",
        "bad-level",
        "needs-preparation",
    }


def test_contradictions_are_told_even_if_the_table_is_not_there(tmp_path: Path) -> None:
    problems_of(run("judge", tmp_path / "gone.csv", *PLAIN, "--level", "2", "--json"), status=2)


@pytest.mark.parametrize(
    "arguments",
    [
        ("judge",),
        ("judge", "runs.csv"),
        ("judge", "runs.csv", "--response", "glide_m"),
        ("judge", "runs.csv", *PLAIN, "--scale", "cubic"),
        ("judge", "runs.csv", *PLAIN, "--adjust", "hope"),
        ("judge", "runs.csv", *PLAIN, "--decimal", ";"),
        ("judge", "runs.csv", *PLAIN, "--level", "five"),
        ("judge", "runs.csv", *PLAIN, "--colour"),
        ("judge", "runs.csv", "more.csv", *PLAIN),
        ("schema", "everything"),
        ("jugde",),
    ],
)
def test_wrong_commands(arguments: tuple[str, ...]) -> None:
    result = run(*arguments)
    assert result.exit_code == 2
    assert result.stdout == "" and "Usage:" in result.stderr


def test_a_report_never_takes_the_place_of_its_table(table: Path) -> None:
    by_another_name = table.parent / "link.html"
    by_another_name.symlink_to(table)
    for out in (table, table.parent / "." / "runs.csv", by_another_name):
        (problem,) = problems_of(run("judge", table, *PLAIN, "--report", out, "--json"), status=2)
        assert problem["code"] == "report-over-table"
    assert table.read_text(encoding="utf-8") == TABLE


def test_a_report_into_a_folder_that_is_not_there(table: Path) -> None:
    out = table.parent / "none" / "report.html"
    (problem,) = problems_of(run("judge", table, *PLAIN, "--report", out, "--json"))
    assert problem["code"] == "not-written" and problem["where"] == str(out)
    (problem,) = problems_of(run("judge", table, *PLAIN, "--report", table.parent, "--json"))
    assert problem["code"] == "not-written"
    assert names_in(table.parent) == ["runs.csv"]


def test_an_option_that_does_not_exist_is_told_with_its_nearest() -> None:
    with pytest.raises(evenglide.OptionError, match='Did you mean "block"'):
        evenglide.judge({"d": [1.0], "t": ["a"]}, response="d", treatment="t", blok="b")
