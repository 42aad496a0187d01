"""Options that contradict each other, all at once."""

from __future__ import annotations

import math
from typing import Any

import pytest

from evenglide.intake.options import ROLES, JudgeOptions
from tests.intake.tables import PLAIN, codes, refused_options
from tests.intake.tables import ROLES as NAMED


def test_plain_and_full_options_pass() -> None:
    plain = JudgeOptions(**PLAIN)
    assert plain.checked() is plain
    assert plain.margin() is None
    full = JudgeOptions(
        **NAMED,
        mark="kind",
        shared_preparations=True,
        reference="bare",
        stays=["paraffin"],
        matters="5 %",
        scale="ratio",
        level=0.1,
        adjust="both",
        decimal=",",
        encoding="cp1252",
    )
    assert full.checked().stays == ("paraffin",)
    assert {full.column(role) for role in ROLES} == {*NAMED.values(), "kind"}


@pytest.mark.parametrize(
    ("options", "code", "where"),
    [
        ({"matters": "5 %", "scale": "difference"}, "margin-against-scale", "--matters, --scale"),
        ({"matters": 0.3, "scale": "ratio"}, "margin-against-scale", "--matters, --scale"),
        ({"matters": "0.3 m", "scale": "ratio"}, "margin-against-scale", "--matters, --scale"),
        ({"matters": "0 %"}, "bad-margin", "--matters"),
        ({"matters": "101 %"}, "bad-margin", "--matters"),
        ({"matters": -0.3}, "bad-margin", "--matters"),
        ({"matters": math.inf}, "bad-margin", "--matters"),
        ({"level": 0.0}, "bad-level", "--level"),
        ({"level": 0.5}, "bad-level", "--level"),
        ({"level": math.nan}, "bad-level", "--level"),
        ({"level": -1}, "bad-level", "--level"),
        ({"adjust": "bonferroni"}, "bad-adjust", "--adjust"),
        ({"scale": "log"}, "bad-scale", "--scale"),
        ({"decimal": ";"}, "bad-decimal", "--decimal"),
        ({"decimal": ""}, "bad-decimal", "--decimal"),
        ({"encoding": "klingon"}, "bad-encoding", "--encoding"),
        ({"encoding": "hex"}, "bad-encoding", "--encoding"),
        ({"encoding": "a\0b"}, "bad-encoding", "--encoding"),
        ({"direction": "lane"}, "needs-preparation", "--direction"),
        ({"shared_preparations": True}, "needs-preparation", "--shared-preparations"),
        ({"response": "rub"}, "column-in-two-roles", "--response, --treatment"),
        ({"void": "wall", "at_least": "wall"}, "column-in-two-roles", "--void, --at-least"),
        ({"block": " rub "}, "column-in-two-roles", "--treatment, --block"),
        ({"surface": "rub"}, "column-in-two-roles", "--treatment, --surface"),
        ({"order": "glide_m"}, "column-in-two-roles", "--response, --order"),
        ({"surface": " "}, "no-name", "--surface"),
        ({"response": None}, "bad-type", "--response"),
        ({"block": 3}, "bad-type", "--block"),
        ({"stays": "paraffin"}, "bad-type", "--stays"),
        ({"stays": (1,)}, "bad-type", "--stays"),
        ({"level": "0.05"}, "bad-type", "--level"),
        ({"matters": True}, "bad-type", "--matters"),
        ({"shared_preparations": "yes"}, "bad-type", "--shared-preparations"),
    ],
)
def test_refused(options: dict[str, Any], code: str, where: str) -> None:
    (problem,) = refused_options(**options)
    assert (problem.code, problem.where) == (code, where)


@pytest.mark.parametrize(("matters", "scale"), [("7,5 %", "difference"), ("0.2 m", "ratio")])
def test_margin_against_scale_names_both_ways(matters: str, scale: str) -> None:
    (problem,) = refused_options(matters=matters, scale=scale)
    assert matters in problem.remedy
    assert "--scale ratio" in problem.remedy
    assert "--scale difference" in problem.remedy
    assert "%" in problem.remedy
    assert " m" in problem.remedy


@pytest.mark.parametrize(
    "options",
    [
        {"item": "rub"},  # one item for each treatment
        {"preparation": "rub"},
        {"block": "day", "session": "day"},
        {"preparation": "coat", "order": "coat"},
        {"surface": "day", "session": "day"},
        {"preparation": "coat", "item": "coat"},
    ],
)
def test_columns_that_may_be_two_things(options: dict[str, Any]) -> None:
    JudgeOptions(**(PLAIN | options)).checked()


def test_all_at_once() -> None:
    problems = refused_options(
        level=2.0,
        adjust="x",
        decimal="x",
        encoding="x-y-z",
        matters="x",
        direction="d",
        shared_preparations=True,
        block="rub",
    )
    assert sorted(codes(problems)) == [
        "bad-adjust",
        "bad-decimal",
        "bad-encoding",
        "bad-level",
        "bad-margin",
        "column-in-two-roles",
        "needs-preparation",
        "needs-preparation",
    ]
