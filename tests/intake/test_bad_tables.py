"""Every way in which a table can be wrong: code, address, remedy, all at once."""

from __future__ import annotations

from typing import Any

import pytest

from evenglide.errors import OptionError
from tests.intake.tables import ROLES, SLIDERS, codes, column, refused, take

TWO = "rub,glide_m\nbare,2.91\nparaffin,{}\n"


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        *(("31.4m", "unit-in-cell"), ("31.4 m", "unit-in-cell"), ("2026-01-17", "date-in-cell")),
        *(("", "blank-cell"), ("  ", "blank-cell"), ("nan", "not-finite"), ("inf", "not-finite")),
        *(("1e400", "number-too-large"), ("0x10", "not-a-number"), ("1_000", "not-a-number")),
        *(("２９", "not-a-number"), ('"31,4"', "doubtful-comma"), ('"1,234"', "doubtful-comma")),
        ("#DIV/0!", "error-value"),
    ],
)
def test_a_bad_response_cell(cell: str, code: str) -> None:
    (problem,) = refused(TWO.format(cell))
    assert (problem.code, problem.where) == (code, "B3 (glide_m, line 3)")
    assert problem.expected
    assert problem.remedy


def test_three_digits_after_the_comma_alone() -> None:
    problems = refused(column("1,234", "2,345"))
    assert codes(problems) == ["doubtful-comma"] * 2
    assert "--decimal" in problems[0].remedy
    assert take(column("1,234", "2,345"), decimal=",").launches.value.tolist() == [1.234, 2.345]


@pytest.mark.parametrize("cell", ["0", "-3", "-0.0"])
@pytest.mark.parametrize("options", [{"scale": "ratio"}, {"matters": "5 %"}])
def test_no_logarithm(cell: str, options: dict[str, Any]) -> None:
    (problem,) = refused(TWO.format(cell), **options)
    assert (problem.code, problem.where) == ("not-positive", "B3 (glide_m, line 3)")
    assert cell in problem.found
    assert "--scale difference" in problem.remedy


@pytest.mark.parametrize(
    ("options", "code", "where", "near"),
    [
        ({"response": "glide"}, "no-such-column", "--response", '"glide_m"'),
        ({"treatment": "Rub"}, "no-such-column", "--treatment", '"rub"'),
        ({"block": "zzz"}, "no-such-column", "--block", "Name one of these."),
        ({"at_least": "walls"}, "no-such-column", "--at-least", '"wall"'),
        ({"void": "outs"}, "no-such-column", "--void", '"out"'),
        ({"reference": "bear"}, "no-such-treatment", "--reference", '"bare"'),
        ({"stays": ("bare", "paraffine")}, "no-such-treatment", "--stays", '"paraffin"'),
    ],
)
def test_names_that_are_not_met(options: dict[str, Any], code: str, where: str, near: str) -> None:
    (problem,) = refused(SLIDERS, **(ROLES | options))
    assert (problem.code, problem.where) == (code, where)
    assert near in problem.remedy
    assert '"rub"' in problem.expected or '"bare"' in problem.expected


def test_two_columns_of_one_name() -> None:
    (problem,) = refused("rub,glide_m,glide_m\na,1,2\nb,3,4\n")
    assert (problem.code, problem.where) == ("column-twice", "--response")


@pytest.mark.parametrize("role", ["block", "item", "preparation", "direction", "session"])
def test_a_blank_name_in_a_valid_row(role: str) -> None:
    cells = SLIDERS.splitlines()[2].split(",")
    place = SLIDERS.splitlines()[0].split(",").index(ROLES[role])
    cells[place] = " "
    (problem,) = refused(SLIDERS.replace(SLIDERS.splitlines()[2], ",".join(cells)), **ROLES)
    assert problem.code == "blank-cell"
    assert problem.where == f"{'ABCDEFGHIJK'[place]}3 ({ROLES[role]}, line 3)"


@pytest.mark.parametrize(
    ("row", "where"), [("dry,,,,,,,,,moved,", "D10 (rub"), (",,,bare,,,,,,moved,", "A10 (snow")]
)
def test_a_row_set_aside_needs_treatment_and_surface(row: str, where: str) -> None:
    (problem,) = refused(f"{SLIDERS}{row}\n", **ROLES)
    assert problem.code == "blank-cell"
    assert problem.where.startswith(where)


def test_in_a_row_set_aside_blank_is_allowed_and_nothing_else() -> None:
    table = "rub,glide_m,out\na,1,\nb,2,\nb,{},moved\n"
    assert take(table.format(""), void="out").launches.void.tolist() == [False, False, True]
    assert codes(refused(table.format("7m"), void="out")) == ["unit-in-cell"]
    assert codes(refused(table.format("nan"), void="out")) == ["not-finite"]


@pytest.mark.parametrize(
    ("cell", "code"), [("", "blank-cell"), ("second", "not-a-number"), ("08:30", "date-in-cell")]
)
def test_order_is_numbers(cell: str, code: str) -> None:
    (problem,) = refused(f"rub,glide_m,n\na,1,1\nb,2,{cell}\n", order="n")
    assert (problem.code, problem.where) == (code, "C3 (n, line 3)")


def test_one_treatment_only() -> None:
    (problem,) = refused("rub,glide_m\nbare,1\nbare,2\n")
    assert problem.code == "one-treatment"
    assert '"bare"' in problem.found


def test_one_treatment_left_after_the_others_were_set_aside() -> None:
    assert codes(refused("rub,glide_m,out\nbare,1,\nwax,2,moved\n", void="out")) == ["one-treatment"]
    assert codes(refused("rub,glide_m,out\nbare,1,x\nwax,2,x\n", void="out")) == ["no-valid-launches"]


def test_no_surface_with_two_treatments() -> None:
    table = "snow,rub,glide_m\nwet,bare,1\ndry,wax,2\n"
    assert codes(refused(table, surface="snow")) == ["no-surface-with-two-treatments"]
    assert take(table).scale == "ratio"


def test_three_directions() -> None:
    table = SLIDERS.replace("dry,1,blue,paraffin,b,4.4,6,out", "dry,1,blue,paraffin,b,4.4,6,sideways")
    (problem,) = refused(table, **ROLES)
    assert (problem.code, problem.where) == ("too-many-directions", "--direction")
    assert '"sideways"' in problem.found


def test_everything_at_once() -> None:
    table = "rub,glide_m,n,coat,lane\nbare,1m,1,a,x\nbare,,b,,y\nbare,2,3,c,z\nbare,2,3,c,z,extra\n"
    problems = refused(
        table, order="n", preparation="coat", direction="lane", block="heat", reference="wax", stays=("wox",)
    )
    assert sorted(set(codes(problems))) == [
        "blank-cell",
        "no-such-column",
        "no-such-treatment",
        "not-a-number",
        "one-treatment",
        "row-too-long",
        "too-many-directions",
        "unit-in-cell",
    ]
    assert codes(problems).count("blank-cell") == 2
    assert codes(problems).count("no-such-treatment") == 2


def test_while_the_column_of_voids_is_missing_no_blank_is_called_wrong() -> None:
    problems = refused("rub,glide_m,out\na,1,\nb,,moved\nb,2m,\n", void="gone")
    assert codes(problems) == ["no-such-column", "unit-in-cell"]


def test_a_column_of_the_wrong_kind_is_told_twenty_times() -> None:
    problems = refused("rub,glide_m\n" + "bare,far\nwax,near\n" * 50)
    assert len(problems) == 21
    assert problems[-1].found == "and 80 more of this kind"
    assert problems[0].where == "B2 (glide_m, line 2)"


@pytest.mark.parametrize(("table", "code"), [("", "empty-table"), ("rub,glide_m\n", "no-rows")])
def test_nothing_to_judge(table: str, code: str) -> None:
    assert codes(refused(table)) == [code]


def test_options_come_before_the_table() -> None:
    with pytest.raises(OptionError):
        take(TWO.format("x"), matters="5 %", scale="difference")


def test_error_values_in_names_and_flags() -> None:
    table = "rub,glide_m,out\na,1,\n#N/A,2,\nb,3,#REF!\n"
    assert codes(refused(table, void="out")) == ["error-value", "error-value"]
