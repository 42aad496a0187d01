"""Small invented tables, and what becomes of them."""

from __future__ import annotations

from typing import Any

import pytest

from evenglide.errors import OptionError, Problem, TableError
from evenglide.intake.delimited import read_delimited
from evenglide.intake.launches import Intake, launches_from_table
from evenglide.intake.options import JudgeOptions

SLIDERS = """\
snow,round,slider,rub,coat,glide_m,number,lane,day,out,wall
wet,1,red,bare,a,2.91,1,out,Sat,,
wet,1,red,bare,a,2.95,4,back,Sat,,
wet,1,blue,paraffin,b,3.12,2,out,Sat,,yes
wet,1,blue,paraffin,b,3.10,3,back,Sat,,
dry,1,red,bare,a,4.1,5,out,Sun,,
dry,1,red,bare,a,,8,back,Sun,nose under the snow,
dry,1,blue,paraffin,b,4.4,6,out,Sun,,
dry,1,blue,paraffin,b,4.45,7,back,Sun,0,
"""
ROLES = {
    "response": "glide_m",
    "treatment": "rub",
    "surface": "snow",
    "block": "round",
    "item": "slider",
    "preparation": "coat",
    "order": "number",
    "direction": "lane",
    "session": "day",
    "void": "out",
    "at_least": "wall",
}
PLAIN = {"response": "glide_m", "treatment": "rub"}


def take(text: str, **options: Any) -> Intake:
    """Take in a table given as text; without options, response and treatment only."""
    chosen = JudgeOptions(**(PLAIN | options))
    return launches_from_table(read_delimited(text.encode(), encoding=chosen.encoding), chosen)


def refused(text: str, **options: Any) -> tuple[Problem, ...]:
    """Return the problems of a table that must not be taken in."""
    with pytest.raises(TableError) as caught:
        take(text, **options)
    return caught.value.problems


def refused_options(**options: Any) -> tuple[Problem, ...]:
    """Return the problems of options that must not pass."""
    with pytest.raises(OptionError) as caught:
        JudgeOptions(**(PLAIN | options)).checked()
    return caught.value.problems


def codes(problems: tuple[Problem, ...]) -> list[str]:
    """Return the kinds of problems, in order."""
    return [problem.code for problem in problems]


def column(*cells: str) -> str:
    """Write a table with these response cells under two treatments in turn, separated by semicolons."""
    rows = [f"{('bare', 'paraffin')[index % 2]};{cell}" for index, cell in enumerate(cells)]
    return "\n".join(["rub;glide_m", *rows, ""])
