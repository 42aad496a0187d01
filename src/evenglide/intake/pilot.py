"""A table that only tells how launches scatter: a pilot, or a check of the launcher."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from evenglide.errors import OptionError, Problem, TableError
from evenglide.intake.launches import launches_from_table
from evenglide.intake.options import JudgeOptions
from evenglide.intake.sheet import Sheet
from evenglide.readings.launches import Launches
from evenglide.typing import Scale

USUAL: Mapping[str, str] = {
    "surface": "surface",
    "round": "round",
    "preparation": "preparation",
    "item": "item",
    "direction": "direction",
    "set_aside": "set aside",
    "at_least": "at least",
}
"""What columns are called in evenglide's own lists; read if they are there."""
TREATMENT = "treatment"
READING = "reading"
_ROLES = {"round": "block", "set_aside": "void"}


def pilot_launches(
    sheet: Sheet, columns: Mapping[str, str], *, response: str, scale: Scale, file: str = "pilot"
) -> Launches:
    """Take in a table of launches that need not compare anything.

    Parameters
    ----------
    sheet : Sheet
    columns : mapping of str to str
        What columns are called, as in the study; others by the names of evenglide's own lists.
    response : str
        What the study calls its readings: their column if it is there, else ``"reading"``.
    scale : {"ratio", "difference"}
    file : str
        Name of the table, for problems.

    Returns
    -------
    Launches
        With one treatment and no column of preparations, all of its launches are of one preparation.

    Raises
    ------
    TableError
        With every problem of the table, or of the columns that were named.
    """
    try:
        return _launches(sheet, columns, response=response, scale=scale)
    except (OptionError, TableError) as error:
        raise TableError(_of(file, problem) for problem in error.problems) from error


def _launches(sheet: Sheet, columns: Mapping[str, str], *, response: str, scale: Scale) -> Launches:
    options = _options(sheet, columns, response=response, scale=scale)
    launches = launches_from_table(sheet, options, compared=False).launches
    if len(launches.treatment.labels) > 1 or options.preparation is not None:
        return launches
    again = replace(options, preparation=options.treatment)
    return launches_from_table(sheet, again, compared=False).launches


def _of(file: str, problem: Problem) -> Problem:
    """Say in which file, and which key of the study names the column."""
    flag = problem.where.removeprefix("--").replace("-", "_")
    key = next((name for name, role in _ROLES.items() if role == flag), flag)
    where = f"scatter.columns.{key}" if problem.where.startswith("--") else problem.where
    return replace(problem, where=f"{file}, {where}")


def _options(sheet: Sheet, columns: Mapping[str, str], *, response: str, scale: Scale) -> JudgeOptions:
    there = {name: usual for name, usual in USUAL.items() if usual in sheet.header}
    reading = response if response in sheet.header else READING
    named = {**there, "response": reading, "treatment": TREATMENT, **columns}
    roles: dict[str, Any] = {_ROLES.get(name, name): column for name, column in named.items()}
    return JudgeOptions(scale=scale, **roles)
