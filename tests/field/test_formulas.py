"""No table that evenglide writes makes a spreadsheet run what somebody typed as a name."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as some

from evenglide.plan.table import read_schedule, write_schedule
from evenglide.show.cells import as_text, from_text
from evenglide.store.log import read_log
from tests.field.studies import STUDY, planned, sealed_study
from tests.walks.command import run

STARTS = tuple("=+-@＝＋－＠")
"""What makes a cell a formula, plain and in full width."""
NAMES = {
    "paraffin rub": "=1+1",
    "slider 1": "-10 degrees slider",
    "slider 2": "@SUM(1)",
    "cold powder": "powder;=cmd|'/c calc'!A1",
    "melt pan": "  +melt, wet",
    '"bare"': '"\'=bare"',
}


def formulas(text: str) -> list[str]:
    """Cells that would be run, whatever mark a spreadsheet parts columns by."""
    found = []
    for mark in ",;\t|":
        for row in csv.reader(io.StringIO(text), delimiter=mark):
            found += [cell for cell in row if cell.strip(' \t\r\n"').startswith(STARTS)]
    return found


def armed() -> str:
    text = STUDY.replace('unit = "m"', 'unit = "m"\nresponse = "=distance"')
    for name, formula in NAMES.items():
        text = text.replace(name, formula)
    return text


def test_they_are_found_at_all() -> None:
    assert formulas("a,=1+1\n") == ["=1+1"] and formulas("a;b;-2\n") == ["-2"]
    assert formulas("launch,'=1+1,6\n") == []


def test_the_plan_and_the_list_hold_none_and_come_back_as_they_were(tmp_path: Path) -> None:
    folder = sealed_study(tmp_path / "study", text=armed(), blocks=2)
    study, schedule = planned(folder)
    assert {one.treatment for one in schedule.launches} == {"'=bare", "=1+1"}
    assert read_schedule(write_schedule(schedule), study) == schedule
    assert formulas((folder / "schedule.csv").read_text(encoding="utf-8")) == []

    out = tmp_path / "list.csv"
    assert run("take-in", "--study", folder, "--template", out).exit_code == 0
    template = out.read_text(encoding="utf-8")
    assert formulas(template) == [] and "@SUM" in template
    rows = list(csv.DictReader(io.StringIO(template)))
    for row in rows:
        row["'=distance"] = "5.1"
    with out.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    taken = run("take-in", out, "--study", folder)
    assert taken.exit_code == 0, taken.output
    kinds = [event.body.kind for event in read_log(folder / "log.sqlite")]
    assert kinds.count("read") == len(schedule.launches)


@given(some.text(alphabet="=+-@＝;,\t'\" ab|\n", max_size=8))
def test_marking_is_taken_off_again_and_leaves_no_formula(cell: str) -> None:
    assert from_text(as_text(cell)) == cell
    assert not as_text(cell).lstrip(" ").startswith(STARTS)
    if not set(',"\n') & set(cell):  # those cells are quoted
        assert formulas(as_text(cell)) == []
